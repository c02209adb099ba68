"""How a state takes in what happens at the cot and afterwards.

A correction of an entry that is not there is kept out rather than believed. May import: this layer's events, cot,
state and taking, msgspec and the standard library.
"""

from collections.abc import Callable
from datetime import datetime
from typing import get_args

from msgspec.structs import replace

from prepkit.preparation.cot import Addendum, Cot, Due, Entry, GivenReading, Outcome
from prepkit.preparation.cot_events import (
    AddendumWritten,
    CameBack,
    Closed,
    ComplicationsSaid,
    CotPayload,
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
from prepkit.preparation.events import Stamp
from prepkit.preparation.state import Preparation
from prepkit.preparation.taking import take_in

AT_THE_COT: tuple[type, ...] = get_args(CotPayload)
"""Every kind that is taken in here."""


@take_in.register
def _do_step(payload: StepDone, state: Preparation, stamp: Stamp) -> Preparation:
    return _add(state, Entry(state.seq, "step", payload.step, datetime.fromisoformat(payload.at), stamp))


@take_in.register
def _leave_out(payload: StepLeftOut, state: Preparation, stamp: Stamp) -> Preparation:
    return _add(state, Entry(state.seq, "step", payload.step, stamp.at, stamp, left_out=payload.reason))


@take_in.register
def _happen(payload: Happened, state: Preparation, stamp: Stamp) -> Preparation:
    at = datetime.fromisoformat(payload.at)
    return _add(state, Entry(state.seq, "happening", payload.happening, at, stamp, payload.note))


@take_in.register
def _give_reading(payload: ReadingGiven, state: Preparation, stamp: Stamp) -> Preparation:
    readings = {**state.cot_record.readings, (payload.of, payload.reading): GivenReading(payload.value, stamp)}
    return _change(state, replace(state.cot_record, readings=readings))


@take_in.register
def _correct(payload: TimeCorrected, state: Preparation, _stamp: Stamp) -> Preparation:
    at = datetime.fromisoformat(payload.at)
    return _change_entry(state, payload.entry, lambda entry: replace(entry, at=at, earlier=(*entry.earlier, entry.at)))


@take_in.register
def _strike(payload: Struck, state: Preparation, _stamp: Stamp) -> Preparation:
    return _change_entry(state, payload.entry, lambda entry: replace(entry, struck=payload.reason))


@take_in.register
def _note(payload: EntryNoted, state: Preparation, _stamp: Stamp) -> Preparation:
    return _change_entry(
        state, payload.entry, lambda entry: replace(entry, note="; ".join(filter(None, (entry.note, payload.note))))
    )


@take_in.register
def _set_follow_up(payload: FollowUpSet, state: Preparation, _stamp: Stamp) -> Preparation:
    due = Due(payload.name, datetime.fromisoformat(payload.at), payload.asks)
    dues = {**state.cot_record.dues, payload.follow_up: due}
    return _change(state, replace(state.cot_record, dues=dues))


@take_in.register
def _miss_follow_up(payload: FollowUpMissed, state: Preparation, _stamp: Stamp) -> Preparation:
    due = state.cot_record.dues.get(payload.follow_up)
    if due is None:
        return state
    dues = {**state.cot_record.dues, payload.follow_up: replace(due, missed=payload.reason)}
    return _change(state, replace(state.cot_record, dues=dues))


@take_in.register
def _come_back(_payload: CameBack, state: Preparation, _stamp: Stamp) -> Preparation:
    attempt = state.cot_record.attempt + 1
    return replace(_change(state, replace(state.cot_record, is_away=False, attempt=attempt)), read_aloud=None)


@take_in.register
def _give_outcome(payload: OutcomeGiven, state: Preparation, stamp: Stamp) -> Preparation:
    return _change(state, replace(state.cot_record, outcome=Outcome(payload.outcome, payload.note, stamp)))


@take_in.register
def _say_complications(payload: ComplicationsSaid, state: Preparation, _stamp: Stamp) -> Preparation:
    return _change(state, replace(state.cot_record, complications=payload.complications))


@take_in.register
def _sign(_payload: Signed, state: Preparation, stamp: Stamp) -> Preparation:
    signed = {**state.cot_record.signed, stamp.who: stamp}
    return replace(state, cot_record=replace(state.cot_record, signed=signed))


@take_in.register
def _close(_payload: Closed, state: Preparation, stamp: Stamp) -> Preparation:
    return replace(state, cot_record=replace(state.cot_record, closed=stamp))


@take_in.register
def _write_addendum(payload: AddendumWritten, state: Preparation, stamp: Stamp) -> Preparation:
    addenda = (*state.cot_record.addenda, Addendum(payload.text, stamp))
    return replace(state, cot_record=replace(state.cot_record, addenda=addenda))


def _add(state: Preparation, entry: Entry) -> Preparation:
    entry = replace(entry, attempt=state.cot_record.attempt)
    return _change(state, replace(state.cot_record, entries=(*state.cot_record.entries, entry), is_away=True))


def _change_entry(state: Preparation, number: str, change: Callable[[Entry], Entry]) -> Preparation:
    entries = tuple(change(each) if str(each.number) == number else each for each in state.cot_record.entries)
    return _change(state, replace(state.cot_record, entries=entries))


def _change(state: Preparation, cot: Cot) -> Preparation:
    """What was signed was signed as it stood: anything new takes the signatures away."""
    return replace(state, cot_record=replace(cot, signed={}))
