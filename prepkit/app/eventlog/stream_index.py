"""Which preparations are in progress and which have ended, and their states, folded once and then kept up to date.

The first screen needs this module: the events load with the first preparation that is folded.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from prepkit.errors import StoreDamaged
from prepkit.people import STAFF_STREAM
from prepkit.store.derived import StreamIndexEntry
from prepkit.store.interface import Store

if TYPE_CHECKING:
    from prepkit.preparation.state import Preparation


def read_open(store: Store) -> tuple[str, ...]:
    """The preparations in progress, the oldest first.

    Every stream without an end, but for the staff list, counts as one. So a preparation whose first record is damaged
    is still offered and says so; going by that record's kind would lose it without a word.
    """
    return tuple(prep for prep in store.read_open() if prep != STAFF_STREAM)


def read_ended(store: Store, most: int, before: int | None = None) -> tuple[StreamIndexEntry, ...]:
    """At most so many of the preparations that have ended, the last ended first; see `Store.read_ended`."""
    return store.read_ended(most, before)


class StateCache:
    """States by the preparation's id; each is brought up to date from its own last event.

    Records never change, so a cached state can only lack events, and those are read each time.
    """

    def __init__(self, store: Store) -> None:
        """Nothing is folded yet."""
        self._store = store
        self._states: dict[str, Preparation] = {}

    def read_each(self, preps: Iterable[str]) -> "tuple[tuple[tuple[str, Preparation], ...], tuple[str, ...]]":
        """Each preparation with its id, as it is now; and a sentence for each one whose record cannot be read."""
        found, unreadable = [], []
        for prep in preps:
            try:
                found.append((prep, self._read(prep)))
            except StoreDamaged as error:
                unreadable.append(str(error))
        self._states = dict(found)
        return tuple(found), tuple(unreadable)

    def _read(self, prep: str) -> "Preparation":
        # 18 ms that a first screen with nothing in progress does without.
        from prepkit.app.eventlog.repository import read_on, read_preparation  # noqa: PLC0415

        known = self._states.get(prep)
        return read_preparation(self._store, prep) if known is None else read_on(self._store, prep, known)
