"""What changes for whom when a staff list goes back to how it was: a backup must not bring an old PIN back unsaid.

Pure. May import: this layer's state and waits.
"""

from collections.abc import Iterator

from prepkit.people.state import Person, Staff
from prepkit.people.wait import TRIES

UNKNOWN = "The staff list and its PINs are those of the backup: set every PIN anew that was changed after it."
"""Where what was there cannot be compared with."""


def compare_staff(now: Staff, then: Staff) -> tuple[str, ...]:
    """Say what is different in `then`, of which a store is made the present again, one sentence each, by initials."""
    initials = sorted({*now.people, *then.people})
    people = (words for each in initials for words in _compare(now.people.get(each), then.people.get(each)))
    waits = (each for each in sorted(now.refusals) if _count(now, each) >= TRIES and _count(then, each) < TRIES)
    return (*people, *(f"The wait of {each} after refused PINs is over with it." for each in waits))


def _compare(now: Person | None, then: Person | None) -> Iterator[str]:
    if now is None and then is not None:
        yield (
            f"{then.initials} is on the staff list again ({then.role}), as then."
            f" To take them off: prepkit staff remove {then.initials}"
        )
    elif now is not None and then is None:
        yield f"{now.initials} is not on the staff list any more, as then. To put them on: prepkit staff add"
    elif now is not None and then is not None:
        if now.pin != then.pin:
            has = "has their PIN of then again" if then.pin else "has no PIN again, as then"
            yield f"{now.initials} {has}. To give another one: prepkit staff reset {now.initials}"
        if now.role != then.role:
            yield f"{now.initials} is a {then.role} again, as then, and no {now.role}."


def _count(staff: Staff, initials: str) -> int:
    refusals = staff.refusals.get(initials)
    return refusals.count if refusals else 0
