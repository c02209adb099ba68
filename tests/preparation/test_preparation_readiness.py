"""What stands between now and ready."""

import pytest
from msgspec.structs import replace
from preparation_samples import (
    BLOCKED_DEVICE,
    DEVICE,
    LIST,
    MORE_SURFACTANT,
    SURFACTANT,
    TUBE,
    Record,
    line,
    listed,
    record_with,
    withheld,
)

from prepkit.preparation.baby.events import Answered, FactGiven, SeniorAgreed, WeightConfirmed
from prepkit.preparation.check.events import CheckRead
from prepkit.preparation.events import Payload, StoodDown, WardReplaced
from prepkit.preparation.lines.events import LineSnapshot, SetAside, Ticked, Unticked
from prepkit.preparation.readiness import About, Missing, compute_missing, compute_ready_fingerprint


def tick(of: LineSnapshot) -> Ticked:
    return Ticked(of.id, of.fingerprint)


def test_what_is_missing_comes_with_the_most_important_first() -> None:
    mask = line("mask", group="airway")
    state = record_with(
        listed(mask, SURFACTANT, DEVICE, TUBE),
        tick(SURFACTANT),
        tick(DEVICE),
        listed(mask, TUBE, MORE_SURFACTANT, BLOCKED_DEVICE),
    ).state
    question = Missing("Malformation: to answer", About.QUESTION)
    assert compute_missing(state, (question,), "Weight: enter it again") == (
        "Weight: enter it again",
        "Malformation: to answer",
        "Device: blocked, no size is approved for this weight",
        "Surfactant: was 3.6 mL, now 3.8 mL: tick it again",
        "Mask: to do",
        "Tube: to do",
    )


def test_a_list_withheld_is_what_is_missing() -> None:
    assert compute_missing(record_with(withheld("Weigh first.")).state, (), "") == ("Weigh first.",)
    assert compute_missing(record_with(withheld("Weigh first.")).state, (), "Weigh first.") == ("Weigh first.",)
    assert compute_missing(Record().state, (), "") == ("The list has not been worked out yet.",)


def test_nothing_is_missing_when_every_line_is_ticked_or_set_aside() -> None:
    marks: list[Payload] = [tick(SURFACTANT), tick(DEVICE), SetAside("tube", TUBE.fingerprint, "in place")]
    assert compute_missing(record_with(LIST, *marks).state, (), "") == ()
    blocked = record_with(listed(BLOCKED_DEVICE), SetAside("device", BLOCKED_DEVICE.fingerprint, "another route"))
    assert compute_missing(blocked.state, (), "") == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (line("tube"), line("tube", "2"), "Tube: was no amount, now 2: tick it again"),
        (line("tube", "2"), line("tube"), "Tube: was 2, now no amount: tick it again"),
        (line("tube", "2"), line("tube", "2", essential=True), "Tube: changed since AB ticked it: tick it again"),
    ],
)
def test_a_change_is_said_in_words(old: LineSnapshot, new: LineSnapshot, said: str) -> None:
    assert compute_missing(record_with(listed(old), tick(old), listed(new)).state, (), "") == (said,)


def test_a_line_set_aside_that_changed_is_to_be_decided_again() -> None:
    old, new = line("tube", "1"), line("tube", "2")
    aside = SetAside("tube", old.fingerprint, "in place")
    assert compute_missing(record_with(listed(old), aside, listed(new)).state, (), "") == (
        "Tube: was 1, now 2: decide again",
    )
    assert compute_missing(record_with(listed(old), aside, listed(new), listed(old)).state, (), "") == (
        "Tube: changed since AB set it aside: decide again",
    )


def test_a_preparation_stood_down_is_never_ready() -> None:
    state = record_with(listed(DEVICE), tick(DEVICE), StoodDown("baby improved")).state
    assert compute_missing(state, (), "") == ("Stood down by AB at 03:04: baby improved",)


STEADY = (FactGiven("birth_weight", "1450"), LIST, tick(SURFACTANT), tick(DEVICE))


def test_the_standing_is_the_same_for_the_same_tray() -> None:
    steady = compute_ready_fingerprint(record_with(*STEADY).state)
    again = record_with(*STEADY, Unticked("device"), withheld(), LIST, tick(DEVICE))
    assert compute_ready_fingerprint(again.state) == steady


@pytest.mark.parametrize(
    "later",
    [
        Unticked("device"),
        SetAside("tube", TUBE.fingerprint, "in place"),
        tick(TUBE),
        listed(MORE_SURFACTANT, DEVICE, TUBE),
        withheld(),
        FactGiven("birth_weight", "1500"),
        WeightConfirmed("birth_weight", {"birth_weight": "1450"}, "CD"),
        CheckRead("birth_weight", "1450", agrees=True),
        Answered("malformation", "no"),
        FactGiven("leads", "KM, skilled"),
        SeniorAgreed("EF", "go on", "v"),
        WardReplaced("kit", "2", None, None),
    ],
)
def test_the_standing_changes_with_anything_it_vouches_for(later: Payload) -> None:
    assert compute_ready_fingerprint(record_with(*STEADY, later).state) != compute_ready_fingerprint(
        record_with(*STEADY).state
    )


def test_the_standing_is_the_same_whatever_words_its_lines_showed() -> None:
    shown = [replace(each, show=f"{each.show}, in other words") for each in LIST.lines]
    reworded = record_with(*(listed(*shown) if each is LIST else each for each in STEADY))
    assert compute_ready_fingerprint(reworded.state) == compute_ready_fingerprint(record_with(*STEADY).state)


def test_the_standing_says_who_ticked() -> None:
    other = record_with(*STEADY[:-1])
    other.add(tick(DEVICE), "CD")
    assert compute_ready_fingerprint(other.state) != compute_ready_fingerprint(record_with(*STEADY).state)
