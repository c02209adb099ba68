"""What time has made stale on lines that are done: it keeps the gate shut until somebody sees to it.

Each check is a small function of its own, a sentence a line. May import: this layer, the standard library.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

from prepkit.preparation.events import LineStamp
from prepkit.preparation.state import Preparation
from prepkit.preparation.wanted import list_wanting
from prepkit.preparation.worked import Worked


@dataclass(frozen=True, slots=True)
class Stale:
    """One line that time has made stale."""

    line: str
    words: str
    """What to do about it, beginning with the line's name."""


def find_stale(state: Preparation, worked: Worked, now: datetime) -> tuple[str, ...]:
    """Find what is stale, a sentence each; nothing once the preparation has ended."""
    return tuple(stale.words for stale in list_stale(state, worked, now))


def list_stale(state: Preparation, worked: Worked, now: datetime) -> tuple[Stale, ...]:
    """List what is stale with its line: check by check, each in the order of the list."""
    if state.stood_down is not None:
        return ()
    ticked = [line for line in state.lines if state.is_ticked(line.id)]
    return tuple(stale for check in _CHECKS for stale in check(ticked, state, worked, now))


def _find_expired(ticked: list[LineStamp], state: Preparation, _worked: Worked, now: datetime) -> Iterator[Stale]:
    """What was in date when it was given, and went out of date at midnight."""
    for line in ticked:
        for held in state.find_in_hand(line.id):
            if held.expiry < now.date():
                words = f"out of date, batch {held.batch} was in date until {held.expiry}: take another one"
                yield Stale(line.id, f"{line.name}: {words}")


def _find_not_given(ticked: list[LineStamp], state: Preparation, worked: Worked, _now: datetime) -> Iterator[Stale]:
    """Lines ticked before the ward asked for batch and expiry."""
    wanting = set(list_wanting(worked))
    for line in ticked:
        if line.id in wanting and not state.find_in_hand(line.id):
            yield Stale(line.id, f"{line.name}: give batch and expiry of what was used")


_CHECKS: tuple[Callable[[list[LineStamp], Preparation, Worked, datetime], Iterator[Stale]], ...] = (
    _find_expired,
    _find_not_given,
)
