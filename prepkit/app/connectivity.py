"""Whether a workstation can reach its store, since when it cannot, and what became of anything being saved at the time.

A store in a file is always reachable.
"""

from collections.abc import Callable
from datetime import datetime
from time import monotonic

from msgspec import Struct

from prepkit.errors import PrepkitError, StoreDamaged, StoreLost, StoreUnsure
from prepkit.store import Store, is_kept
from prepkit.view.connectivity import say_asking, say_lost, say_settled, say_unknown

SETTLED_AFTER = 15.0
"""Seconds in which something on its way may still arrive: the network gives up after eight (`tcp_user_timeout`), and
the server stops waiting for a lock after five."""


class _Unsure(Struct, frozen=True):
    """Something that may have been saved."""

    at: datetime
    """When, as people are told."""
    since: float
    """When, in seconds that only go forward: a machine's clock is often set as its network comes back."""
    error: StoreUnsure


class Connectivity:
    """What a workstation knows about reaching its store."""

    def __init__(self, store: Store, clock: Callable[[], datetime], seconds: Callable[[], float] = monotonic) -> None:
        """Nothing was lost yet.

        Args:
            store: an open store.
            clock: gives the time now.
            seconds: any clock that only goes forward.
        """
        self._store = store
        self._clock = clock
        self._seconds = seconds
        self._lost: datetime | None = None
        self._news = False
        """Whether there is news that nobody heard of yet, because something else went wrong."""
        self._unsure: list[_Unsure] = []
        self._words: list[str] = []

    def look(self) -> bool:
        """Whether there is news, coming back into reach included; raises StoreLost while the store is out of reach."""
        try:
            self._news = self._store.has_news() or self._news
            settled = self._settle()
        except PrepkitError as error:
            self.note(error)
            raise
        news, self._news = self._news, False
        came_back, self._lost = self._lost is not None, None
        return news or came_back or settled

    def note(self, error: PrepkitError) -> None:
        """Remember an error: the store is out of reach, or something may not have been saved."""
        if isinstance(error, StoreLost | StoreUnsure) and self._lost is None:
            self._lost = self._clock()
        if isinstance(error, StoreUnsure):
            self._unsure.append(_Unsure(self._clock(), self._seconds(), error))

    def show(self) -> str:
        """The words for every screen while something is wrong; empty while nothing is."""
        if self._lost is not None:
            return say_lost(self._lost)
        return say_asking() if self._unsure else ""

    def take_words(self) -> tuple[str, ...]:
        """What became of each thing that was being saved; told once."""
        words, self._words = tuple(self._words), []
        return words

    def _settle(self) -> bool:
        """Look for what may have been saved, once nothing can still arrive; True if there is something to tell."""
        now = self._seconds()
        due = [each for each in self._unsure if now - each.since >= SETTLED_AFTER]
        for each in due:
            self._words.append(self._tell(each))
            self._unsure.remove(each)
        return bool(due)

    def _tell(self, unsure: _Unsure) -> str:
        """What became of it. If its record cannot be read nobody can say, and a later look would not help."""
        error = unsure.error
        try:
            kept = is_kept(self._store.read(error.prep, error.expected), error.contents)
        except StoreDamaged:
            return say_unknown(unsure.at)
        return say_settled(unsure.at, is_kept=kept)
