"""The desk at the door: whether the ward asks for PINs now, and PINs tried, as at every other desk.

A PIN takes much time and memory to compare (`prepkit.people.hashing`): that is done in a thread of its own, one at a
time, while the screens of everybody else go on. May import: the desk and the store.
"""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from prepkit.desk.clock import read_clock
from prepkit.desk.desk import Desk
from prepkit.desk.files import Files
from prepkit.desk.staff import SignedOn
from prepkit.errors import StoreError
from prepkit.people.pin import Pin
from prepkit.preparation.text import Refusal
from prepkit.store import Store, StoreAt, open_store

_Answer = TypeVar("_Answer")

CHANGED = "The ward changed how people sign in: load this page again."


class Door:
    """Nobody stays at this desk: each one who signs in is let through to a program of their own."""

    def __init__(
        self, store: StoreAt, ward: Path | None, kits: Path | None, clock: Callable[[], datetime] = read_clock
    ) -> None:
        """Nothing is opened yet."""
        self._at = store
        self._files = Files(ward, kits)
        self._clock = clock
        self._store: Store | None = None
        self._thread = ThreadPoolExecutor(1, "door")

    async def needs_pin(self) -> bool:
        """Whether signing in asks for a PIN, by the ward file as it is now. Raises StoreError."""
        return await self._ask(lambda desk: desk.needs_pin)

    async def sign_on(self, typed: str, pin: Pin) -> SignedOn | Refusal:
        """Try a PIN, and record what came of it. Raises StoreError."""

        def sign_on(desk: Desk) -> SignedOn | Refusal:
            refusal = desk.sign_on(typed, pin)
            # Without a PIN that was right nobody gets through, whatever the ward file says by now.
            return Refusal(refusal) if refusal else desk.signed_on or Refusal(CHANGED)

        return await self._ask(sign_on)

    async def close(self) -> None:
        """Close the store, and let the thread end."""
        await asyncio.get_running_loop().run_in_executor(self._thread, self._close)
        self._thread.shutdown(wait=False)

    async def _ask(self, question: Callable[[Desk], _Answer]) -> _Answer:
        return await asyncio.get_running_loop().run_in_executor(self._thread, self._answer, question)

    def _answer(self, question: Callable[[Desk], _Answer]) -> _Answer:
        """In the thread: ask a desk at which nobody is yet."""
        if self._store is None:
            self._store = open_store(self._at)
        try:
            return question(Desk(self._store, self._files, clock=self._clock))
        except StoreError:
            self._close()  # it may have been put back from a backup: the next one opens it anew
            raise

    def _close(self) -> None:
        if self._store is not None:
            self._store.close()
        self._store = None
