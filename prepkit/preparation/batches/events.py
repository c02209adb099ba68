"""The events of batches in hand, and what they leave on the state.

Batch and expiry of a container or pack are given for a line, or put back.
"""

from datetime import date
from typing import ClassVar, TypeAlias

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.payload import EventPayload


class InHand(EventPayload, frozen=True):
    """Batch and expiry of one container or pack that is used for a line, for the line's value at that moment."""

    KIND: ClassVar[str] = "in-hand"
    IS_PREPARING: ClassVar[bool] = True
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


class PutBack(EventPayload, frozen=True):
    """Nothing in hand for a line counts any more: it was a slip, or another container is used."""

    KIND: ClassVar[str] = "put-back"
    IS_PREPARING: ClassVar[bool] = True
    line: str


BatchPayload: TypeAlias = InHand | PutBack


class BatchInHand(Struct, frozen=True):
    """One container or pack in hand for a line, for the value the line had then."""

    stamp: Attribution
    fingerprint: str
    gtin: str
    batch: str
    expiry: date
    """The last day it is in date."""
    serial: str
    scanned: bool
