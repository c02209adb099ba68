"""The ward's own audit: numbers over the records it closed, and nothing else. Practice never counts.

Each record adds one row, made from its events alone so that a number can be counted again by hand. The row is kept
beside the record as a line of text: short, exact, read back whole.
"""

import json
from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction

from msgspec import Struct

from prepkit.canonical import write_canonical
from prepkit.documents.bars import Bar, BarChart, Spread, compute_spread, count_words, make_bins
from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.lines import DoseLine
from prepkit.kit.procedure import WordReading
from prepkit.preparation.baby.events import SeniorAgreed, WeightConfirmed
from prepkit.preparation.bedside.afterwards import find_reading
from prepkit.preparation.bedside.record import BedsideRecord
from prepkit.preparation.bedside.results import find_reached, find_recovered
from prepkit.preparation.check.events import CheckEnded, CheckRead, DifferenceSettled
from prepkit.preparation.events import Event, ReadAloud
from prepkit.preparation.evolve import evolve
from prepkit.preparation.listing import WorkedList, read_order
from prepkit.preparation.state import Preparation
from prepkit.quantities.text import write_decimal

_DOSE_BIN, _MINUTE_BIN = 25, 10
_SECONDS = 60


class AuditRow(Struct, frozen=True):
    """What one closed record adds to the audit."""

    route: str
    first_attempt: bool | None
    """None where nobody recorded it."""
    over_line: bool | None
    """Whether the share recovered was over the ward's line; None where it is not known, or the ward states none."""
    per_kg: Fraction | None
    """mg/kg given; None where it is not known."""
    is_second_dose: bool
    complications: tuple[str, ...] | None
    minutes: int | None
    """From the start to ready, whole minutes; None where it was never read aloud."""
    mismatches: int
    """Facts of the baby and lines where the second check differed."""
    overrides: tuple[str, ...]
    set_aside: int


class Share(Struct, frozen=True):
    """A count, and of how many it is known."""

    name: str
    count: int
    of: int

    def words(self) -> str:
        """The count in words: "7 of 9 (78 %)"."""
        percent = f" ({write_decimal(Fraction(self.count * 100, self.of), 0)} %)" if self.of else ""
        return f"{self.count} of {self.of}{percent}"


class Audit(Struct, frozen=True):
    """The numbers, with the days they are for."""

    days: str
    """Which days, in words."""
    count: int
    shares: tuple[Share, ...]
    spreads: tuple[Spread, ...]
    charts: tuple[BarChart, ...]
    left_out: tuple[str, ...]
    """What was not counted and why, a sentence each."""


def is_counted(state: Preparation, first: date | None, last: date | None) -> bool:
    """Whether a record counts: closed, not practice, started on one of the days."""
    day = state.started.at.date()
    within = (first is None or first <= day) and (last is None or day <= last)
    return state.cot_record.closed is not None and not state.practice and within


def make_audit_row(events: Sequence[Event], state: Preparation, worked: WorkedList) -> AuditRow:
    """What one closed record adds."""
    recovered, reached = find_recovered(state, worked), find_reached(state, worked)
    return AuditRow(
        route=state.kit_name,
        first_attempt=_find_first_attempt(state.cot_record, worked),
        over_line=recovered.is_over if recovered else None,
        per_kg=reached[0].value if reached else None,
        is_second_dose=_is_second_dose(state, worked),
        complications=state.cot_record.complications,
        minutes=_count_minutes(events),
        mismatches=_count_mismatches(events),
        overrides=_list_overrides(events),
        set_aside=sum(state.is_set_aside(line.id) for line in state.lines),
    )


def make_audit(cases: Iterable[AuditRow], days: str, left_out: tuple[str, ...] = ()) -> Audit:
    """Add the rows up."""
    found = tuple(cases)
    doses = [each.per_kg for each in found if each.per_kg is not None]
    minutes = [Fraction(each.minutes) for each in found if each.minutes is not None]
    said = [each.complications for each in found if each.complications is not None]
    return Audit(
        days=days,
        count=len(found),
        shares=(
            _count("in at the first attempt", [each.first_attempt for each in found]),
            _count("share recovered over the ward's line", [each.over_line for each in found]),
            _count("second or later dose", [each.is_second_dose for each in found]),
            _count("without a complication", [not each for each in said]),
            _count("with a mismatch caught by the second check", [each.mismatches > 0 for each in found]),
            _count("with an override", [bool(each.overrides) for each in found]),
        ),
        spreads=(
            compute_spread("dose given", "mg/kg", doses),
            compute_spread("start to ready", "minutes", minutes),
        ),
        charts=(
            count_words("Route", (each.route for each in found)),
            count_words("Complications", (word for words in said for word in words)),
            make_bins("Dose given, mg/kg", doses, _DOSE_BIN),
            make_bins("Minutes from start to ready", minutes, _MINUTE_BIN),
            BarChart(
                "Second check and overrides",
                (
                    Bar("mismatches caught by the second check", sum(each.mismatches for each in found)),
                    *count_words("", (word for each in found for word in each.overrides)).bars,
                    Bar("lines set aside as not needed", sum(each.set_aside for each in found)),
                ),
            ),
        ),
        left_out=left_out,
    )


def _count(name: str, values: Iterable[bool | None]) -> Share:
    known = [value for value in values if value is not None]
    return Share(name, sum(known), len(known))


def _find_first_attempt(cot: BedsideRecord, worked: WorkedList) -> bool | None:
    procedure = worked.laid.procedure
    after = procedure.afterwards if procedure else None
    if procedure is None or after is None or after.attempts is None:
        return None
    reading = find_reading(procedure, after.attempts)
    said = [
        cot.readings[str(entry.number), after.attempts].value
        for entry in cot.unstruck_entries
        if (str(entry.number), after.attempts) in cot.readings
    ]
    if not said or not isinstance(reading, WordReading):
        return None
    # If the team came back and went again, it was not the first attempt.
    return len(said) == 1 and said[0] == reading.options[0]


def _is_second_dose(state: Preparation, worked: WorkedList) -> bool:
    """Whether a whole dose was given before; the part that an ordered rest makes whole is no other dose."""
    after = worked.laid.procedure.afterwards if worked.laid.procedure else None
    line = next((each for each in worked.laid.line if after and each.id == after.line), None)
    if worked.baby is None or not isinstance(line, DoseLine) or line.earlier is None:
        return False
    had, ordered = worked.baby.facts.get(line.earlier), state.orders.get(line.id)
    is_rest = ordered is not None and read_order(ordered.what).is_rest
    return isinstance(had, EarlierDoses) and len(had.doses) > is_rest


def _count_minutes(events: Sequence[Event]) -> int | None:
    ready = next((each.stamp.at for each in events if isinstance(each.payload, ReadAloud)), None)
    return None if ready is None else int((ready - events[0].stamp.at).total_seconds()) // _SECONDS


def _count_mismatches(events: Sequence[Event]) -> int:
    """Facts of the baby that differed, and lines that differed in a check that was finished."""
    found, state = 0, None
    for event in events:
        if isinstance(event.payload, CheckRead) and not event.payload.agrees:
            found += 1
        if isinstance(event.payload, CheckEnded) and state is not None and state.check is not None:
            found += sum(not entry.agrees for entry in state.check.entries.values())
        state = evolve(state, event)
    return found


_OVERRIDES = (
    (SeniorAgreed, "a senior agreed to go on"),
    (WeightConfirmed, "an unlikely weight was entered again"),
    (DifferenceSettled, "a difference of the second check was settled"),
)


def _list_overrides(events: Sequence[Event]) -> tuple[str, ...]:
    return tuple(words for each in events for kind, words in _OVERRIDES if isinstance(each.payload, kind))


def write_audit_row(row: AuditRow) -> str:
    """Write a row: a JSON array of its fields in their order, mg/kg as a fraction in text."""
    c = row
    per_kg = None if c.per_kg is None else str(c.per_kg)
    return write_canonical(
        [
            c.route,
            c.first_attempt,
            c.over_line,
            per_kg,
            c.is_second_dose,
            c.complications,
            c.minutes,
            c.mismatches,
            c.overrides,
            c.set_aside,
        ]
    )


def read_audit_row(text: str) -> AuditRow:
    """Read what `write_audit_row` wrote. Raises ValueError for anything else."""
    try:
        (route, first_attempt, over_line, per_kg, is_second_dose, said, minutes, mismatches, overrides, set_aside) = (
            json.loads(text)
        )
        return AuditRow(
            route=route,
            first_attempt=first_attempt,
            over_line=over_line,
            per_kg=None if per_kg is None else Fraction(per_kg),
            is_second_dose=is_second_dose,
            complications=None if said is None else tuple(said),
            minutes=minutes,
            mismatches=mismatches,
            overrides=tuple(overrides),
            set_aside=set_aside,
        )
    except (TypeError, ZeroDivisionError) as error:
        raise ValueError(f"not a case: {error}") from error
