"""What people left on a preparation: ticks, lines set aside, answers, agreements; and what became of them.

May import: this layer's events and the standard library.
"""

from dataclasses import dataclass
from datetime import datetime

from prepkit.preparation.events import Answer, Stamp


@dataclass(frozen=True, slots=True)
class Tick:
    """A line ticked, for the value it had then."""

    stamp: Stamp
    fingerprint: str
    name: str
    show: str


@dataclass(frozen=True, slots=True)
class Aside:
    """A line set aside as not needed, for the value it had then."""

    stamp: Stamp
    fingerprint: str
    name: str
    show: str
    reason: str


@dataclass(frozen=True, slots=True)
class Change:
    """A mark that a newer list took away. It stays until somebody ticks the line or sets it aside again."""

    name: str
    old_show: str
    """What the line showed when the mark was made."""
    new_show: str
    """What it shows now; empty while it is gone."""
    at: datetime
    """When the newer list was worked out."""
    was_by: str
    """Whose mark it was."""
    was_set_aside: bool
    """Whether the mark was "set aside" rather than a tick."""
    gone: bool
    """Whether the line is not on the newest list: what was laid out for it may still be on the tray."""


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """An answer to a question about suitability."""

    answer: Answer
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class GivenOrder:
    """What a prescriber chose for a dose line."""

    product: str
    whole: str
    """The volume of whole containers ("3 mL"); empty for the measured dose."""
    prescriber: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class Confirmation:
    """An unlikely weight entered again, good for exactly these facts."""

    weight: str
    gestation: str
    sex: str
    second: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class Agreement:
    """A senior's agreement, good for one verdict with its reasons."""

    senior: str
    note: str
    standing: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class ReadOut:
    """The summary was read aloud, good until anything changes."""

    standing: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class Ending:
    """The preparation was stood down."""

    reason: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class GroupCount:
    """How far one group of the list is."""

    group: str
    ticked: int
    set_aside: int
    total: int

    @property
    def left(self) -> int:
        """Lines neither ticked nor set aside."""
        return self.total - self.ticked - self.set_aside
