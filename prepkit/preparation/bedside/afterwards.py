"""What the kit asks for at the cot and afterwards: typed readings, volumes given, what the record still needs.

Also the fingerprint of the record as it is signed. Needs the kit, so the home screen does not load it.
"""

from datetime import datetime, timedelta
from math import ceil
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from prepkit.canonical import compute_fingerprint
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.kit import Kit
from prepkit.kit.lines import AmountLine, DoseLine
from prepkit.kit.procedure import Afterwards, FollowUp, NumberReading, PersonReading, Procedure, Reading
from prepkit.preparation.bedside.events import FollowUpSet
from prepkit.preparation.bedside.record import AFTERWARDS
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal, check_initials
from prepkit.quantities.amount import Amount, convert, multiply
from prepkit.quantities.text import (
    UnreadableAmountError,
    read_amount,
    read_number,
    show_amount,
    show_range,
    write_amount,
    write_decimal,
)


def find_reading(procedure: Procedure, reading: str) -> Reading | None:
    """Find the kit's reading with that id."""
    return next((each for each in procedure.reading if each.id == reading), None)


def read_reading(reading: Reading, typed: str) -> tuple[str, str]:
    """Read what was typed for a reading: its canonical text and "", or "" and what is wrong."""
    if isinstance(reading, PersonReading):
        initials = check_initials(typed)
        return ("", initials.reason) if isinstance(initials, Refusal) else (initials, "")
    if not isinstance(reading, NumberReading):
        word = typed.strip().lower()
        found = next((each for each in reading.options if each.lower() == word), None)
        return (found, "") if found else ("", f"{reading.label} is one of: {'; '.join(reading.options)}.")
    unit = reading.least.unit
    try:
        text = typed.strip()
        amount = read_amount(text, unit.dimension) if " " in text else Amount(read_number(text), unit)
    except UnreadableAmountError as error:
        return "", f"What was typed {error.reason}."
    if not reading.least <= amount <= reading.most:
        return "", f"{show_amount(amount)} is outside {show_range(reading.least, reading.most)}: read it again."
    return write_amount(convert(amount, unit)), ""


def list_planned(worked: WorkedList) -> tuple[FollowUp, ...]:
    """List the follow-ups of the kit and those of the ward, which ask what the kit's first one asks; by their times."""
    planned = worked.laid.procedure.follow_up if worked.laid.procedure else ()
    own = worked.ward.model.afterwards if worked.ward else None
    wards = [_plan(each, planned[0]) for each in own.follow_up] if own and planned else []
    # Of one time the kit's own, which cites where it comes from.
    by_time = {convert(each.after, "min").value: each for each in (*wards, *planned)}
    return tuple(by_time[time] for time in sorted(by_time))


def _plan(after: Amount, like: FollowUp) -> FollowUp:
    named = {"id": f"after-{write_decimal(after.value)}-{after.unit.text}", "name": f"{show_amount(after)} after"}
    return replace(like, after=after, basis="local", source=(), **named)


def list_follow_ups(worked: WorkedList, step: str, at: datetime) -> tuple[FollowUpSet, ...]:
    """List the follow-ups that are due after a step, given when it was done."""
    return tuple(
        FollowUpSet(each.id, each.name, add_time(at, each.after).isoformat(timespec="seconds"), each.asks)
        for each in list_planned(worked)
        if each.since == step
    )


def find_volume(state: Preparation, reading: str) -> Amount | None:
    """Find the latest volume read for a reading, struck entries left out."""
    counting = {str(each.number) for each in state.cot_record.unstruck_entries} | {AFTERWARDS}
    found = [given for (of, name), given in state.cot_record.readings.items() if name == reading and of in counting]
    return read_amount(max(found, key=lambda each: each.stamp.at).value) if found else None


def find_given_dose(state: Preparation, worked: WorkedList) -> EarlierDose | None:
    """Find the dose that was given since the team last went to the cot; None where none was begun.

    Without a volume it is a dose of an unknown amount; what came back of it is not taken off.
    """
    procedure, read = worked.laid.procedure, state.read_aloud
    after = procedure.afterwards if procedure else None
    line = next((each for each in worked.tray.lines if after and each.id == after.line), None) if worked.tray else None
    if procedure is None or after is None or line is None:
        return None
    cot = state.cot_record
    entries = [each for each in cot.unstruck_entries if each.attempt == cot.attempt and not each.left_out]
    steps = {step.id for step in procedure.step if after.line in step.lines or after.given in step.asks}
    begun = [entry.at for entry in entries if entry.kind == "step" and entry.id in steps]
    of = {str(each.number) for each in entries}
    volumes = [
        given
        for (what, name), given in cot.readings.items()
        if name == after.given and (what in of or (what == AFTERWARDS and read and read.stamp.at <= given.stamp.at))
    ]
    if not volumes:
        return _make_dose(worked, line.outcome.product, None, begun[-1]) if begun else None
    last = max(volumes, key=lambda each: each.stamp.at)
    volume = read_amount(last.value)
    if not volume.value:
        return None
    recipe, at = line.outcome.recipe, begun[-1] if begun else last.stamp.at
    amount = multiply(volume, recipe.strength, "mg") if recipe and recipe.recipe else volume
    dose, order, drawn = (
        _make_dose(worked, line.outcome.product, amount, at),
        state.orders.get(line.id),
        line.outcome.amount,
    )
    if order is not None and order.what.is_rest:
        return replace(dose, is_rest=True)
    return replace(dose, part_of=line.outcome.due) if drawn is not None and volume < drawn else dose


def _make_dose(worked: WorkedList, product: str, amount: Amount | None, at: datetime) -> EarlierDose:
    name = next((each.name for each in worked.laid.product if each.id == product), "")
    return EarlierDose(product, amount, at, name)


def list_used(state: Preparation, worked: WorkedList) -> tuple[str, ...]:
    """List the medicines that were given since the team last went to the cot, by the ids of their lines."""
    procedure, cot = worked.laid.procedure, state.cot_record
    if procedure is None:
        return ()
    done = {each.id for each in cot.unstruck_entries if each.attempt == cot.attempt and not each.left_out}
    named = {name for step in procedure.step if step.id in done for name in step.lines}
    if find_given_dose(state, worked) is not None and procedure.afterwards is not None:
        named.add(procedure.afterwards.line)
    return tuple(line.id for line in worked.laid.line if isinstance(line, DoseLine | AmountLine) and line.id in named)


def find_doses_had(state: Preparation, worked: WorkedList) -> tuple[str, EarlierDoses] | None:
    """Find the fact of doses given before, with those and that of this visit to the cot; None without such a fact."""
    after = worked.laid.procedure.afterwards if worked.laid.procedure else None
    line = next((each for each in worked.laid.line if after and each.id == after.line), None)
    if worked.baby is None or not isinstance(line, DoseLine) or line.earlier is None:
        return None
    had, given = worked.baby.facts.get(line.earlier), find_given_dose(state, worked)
    before = had.doses if isinstance(had, EarlierDoses) else ()
    return line.earlier, EarlierDoses((*before, given) if given else before)


def list_volumes(after: Afterwards) -> tuple[str, ...]:
    """List the readings of volumes that the record needs: given, and recovered where the kit asks for it."""
    return (after.given,) if after.recovered is None else (after.given, after.recovered)


class RecordGap(Struct, frozen=True):
    """One thing that the record needs before it can be signed."""

    part: Literal["step", "reading", "follow-up", "outcome", "complications"]
    of: str
    """The id of the step or reading, the key of the follow-up; else empty."""
    words: str


def find_record_missing(state: Preparation, kit: Kit) -> tuple[RecordGap, ...]:
    """List what the record needs before it can be signed."""
    procedure, record = kit.procedure, state.cot_record
    if procedure is None:
        return ()
    steps = [step for step in procedure.step if record.find_step(step.id) is None]
    after = procedure.afterwards
    volumes = [] if after is None else [each for each in list_volumes(after) if find_volume(state, each) is None]
    readings = [reading for reading in procedure.reading if reading.id in volumes]
    dues = [(key, due) for key, due in record.dues.items() if not record.is_made(key)]
    no_outcome = after is not None and record.outcome is None
    no_complications = after is not None and record.complications is None
    return (
        *(RecordGap("step", step.id, f"{step.name}: done, or left out and why") for step in steps),
        *(RecordGap("reading", reading.id, f"{reading.label}: not recorded") for reading in readings),
        *(RecordGap("follow-up", key, f"{due.name}: to do, or why not") for key, due in dues),
        *([RecordGap("outcome", "", "Outcome: not recorded")] if no_outcome else []),
        *([RecordGap("complications", "", "Complications: which, or none")] if no_complications else []),
    )


def compute_record_fingerprint(state: Preparation) -> str:
    """Compute the fingerprint of the record as signed: the list as read aloud, the timeline, what followed."""
    record = state.cot_record
    return compute_fingerprint(
        {
            "list": compute_ready_fingerprint(state),
            "entries": [
                [each.number, each.id, each.at.isoformat(), each.note, each.left_out, each.struck]
                for each in record.entries
            ],
            "readings": [[*key, given.value] for key, given in record.readings.items()],
            "dues": [[key, due.at.isoformat(), due.missed] for key, due in record.dues.items()],
            "outcome": record.outcome and [record.outcome.outcome, record.outcome.note],
            "complications": None if record.complications is None else list(record.complications),
        }
    )


def add_time(at: datetime, after: Amount) -> datetime:
    """The moment so long after another."""
    return at + timedelta(minutes=ceil(convert(after, "min").value))
