"""Which preparations a store has. May import: `prepkit.store`, the names of its streams; not the events."""

from typing import TYPE_CHECKING

from prepkit.preparation.streams import STAFF
from prepkit.store.interface import Store

if TYPE_CHECKING:
    from prepkit.store.derived import Head


def read_open(store: Store) -> tuple[str, ...]:
    """The preparations in progress, the oldest first.

    Whatever has no end and is not the staff list is taken for one, so that a preparation whose first record was damaged
    is still offered and says so; a look at the kind of that record would lose it without a word.
    """
    return tuple(prep for prep in store.read_open() if prep != STAFF)


def read_ended(store: Store, most: int, before: int | None = None) -> "tuple[Head, ...]":
    """At most so many of the preparations that have ended, the last ended first; see `Store.read_ended`."""
    return store.read_ended(most, before)
