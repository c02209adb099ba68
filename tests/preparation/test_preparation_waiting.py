"""What was done for a line that is blocked only because a fact of the baby is wanted: it rests until that is given."""

import pytest
from preparation_samples import (
    BLOCKED_DEVICE,
    DEVICE,
    LIST,
    SURFACTANT,
    TUBE,
    WAITING_DEVICE,
    Record,
    line,
    listed,
    record_with,
    refused,
    replay,
    withheld,
)

from prepkit.preparation.batches.events import InHand
from prepkit.preparation.check.events import CheckBegun, CheckEnded, CheckEntered
from prepkit.preparation.lines.decide import decide_restore, decide_set_aside, decide_tick, decide_untick
from prepkit.preparation.lines.events import LineSnapshot, Listed, SetAside, Ticked
from prepkit.preparation.readiness import compute_missing

WAITS = listed(SURFACTANT, WAITING_DEVICE, TUBE)
OTHER = line("device", "size 1.5", group="airway")
CHANGED = listed(SURFACTANT, OTHER, TUBE)
IN_HAND = InHand("device", DEVICE.fingerprint, "", "A1", "2027-01-31", "", scanned=False)
ENTERED = CheckEntered("device", DEVICE.fingerprint, "size 1", "", agrees=True)


def done() -> Record:
    """A device in hand, checked and ticked."""
    return record_with(LIST, IN_HAND, CheckBegun(), ENTERED, CheckEnded(), Ticked("device", DEVICE.fingerprint))


def test_a_line_waits_where_it_is_blocked_and_a_fact_would_unblock_it() -> None:
    assert WAITING_DEVICE.is_waiting
    assert not BLOCKED_DEVICE.is_waiting
    assert not line("device", "size 1", asks="born").is_waiting
    assert WAITING_DEVICE.compared != line("device", blocked=WAITING_DEVICE.blocked, group="airway").compared


@pytest.mark.parametrize("between", [(WAITS,), (WAITS, withheld(), WAITS), (WAITS, withheld())])
def test_while_a_line_waits_nothing_done_for_it_counts_and_nothing_is_lost(between: tuple[Listed, ...]) -> None:
    record = done()
    record.add(WAITS)
    assert compute_missing(record.state, (), "") == (
        "Device: blocked, the weight now is not known",
        "Surfactant: to do",
        "Tube: to do",
    )
    record.add(between)
    state = record.state
    assert not state.is_ticked("device")
    assert not state.is_checked("device")
    assert state.find_check("device") is None
    assert state.find_in_hand("device") == ()
    assert (state.changes, state.voided) == ({}, {})
    back = record.add(LIST)
    assert back.is_ticked("device")
    assert back.is_checked("device")
    assert [held.batch for held in back.find_in_hand("device")] == ["A1"]
    assert (back.changes, back.voided) == ({}, {})
    assert replay(record.events) == back


@pytest.mark.parametrize("other", [CHANGED, listed(SURFACTANT, BLOCKED_DEVICE, TUBE), listed(SURFACTANT, TUBE)])
def test_a_different_line_one_blocked_for_another_reason_and_none_take_it_for_good(other: Listed) -> None:
    record = done()
    state = record.add((WAITS, other))
    assert not state.is_ticked("device")
    assert (state.changes["device"].old_show, state.changes["device"].was_by) == ("size 1", "AB")
    assert set(state.voided) == {"device"}
    assert state.in_hand == {}
    back = record.add((WAITS, LIST))
    assert not back.is_ticked("device")
    assert not back.is_checked("device")
    assert back.find_in_hand("device") == ()


def test_a_line_set_aside_that_waits_is_set_aside_again_when_it_comes_back() -> None:
    record = record_with(LIST, SetAside("device", DEVICE.fingerprint, "one is in place"), WAITS)
    assert not record.state.is_set_aside("device")
    assert record.add(LIST).is_set_aside("device")
    state = record_with(LIST, SetAside("device", DEVICE.fingerprint, "one is in place"), WAITS, CHANGED).state
    assert not state.is_set_aside("device")
    assert state.changes["device"].was_set_aside


def test_what_is_entered_in_a_check_under_way_rests_too() -> None:
    record = record_with(LIST, CheckBegun(), ENTERED, WAITS)
    record.add((LIST, CheckEnded()))
    assert record.state.is_checked("device")
    record = record_with(LIST, CheckBegun(), ENTERED, WAITS, CHANGED, CheckEnded())
    assert record.state.checks == {}


def test_a_line_that_waits_is_neither_ticked_nor_unticked_nor_restored() -> None:
    state = done().add(WAITS)
    assert "blocked" in refused(decide_tick(state, "device", WAITING_DEVICE.fingerprint))
    assert "not ticked" in refused(decide_untick(state, "device"))
    assert "not set aside" in refused(decide_restore(state, "device"))


def test_a_line_that_waits_may_be_set_aside_and_then_its_tick_does_not_come_back() -> None:
    record = done()
    record.add(WAITS)
    record.add(decide_set_aside(record.state, "device", WAITING_DEVICE.fingerprint, "another route"))
    assert record.state.is_set_aside("device")
    state = record.add(LIST)
    assert not state.is_ticked("device")
    assert not state.is_set_aside("device")
    assert state.changes["device"].was_set_aside


def test_a_line_that_hangs_on_the_birth_is_not_ticked_before_it_is_given() -> None:
    asking = LineSnapshot("device", "airway", "Device", "size 1", DEVICE.fingerprint, "", essential=False, asks="born")
    record = record_with(listed(asking, TUBE), Ticked("tube", TUBE.fingerprint))
    reason = refused(decide_tick(record.state, "device", asking.fingerprint))
    assert reason == "Device hangs on it: was the baby born today? Say so first."
    assert set(record.add(Ticked("device", asking.fingerprint)).ticks) == {"tube"}
    state = record.add(listed(DEVICE, TUBE))
    assert state.is_ticked("tube")
    assert decide_tick(state, "device", DEVICE.fingerprint) == (Ticked("device", DEVICE.fingerprint),)
