"""Gestation: completed weeks and days, kept as days, written 30+2."""

import re
from functools import total_ordering
from typing import Final

_WRITTEN = re.compile(r"([0-9]{2})\+([0-6])")
DAYS_IN_WEEK = 7


class UnreadableGestationError(ValueError):
    """The text is not a gestation."""


@total_ordering
class Gestation:
    """A gestation in days. Like an amount it is no Struct, because it is read from text."""

    __slots__ = ("days",)

    def __init__(self, days: int) -> None:
        self.days: Final = days

    def __eq__(self, other: object) -> bool:
        return self.days == other.days if isinstance(other, Gestation) else NotImplemented

    def __lt__(self, other: "Gestation") -> bool:
        return self.days < other.days

    def __hash__(self) -> int:
        return hash(self.days)

    def __repr__(self) -> str:
        return f"Gestation({self.days})"

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
