"""Who is at this workstation: who signed in, who stands beside them as a second person, and whether it is locked.

The first screen needs this module. The staff list, which loads the events, is read when somebody signs in.
"""

import socket
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from msgspec import Struct

from prepkit.app.clock import fix_offset, read_clock
from prepkit.app.files import WardFile, WorkstationFiles
from prepkit.attribution import Attribution
from prepkit.people.pin import Pin, hide_pin
from prepkit.preparation.text import Refusal, check_initials
from prepkit.store.interface import Store
from prepkit.view.home import PersonRow

if TYPE_CHECKING:
    from prepkit.app.staff import StaffList, VerifiedPerson
    from prepkit.kit.ward import People

NOT_SIGNED_IN = "Nobody has signed on at this desk: give your initials first."
WARD_UNREADABLE = "The ward file cannot be read: who may check is not known until it is put right."


class SignInPolicy(Struct, frozen=True):
    """How people sign in, by the ward file at one moment."""

    people: "People | None"
    """None where the ward file cannot be read."""
    needs_pin: bool


class Identity:
    """Who acts at this workstation, and by what proof."""

    def __init__(
        self, store: Store, files: WorkstationFiles, clock: Callable[[], datetime] = read_clock, who: str = ""
    ) -> None:
        """Nobody has given a PIN yet.

        Args:
            store: an open store, which has the staff list.
            files: the ward file among them says how people sign in.
            clock: gives the time now, in the zone of this workstation.
            who: initials of the person here; empty until given.
        """
        self.who = who
        self.where = socket.gethostname()
        self.clock = clock
        self._store = store
        self._files = files
        self._verified_person: VerifiedPerson | None = None
        """Whose PIN was right: whoever is signed in, or nobody."""
        self._second = ""
        """Whose PIN was right on the spot, beside whoever is signed in."""
        self._locked = False

    @cached_property
    def _staff(self) -> "StaffList":
        from prepkit.app.staff import StaffList  # noqa: PLC0415  (26 ms: the events and the staff list)

        return StaffList(self._store, self.clock, self.where)

    def read_policy(self, ward: WardFile | None = None) -> SignInPolicy:
        """How people sign in, by the ward file as it is now; read once for everything that one act asks.

        Where that cannot be read, a staff list with PINs on it is the ward's word: a broken file turns nothing off.
        """
        people = self._files.find_people(ward or self._files.look_at_ward())
        return SignInPolicy(people, self._staff.read().has_pins if people is None else people.pins)

    @property
    def needs_pin(self) -> bool:
        """Whether signing in asks for a PIN now."""
        return self.read_policy().needs_pin

    @property
    def lock_after(self) -> timedelta | None:
        """The idle time after which the screen has to lock; None where it does not."""
        people = self._files.find_people(self._files.look_at_ward())
        return people.locks_after if people else None

    @property
    def is_locked(self) -> bool:
        """Whether the screen shows no baby facts and takes nothing until somebody signs in."""
        return self._locked

    def lock(self) -> None:
        """Lock the screen; without PINs anybody could unlock it, so it stays open."""
        self._locked, self._second = self.needs_pin, ""

    def sign_on(self, typed: str, pin: str | Pin = "") -> str:
        """Sign somebody in by initials and, where the ward wants it, PIN; it unlocks the screen too.

        Returns a refusal in words, or an empty string. Without PINs any initials do, and are recorded as not verified.
        """
        initials, pin = check_initials(typed), hide_pin(pin)
        if isinstance(initials, Refusal):
            return initials.reason
        needs_pin = self.needs_pin
        if needs_pin and (refusal := self._staff.try_pin(initials, pin)):
            return refusal
        self.who, self._second, self._locked = initials, "", False
        self._verified_person = self._staff.find_verified_person(initials) if needs_pin else None
        return ""

    @property
    def verified_person(self) -> "VerifiedPerson | None":
        """Whoever is signed in, as `resume_sign_in` takes them elsewhere; None where no PIN proved who they are."""
        return self._verified_person if self._proven == self.who else None

    def resume_sign_in(self, signed: "VerifiedPerson", *, locked: bool) -> None:
        """Sign in somebody who gave their PIN elsewhere, by the same staff list; nothing is recorded.

        The screen stays locked if it was, and locks where that PIN no longer counts.
        """
        stands = self._staff.is_still_valid(signed)
        self.who, self._verified_person, self._second = signed.who, signed if stands else None, ""
        self._locked = (locked or not stands) and self.needs_pin

    def refuse_initials(self, typed: str) -> str:
        """Why these cannot be anybody's initials; empty where they can, whoever that is."""
        initials = check_initials(typed)
        return initials.reason if isinstance(initials, Refusal) else ""

    def verify(
        self, typed: str, pin: str | Pin = "", policy: SignInPolicy | None = None, *, checks: bool = True
    ) -> str:
        """Let a second person sign in on the spot, to check or for another word; the first stays signed in.

        Returns a refusal in words, or an empty string. Whether it is another person than the first is for the decision
        that asks for a second one.
        """
        initials, pin = check_initials(typed), hide_pin(pin)
        if isinstance(initials, Refusal):
            return initials.reason
        policy = policy or self.read_policy()
        refusal = (self._staff.try_pin(initials, pin) if policy.needs_pin else "") or (
            self._refuse_if_barred(initials, policy) if checks else ""
        )
        self._second = initials if policy.needs_pin and not refusal else ""
        return refusal

    def is_beside(self, initials: str, policy: SignInPolicy | None = None) -> bool:
        """Whether this second person is signed in on the spot; without PINs nobody has to be."""
        return self._second == initials or not (policy or self.read_policy()).needs_pin

    def _refuse_if_barred(self, initials: str, policy: SignInPolicy) -> str:
        """Why the ward does not let these initials check, by their role; empty where it does."""
        if policy.people is None:
            return WARD_UNREADABLE
        return self._staff.find_bar(initials, policy.people.barred_from_checking)

    @property
    def _proven(self) -> str:
        """Initials of the person whose PIN was right; empty where there is none."""
        return self._verified_person.who if self._verified_person else ""

    def refuse_if_not_signed_in(self, policy: SignInPolicy | None = None) -> str:
        """Why nothing may be done here now: nobody has signed in, or the screen is locked; empty where it may.

        The ward file is read only where no policy of this act is given, and somebody has signed in.
        """
        if not self.who:
            return NOT_SIGNED_IN
        if self._locked:
            return "This screen is locked: sign in first."
        if not (policy or self.read_policy()).needs_pin:
            return ""
        signed = self.verified_person
        if signed is None:
            return "This ward asks for a PIN: sign in first."
        if self._staff.is_still_valid(signed):
            return ""
        is_listed = bool(self._staff.read().find_hash(self.who))
        return f"{self.who} {'was given another PIN' if is_listed else 'is not on the staff list any more'}: sign in."

    def list_people(self) -> tuple[PersonRow, ...]:
        """Who can sign in with two touches: everybody on the staff list, with PINs those who have one."""
        needs_pin = self.needs_pin
        people = self._staff.list_people()
        return tuple(PersonRow(person.initials, person.role) for person in people if person.pin or not needs_pin)

    def make_attribution(self, who: str = "") -> Attribution:
        """Who (whoever is signed in, unless a second person acts), when and where, now."""
        proven = self._second if who else self._proven
        who = who or self.who
        is_verified = bool(who) and who == proven and not self._locked
        return Attribution(who, fix_offset(self.clock()), self.where, verified=is_verified)
