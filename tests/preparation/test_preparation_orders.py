"""Orders: what a prescriber chose for a dose line, recorded, refused, and what it does to the list."""

import pytest
from preparation_samples import (
    DEVICE,
    LIST,
    MORE_SURFACTANT,
    SURFACTANT,
    TUBE,
    Record,
    line,
    listed,
    order_of,
    record_with,
    refused,
    replay,
    withheld,
)

from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Payload, ReadAloud, StoodDown
from prepkit.preparation.lines.decide import decide_order
from prepkit.preparation.lines.events import Listed, Ticked
from prepkit.preparation.readiness import compute_missing, compute_ready_fingerprint
from prepkit.preparation.state import LIST_IS_OLD, Preparation

OFFERED = {"", "3 mL"}
WHOLE = order_of("surfactant", "drug", "3 mL", "CD")
VOID = line("surfactant", "", blocked="ordered by CD: Drug, whole vials, 3 mL; outside: order again", essential=True)


def order(
    state: Preparation,
    whole: str = "3 mL",
    prescriber: str = "cd",
    *,
    on: str = "surfactant",
    new: Listed | None = None,
) -> Decision:
    return decide_order(state, order_of(on, "drug", whole, prescriber), is_offered=whole in OFFERED, listed=new)


def tick_everything() -> Record:
    return record_with(LIST, *(Ticked(each.id, each.fingerprint) for each in (SURFACTANT, DEVICE, TUBE)))


def test_an_order_is_recorded_with_its_prescriber_and_the_list_it_gives() -> None:
    new = listed(MORE_SURFACTANT, DEVICE, TUBE)
    state = record_with(LIST).state
    assert order(state, prescriber=" cd ", new=new) == (WHOLE, new)
    assert order(state, "") == (order_of("surfactant", "drug", "", "CD"),)


def test_an_order_stands_until_the_next_one_and_takes_the_list_away_until_it_is_worked_out() -> None:
    record = record_with(LIST, WHOLE)
    assert (record.state.withheld, record.state.lines) == (LIST_IS_OLD, ())
    given = record.state.orders["surfactant"]
    assert (given.what.product, given.what.whole, given.what.prescriber, given.stamp.who) == (
        "drug",
        "3 mL",
        "CD",
        "AB",
    )
    record.add((LIST, order_of("surfactant", "drug", "", "EF"), LIST))
    assert record.state.orders["surfactant"].what.prescriber == "EF"
    assert replay(record.events) == record.state


def test_the_same_order_again_gives_nothing_and_by_another_prescriber_is_another_order() -> None:
    state = record_with(LIST, WHOLE, LIST).state
    assert order(state) == ()
    assert order(state, prescriber="EF") == (order_of("surfactant", "drug", "3 mL", "EF"),)


@pytest.mark.parametrize("prescriber", ["", " ", "c", "cdefg", "c1", "\x1b[2J"])
def test_an_order_says_who_prescribed_it(prescriber: str) -> None:
    reason = refused(order(record_with(LIST).state, prescriber=prescriber))
    assert reason.startswith("Who prescribed it? Initials are 2 to 4 letters")
    assert reason.isprintable()


def test_what_cannot_be_drawn_up_now_cannot_be_ordered() -> None:
    state = record_with(LIST).state
    assert "look at the choices again" in refused(order(state, "4.5 mL"))
    again = record_with(LIST, order_of("surfactant", "drug", "4.5 mL", "CD"), LIST).state
    assert "look at the choices again" in refused(order(again, "4.5 mL"))


def test_nothing_is_ordered_for_a_line_that_is_not_on_the_list_nor_after_the_end() -> None:
    state = record_with(LIST).state
    assert "no line" in refused(order(state, on="atropine"))
    assert "There is no list now" in refused(order(record_with(withheld()).state))
    assert "stood this preparation down" in refused(order(record_with(LIST, StoodDown("no need")).state))


def test_a_new_order_unticks_what_it_changes_and_nothing_else() -> None:
    record = tick_everything()
    record.add(order(record.state, new=listed(MORE_SURFACTANT, DEVICE, TUBE)))
    assert not record.state.is_ticked("surfactant")
    assert record.state.is_ticked("device")
    assert compute_missing(record.state, (), "") == ("Surfactant: was 3.6 mL, now 3.8 mL: tick it again",)


def test_an_order_voided_by_another_weight_keeps_the_gate_shut() -> None:
    record = tick_everything()
    record.add(order(record.state, new=LIST))
    assert compute_missing(record.state, (), "") == ()
    record.add((FactGiven("birth_weight", "2500"), listed(VOID, DEVICE, TUBE)))
    assert compute_missing(record.state, (), "") == (f"Surfactant: blocked, {VOID.blocked}",)
    record.add((FactGiven("birth_weight", "1450"), LIST))
    assert compute_missing(record.state, (), "") == ("Surfactant: changed since AB ticked it: tick it again",)


def test_an_order_without_a_list_yet_keeps_the_gate_shut() -> None:
    record = tick_everything()
    record.add(order(record.state))
    assert compute_missing(record.state, (), "") == (LIST_IS_OLD,)


@pytest.mark.parametrize(
    "other", [order_of("surfactant", "drug", "", "CD"), order_of("surfactant", "drug", "3 mL", "EF"),
              order_of("surfactant", "other", "3 mL", "CD"), order_of("device", "drug", "3 mL", "CD")]
)  # fmt: skip
def test_what_was_read_aloud_vouches_for_the_orders_too(other: Payload) -> None:
    record = tick_everything()
    record.add((WHOLE, LIST))
    standing = compute_ready_fingerprint(record.state)
    record.add(ReadAloud(standing))
    assert record.state.is_read_aloud(standing)
    record.add((other, LIST))
    assert compute_ready_fingerprint(record.state) != standing
    assert not record.state.is_read_aloud(standing)
    assert compute_ready_fingerprint(tick_everything().state) != standing
