"""The staff list as it stands, the wait after refused PINs, and what differs between two staff lists.

Only `apply` makes a `Staff`. Pure: the time is an argument. The figures of the wait are our own rule.
"""

import hashlib
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import ClassVar, TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.people.events import PersonAdded, PersonRemoved, PinRefused, PinReset, SignedIn, StaffPayload, WaitBegun
from prepkit.people.pin import Secret
from prepkit.preparation.codec import RecordUnreadable

_Value = TypeVar("_Value")


class Person(Secret, frozen=True):
    """Somebody on the staff list."""

    HIDDEN: ClassVar[str] = "pin"
    initials: str
    role: str
    pin: str
    """The encoded hash of the PIN; empty where there is none."""


class Refusals(Struct, frozen=True):
    """PINs refused in a row for the same initials."""

    count: int
    since: datetime
    """From when a wait counts: the last refusal, or the moment at which the clock was seen to have been put back."""


class Staff(Struct, frozen=True):
    """The staff list. The mappings, by initials, are not to be written to."""

    seq: int = 0
    """Of the last event; the next one has to follow it."""
    people: Mapping[str, Person] = field(default_factory=dict)
    refusals: Mapping[str, Refusals] = field(default_factory=dict)
    """Of initials that are on the list and of others alike."""

    def find_hash(self, initials: str) -> str:
        """Find the hash of a person's PIN; empty where they have none, or are not on the list."""
        person = self.people.get(initials)
        return person.pin if person else ""

    def find_mark(self, initials: str) -> str:
        """Give a mark that changes with every new PIN of a person and tells nothing about it; empty without a PIN.

        Each hash has a new salt, so even the same digits set again give another mark.
        """
        encoded = self.find_hash(initials)
        return hashlib.sha256(encoded.encode()).hexdigest() if encoded else ""

    @property
    def has_pins(self) -> bool:
        """Whether anybody can sign in with a PIN."""
        return any(person.pin for person in self.people.values())


def apply(staff: Staff, seq: int, stamp: Attribution, payload: StaffPayload) -> Staff:
    """Give the list after one more event. Raises `RecordUnreadable` for a gap in the numbers."""
    if seq != staff.seq + 1:
        raise RecordUnreadable(f"event {seq} ({payload.KIND}): expected event {staff.seq + 1} after event {staff.seq}")
    initials = payload.initials
    people = _change_people(staff.people, payload)
    refusals = _count_refusals(staff.refusals.get(initials), payload, stamp.at)
    others = _without(staff.refusals, initials)
    return Staff(seq, people, others if refusals is None else {**others, initials: refusals})


def _change_people(people: Mapping[str, Person], payload: StaffPayload) -> Mapping[str, Person]:
    initials = payload.initials
    match payload:
        case PersonAdded(role=role, pin=pin):
            return {**people, initials: Person(initials, role, pin)}
        case PinReset(pin=pin) if initials in people:
            return {**people, initials: replace(people[initials], pin=pin)}
        case PersonRemoved():
            return _without(people, initials)
    return people


def _count_refusals(before: Refusals | None, payload: StaffPayload, at: datetime) -> Refusals | None:
    """Count the refusals in a row after one more event; None if there are none."""
    match payload:
        case PersonAdded() | PinReset() | SignedIn():
            return None
        case PinRefused():
            return Refusals(before.count + 1 if before else 1, at)
        case WaitBegun() if before is not None:
            return replace(before, since=at)
    return before


def _without(mapping: Mapping[str, _Value], key: str) -> Mapping[str, _Value]:
    return {each: value for each, value in mapping.items() if each != key}


TRIES_BEFORE_WAIT = 5
"""Refusals in a row, for the same initials, before anybody has to wait."""
FIRST_WAIT = timedelta(minutes=1)
"""After that many; each further refusal doubles it."""
LONGEST_WAIT = timedelta(minutes=15)

_NONE = timedelta(0)


def compute_wait(refusals: int) -> timedelta:
    """Compute the wait that so many refusals in a row lead to."""
    if refusals < TRIES_BEFORE_WAIT:
        return _NONE
    doublings = min(refusals - TRIES_BEFORE_WAIT, LONGEST_WAIT // FIRST_WAIT)  # more would pass the longest in any case
    return min(FIRST_WAIT * (1 << doublings), LONGEST_WAIT)


def compute_wait_left(staff: Staff, initials: str, now: datetime) -> timedelta:
    """Compute for how long from now no PIN is accepted for these initials; zero if one is.

    A clock that is behind the last refusal was put back: nobody can say how much of the wait has passed, so all of it
    is left; see `is_put_back`.
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


CANNOT_COMPARE = "The staff list and its PINs are those of the backup: set every PIN anew that was changed after it."
"""Where what was there cannot be compared with."""


def compare_staff(now: Staff, then: Staff) -> tuple[str, ...]:
    """Say what going back to `then` changes, for instance by restoring a backup: one sentence each, by initials."""
    initials = sorted({*now.people, *then.people})
    people = (words for each in initials for words in _compare(now.people.get(each), then.people.get(each)))
    waits = (
        each
        for each in sorted(now.refusals)
        if _count(now, each) >= TRIES_BEFORE_WAIT and _count(then, each) < TRIES_BEFORE_WAIT
    )
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
