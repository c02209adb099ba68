"""How the events at the cot and afterwards change the state.

A correction to an entry that does not exist is ignored.
"""

from collections.abc import Callable
from datetime import datetime

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.bedside.events import (
    AddendumWritten,
    CameBack,
    Closed,
    ComplicationsSaid,
    EntryNoted,
    FollowUpMissed,
    FollowUpSet,
    Happened,
    OutcomeGiven,
    ReadingGiven,
    Signed,
    StepDone,
    StepLeftOut,
    Struck,
    TimeCorrected,
)
from prepkit.preparation.bedside.record import (
    Addendum,
    BedsideRecord,
    FollowUpDue,
    GivenOutcome,
    GivenReading,
    TimelineEntry,
)
from prepkit.preparation.state import Preparation, apply, without


@apply.register
def _do_step(payload: StepDone, state: Preparation, stamp: Attribution) -> Preparation:
    return _add(state, TimelineEntry(state.seq, "step", payload.step, datetime.fromisoformat(payload.at), stamp))


@apply.register
def _leave_out(payload: StepLeftOut, state: Preparation, stamp: Attribution) -> Preparation:
    return _add(state, TimelineEntry(state.seq, "step", payload.step, stamp.at, stamp, left_out=payload.reason))


@apply.register
def _happen(payload: Happened, state: Preparation, stamp: Attribution) -> Preparation:
    at = datetime.fromisoformat(payload.at)
    return _add(state, TimelineEntry(state.seq, "happening", payload.happening, at, stamp, payload.note))


@apply.register
def _give_reading(payload: ReadingGiven, state: Preparation, stamp: Attribution) -> Preparation:
    readings = {**state.cot_record.readings, (payload.of, payload.reading): GivenReading(payload.value, stamp)}
    return _change(state, replace(state.cot_record, readings=readings))


@apply.register
def _correct(payload: TimeCorrected, state: Preparation, _stamp: Attribution) -> Preparation:
    at = datetime.fromisoformat(payload.at)
    return _change_entry(state, payload.entry, lambda entry: replace(entry, at=at, earlier=(*entry.earlier, entry.at)))


@apply.register
def _strike(payload: Struck, state: Preparation, _stamp: Attribution) -> Preparation:
    return _change_entry(state, payload.entry, lambda entry: replace(entry, struck=payload.reason))


@apply.register
def _note(payload: EntryNoted, state: Preparation, _stamp: Attribution) -> Preparation:
    return _change_entry(
        state, payload.entry, lambda entry: replace(entry, note="; ".join(filter(None, (entry.note, payload.note))))
    )


@apply.register
def _set_follow_up(payload: FollowUpSet, state: Preparation, _stamp: Attribution) -> Preparation:
    due = FollowUpDue(payload.name, datetime.fromisoformat(payload.at), payload.asks)
    dues = {**state.cot_record.dues, payload.follow_up: due}
    return _change(state, replace(state.cot_record, dues=dues))


@apply.register
def _miss_follow_up(payload: FollowUpMissed, state: Preparation, _stamp: Attribution) -> Preparation:
    due = state.cot_record.dues.get(payload.follow_up)
    if due is None:
        return state
    dues = {**state.cot_record.dues, payload.follow_up: replace(due, missed=payload.reason)}
    return _change(state, replace(state.cot_record, dues=dues))


@apply.register
def _come_back(payload: CameBack, state: Preparation, _stamp: Attribution) -> Preparation:
    attempt = state.cot_record.attempt + 1
    for line in payload.used:
        ticks, checks = without(state.ticks, line), without(state.checks, line)
        state = replace(state, ticks=ticks, checks=checks, in_hand=without(state.in_hand, line))
    return replace(_change(state, replace(state.cot_record, is_away=False, attempt=attempt)), read_aloud=None)


@apply.register
def _give_outcome(payload: OutcomeGiven, state: Preparation, stamp: Attribution) -> Preparation:
    return _change(state, replace(state.cot_record, outcome=GivenOutcome(payload.outcome, payload.note, stamp)))


@apply.register
def _say_complications(payload: ComplicationsSaid, state: Preparation, _stamp: Attribution) -> Preparation:
    return _change(state, replace(state.cot_record, complications=payload.complications))


@apply.register
def _sign(_payload: Signed, state: Preparation, stamp: Attribution) -> Preparation:
    signed = {**state.cot_record.signed, stamp.who: stamp}
    return replace(state, cot_record=replace(state.cot_record, signed=signed))


@apply.register
def _close(_payload: Closed, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, cot_record=replace(state.cot_record, closed=stamp))


@apply.register
def _write_addendum(payload: AddendumWritten, state: Preparation, stamp: Attribution) -> Preparation:
    addenda = (*state.cot_record.addenda, Addendum(payload.text, stamp))
    return replace(state, cot_record=replace(state.cot_record, addenda=addenda))


def _add(state: Preparation, entry: TimelineEntry) -> Preparation:
    entry = replace(entry, attempt=state.cot_record.attempt)
    return _change(state, replace(state.cot_record, entries=(*state.cot_record.entries, entry), is_away=True))


def _change_entry(state: Preparation, number: str, change: Callable[[TimelineEntry], TimelineEntry]) -> Preparation:
    entries = tuple(change(each) if str(each.number) == number else each for each in state.cot_record.entries)
    return _change(state, replace(state.cot_record, entries=entries))


def _change(state: Preparation, cot: BedsideRecord) -> Preparation:
    """Replace the record; anything new takes the signatures away, which were for the record as it was."""
    return replace(state, cot_record=replace(cot, signed={}))
