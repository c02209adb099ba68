"""The record of the time at the cot: the timeline, what came of it, what it still needs."""

from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.procedure import Afterwards, Procedure
from prepkit.preparation.bedside.afterwards import (
    RecordGap,
    compute_record_fingerprint,
    find_record_missing,
    find_volume,
    list_planned,
    list_volumes,
)
from prepkit.preparation.bedside.clocks import list_clocks, say_until
from prepkit.preparation.bedside.record import AFTERWARDS, FollowUpDue, GivenOutcome, TimelineEntry
from prepkit.preparation.bedside.results import say_results
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.view.banner import show_banner
from prepkit.view.cot import ReadingRow, say_notes, show_readings
from prepkit.view.models import Banner, Offer, Sign


class TimelineRow(Struct, frozen=True):
    """One entry of the timeline."""

    entry: str
    at: str
    words: str
    note: str
    """Readings, corrections, why it was struck out."""
    is_struck: bool
    readings: tuple[ReadingRow, ...]


class FollowUpRow(Struct, frozen=True):
    """A follow-up of the baby that is due, or was done."""

    follow_up: str
    name: str
    sign: Sign
    word: str
    """ "due 04:10", "due now, since 04:10", "done RA 04:12", "not done". """
    note: str
    readings: tuple[ReadingRow, ...]
    how: tuple[str, ...]
    """What to do with it."""


class RecordView(Struct, frozen=True):
    """The record: what happened, what came of it, what it still needs."""

    banner: Banner
    timeline: tuple[TimelineRow, ...]
    results: tuple[str, ...]
    """What was given per kg, the share recovered, a repeat at the earliest; with the sums."""
    clocks: tuple[str, ...]
    """What holds until a clock of the cot has run out: "until 04:41: no airway suction"."""
    follow_ups: tuple[FollowUpRow, ...]
    readings: tuple[ReadingRow, ...]
    """Those that are still to be entered, of no step."""
    outcome: str
    outcomes: tuple[str, ...]
    complications: str
    complication_choices: tuple[str, ...]
    to_enter: tuple[RecordGap, ...]
    """What it still needs."""
    signed: tuple[str, ...]
    sign: Offer
    addenda: tuple[str, ...]
    is_closed: bool
    standing: str
    """Give it back when signing: the record is signed as it was shown."""
    ended: str
    """How it ended, as a sentence: closed, or stood down; empty while it goes on."""
    progress: str
    """How far it is: "3 to record", "to sign", "closed", "stood down"."""
    said: tuple[str, ...] = ()
    """The complications as they were chosen."""

    @property
    def missing(self) -> tuple[str, ...]:
        """What it still needs, a sentence each."""
        return tuple(gap.words for gap in self.to_enter)


def show_record(state: Preparation, worked: WorkedList, now: datetime, *, signatures: int) -> RecordView:
    """The record as it stands; `signatures` is how many people have to sign it."""
    procedure, record = worked.laid.procedure, state.cot_record
    after = procedure.afterwards if procedure else None
    ended = _say_ended(state)
    to_enter = () if ended else find_record_missing(state, worked.laid)
    return RecordView(
        banner=show_banner(state, worked.baby),
        timeline=tuple(_show_entry(entry, state, procedure) for entry in _in_order(state)) if procedure else (),
        results=say_results(state, worked),
        clocks=() if ended else _list_running(state, procedure, now),
        follow_ups=tuple(_show_due(key, due, state, worked, now) for key, due in record.dues.items()),
        readings=_list_open_readings(state, procedure, after) if procedure and after else (),
        outcome=" · ".join(part for part in (record.outcome.outcome, record.outcome.note) if part)
        if record.outcome
        else "",
        outcomes=after.outcomes if after else (),
        complications="" if record.complications is None else "; ".join(record.complications) or "none",
        complication_choices=after.complications if after else (),
        to_enter=to_enter,
        signed=tuple(f"Signed by {say_stamp(stamp)}" for stamp in record.signed.values()),
        sign=_offer_sign(state, len(to_enter), signatures),
        addenda=tuple(f"{say_stamp(each.stamp)}: {each.text}" for each in record.addenda),
        is_closed=record.closed is not None,
        standing=compute_record_fingerprint(state),
        ended=ended,
        progress=_say_far(state, len(to_enter)),
        said=record.complications or (),
    )


def _say_ended(state: Preparation) -> str:
    if state.cot_record.closed is not None:
        return f"Closed by {say_stamp(state.cot_record.closed)}."
    ended = state.stood_down
    return f"Stood down by {say_stamp(ended.stamp)}: {ended.reason}" if ended else ""


def _say_far(state: Preparation, missing: int) -> str:
    if state.cot_record.closed is not None:
        return "closed"
    return "stood down" if state.stood_down else f"{missing} to record" if missing else "to sign"


def _list_running(state: Preparation, procedure: Procedure | None, now: datetime) -> tuple[str, ...]:
    """The clocks with an end that is still to come: what is past is told at the cot alone."""
    running = [each for each in list_clocks(state, procedure) if each.ends is not None and now < each.ends]
    return tuple(each.say_until(now) for each in running)


def _in_order(state: Preparation) -> list[TimelineEntry]:
    return sorted(state.cot_record.entries, key=lambda entry: (entry.at, entry.number))


def _show_entry(entry: TimelineEntry, state: Preparation, procedure: Procedure) -> TimelineRow:
    rows = procedure.step if entry.kind == "step" else procedure.happening
    found = next((each for each in rows if each.id == entry.id), None)
    name = found.name if found else entry.id
    readings = show_readings(state, procedure, str(entry.number), found.asks if found and not entry.left_out else ())
    said = say_notes(replace(entry, left_out=""))  # why it was left out stands in its words
    given = (f"{reading.label} {reading.value}" for reading in readings if reading.value)
    notes = (*given, *filter(None, (say_until(found, entry),)), *said)
    words = f"{name}: left out, {entry.left_out}" if entry.left_out else name
    return TimelineRow(
        entry=str(entry.number),
        at=f"{entry.at:%H:%M}",
        words=f"{words} ({entry.stamp.who})",
        note=" · ".join(notes),
        is_struck=bool(entry.struck),
        readings=readings,
    )


def _show_due(key: str, due: FollowUpDue, state: Preparation, worked: WorkedList, now: datetime) -> FollowUpRow:
    procedure = worked.laid.procedure
    readings = show_readings(state, procedure, key, due.asks) if procedure else ()
    how = next((each.how for each in list_planned(worked) if each.id == key), ())
    if due.missed:
        return FollowUpRow(key, due.name, Sign.NOT_NEEDED, "not done", due.missed, readings, how)
    if state.cot_record.is_made(key):
        said = " · ".join(f"{reading.label} {reading.value}" for reading in readings)
        return FollowUpRow(key, due.name, Sign.DONE, "done", said, readings, how)
    local = due.at.astimezone(now.tzinfo)
    is_due = due.at <= now
    word = f"due now, since {local:%H:%M}" if is_due else f"due {local:%H:%M}"
    return FollowUpRow(
        key, due.name, Sign.QUESTION if is_due else Sign.TO_DO, word, " ".join(how) if is_due else "", readings, how
    )


def _list_open_readings(state: Preparation, procedure: Procedure, after: Afterwards) -> tuple[ReadingRow, ...]:
    asks = tuple(each for each in list_volumes(after) if find_volume(state, each) is None)
    return show_readings(state, procedure, AFTERWARDS, asks)


def _offer_sign(state: Preparation, missing: int, signatures: int) -> Offer:
    label = "Sign and close" if len(state.cot_record.signed) + 1 >= signatures else "Sign"
    if ended := _say_ended(state):
        return Offer(label, ended)
    return Offer(label, f"{missing} to record first." if missing else "")


def _say_outcome(outcome: GivenOutcome | None) -> str:
    return " · ".join(part for part in (outcome.outcome, outcome.note) if part) if outcome else ""
