"""The sign-in: what is asked for, and who is let in. May import: the desk, and this layer's own.

A passphrase lets in whoever knows it; a PIN lets in the person whose it is. A ward that has both asks for both: nobody
outside tries PINs then, nor makes a person wait by trying them.
"""

import asyncio
import hashlib
import hmac
from collections.abc import Callable, Mapping

from msgspec import Struct

from prepkit.desk.staff import SignedOn
from prepkit.errors import PrepkitError
from prepkit.people.pin import Pin
from prepkit.preparation.text import Refusal
from prepkit.serve.door import Door
from prepkit.serve.guesses import Guesses

MOST_WAITING = 16
"""People at the sign-in at the same time; each is answered in turn, so that nobody guesses twice at once."""
LOOK_EVERY = 2.0
"""Seconds between looks at what the ward asks for, however often the page is loaded; a sign-in itself always looks."""

WRONG = "That was not the passphrase."
BUSY = "Too many people are signing in just now. Try again in a moment."
CLOSED = "Nobody can sign in: the ward file asks for no PIN any more, and there is no passphrase."
UNREADABLE = "The staff list cannot be read just now. Whoever looks after prepkit sees why where it was started."


class Asked(Struct, frozen=True):
    """What has to be given; on this machine alone it may be nothing."""

    passphrase: bool = False
    pin: bool = False
    shut: str = ""
    """Why nobody is let in, whatever they give."""


class LetIn(Struct, frozen=True):
    """Somebody who gave what was asked for."""

    signed: SignedOn | None
    """Who, where a PIN was asked for."""


class NotLetIn(Struct, frozen=True):
    """Why somebody is not let in."""

    status: int
    """Of HTTP."""
    sentence: str
    wait: int = 0
    """Seconds until it makes sense to try again."""


class SignIn:
    """Who is let in, one after the other."""

    def __init__(
        self, passphrase: str, door: Door, guesses: Guesses, *, alone: bool, report: Callable[[str], object]
    ) -> None:
        """Make a sign-in.

        Args:
            passphrase: empty where none is asked for.
            door: where PINs are tried.
            guesses: how often somebody guessed.
            alone: whether nothing but this machine can connect, so that nothing need be asked for.
            report: is told, in a sentence, why the staff list could not be read.
        """
        self._passphrase = passphrase
        self._door = door
        self._guesses = guesses
        self._alone = alone
        self._report = report
        self._turn = asyncio.Lock()
        self._waiting = 0
        self._told = ""
        self._looked_at = -LOOK_EVERY
        self.asked = Asked(bool(passphrase))
        """What has to be given, as it was last seen."""

    async def find_asked(self) -> Asked:
        """What has to be given, by the ward file as it is now or was a moment ago."""
        now = self._guesses.clock()
        if now - self._looked_at >= LOOK_EVERY:
            self._looked_at = now
            try:
                await self._look()
            except PrepkitError as error:
                self._tell(error)
        return self.asked

    async def _look(self) -> None:
        try:
            pin = await self._door.needs_pin()
        except PrepkitError:
            self.asked = Asked(shut=UNREADABLE)
            raise
        shut = not (pin or self._passphrase or self._alone)
        self.asked = Asked(bool(self._passphrase), pin, CLOSED if shut else "")

    async def try_to_enter(self, address: str, form: Mapping[str, str]) -> LetIn | NotLetIn:
        """Let somebody in, or say why not. Takes as long for a wrong answer as for a right one."""
        if self._waiting >= MOST_WAITING:
            return NotLetIn(503, BUSY, 5)
        self._waiting += 1
        try:
            async with self._turn:
                return await self._try(address, form)
        finally:
            self._waiting -= 1

    async def _try(self, address: str, form: Mapping[str, str]) -> LetIn | NotLetIn:
        wait = self._guesses.find_wait(address)
        if wait:
            return NotLetIn(429, f"Too many wrong ones. Try again in {_say_wait(wait)}.", wait)
        try:
            found = await self._check(form)
        except PrepkitError as error:
            self._tell(error)
            return NotLetIn(503, UNREADABLE, 60)
        if isinstance(found, Refusal):
            self._guesses.add_wrong(address)
            return NotLetIn(403, found.reason)
        self._guesses.add_right(address)
        return found

    async def _check(self, form: Mapping[str, str]) -> LetIn | Refusal:
        if self._passphrase and not is_passphrase(form.get("passphrase", ""), self._passphrase):
            return Refusal(WRONG)  # no PIN is tried, so that nobody can use up a person's tries
        await self._look()
        if self.asked.shut:
            return Refusal(self.asked.shut)
        if not self.asked.pin:
            return LetIn(None)
        found = await self._door.sign_on(form.get("initials", ""), Pin(form.get("pin", "")))
        return found if isinstance(found, Refusal) else LetIn(found)

    def _tell(self, error: PrepkitError) -> None:
        """Report an error, once: whoever asks again and again fills no log."""
        if str(error) != self._told:
            self._told = str(error)
            self._report(self._told)


def is_passphrase(given: str, passphrase: str) -> bool:
    """Whether it is the passphrase itself."""
    return hmac.compare_digest(_digest(given), _digest(passphrase))


def _digest(text: str) -> bytes:
    """Of one length whatever the text's, so that a comparison tells nothing about that either."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()


def _say_wait(seconds: int) -> str:
    minutes = -(-seconds // 60)
    return "a minute" if minutes == 1 else f"{minutes} minutes"
