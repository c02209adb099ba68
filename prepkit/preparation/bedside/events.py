"""The events at the cot and afterwards.

Moments are ISO 8601 with an offset; an entry is named by the sequence number of the event that made it. The rules of
`prepkit.preparation.events` hold here.
"""

from datetime import datetime
from typing import ClassVar, TypeAlias

from msgspec import Struct


def _check_moment(text: str) -> None:
    if datetime.fromisoformat(text).utcoffset() is None:
        raise ValueError(f"a moment needs an offset (got {text!a})")


class StepDone(Struct, frozen=True):
    """A step of the plan was done."""

    KIND: ClassVar[str] = "step-done"
    VERSION: ClassVar[int] = 1
    step: str
    at: str

    def __post_init__(self) -> None:
        _check_moment(self.at)


class StepLeftOut(Struct, frozen=True):
    """A step of the plan was left out, with the reason."""

    KIND: ClassVar[str] = "step-left-out"
    VERSION: ClassVar[int] = 1
    step: str
    reason: str


class Happened(Struct, frozen=True):
    """Something happened that is not in the plan."""

    KIND: ClassVar[str] = "happened"
    VERSION: ClassVar[int] = 1
    happening: str
    at: str
    note: str

    def __post_init__(self) -> None:
        _check_moment(self.at)


class ReadingGiven(Struct, frozen=True):
    """A reading: a heart rate, a volume, how the baby breathes."""

    KIND: ClassVar[str] = "reading-given"
    VERSION: ClassVar[int] = 1
    of: str
    """What it belongs to: the number of an entry, or the id of a follow-up."""
    reading: str
    value: str
    """Canonical text."""


class TimeCorrected(Struct, frozen=True):
    """The time of an entry was corrected; the old one stays on the record."""

    KIND: ClassVar[str] = "time-corrected"
    VERSION: ClassVar[int] = 1
    entry: str
    at: str

    def __post_init__(self) -> None:
        _check_moment(self.at)


class Struck(Struct, frozen=True):
    """An entry was made by mistake: it is struck out and stays on the record."""

    KIND: ClassVar[str] = "struck"
    VERSION: ClassVar[int] = 1
    entry: str
    reason: str


class EntryNoted(Struct, frozen=True):
    """A note was added to an entry: why it was stopped, what was seen."""

    KIND: ClassVar[str] = "entry-noted"
    VERSION: ClassVar[int] = 1
    entry: str
    note: str


class FollowUpSet(Struct, frozen=True):
    """A follow-up is due at a moment; a later one for the same follow-up replaces it."""

    KIND: ClassVar[str] = "follow-up-set"
    VERSION: ClassVar[int] = 1
    follow_up: str
    name: str
    at: str
    asks: tuple[str, ...]
    """The readings that make it."""

    def __post_init__(self) -> None:
        _check_moment(self.at)


class FollowUpMissed(Struct, frozen=True):
    """A follow-up was not made, with the reason."""

    KIND: ClassVar[str] = "follow-up-missed"
    VERSION: ClassVar[int] = 1
    follow_up: str
    reason: str


class CameBack(Struct, frozen=True):
    """The team came back from the cot to prepare anew; ready has to be reached again."""

    KIND: ClassVar[str] = "came-back"
    VERSION: ClassVar[int] = 1
    reason: str


class OutcomeGiven(Struct, frozen=True):
    """How it went, in one of the kit's words; a later one replaces it."""

    KIND: ClassVar[str] = "outcome-given"
    VERSION: ClassVar[int] = 1
    outcome: str
    note: str


class ComplicationsSaid(Struct, frozen=True):
    """Which complications there were; a later one replaces it."""

    KIND: ClassVar[str] = "complications-said"
    VERSION: ClassVar[int] = 1
    complications: tuple[str, ...]
    """None of them is an answer too."""


class Signed(Struct, frozen=True):
    """Somebody signed the record as it stood."""

    KIND: ClassVar[str] = "signed"
    VERSION: ClassVar[int] = 1
    standing: str
    """Fingerprint of the record as it was shown."""


class Closed(Struct, frozen=True):
    """The record is closed; only an addendum can follow."""

    KIND: ClassVar[str] = "closed"
    VERSION: ClassVar[int] = 1


class AddendumWritten(Struct, frozen=True):
    """Something added to a record that is closed."""

    KIND: ClassVar[str] = "addendum-written"
    VERSION: ClassVar[int] = 1
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
