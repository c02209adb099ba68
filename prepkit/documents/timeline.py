"""The timeline of a record: what the team did about the preparation, and every entry made at the cot."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from itertools import groupby
from typing import Any

from prepkit.documents.record import RecordAttribution, RecordTimelineEntry
from prepkit.kit.kit import Kit
from prepkit.kit.names import name_fact
from prepkit.kit.procedure import Procedure
from prepkit.preparation.baby.events import (
    Answered,
    AnswerTakenBack,
    SaidDone,
    SameBabyAnswered,
    SeniorAgreed,
    Unanswered,
    WeightConfirmed,
)
from prepkit.preparation.bedside.afterwards import find_reading
from prepkit.preparation.bedside.clocks import say_until
from prepkit.preparation.bedside.events import CameBack, Closed, Signed
from prepkit.preparation.bedside.record import TimelineEntry
from prepkit.preparation.check.events import CheckBegun, CheckEnded, CheckLeft, CheckRead
from prepkit.preparation.events import Event, Payload, ReadAloud, Started, StoodDown, WardReplaced
from prepkit.preparation.handover.events import HandedOver, TakenOver
from prepkit.preparation.state import Preparation
from prepkit.wording.baby import say_fact_text


def say_when(who: str, at: datetime, day: datetime) -> RecordAttribution:
    """Who and when, with the date where it is not that of `day`."""
    clock = f"{at:%H:%M}" if at.date() == day.date() else f"{at:%d %b %H:%M}"
    return RecordAttribution(who, at.isoformat(timespec="seconds"), clock)


def make_timeline(events: Iterable[Event], state: Preparation, kit: Kit | None) -> tuple[RecordTimelineEntry, ...]:
    """Milestones and entries by their times; struck entries too."""
    day, procedure = state.started.at, kit.procedure if kit else None
    texts = {each.id: each.text for each in kit.criterion} if kit else {}
    told = (each for each in events if type(each.payload) in _MILESTONES)
    rows = []
    for _, group in groupby(told, _find_group):
        first, *others = group
        rows.append((first.stamp.at, first.seq, _show_milestone(first, others, day, texts)))
    rows += [(each.at, each.number, _show_entry(each, state, procedure)) for each in state.cot_record.entries]
    return tuple(row for _, _, row in sorted(rows, key=lambda row: row[:2]))


def say_readings(state: Preparation, procedure: Procedure | None, of: str, asks: Iterable[str]) -> tuple[str, ...]:
    """The readings that were given for an entry or a follow-up, in words."""
    if procedure is None:
        return ()
    given = [(find_reading(procedure, name), state.cot_record.readings.get((of, name))) for name in asks]
    return tuple(f"{reading.label} {value.value}" for reading, value in given if reading and value)


def _show_entry(entry: TimelineEntry, state: Preparation, procedure: Procedure | None) -> RecordTimelineEntry:
    rows = () if procedure is None else procedure.step if entry.kind == "step" else procedure.happening
    found = next((each for each in rows if each.id == entry.id), None)
    name = found.name if found else entry.id
    readings = say_readings(state, procedure, str(entry.number), found.asks if found else ())
    return RecordTimelineEntry(
        said=say_when(entry.stamp.who, entry.at, state.started.at),
        words=f"{name}: left out, {entry.left_out}" if entry.left_out else name,
        notes=tuple(_list_notes(entry, (*readings, *filter(None, (say_until(found, entry),))))),
        is_struck=bool(entry.struck),
        is_milestone=False,
    )


def _list_notes(entry: TimelineEntry, readings: tuple[str, ...]) -> Iterator[str]:
    if not entry.left_out:
        yield from readings
    if entry.note:
        yield entry.note
    for at in entry.earlier:
        yield f"time corrected, was {at:%H:%M}"
    if entry.struck:
        yield f"struck out: {entry.struck}"


def _find_group(event: Event) -> tuple[object, ...]:
    """What reasons that were answered alike by one touch have in common; an event of any other kind is alone."""
    if isinstance(event.payload, Answered):
        return event.stamp.at, event.payload.answer
    return (event.seq,)


def _show_milestone(
    event: Event, alike: Iterable[Event], day: datetime, texts: Mapping[str, str]
) -> RecordTimelineEntry:
    said = say_when(event.stamp.who, event.stamp.at, day)
    words = _MILESTONES[type(event.payload)](event.payload)
    of_criteria = [each.payload for each in (event, *alike)]
    named = [each.criterion for each in of_criteria if isinstance(each, Answered | AnswerTakenBack | SaidDone)]
    if named:
        words = f"{words}: {'; '.join(texts.get(name, name) for name in named)}"
    return RecordTimelineEntry(said, words, (), is_struck=False, is_milestone=True)


def say_core_fact(fact: str, text: str) -> str:
    """A core fact with its label: "birth weight 1450 g"."""
    return f"{name_fact(fact)} {say_fact_text(fact, text)}"


def _say_read(payload: CheckRead) -> str:
    ending = "agrees" if payload.agrees else "differs, all stopped"
    return f"Checker read {say_core_fact(payload.fact, payload.value)}: {ending}"


def _say_confirmed(payload: WeightConfirmed) -> str:
    by = f" by {payload.second} too" if payload.second else ""
    return f"Unlikely weight entered again{by}: {say_core_fact(payload.fact, payload.facts[payload.fact])}"


def _say_same_baby(payload: SameBabyAnswered) -> str:
    counted = "counted as this baby's" if payload.is_same else "another baby's, or counted already"
    return f"Given under this cot label: {'; '.join(payload.doses.values())}: {counted}"


_APPLIES = {"yes": "Applies", "no": "Does not apply", "unsure": "Not sure"}
# Each sentence is made from its own kind of event, which a table cannot tell a type checker.
_MILESTONES: Mapping[type[Payload], Callable[[Any], str]] = {
    Started: lambda each: f"Preparation started, kit edition {each.kit_edition}",
    WeightConfirmed: _say_confirmed,
    SeniorAgreed: lambda each: f"{each.senior} (senior) agreed: {each.note}",
    WardReplaced: lambda each: f"Kit and ward file taken as they are now, kit edition {each.kit_edition}",
    Answered: lambda each: _APPLIES[each.answer],
    AnswerTakenBack: lambda _: "Taken back, open again",
    SaidDone: lambda each: "Done" if each.is_done else "Taken back, not recorded",
    Unanswered: lambda each: f"Asked again, as it is asked otherwise now: {', '.join(each.criteria)}",
    SameBabyAnswered: _say_same_baby,
    CheckBegun: lambda _: "Second check begun",
    CheckRead: _say_read,
    CheckEnded: lambda _: "Second check ended",
    CheckLeft: lambda _: "Second check stopped before its end: it does not count",
    HandedOver: lambda each: f"Handed over: {each.note}",
    TakenOver: lambda _: "Taken over",
    ReadAloud: lambda _: "Ready: summary read aloud",
    CameBack: lambda each: f"Came back from the cot: {each.reason}",
    Signed: lambda _: "Record signed",
    Closed: lambda _: "Record closed",
    StoodDown: lambda each: f"Stood down: {each.reason}",
}
