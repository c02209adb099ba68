"""The staff list as it stands: who is on it, and how many refusals in a row there were.

Only `take_in` makes one. May import: this layer's events, and a preparation's stamp and errors.
"""

import hashlib
from collections.abc import Mapping
from datetime import datetime
from typing import ClassVar, TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from prepkit.people.events import (
    PersonAdded,
    PersonRemoved,
    PinRefused,
    PinReset,
    SignedIn,
    StaffPayload,
    WaitBegun,
)
from prepkit.people.secret import Secret
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Stamp

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
    """Of the last event taken in; the next one has to follow it."""
    people: Mapping[str, Person] = field(default_factory=dict)
    refusals: Mapping[str, Refusals] = field(default_factory=dict)
    """Of initials that are on the list and of others alike."""

    def find_hash(self, initials: str) -> str:
        """Find the hash of a person's PIN; empty where they have none, or are not on the list."""
        person = self.people.get(initials)
        return person.pin if person else ""

    def find_mark(self, initials: str) -> str:
        """Find what tells a person's PIN from any that they are given later, and nothing about it; empty without one.

        Every PIN is hashed with a salt of its own, so that even the same digits given again have another mark.
        """
        encoded = self.find_hash(initials)
        return hashlib.sha256(encoded.encode()).hexdigest() if encoded else ""

    @property
    def has_pins(self) -> bool:
        """Whether anybody can sign in with a PIN."""
        return any(person.pin for person in self.people.values())


def take_in(staff: Staff, seq: int, stamp: Stamp, payload: StaffPayload) -> Staff:
    """Take one event in. Raises `RecordUnreadable` for a gap in the numbers."""
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
    """The refusals in a row after one more event; None where there are none."""
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
