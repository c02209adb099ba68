"""Gestation: completed weeks and days, kept as days, written 30+2. May import: msgspec and the standard library."""

import re

from msgspec import Struct

_WRITTEN = re.compile(r"([0-9]{2})\+([0-6])")
DAYS_IN_WEEK = 7


class UnreadableGestationError(ValueError):
    """The text is not a gestation."""


class Gestation(Struct, frozen=True, order=True):
    """A gestation in days."""

    days: int

    def __str__(self) -> str:
        return f"{self.days // DAYS_IN_WEEK}+{self.days % DAYS_IN_WEEK}"


def read_gestation(text: str) -> Gestation:
    """Read "30+2": two digits of weeks, a plus, one digit of days from 0 to 6.

    Raises:
        UnreadableGestationError: with what was expected, where the text is anything else.
    """
    found = _WRITTEN.fullmatch(text)
    if not found:
        raise UnreadableGestationError('is not a gestation: write weeks, plus, days ("30+2"; days 0 to 6)')
    return Gestation(int(found[1]) * DAYS_IN_WEEK + int(found[2]))
