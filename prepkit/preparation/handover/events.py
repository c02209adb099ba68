"""The events of a handover, and what they leave on the state."""

from typing import ClassVar, TypeAlias

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.payload import EventPayload


class HandedOver(EventPayload, frozen=True):
    """Whoever had the preparation leaves it, with one line for the next."""

    KIND: ClassVar[str] = "handed-over"
    note: str


class TakenOver(EventPayload, frozen=True):
    """The next person saw what is done, what is left and what is past its time, and took it."""

    KIND: ClassVar[str] = "taken-over"
    standing: str
    """Fingerprint of what was shown to them."""


HandoverPayload: TypeAlias = HandedOver | TakenOver


class Handover(Struct, frozen=True):
    """A preparation that was handed over and not taken yet."""

    note: str
    stamp: Attribution
