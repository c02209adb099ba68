"""Batch and expiry of what is in hand: given, refused, lost with its line, put back.

The product numbers begin with 952, which GS1 keeps for examples.
"""

from datetime import date

import pytest
from preparation_samples import (
    BLOCKED_DEVICE,
    DEVICE,
    LIST,
    MORE_SURFACTANT,
    SURFACTANT,
    TUBE,
    Record,
    listed,
    record_with,
    refused,
    replay,
    withheld,
)

from prepkit.preparation.batches.decide import (
    MOST_IN_HAND,
    GivenBatch,
    WantedProduct,
    decide_in_hand,
    decide_put_back,
    read_scanned,
    read_typed,
)
from prepkit.preparation.batches.events import InHand, PutBack
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import StoodDown
from prepkit.preparation.lines.decide import decide_tick
from prepkit.preparation.lines.events import LineSnapshot, SetAside, Ticked, Unticked
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import Preparation

TODAY = date(2025, 3, 4)
VIAL = "09524000000002"
OTHER = "09524000000019"
UNLISTED = "09524000000026"
WANTED = WantedProduct("Surfactant", frozenset({VIAL}), {OTHER: "Atropine"})
GIVEN = GivenBatch("AB12", date(2025, 9, 30), VIAL, "S1")
HELD = InHand("surfactant", SURFACTANT.fingerprint, VIAL, "AB12", "2025-09-30", "S1", scanned=True)
TYPED = InHand("surfactant", SURFACTANT.fingerprint, "", "CD34", "2025-03-04", "", scanned=False)


def give(
    state: Preparation,
    given: GivenBatch = GIVEN,
    *,
    line: LineSnapshot = SURFACTANT,
    wanted: WantedProduct | None = WANTED,
) -> Decision:
    return decide_in_hand(state, line.id, line.fingerprint, given, wanted, TODAY)


def batches(state: Preparation, line: str = "surfactant") -> list[str]:
    return [each.batch for each in state.find_in_hand(line)]


def test_a_scan_and_a_typed_one_are_recorded_as_they_were_given() -> None:
    record = record_with(LIST)
    assert give(record.state) == (HELD,)
    record.add(give(record.state))
    assert give(record.state, GivenBatch("CD34", TODAY)) == (TYPED,)
    record.add(give(record.state, GivenBatch("CD34", TODAY)), "CD")
    assert batches(record.state) == ["AB12", "CD34"]
    assert [each.stamp.who for each in record.state.find_in_hand("surfactant")] == ["AB", "CD"]
    assert replay(record.events) == record.state


def test_the_day_of_expiry_itself_is_in_date_and_the_day_after_is_not() -> None:
    state = record_with(LIST).state
    assert give(state, GivenBatch("CD34", TODAY)) == (TYPED,)
    assert refused(give(state, GivenBatch("A", date(2025, 3, 3)))) == (
        "Out of date: batch A was in date until 2025-03-03. Take another one."
    )


@pytest.mark.parametrize(
    ("gtin", "wanted", "said"),
    [
        (OTHER, WANTED, "The wrong one: this is Atropine, and Surfactant is wanted here."),
        (UNLISTED, WANTED, f"The product number {UNLISTED} is not in the ward's stock list for Surfactant"),
        (UNLISTED, WantedProduct("Surfactant", frozenset(), {}), "lists no product number for Surfactant"),
    ],
)
def test_a_wrong_product_is_refused(gtin: str, wanted: WantedProduct, said: str) -> None:
    assert said in refused(give(record_with(LIST).state, GivenBatch("A", date(2026, 1, 1), gtin), wanted=wanted))


@pytest.mark.parametrize("batch", ["", "A B", "A\x1b[2J", "A" * 21, "Ä"])
def test_a_batch_that_is_none_is_refused(batch: str) -> None:
    said = refused(give(record_with(LIST).state, GivenBatch(batch, date(2026, 1, 1))))
    assert "batch" in said
    assert said.isprintable()


def test_nothing_is_taken_where_the_ward_asks_for_nothing() -> None:
    assert "asks for no batch" in refused(give(record_with(LIST).state, wanted=None))


def test_a_line_that_is_not_there_blocked_set_aside_or_changed_takes_nothing() -> None:
    assert "There is no list now" in refused(give(record_with(withheld()).state))
    assert "no line" in refused(give(record_with(listed(DEVICE)).state))
    assert "is blocked" in refused(give(record_with(listed(BLOCKED_DEVICE)).state, line=BLOCKED_DEVICE))
    aside = SetAside("tube", TUBE.fingerprint, "in place")
    assert "set aside" in refused(give(record_with(LIST, aside).state, line=TUBE))
    more = record_with(LIST, listed(MORE_SURFACTANT)).state
    assert "was 3.6 mL, now 3.8 mL. Look again, then give batch and expiry" in refused(give(more))
    assert "stood this preparation down" in refused(give(record_with(LIST, StoodDown("improved")).state))


def test_the_very_same_container_is_not_taken_twice() -> None:
    assert "this very container" in refused(give(record_with(LIST, HELD).state))
    assert isinstance(give(record_with(LIST, HELD).state, GivenBatch("AB12", date(2025, 9, 30), VIAL, "S2")), tuple)
    assert give(record_with(LIST, TYPED).state, GivenBatch("CD34", TODAY)) == (TYPED,)


def test_there_is_an_end_to_what_one_line_takes() -> None:
    state = record_with(LIST, *[TYPED] * MOST_IN_HAND).state
    assert "20 are in hand already" in refused(give(state))


def test_a_tick_waits_for_batch_and_expiry_where_they_are_wanted() -> None:
    state = record_with(LIST).state
    assert refused(decide_tick(state, "surfactant", SURFACTANT.fingerprint, needs_in_hand=True)) == (
        "Surfactant: give batch and expiry of what is in your hand first."
    )
    state = record_with(LIST, HELD).state
    assert decide_tick(state, "surfactant", SURFACTANT.fingerprint, needs_in_hand=True) == (
        Ticked("surfactant", SURFACTANT.fingerprint),
    )


def test_a_changed_line_loses_what_was_in_hand_and_a_withheld_list_only_rests_it() -> None:
    record = record_with(LIST, HELD, withheld())
    assert batches(record.state) == []
    record.add(LIST)
    assert batches(record.state) == ["AB12"]
    record.add(listed(MORE_SURFACTANT, DEVICE, TUBE))
    assert batches(record.state) == []
    record.add(LIST)
    assert batches(record.state) == []


def test_an_untick_keeps_what_is_in_hand_and_putting_back_takes_tick_and_all() -> None:
    record = record_with(LIST, HELD, TYPED, Ticked("surfactant", SURFACTANT.fingerprint))
    record.add(Unticked("surfactant"))
    assert batches(record.state) == ["AB12", "CD34"]
    assert decide_put_back(record.state, "surfactant") == (PutBack("surfactant"),)
    record.add(Ticked("surfactant", SURFACTANT.fingerprint))
    record.add(decide_put_back(record.state, "surfactant"))
    assert batches(record.state) == []
    assert not record.state.is_ticked("surfactant")
    assert "nothing to put back" in refused(decide_put_back(record.state, "surfactant"))


def test_what_is_given_for_a_line_that_is_not_so_is_kept_out() -> None:
    other = InHand("surfactant", MORE_SURFACTANT.fingerprint, "", "A", "2026-01-01", "", scanned=False)
    blocked = InHand("device", BLOCKED_DEVICE.fingerprint, "", "A", "2026-01-01", "", scanned=False)
    assert record_with(listed(SURFACTANT, BLOCKED_DEVICE), other, blocked).state.in_hand == {}


def test_the_standing_vouches_for_what_is_in_hand_and_is_as_before_where_nothing_is() -> None:
    empty = compute_ready_fingerprint(record_with(LIST).state)
    held = compute_ready_fingerprint(record_with(LIST, HELD).state)
    assert held not in {empty, compute_ready_fingerprint(record_with(LIST, TYPED).state)}
    assert compute_ready_fingerprint(record_with(LIST, HELD, PutBack("surfactant")).state) == empty


def test_what_is_typed_or_scanned_is_read_or_refused_in_words() -> None:
    assert read_typed(" AB12 ", "2025-09") == GivenBatch("AB12", date(2025, 9, 30))
    assert "batch is empty" in str(read_typed("", "2025-09"))
    assert "2027-03-31" in str(read_typed("AB12", "09/25"))
    assert read_scanned(f"01{VIAL}1725093010AB12\x1d21S1", TODAY) == GIVEN
    assert "two ways" in str(read_scanned(f"01{VIAL}1725093010AB1221S1", TODAY))


def test_a_record_keeps_a_container_given_for_an_older_value() -> None:
    record = Record()
    record.add((LIST, HELD, listed(MORE_SURFACTANT, DEVICE, TUBE)))
    assert HELD in [each.payload for each in record.events]
