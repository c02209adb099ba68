"""The preparations that a screen of many shows, folded once and then kept up to date.

May import: `prepkit.store`, `prepkit.preparation`.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from prepkit.errors import StoreDamaged
from prepkit.store.interface import Store

if TYPE_CHECKING:
    from prepkit.preparation.state import Preparation


class Folded:
    """States by the preparation's id. Each is taken on from its own last event, whatever others wrote since.

    What was written is never changed, so that a state kept can only be short of events, and those are read each time.
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
        from prepkit.desk.ledger import read_on, read_preparation  # noqa: PLC0415  (nothing in progress, no events)

        known = self._states.get(prep)
        return read_preparation(self._store, prep) if known is None else read_on(self._store, prep, known)
