"""The screen at the cot: the steps in order, the clocks, what may happen, and the rescue lines."""

from collections.abc import Callable
from datetime import datetime, timedelta

from msgspec import Struct

from prepkit.kit.kit import Kit
from prepkit.kit.procedure import Happening, NumberReading, PersonReading, Procedure, Reading, Step, WordReading
from prepkit.list.lines import ListLine
from prepkit.preparation.bedside.afterwards import find_reading
from prepkit.preparation.bedside.clocks import list_clocks, say_until
from prepkit.preparation.bedside.record import TimelineEntry
from prepkit.preparation.decision import refuse_if_over
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.rules.findings import cite
from prepkit.view.banner import show_banner
from prepkit.view.lines import show_row
from prepkit.view.models import Banner, InputKind, LineRow, Offer, Sign
from prepkit.wording.things import tag


class ReadingRow(Struct, frozen=True):
    """One reading that is asked for."""

    of: str
    """What it belongs to: give it back with the value."""
    reading: str
    label: str
    ask: str
    value: str
    """As shown; empty while it was not given."""
    entry: InputKind
    unit: str
    choices: tuple[tuple[str, str], ...]


class StepRow(Struct, frozen=True):
    """One step of the plan."""

    step: str
    name: str
    how: tuple[str, ...]
    sign: Sign
    word: str
    """ "done RA 03:41", "left out RA", "to do". """
    note: str
    """What a hand needs with it: a depth, a volume; or why it was left out."""
    entry: str
    """The number of its entry; empty while it was not recorded."""
    readings: tuple[ReadingRow, ...]
    """Those of its entry; none while it was not recorded."""
    lines: tuple[LineRow, ...] = ()
    """Those whose amount a hand needs with it."""


class ClockRow(Struct, frozen=True):
    """A running clock."""

    name: str
    """ "since sucrose". """
    elapsed: str
    """ "4 min 10 s". """
    since: str
    """ "03:41". """
    end: str
    """What holds now: "until 03:46: ...", "past 5 min: ..."; empty where it never ends."""


class HappeningChoice(Struct, frozen=True):
    """Something that may be recorded though it is not in the plan."""

    happening: str
    name: str
    how: tuple[str, ...]


class EntryView(Struct, frozen=True):
    """One entry opened: what may be put right on it, and what goes with it."""

    banner: Banner
    entry: str
    name: str
    word: str
    """ "done RA 03:41", "RA 03:41". """
    clock: str
    """Its time as a person types it; empty where it has none."""
    how: tuple[str, ...]
    notes: tuple[str, ...]
    """Corrections, why it was left out, a note."""
    readings: tuple[ReadingRow, ...]
    rescue: tuple[LineRow, ...]
    """The rescue lines, where they belong to what happened."""
    correct: Offer
    strike: Offer


class CotView(Struct, frozen=True):
    """The screen at the cot."""

    banner: Banner
    progress: str
    next_step: StepRow | None
    """The largest thing on the screen; None where every step is recorded."""
    steps: tuple[StepRow, ...]
    clocks: tuple[ClockRow, ...]
    happenings: tuple[HappeningChoice, ...]
    rescue: tuple[LineRow, ...]
    refusal: str
    """Why nothing can be recorded here (yet); empty where it can."""
    can_come_back: bool
    """Whether the team is at the cot, and may come back to prepare anew."""


_MINUTE = 60
_HOUR = 3600


def show_cot(state: Preparation, worked: WorkedList, now: datetime) -> CotView:
    """The time at the cot as it stands."""
    procedure = worked.laid.procedure
    steps = tuple(show_step(step, state, procedure, worked) for step in procedure.step) if procedure else ()
    done = sum(1 for step in steps if step.entry)
    return CotView(
        banner=show_banner(state, worked.baby),
        progress=f"{done} of {len(steps)} steps",
        next_step=next((step for step in steps if not step.entry), None),
        steps=steps,
        clocks=_list_clocks(state, procedure, now) if procedure else (),
        happenings=_list_happenings(procedure) if procedure else (),
        rescue=list_rescue(state, worked),
        refusal=_find_refusal(state, worked.laid),
        can_come_back=state.cot_record.is_away and refuse_if_over(state) is None,
    )


def show_step(step: Step, state: Preparation, procedure: Procedure, worked: WorkedList) -> StepRow:
    """One step, with what was recorded of it."""
    entry = state.cot_record.find_step(step.id)
    lines = _list_lines(state, worked, lambda line: line.id in step.lines)
    if entry is None:
        return StepRow(step.id, step.name, step.how, Sign.TO_DO, "to do", "", "", (), lines)
    if entry.left_out:
        word = f"left out {entry.stamp.who}"
        return StepRow(
            step.id, step.name, step.how, Sign.NOT_NEEDED, word, entry.left_out, str(entry.number), (), lines
        )
    word = f"done {entry.stamp.who} {entry.at:%H:%M}"
    readings = show_readings(state, procedure, str(entry.number), step.asks)
    return StepRow(step.id, step.name, step.how, Sign.DONE, word, "", str(entry.number), readings, lines)


def show_entry(state: Preparation, worked: WorkedList, number: str) -> EntryView | None:
    """One entry opened; None where there is none of that number."""
    procedure, entry = worked.laid.procedure, state.cot_record.find_entry(number)
    if procedure is None or entry is None:
        return None
    rows = procedure.step if entry.kind == "step" else procedure.happening
    found = next((each for each in rows if each.id == entry.id), None)
    over = refuse_if_over(state)
    why = over.reason if over else f"Struck out: {entry.struck}" if entry.struck else ""
    readings = show_readings(state, procedure, number, found.asks if found and not entry.left_out else ())
    end = say_until(found, entry)
    cited = found.clock_end if isinstance(found, Step) else None
    ends = (f"{end} {tag(cite(worked.laid, cited.basis, cited.source))}",) if end and cited else ()
    return EntryView(
        banner=show_banner(state, worked.baby),
        entry=number,
        name=found.name if found else entry.id,
        word=_say_entry(entry),
        clock="" if entry.left_out else f"{entry.at:%H:%M}",
        how=found.how if found else (),
        notes=(*ends, *say_notes(entry)),
        readings=() if why else readings,
        rescue=list_rescue(state, worked) if isinstance(found, Happening) and found.rescue else (),
        correct=Offer("Correct the time", why or ("It was left out: it has no time." if entry.left_out else "")),
        strike=Offer("Strike it out", why),
    )


def _say_entry(entry: TimelineEntry) -> str:
    if entry.left_out:
        return f"left out {entry.stamp.who}"
    did = "done " if entry.kind == "step" else ""
    return f"{did}{entry.stamp.who} {entry.at:%H:%M}"


def say_notes(entry: TimelineEntry) -> tuple[str, ...]:
    """What was said of an entry beside its readings: a note, times that were corrected, why it does not count."""
    return (
        *((entry.note,) if entry.note else ()),
        *((f"left out: {entry.left_out}",) if entry.left_out else ()),
        *(f"time corrected, was {at:%H:%M}" for at in entry.earlier),
        *((f"struck out: {entry.struck}",) if entry.struck else ()),
    )


def show_readings(state: Preparation, procedure: Procedure, of: str, asks: tuple[str, ...]) -> tuple[ReadingRow, ...]:
    """The readings that belong to an entry or a follow-up."""
    found = [reading for name in asks if (reading := find_reading(procedure, name)) is not None]
    return tuple(_show_reading(state, of, reading) for reading in found)


def _show_reading(state: Preparation, of: str, reading: Reading) -> ReadingRow:
    given = state.cot_record.readings.get((of, reading.id))
    kinds = {NumberReading: InputKind.NUMBER, WordReading: InputKind.CHOICE, PersonReading: InputKind.TEXT}
    return ReadingRow(
        of=of,
        reading=reading.id,
        label=reading.label,
        ask=reading.ask,
        value=given.value if given else "",
        entry=kinds[type(reading)],
        unit=reading.least.unit.text if isinstance(reading, NumberReading) else "",
        choices=tuple((word, word) for word in reading.options) if isinstance(reading, WordReading) else (),
    )


def _list_clocks(state: Preparation, procedure: Procedure, now: datetime) -> tuple[ClockRow, ...]:
    return tuple(
        ClockRow(each.name, show_elapsed(each.since, now), f"{each.since:%H:%M}", each.say_end(now))
        for each in list_clocks(state, procedure)
    )


def show_elapsed(since: datetime, now: datetime) -> str:
    """How long ago a moment was, in words; a clock that stepped back shows nothing rather than less than nothing."""
    seconds = max((now - since) // timedelta(seconds=1), 0)
    if seconds < _MINUTE:
        return f"{seconds} s"
    if seconds < _HOUR:
        return f"{seconds // _MINUTE} min {seconds % _MINUTE} s"
    return f"{seconds // _HOUR} h {seconds % _HOUR // _MINUTE} min"


def _list_happenings(procedure: Procedure) -> tuple[HappeningChoice, ...]:
    return tuple(HappeningChoice(each.id, each.name, each.how) for each in procedure.happening)


def list_rescue(state: Preparation, worked: WorkedList) -> tuple[LineRow, ...]:
    """The lines that are shown large when something happens."""
    procedure = worked.laid.procedure
    groups = procedure.rescue if procedure else ()
    return _list_lines(state, worked, lambda line: line.group in groups)


def _list_lines(state: Preparation, worked: WorkedList, is_wanted: Callable[[ListLine], bool]) -> tuple[LineRow, ...]:
    tray = worked.tray
    return tuple(show_row(line, state, tray) for line in tray.lines if is_wanted(line)) if tray else ()


def _find_refusal(state: Preparation, kit: Kit) -> str:
    if kit.procedure is None:
        return "This kit says nothing of the time at the cot."
    if state.cot_record.closed is not None:
        return f"The record was closed by {say_stamp(state.cot_record.closed)}."
    if state.stood_down is not None:
        return f"Stood down by {say_stamp(state.stood_down.stamp)}."
    if state.cot_record.is_away:
        return ""
    # Asked at every redraw of the list, where mostly nothing was read aloud yet: then there is no standing to compute.
    if state.read_aloud is not None and state.is_read_aloud(compute_ready_fingerprint(state)):
        return ""
    return "The summary has to be read aloud first, on the ready screen."
