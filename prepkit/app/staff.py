"""The staff list of one store: who is on it, and PINs tried against it.

It loads the events, which a first screen may not need: import it where a person signs in, not with the workstation.
"""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from typing import ClassVar

from prepkit.app.clock import fix_offset
from prepkit.app.eventlog.repository import EventRepository
from prepkit.attribution import Attribution
from prepkit.errors import StoreLost
from prepkit.people import STAFF_STREAM
from prepkit.people.decide import (
    NO_MATCH,
    StaffDecision,
    decide_add,
    decide_remove,
    decide_reset,
    decide_try,
    decide_wait,
    refuse_if_barred,
    refuse_if_waiting,
)
from prepkit.people.events import STAFF_PAYLOADS, StaffPayload
from prepkit.people.pin import NOBODYS, Pin, Secret, hash_pin, is_pin, read_pin
from prepkit.people.staff import Person, Staff, apply
from prepkit.preparation.codec import Codec
from prepkit.preparation.text import Refusal, check_initials
from prepkit.store import Store

NOBODY_YET = "Nobody on the staff list has a PIN yet. Add the first person with: prepkit staff add INITIALS --role ROLE"
_CHANGED = "The staff list changed meanwhile: sign in again."

_STAFF: EventRepository[Staff, StaffPayload] = EventRepository("list", Codec(STAFF_PAYLOADS), apply)


class VerifiedPerson(Secret, frozen=True):
    """Who gave the right PIN, and that PIN's mark: valid until the PIN is reset or the person is taken off the list."""

    HIDDEN: ClassVar[str] = "mark"
    who: str
    mark: str


def read_staff(store: Store) -> Staff:
    """The staff list of a store as it is now. Raises `StoreDamaged` where it cannot be read."""
    return _STAFF.read_on(store, STAFF_STREAM, Staff())


class StaffList:
    """The staff list. Every change is durable before its method returns.

    Methods that change something return the reason of the refusal in words, or an empty string when it was done.
    """

    def __init__(self, store: Store, clock: Callable[[], datetime], where: str) -> None:
        """Open the staff list of an open store; read nothing yet.

        Args:
            store: an open store.
            clock: gives the time now, with its offset.
            where: the workstation.
        """
        self._store = store
        self._clock = clock
        self._where = where
        self._staff = Staff()

    def read(self) -> Staff:
        """The list as it is now, on every device."""
        self._staff = _STAFF.read_on(self._store, STAFF_STREAM, self._staff)
        return self._staff

    def list_people(self) -> tuple[Person, ...]:
        """Everybody on the list, by initials; as last known while the store is out of reach."""
        with suppress(StoreLost):
            self.read()
        return tuple(person for _, person in sorted(self._staff.people.items()))

    def add(self, typed: str, role: str, pin: Pin | None, account: str) -> str:
        """Put a person on the list; None for one without a PIN. `account` is who did it, by the machine's own name."""
        encoded = hash_pin(pin) if pin else ""
        return self._change(typed, account, lambda staff, initials: decide_add(staff, initials, role, encoded))

    def remove(self, typed: str, account: str) -> str:
        """Take a person off the list."""
        return self._change(typed, account, decide_remove)

    def reset(self, typed: str, pin: Pin, account: str) -> str:
        """Give a person another PIN; a wait ends with it."""
        encoded = hash_pin(pin)
        return self._change(typed, account, lambda staff, initials: decide_reset(staff, initials, encoded))

    def find_bar(self, initials: str, roles: tuple[str, ...]) -> str:
        """Why these initials may not check; empty where they may."""
        bar = refuse_if_barred(self.read(), initials, roles)
        return bar.reason if bar else ""

    def is_still_valid(self, signed: VerifiedPerson) -> bool:
        """Whether a person who signed in with a PIN is on the list with that very PIN now."""
        return bool(signed.mark) and self.read().find_mark(signed.who) == signed.mark

    def find_verified_person(self, initials: str) -> VerifiedPerson:
        """Who has just given the right PIN, by the list as it was when it was tried."""
        return VerifiedPerson(initials, self._staff.find_mark(initials))

    def try_pin(self, typed: str, entered: Pin) -> str:
        """Try a PIN, and record the result before telling it.

        Unknown initials cost the same as a wrong PIN and are refused in the same words; while a wait lasts no PIN is
        compared at all.
        """
        initials, pin = check_initials(typed), read_pin(entered)
        if isinstance(initials, Refusal):
            return initials.reason
        if isinstance(pin, Refusal):
            return pin.reason
        staff, now = self.read(), fix_offset(self._clock())
        if not staff.has_pins:
            return NOBODY_YET
        wait = refuse_if_waiting(staff, initials, now)
        if wait is not None:
            self._write(Attribution(initials, now, self._where), lambda staff: decide_wait(staff, initials, now))
            return wait.reason
        return self._try(staff, initials, pin, now)

    def _try(self, staff: Staff, initials: str, pin: Pin, now: datetime) -> str:
        known = staff.find_hash(initials)
        is_right = is_pin(pin, known or NOBODYS) and bool(known)

        def decide(staff: Staff) -> StaffDecision:
            # Another device may have used up the tries, or reset the PIN: then this answer is never told.
            if staff.find_hash(initials) != known:
                return Refusal(_CHANGED)
            return refuse_if_waiting(staff, initials, now) or decide_try(staff, initials, is_right=is_right)

        refusal = self._write(Attribution(initials, now, self._where, verified=is_right), decide)
        return refusal or ("" if is_right else NO_MATCH)

    def _change(self, typed: str, account: str, decide: Callable[[Staff, str], StaffDecision]) -> str:
        initials = check_initials(typed)
        if isinstance(initials, Refusal):
            return initials.reason
        self.read()
        return self._write(
            Attribution(account, fix_offset(self._clock()), self._where), lambda staff: decide(staff, initials)
        )

    def _write(self, stamp: Attribution, decide: Callable[[Staff], StaffDecision]) -> str:
        written = _STAFF.decide_and_append(self._store, STAFF_STREAM, self._staff, decide, stamp)
        self._staff = written.state
        return written.refusal
