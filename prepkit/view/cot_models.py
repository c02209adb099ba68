"""View-models of the time at the cot and of the record."""

from msgspec import Struct

from prepkit.view.models import Banner, InputKind, LineRow, Offer, Sign


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


class TimelineRow(Struct, frozen=True):
    """One entry of the timeline."""

    entry: str
    at: str
    words: str
    note: str
    """Readings, corrections, why it was struck out."""
    is_struck: bool
    readings: tuple[ReadingRow, ...]


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


class FollowUpRow(Struct, frozen=True):
    """A look at the baby that is due, or was made."""

    follow_up: str
    name: str
    sign: Sign
    word: str
    """ "due 04:10", "due now, since 04:10", "made RA 04:12", "not made". """
    note: str
    readings: tuple[ReadingRow, ...]


class RecordView(Struct, frozen=True):
    """The record: what happened, what came of it, what it still needs."""

    banner: Banner
    timeline: tuple[TimelineRow, ...]
    results: tuple[str, ...]
    """What was given, per kg, and how much came back, with the sums."""
    follow_ups: tuple[FollowUpRow, ...]
    readings: tuple[ReadingRow, ...]
    """Those that are still to be entered, of no step."""
    outcome: str
    outcomes: tuple[str, ...]
    complications: str
    complication_choices: tuple[str, ...]
    missing: tuple[str, ...]
    signed: tuple[str, ...]
    sign: Offer
    addenda: tuple[str, ...]
    is_closed: bool
    standing: str
    """Give it back when signing: the record is signed as it was shown."""
    ended: str
    """How it ended, as a sentence: closed, or stood down; empty while it goes on."""
    progress: str
    """How far it is: "3 to enter", "to sign", "closed", "stood down"."""
    said: tuple[str, ...] = ()
    """The complications as they were chosen."""
