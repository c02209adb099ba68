"""The sign-in: what is asked for, who is let in, and PINs tried against the staff list as at any workstation.

A passphrase lets in whoever knows it; a PIN lets in the person it belongs to. A ward that has both asks for both, so
that no outsider can try PINs, or make a person wait by trying them. Comparing a PIN takes much time and memory
(`prepkit.people.pin`): a thread of its own does it, one at a time, while everybody else's screens go on.
"""

import asyncio
import hashlib
import hmac
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from msgspec import Struct

from prepkit.app.clock import read_clock
from prepkit.app.files import WorkstationFiles
from prepkit.app.identity import Identity
from prepkit.app.staff import VerifiedPerson
from prepkit.errors import PrepkitError, StoreError
from prepkit.people.pin import Pin
from prepkit.preparation.text import Refusal
from prepkit.serve.rate_limiter import RateLimiter
from prepkit.store import Store, StoreAt, open_store

_Answer = TypeVar("_Answer")

SIGN_IN_CHANGED = "The ward changed how people sign in: load this page again."


class Authenticator:
    """A workstation at which nobody stays: whoever signs in goes on to a program of their own."""

    def __init__(
        self, store: StoreAt, ward: Path | None, kits: Path | None, clock: Callable[[], datetime] = read_clock
    ) -> None:
        """Open nothing yet."""
        self._at = store
        self._files = WorkstationFiles(ward, kits)
        self._clock = clock
        self._store: Store | None = None
        self._thread = ThreadPoolExecutor(1, "door")

    async def needs_pin(self) -> bool:
        """Whether signing in asks for a PIN, by the ward file as it is now. Raises StoreError."""
        return await self._ask(lambda identity: identity.needs_pin)

    async def sign_on(self, typed: str, pin: Pin) -> VerifiedPerson | Refusal:
        """Try a PIN and record the result. Raises StoreError."""

        def sign_on(identity: Identity) -> VerifiedPerson | Refusal:
            refusal = identity.sign_on(typed, pin)
            # Nobody gets through without a right PIN, whatever the ward file says by now.
            return Refusal(refusal) if refusal else identity.verified_person or Refusal(SIGN_IN_CHANGED)

        return await self._ask(sign_on)

    async def close(self) -> None:
        """Close the store, and let the thread end."""
        await asyncio.get_running_loop().run_in_executor(self._thread, self._close)
        self._thread.shutdown(wait=False)

    async def _ask(self, question: Callable[[Identity], _Answer]) -> _Answer:
        return await asyncio.get_running_loop().run_in_executor(self._thread, self._answer, question)

    def _answer(self, question: Callable[[Identity], _Answer]) -> _Answer:
        """Ask on behalf of somebody who has not signed in yet; runs in the thread."""
        if self._store is None:
            self._store = open_store(self._at)
        try:
            return question(Identity(self._store, self._files, self._clock))
        except StoreError:
            self._close()  # it may have been restored from a backup: the next sign-in opens it again
            raise

    def _close(self) -> None:
        if self._store is not None:
            self._store.close()
        self._store = None


MOST_WAITING = 16
"""People who may sign in at the same time; they are answered in turn, so that nobody guesses twice at once."""
LOOK_EVERY = 2.0
"""Seconds between looks at what the ward asks for, however often the page loads; a sign-in itself always looks."""

WRONG = "That was not the passphrase."
BUSY = "Too many people are signing in just now. Try again in a moment."
CLOSED = "Nobody can sign in: the ward file asks for no PIN any more, and there is no passphrase."
UNREADABLE = "The staff list cannot be read just now. Whoever looks after prepkit sees why where it was started."


class SignInRequirements(Struct, frozen=True):
    """What the page asks for; on this machine alone it may be nothing."""

    passphrase: bool = False
    pin: bool = False
    shut: str = ""
    """Why nobody is let in at all; else empty."""


class Admitted(Struct, frozen=True):
    """Somebody gave what was asked for."""

    signed: VerifiedPerson | None
    """Who it is, where a PIN was asked for."""


class NotAdmitted(Struct, frozen=True):
    """Somebody is not let in, and why."""

    status: int
    """The HTTP status."""
    sentence: str
    wait: int = 0
    """Seconds until it makes sense to try again."""


class SignIn:
    """Lets people in, one after the other."""

    def __init__(
        self,
        passphrase: str,
        authenticator: Authenticator,
        rate_limiter: RateLimiter,
        *,
        alone: bool,
        report: Callable[[str], object],
    ) -> None:
        """Make a sign-in.

        Args:
            passphrase: empty where none is asked for.
            authenticator: where PINs are tried.
            rate_limiter: counts wrong guesses.
            alone: whether nothing but this machine can connect, so that nothing need be asked for.
            report: is told, in a sentence, why the staff list could not be read.
        """
        self._passphrase = passphrase
        self._authenticator = authenticator
        self._rate_limiter = rate_limiter
        self._alone = alone
        self._report = report
        self._turn = asyncio.Lock()
        self._waiting = 0
        self._told = ""
        self._looked_at = -LOOK_EVERY
        self.asked = SignInRequirements(bool(passphrase))
        """What the page asks for, as of the last look."""

    async def find_asked(self) -> SignInRequirements:
        """What the page asks for, by the ward file as it is now or was a moment ago."""
        now = self._rate_limiter.clock()
        if now - self._looked_at >= LOOK_EVERY:
            self._looked_at = now
            try:
                await self._look()
            except PrepkitError as error:
                self._tell(error)
        return self.asked

    async def _look(self) -> None:
        try:
            pin = await self._authenticator.needs_pin()
        except PrepkitError:
            self.asked = SignInRequirements(shut=UNREADABLE)
            raise
        shut = not (pin or self._passphrase or self._alone)
        self.asked = SignInRequirements(bool(self._passphrase), pin, CLOSED if shut else "")

    async def try_to_enter(self, address: str, form: Mapping[str, str]) -> Admitted | NotAdmitted:
        """Let somebody in, or say why not. A wrong answer takes as long as a right one."""
        if self._waiting >= MOST_WAITING:
            return NotAdmitted(503, BUSY, 5)
        self._waiting += 1
        try:
            async with self._turn:
                return await self._try(address, form)
        finally:
            self._waiting -= 1

    async def _try(self, address: str, form: Mapping[str, str]) -> Admitted | NotAdmitted:
        wait = self._rate_limiter.find_wait(address)
        if wait:
            return NotAdmitted(429, f"Too many wrong ones. Try again in {_say_wait(wait)}.", wait)
        try:
            found = await self._check(form)
        except PrepkitError as error:
            self._tell(error)
            return NotAdmitted(503, UNREADABLE, 60)
        if isinstance(found, Refusal):
            self._rate_limiter.add_wrong(address)
            return NotAdmitted(403, found.reason)
        self._rate_limiter.add_right(address)
        return found

    async def _check(self, form: Mapping[str, str]) -> Admitted | Refusal:
        if self._passphrase and not is_passphrase(form.get("passphrase", ""), self._passphrase):
            return Refusal(WRONG)  # no PIN is tried, so that nobody can use up a person's tries
        await self._look()
        if self.asked.shut:
            return Refusal(self.asked.shut)
        if not self.asked.pin:
            return Admitted(None)
        found = await self._authenticator.sign_on(form.get("initials", ""), Pin(form.get("pin", "")))
        return found if isinstance(found, Refusal) else Admitted(found)

    def _tell(self, error: PrepkitError) -> None:
        """Report an error once, so that nobody can fill a log by asking again and again."""
        if str(error) != self._told:
            self._told = str(error)
            self._report(self._told)


def is_passphrase(given: str, passphrase: str) -> bool:
    """Whether this is the passphrase."""
    return hmac.compare_digest(_digest(given), _digest(passphrase))


def _digest(text: str) -> bytes:
    """A digest, always of the same length, so that a comparison does not give the text's length away."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()


def _say_wait(seconds: int) -> str:
    minutes = -(-seconds // 60)
    return "a minute" if minutes == 1 else f"{minutes} minutes"
