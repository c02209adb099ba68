"""The events of a handover from one person to the next.

Rules as for every event (`events` of this layer). May import: msgspec and the standard library.
"""

from typing import ClassVar

from msgspec import Struct


class HandedOver(Struct, frozen=True):
    """Whoever had the preparation leaves it, with one line for the next."""

    KIND: ClassVar[str] = "handed-over"
    VERSION: ClassVar[int] = 1
    note: str


class TakenOver(Struct, frozen=True):
    """The next person saw what is done, what is left and what is past its time, and took it."""

    KIND: ClassVar[str] = "taken-over"
    VERSION: ClassVar[int] = 1
    standing: str
    """Fingerprint of what was shown to them."""
