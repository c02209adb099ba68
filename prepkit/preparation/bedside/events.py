"""The events at the cot and afterwards.

Moments are ISO 8601 with an offset; an entry is named by the sequence number of the event that made it.
"""

from datetime import datetime
from typing import ClassVar, TypeAlias

from prepkit.preparation.payload import EventPayload


def _check_moment(text: str) -> None:
    if datetime.fromisoformat(text).utcoffset() is None:
        raise ValueError(f"a moment needs an offset (got {text!a})")


class BedsideEvent(EventPayload, frozen=True):
    """What one event at the cot or afterwards says."""

    KEEPS_READ_ALOUD: ClassVar[bool] = True


class StepDone(BedsideEvent, frozen=True):
    """A step of the plan was done."""

    KIND: ClassVar[str] = "step-done"
    step: str
    at: str

    def __post_init__(self) -> None:
        _check_moment(self.at)


class StepLeftOut(BedsideEvent, frozen=True):
    """A step of the plan was left out, with the reason."""

    KIND: ClassVar[str] = "step-left-out"
    step: str
    reason: str


class Happened(BedsideEvent, frozen=True):
    """Something happened that is not in the plan."""

    KIND: ClassVar[str] = "happened"
    happening: str
    at: str
    note: str

    def __post_init__(self) -> None:
        _check_moment(self.at)


class ReadingGiven(BedsideEvent, frozen=True):
    """A reading: a heart rate, a volume, how the baby breathes."""

    KIND: ClassVar[str] = "reading-given"
    of: str
    """What it belongs to: the number of an entry, or the id of a follow-up."""
    reading: str
    value: str
    """Canonical text."""


class TimeCorrected(BedsideEvent, frozen=True):
    """The time of an entry was corrected; the old one stays on the record."""

    KIND: ClassVar[str] = "time-corrected"
    entry: str
    at: str

    def __post_init__(self) -> None:
        _check_moment(self.at)


class Struck(BedsideEvent, frozen=True):
    """An entry was made by mistake: it is struck out and stays on the record."""

    KIND: ClassVar[str] = "struck"
    entry: str
    reason: str


class EntryNoted(BedsideEvent, frozen=True):
    """A note was added to an entry: why it was stopped, what was seen."""

    KIND: ClassVar[str] = "entry-noted"
    entry: str
    note: str


class FollowUpSet(BedsideEvent, frozen=True):
    """A follow-up is due at a moment; a later one for the same follow-up replaces it."""

    KIND: ClassVar[str] = "follow-up-set"
    follow_up: str
    name: str
    at: str
    asks: tuple[str, ...]
    """The readings that make it."""

    def __post_init__(self) -> None:
        _check_moment(self.at)


class FollowUpMissed(BedsideEvent, frozen=True):
    """A follow-up was not done, with the reason."""

    KIND: ClassVar[str] = "follow-up-missed"
    follow_up: str
    reason: str


class CameBack(BedsideEvent, frozen=True):
    """The team came back from the cot to prepare anew; ready has to be reached again."""

    KIND: ClassVar[str] = "came-back"
    reason: str
    used: tuple[str, ...] = ()
    """The medicines that were given there, by the ids of their lines: what is ticked of them is no longer there."""


class OutcomeGiven(BedsideEvent, frozen=True):
    """How it went, in one of the kit's words; a later one replaces it."""

    KIND: ClassVar[str] = "outcome-given"
    outcome: str
    note: str


class ComplicationsSaid(BedsideEvent, frozen=True):
    """Which complications there were; a later one replaces it."""

    KIND: ClassVar[str] = "complications-said"
    complications: tuple[str, ...]
    """None of them is an answer too."""


class Signed(BedsideEvent, frozen=True):
    """Somebody signed the record as it stood."""

    KIND: ClassVar[str] = "signed"
    standing: str
    """Fingerprint of the record as it was shown."""


class Closed(BedsideEvent, frozen=True):
    """The record is closed; only addenda can follow."""

    KIND: ClassVar[str] = "closed"


class AddendumWritten(BedsideEvent, frozen=True):
    """Something was added to a closed record."""

    KIND: ClassVar[str] = "addendum-written"
    text: str


BedsidePayload: TypeAlias = (
    StepDone
    | StepLeftOut
    | Happened
    | ReadingGiven
    | TimeCorrected
    | Struck
    | EntryNoted
    | FollowUpSet
    | FollowUpMissed
    | CameBack
    | OutcomeGiven
    | ComplicationsSaid
    | Signed
    | Closed
    | AddendumWritten
)
