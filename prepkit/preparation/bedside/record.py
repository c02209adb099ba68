"""The record of the time at the cot: timeline, readings, follow-ups, outcome, signatures. Only `evolve` makes one."""

from collections.abc import Mapping
from datetime import datetime

from msgspec import Struct, field

from prepkit.attribution import Attribution

AFTERWARDS = "afterwards"
"""What a reading belongs to that belongs to no entry and no follow-up."""


class TimelineEntry(Struct, frozen=True):
    """One entry of the timeline: a step done or left out, or something that happened."""

    number: int
    """The sequence number of the event that made it."""
    kind: str
    """ "step" or "happening". """
    id: str
    at: datetime
    stamp: Attribution
    """Who entered it, and when."""
    note: str = ""
    left_out: str = ""
    """Why a step was left out; empty where it was done."""
    earlier: tuple[datetime, ...] = ()
    """Times that were corrected, the oldest first."""
    struck: str = ""
    """Why it was struck out; empty while it counts."""
    attempt: int = 1
    """How often the team had gone to the cot by then."""


class GivenReading(Struct, frozen=True):
    """A reading as it was given."""

    value: str
    stamp: Attribution


class FollowUpDue(Struct, frozen=True):
    """A follow-up and when it is due."""

    name: str
    at: datetime
    asks: tuple[str, ...]
    missed: str = ""
    """Why it was not done; empty otherwise."""


class GivenOutcome(Struct, frozen=True):
    """How it went."""

    outcome: str
    note: str
    stamp: Attribution


class Addendum(Struct, frozen=True):
    """Something added after closing."""

    text: str
    stamp: Attribution


class BedsideRecord(Struct, frozen=True):
    """The timeline and what follows it."""

    entries: tuple[TimelineEntry, ...] = ()
    """In the order they were entered, struck ones too."""
    readings: Mapping[tuple[str, str], GivenReading] = field(default_factory=dict)
    """By what it belongs to and which reading; the last one given."""
    dues: Mapping[str, FollowUpDue] = field(default_factory=dict)
    outcome: GivenOutcome | None = None
    complications: tuple[str, ...] | None = None
    """None while nobody said."""
    signed: Mapping[str, Attribution] = field(default_factory=dict)
    """By initials; anything entered after it takes it away."""
    closed: Attribution | None = None
    addenda: tuple[Addendum, ...] = ()
    is_away: bool = False
    """Whether the team is at the cot: the list then stands as it was read aloud."""
    attempt: int = 1
    """Coming back to prepare anew begins the next: its steps are done afresh."""

    @property
    def unstruck_entries(self) -> tuple[TimelineEntry, ...]:
        """The entries that count, in the order of their times."""
        return tuple(
            sorted((each for each in self.entries if not each.struck), key=lambda each: (each.at, each.number))
        )

    def find_step(self, step: str) -> TimelineEntry | None:
        """The entry of a step in this attempt; None while it is neither done nor left out."""
        steps = [each for each in self.entries if each.kind == "step" and each.attempt == self.attempt]
        return next((each for each in reversed(steps) if each.id == step and not each.struck), None)

    def is_made(self, follow_up: str) -> bool:
        """Say whether a follow-up has all its readings, or it is said why it was not done."""
        due = self.dues.get(follow_up)
        if due is None:
            return False
        return bool(due.missed) or all((follow_up, reading) in self.readings for reading in due.asks)

    def find_entry(self, number: str) -> TimelineEntry | None:
        """An entry by the number it is named by; None where there is none."""
        return next((each for each in self.entries if str(each.number) == number), None)
