"""The events of single lines: an order, a tick, a line set aside, a batch in hand.

The rules of `prepkit.preparation.events` hold here.
"""

from datetime import date
from typing import ClassVar, TypeAlias

from msgspec import Struct

_MOST_DIGITS = 6
"""Of a stored volume, before the point and after it."""


class Ordered(Struct, frozen=True):
    """A prescriber's choice for a dose line was recorded."""

    KIND: ClassVar[str] = "ordered"
    VERSION: ClassVar[int] = 1
    line: str
    product: str
    whole: str
    """The volume of whole containers ("3 mL"); empty for the measured dose."""
    prescriber: str
    """Initials."""

    def __post_init__(self) -> None:
        if self.whole and not _is_volume(self.whole):
            raise ValueError(f"the volume of whole containers is written as in 4.5 mL (got {self.whole[:40]!a})")


class Ticked(Struct, frozen=True):
    """Somebody's word that a line is done, for the line's value at that moment."""

    KIND: ClassVar[str] = "ticked"
    VERSION: ClassVar[int] = 1
    line: str
    fingerprint: str


class Unticked(Struct, frozen=True):
    """A tick was taken back."""

    KIND: ClassVar[str] = "unticked"
    VERSION: ClassVar[int] = 1
    line: str


class InHand(Struct, frozen=True):
    """Batch and expiry of one container or pack that is used for a line, for the line's value at that moment."""

    KIND: ClassVar[str] = "in-hand"
    VERSION: ClassVar[int] = 1
    line: str
    fingerprint: str
    gtin: str
    """14 digits; empty where nothing was scanned."""
    batch: str
    expiry: str
    """The last day it is in date, as YYYY-MM-DD."""
    serial: str
    """Empty where it has none."""
    scanned: bool

    def __post_init__(self) -> None:
        if date.fromisoformat(self.expiry).isoformat() != self.expiry:
            raise ValueError(f"an expiry is written YYYY-MM-DD (got {self.expiry!a})")
        if not self.batch:
            raise ValueError("what is in hand needs a batch")
        if self.scanned != bool(self.gtin):
            raise ValueError("what was scanned has a GTIN, and nothing else has one")


class PutBack(Struct, frozen=True):
    """Nothing that was in hand for a line counts any more: a slip, or another container is taken."""

    KIND: ClassVar[str] = "put-back"
    VERSION: ClassVar[int] = 1
    line: str


class SetAside(Struct, frozen=True):
    """A line was set aside as not needed, for the line's value at that moment."""

    KIND: ClassVar[str] = "set-aside"
    VERSION: ClassVar[int] = 1
    line: str
    fingerprint: str
    reason: str


class Restored(Struct, frozen=True):
    """A line that was set aside is needed after all."""

    KIND: ClassVar[str] = "restored"
    VERSION: ClassVar[int] = 1
    line: str


def _is_volume(text: str) -> bool:
    """Say whether a text is a volume as it is stored: more than nothing, in mL, plain digits with a point."""
    number, _, unit = text.partition(" ")
    whole, point, decimals = number.partition(".")
    is_number = number.isascii() and whole.isdigit() and (decimals.isdigit() if point else True)
    is_plain = whole == "0" or not whole.startswith("0")
    is_short = max(len(whole), len(decimals)) <= _MOST_DIGITS
    return unit == "mL" and is_number and is_plain and is_short and number.strip("0.") != ""


LinePayload: TypeAlias = Ordered | Ticked | Unticked | InHand | PutBack | SetAside | Restored
