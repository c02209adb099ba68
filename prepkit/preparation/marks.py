"""What people left on a preparation: ticks, lines set aside, answers, agreements; and what became of them.

May import: this layer's events, msgspec and the standard library.
"""

from collections.abc import Mapping
from datetime import date, datetime

from msgspec import Struct, field

from prepkit.preparation.events import Answer, Stamp


class Tick(Struct, frozen=True):
    """A line ticked, for the value it had then."""

    stamp: Stamp
    fingerprint: str
    name: str
    show: str


class Held(Struct, frozen=True):
    """One container or pack in hand for a line, for the value the line had then."""

    stamp: Stamp
    fingerprint: str
    gtin: str
    batch: str
    expiry: date
    """The last day it is in date."""
    serial: str
    scanned: bool


class Aside(Struct, frozen=True):
    """A line set aside as not needed, for the value it had then."""

    stamp: Stamp
    fingerprint: str
    name: str
    show: str
    reason: str


class Change(Struct, frozen=True):
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


class GivenAnswer(Struct, frozen=True):
    """An answer to a question about suitability."""

    answer: Answer
    stamp: Stamp


class GivenOrder(Struct, frozen=True):
    """What a prescriber chose for a dose line."""

    product: str
    whole: str
    """The volume of whole containers ("3 mL"); empty for the measured dose."""
    prescriber: str
    stamp: Stamp


class Confirmation(Struct, frozen=True):
    """An unlikely weight entered again, good for exactly these facts."""

    weight: str
    gestation: str
    sex: str
    second: str
    stamp: Stamp


class Agreement(Struct, frozen=True):
    """A senior's agreement, good for one verdict with its reasons."""

    senior: str
    note: str
    standing: str
    stamp: Stamp


class ReadOut(Struct, frozen=True):
    """The summary was read aloud, good until anything changes."""

    standing: str
    stamp: Stamp


class Ending(Struct, frozen=True):
    """The preparation was stood down."""

    reason: str
    stamp: Stamp


class Settlement(Struct, frozen=True):
    """Why a line stands although the check differed."""

    reason: str
    stamp: Stamp


class Check(Struct, frozen=True):
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


class OpenCheck(Struct, frozen=True):
    """A check that has begun and not ended: while there is one, no amount is shown to anybody."""

    stamp: Stamp
    """Who checks, since when."""
    is_weighed: bool = False
    """Whether the weight was entered, and agreed."""
    entries: Mapping[str, Check] = field(default_factory=dict)


class WeightRead(Struct, frozen=True):
    """The weight that a checker read off the cot."""

    weight: str
    stamp: Stamp


class Handover(Struct, frozen=True):
    """A preparation that was handed over and not taken yet."""

    note: str
    stamp: Stamp


class GroupCount(Struct, frozen=True):
    """How far one group of the list is."""

    group: str
    ticked: int
    set_aside: int
    total: int

    @property
    def left(self) -> int:
        """Lines neither ticked nor set aside."""
        return self.total - self.ticked - self.set_aside
