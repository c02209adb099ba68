"""Whether a desk's store can be reached, since when it cannot, and what became of what was being saved when it went.

A store in a file is always in reach. May import: `prepkit.store`, `prepkit.view`.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from prepkit.errors import PrepkitError, StoreLost, StoreUnsure
from prepkit.store import Store, is_kept
from prepkit.view.reach import say_asking, say_lost, say_settled

SETTLED_AFTER = timedelta(seconds=15)
"""How long what was on its way may still arrive: a network gives up on it after eight seconds (`tcp_user_timeout`), the
server on waiting for a lock after five."""


class Reach:
    """What a desk knows of the way to its store."""

    def __init__(self, store: Store, clock: Callable[[], datetime]) -> None:
        """Nothing was lost yet.

        Args:
            store: an open store.
            clock: gives the time now.
        """
        self._store = store
        self._clock = clock
        self._lost: datetime | None = None
        self._unsure: list[tuple[datetime, StoreUnsure]] = []
        self._words: list[str] = []

    def look(self) -> bool:
        """Whether there is news, and there is when the store is in reach again; raises StoreLost while it is not."""
        try:
            news = self._store.has_news()
            settled = self._settle()
        except PrepkitError as error:
            self.note(error)
            raise
        came_back, self._lost = self._lost is not None, None
        return news or came_back or settled

    def note(self, error: PrepkitError) -> None:
        """Remember an error that says that the store is out of reach, or that something may not have been saved."""
        if isinstance(error, StoreLost | StoreUnsure) and self._lost is None:
            self._lost = self._clock()
        if isinstance(error, StoreUnsure):
            self._unsure.append((self._clock(), error))

    def show(self) -> str:
        """What stands on every screen while something is wrong; empty while nothing is."""
        if self._lost is not None:
            return say_lost(self._lost)
        return say_asking() if self._unsure else ""

    def take_words(self) -> tuple[str, ...]:
        """What became of what was being saved, each told once."""
        words, self._words = tuple(self._words), []
        return words

    def _settle(self) -> bool:
        """Look for what may have been saved, once nothing of it can arrive any more; True where anything was told."""
        now = self._clock().astimezone(UTC)
        due = [(at, error) for at, error in self._unsure if now - at.astimezone(UTC) >= SETTLED_AFTER]
        for at, error in due:
            kept = is_kept(self._store.read(error.prep, error.expected), error.contents)
            self._words.append(say_settled(at, is_kept=kept))
            self._unsure.remove((at, error))
        return bool(due)
