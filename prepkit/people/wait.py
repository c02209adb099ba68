"""How long no PIN is taken after too many refusals in a row. The figures are our own rule.

Pure: the time comes in. May import: this layer's state, and the standard library.
"""

from datetime import datetime, timedelta

from prepkit.people.state import Refusals, Staff

TRIES = 5
"""Refusals in a row, for the same initials, before anybody has to wait."""
FIRST_WAIT = timedelta(minutes=1)
"""After that many; each further refusal doubles it."""
LONGEST_WAIT = timedelta(minutes=15)

_NONE = timedelta(0)


def compute_wait(refusals: int) -> timedelta:
    """Compute the wait that so many refusals in a row lead to."""
    if refusals < TRIES:
        return _NONE
    doublings = min(refusals - TRIES, LONGEST_WAIT // FIRST_WAIT)  # more would pass the longest in any case
    return min(FIRST_WAIT * (1 << doublings), LONGEST_WAIT)


def compute_left(staff: Staff, initials: str, now: datetime) -> timedelta:
    """Compute how long no PIN is taken for these initials, from now on; nothing where one is.

    Where the clock stands before the last refusal it was put back: nobody can say how much of the wait has passed, so
    all of it is left, counted from now; see `is_put_back`.
    """
    refusals = staff.refusals.get(initials)
    if refusals is None:
        return _NONE
    wait = compute_wait(refusals.count)
    passed = max(now - refusals.since, _NONE)
    return max(wait - passed, _NONE)


def is_put_back(refusals: Refusals, now: datetime) -> bool:
    """Say whether the clock was put back behind the last refusal, so that the wait has to begin again."""
    return now < refusals.since
