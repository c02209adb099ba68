"""Commands on the staff list: each returns the events to append, or a refusal.

Callers clean the initials (`check_initials`) and hash or verify the PIN first: no PIN gets here.
"""

from datetime import datetime, timedelta
from typing import TypeAlias

from prepkit.people.events import PersonAdded, PersonRemoved, PinRefused, PinReset, SignedIn, StaffPayload, WaitBegun
from prepkit.people.staff import Staff, compute_wait_left, is_put_back
from prepkit.preparation.text import Refusal, check_text

StaffDecision: TypeAlias = tuple[StaffPayload, ...] | Refusal

NO_MATCH = "The initials and the PIN do not go together."
"""The same words whether the initials are known or not."""

_MOST_IN_A_ROLE = 40


def decide_add(staff: Staff, initials: str, role: str, pin: str) -> StaffDecision:
    """Put a person on the list; `pin` is the hash, or empty for a person without a PIN."""
    if initials in staff.people:
        return Refusal(f"{initials} is on the staff list already ({staff.people[initials].role}).")
    text = check_text(role, "role", most=_MOST_IN_A_ROLE)
    return text if isinstance(text, Refusal) else (PersonAdded(initials, text, pin),)


def decide_remove(staff: Staff, initials: str) -> StaffDecision:
    """Take a person off the list; what they did stays recorded."""
    return _refuse_if_missing(staff, initials) or (PersonRemoved(initials),)


def decide_reset(staff: Staff, initials: str, pin: str) -> StaffDecision:
    """Give a person another PIN, of which `pin` is the hash; it ends a wait."""
    return _refuse_if_missing(staff, initials) or (PinReset(initials, pin),)


def decide_try(staff: Staff, initials: str, *, is_right: bool) -> tuple[StaffPayload, ...]:
    """Record whether a PIN was right; ask `refuse_if_waiting` first."""
    return (SignedIn(initials) if is_right and initials in staff.people else PinRefused(initials),)


def decide_wait(staff: Staff, initials: str, now: datetime) -> tuple[StaffPayload, ...]:
    """Start a wait again when the clock was put back: otherwise it would last until the clock has caught up."""
    refusals = staff.refusals.get(initials)
    return (WaitBegun(initials),) if refusals is not None and is_put_back(refusals, now) else ()


def refuse_if_waiting(staff: Staff, initials: str, now: datetime) -> Refusal | None:
    """Refuse while nobody may try a PIN for these initials; the words do not tell whether they are on the list."""
    left = compute_wait_left(staff, initials, now)
    if not left:
        return None
    return Refusal(
        f"Too many refused PINs for {initials}: none is taken for {_say_wait(left)}."
        f" Somebody else may sign in; a new PIN is set with: prepkit staff reset {initials}"
    )


def refuse_if_barred(staff: Staff, initials: str, roles: tuple[str, ...]) -> Refusal | None:
    """Refuse somebody whose role may not check; initials that are not on the list have no role."""
    person = staff.people.get(initials)
    if person is None or person.role.casefold() not in {role.casefold() for role in roles}:
        return None
    return Refusal(f"{initials} is a {person.role}: on this ward that role does not check. Ask somebody else.")


def _refuse_if_missing(staff: Staff, initials: str) -> Refusal | None:
    return None if initials in staff.people else Refusal(f"{initials} is not on the staff list.")


def _say_wait(left: timedelta) -> str:
    """Say how long is left, rounded up: to whole seconds, from a minute on to whole minutes."""
    seconds = -(-left // timedelta(seconds=1))
    return f"{seconds} s" if left < timedelta(minutes=1) else f"{-(-left // timedelta(minutes=1))} min"
