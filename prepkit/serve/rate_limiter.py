"""How often somebody may guess at the sign-in, over the network.

The staff list also counts the wrong PINs of each person, for all devices together. The clock comes in as an argument:
any that only goes forward, in seconds.
"""

import ipaddress
from collections.abc import Callable

from msgspec import Struct, field

FREE_GUESSES = 5
"""Wrong guesses in a row from one address before it has to wait."""
FIRST_WAIT = 60.0
LONGEST_WAIT = 900.0
ALL_GUESSES = 60
"""Wrong guesses from anywhere within `ALL_WITHIN` before everybody has to wait."""
ALL_WITHIN = 600.0
ALL_WAIT = 60.0
MOST_ADDRESSES = 10_000


class _Count(Struct):
    wrong: int = 0
    until: float = 0.0


class RateLimiter(Struct):
    """Wrong guesses: by address, each further one waiting twice as long; and overall."""

    clock: Callable[[], float]
    _by_address: dict[str, _Count] = field(default_factory=dict)
    _recent: list[float] = field(default_factory=list)
    _all_until: float = 0.0

    def find_wait(self, address: str) -> int:
        """Whole seconds that this address has to wait before it may try; 0 where it may."""
        now = self.clock()
        count = self._by_address.get(_name(address), _Count())
        left = max(count.until, self._all_until) - now
        return int(left) + 1 if left > 0 else 0

    def add_wrong(self, address: str) -> None:
        """Count a wrong guess."""
        now = self.clock()
        self._forget(now)
        count = self._by_address.setdefault(_name(address), _Count())
        count.wrong += 1
        if count.wrong >= FREE_GUESSES:
            count.until = now + min(LONGEST_WAIT, FIRST_WAIT * 2.0 ** min(count.wrong - FREE_GUESSES, 10))
        self._recent.append(now)
        if len(self._recent) >= ALL_GUESSES:
            self._all_until, self._recent = now + ALL_WAIT, []

    def add_right(self, address: str) -> None:
        """Forget the wrong guesses of an address that got it right."""
        self._by_address.pop(_name(address), None)

    def _forget(self, now: float) -> None:
        self._recent = [at for at in self._recent if at > now - ALL_WITHIN]
        if len(self._by_address) >= MOST_ADDRESSES:
            self._by_address = {each: count for each, count in self._by_address.items() if count.until > now}


def _name(address: str) -> str:
    """The key that one guesser counts under. An IPv6 machine can use any address of its /64: all count as one."""
    try:
        read = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(read, ipaddress.IPv4Address):
        return str(read)
    return str(read.ipv4_mapped or ipaddress.ip_network((int(read), 64), strict=False))
