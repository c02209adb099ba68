"""What people left on a preparation: ticks, lines set aside, answers, agreements; and what became of them.

May import: this layer's events and the standard library.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from prepkit.preparation.events import Answer, Stamp


@dataclass(frozen=True, slots=True)
class Tick:
    """A line ticked, for the value it had then."""

    stamp: Stamp
    fingerprint: str
    name: str
    show: str


@dataclass(frozen=True, slots=True)
class Held:
    """One container or pack in hand for a line, for the value the line had then."""

    stamp: Stamp
    fingerprint: str
    gtin: str
    batch: str
    expiry: date
    """The last day it is in date."""
    serial: str
    scanned: bool


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
class Settlement:
    """Why a line stands although the check differed."""

    reason: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class Check:
    """What a second person worked out for a line, for the value it had then."""

    stamp: Stamp
    fingerprint: str
    name: str
    show: str
    """What the list showed."""
    value: str
    """What the checker entered, as it is shown."""
    vials: str
    agrees: bool
    settled: Settlement | None = None

    @property
    def holds(self) -> bool:
        """Whether nothing is left to settle."""
        return self.agrees or self.settled is not None


@dataclass(frozen=True, slots=True)
class OpenCheck:
    """A check that has begun and not ended: while there is one, no amount is shown to anybody."""

    stamp: Stamp
    """Who checks, since when."""
    is_weighed: bool = False
    """Whether the weight was entered, and agreed."""
    entries: Mapping[str, Check] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WeightRead:
    """The weight that a checker read off the cot."""

    weight: str
    stamp: Stamp


@dataclass(frozen=True, slots=True)
class Handover:
    """A preparation that was handed over and not taken yet."""

    note: str
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
