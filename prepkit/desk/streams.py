"""Which preparations a store has. May import: `prepkit.store`, the names of its streams; not the events."""

from prepkit.preparation.streams import CLOSING_KINDS, STAFF
from prepkit.store.interface import Store


def read_open(store: Store) -> tuple[str, ...]:
    """The preparations in progress, the oldest first.

    Whatever has no end and is not the staff list is taken for one, so that a preparation whose first record was damaged
    is still offered and says so; a look at the kind of that record would lose it without a word.
    """
    return tuple(prep for prep in store.read_open(CLOSING_KINDS) if prep != STAFF)


def read_ended(store: Store) -> tuple[str, ...]:
    """The preparations that have ended, the newest first."""
    in_progress = set(store.read_open(CLOSING_KINDS))
    return tuple(prep for prep in reversed(store.read_open(frozenset())) if prep not in {*in_progress, STAFF})
