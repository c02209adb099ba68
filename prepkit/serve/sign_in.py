"""The sign-in: who is let in, and how often somebody may guess. May import: the standard library.

The clock is any that only goes forward, in seconds; it comes in as an argument.
"""

import hashlib
import hmac
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

FREE_GUESSES = 5
"""Wrong ones in a row from one address before it has to wait."""
FIRST_WAIT = 60.0
LONGEST_WAIT = 900.0
ALL_GUESSES = 60
"""Wrong ones from everywhere within `ALL_WITHIN` before everybody has to wait."""
ALL_WITHIN = 600.0
ALL_WAIT = 60.0
MOST_ADDRESSES = 10_000


@dataclass(frozen=True, slots=True)
class SignIn:
    """What has to be given; an empty passphrase asks for nothing, on this machine alone."""

    passphrase: str

    @property
    def asks(self) -> bool:
        """Whether anything has to be given."""
        return bool(self.passphrase)

    def check_sign_in(self, form: Mapping[str, str]) -> bool:
        """Whether what was sent opens a session. Takes as long for a wrong answer as for a right one."""
        return hmac.compare_digest(_digest(form.get("passphrase", "")), _digest(self.passphrase))


def _digest(text: str) -> bytes:
    """Of one length whatever the text's, so that a comparison tells nothing about that either."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()


@dataclass(slots=True)
class _Count:
    wrong: int = 0
    until: float = 0.0


@dataclass(slots=True)
class Guesses:
    """Wrong guesses: by address, each further one waiting twice as long; and overall."""

    clock: Callable[[], float]
    _by_address: dict[str, _Count] = field(default_factory=dict)
    _recent: list[float] = field(default_factory=list)
    _all_until: float = 0.0

    def find_wait(self, address: str) -> int:
        """Whole seconds that this address has to wait before it may try; 0 where it may."""
        now = self.clock()
        count = self._by_address.get(address, _Count())
        left = max(count.until, self._all_until) - now
        return int(left) + 1 if left > 0 else 0

    def add_wrong(self, address: str) -> None:
        """Count a wrong guess."""
        now = self.clock()
        self._forget(now)
        count = self._by_address.setdefault(address, _Count())
        count.wrong += 1
        if count.wrong >= FREE_GUESSES:
            count.until = now + min(LONGEST_WAIT, FIRST_WAIT * 2.0 ** min(count.wrong - FREE_GUESSES, 10))
        self._recent.append(now)
        if len(self._recent) >= ALL_GUESSES:
            self._all_until, self._recent = now + ALL_WAIT, []

    def add_right(self, address: str) -> None:
        """Forget the wrong guesses of an address that got it right."""
        self._by_address.pop(address, None)

    def _forget(self, now: float) -> None:
        self._recent = [at for at in self._recent if at > now - ALL_WITHIN]
        if len(self._by_address) >= MOST_ADDRESSES:
            self._by_address = {each: count for each, count in self._by_address.items() if count.until > now}
