"""One workstation, as front ends hold it: its store, its kits and ward file, and who is signed in.

The first screen needs this module, so events, rules and kits are imported only where a method needs them.
"""

import socket
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from prepkit.app.clock import fix_offset, read_clock
from prepkit.app.connectivity import Connectivity
from prepkit.app.eventlog.stream_index import StateCache, read_ended, read_open
from prepkit.app.files import WorkstationFiles
from prepkit.attribution import Attribution
from prepkit.people.pin import Pin, hide_pin
from prepkit.preparation.text import Refusal, check_initials
from prepkit.store.interface import Store
from prepkit.store.opener import StoreAt
from prepkit.view.home import (
    EndedView,
    HomeView,
    KitChoice,
    LockedView,
    PersonRow,
    list_sharing,
    show_ended,
    show_home,
    show_locked,
)

if TYPE_CHECKING:
    from prepkit.app.session import PreparationSession
    from prepkit.app.staff import StaffList, VerifiedPerson

NOT_SIGNED_IN = "Nobody has signed on at this desk: give your initials first."
_MICROSECONDS_IN_A_MINUTE = 60_000_000
_ROWS_A_PAGE = 20
BEGIN_ANEW = "Begin it anew; prepkit verify looks the whole store through."
NOTHING_GIVEN = "The weight and gestation are needed for the list."


class Workstation:
    """One workstation. It belongs to the thread that made it, as its store does."""

    def __init__(
        self,
        store: Store,
        files: WorkstationFiles,
        *,
        practice: bool = False,
        who: str = "",
        clock: Callable[[], datetime] = read_clock,
        store_at: StoreAt | None = None,
    ) -> None:
        """Sit down at a desk.

        Args:
            store: an open store; the desk does not close it.
            files: the kits and the ward file.
            practice: whether everything started here is marked as practice.
            who: initials of the person at the desk; empty until given.
            clock: gives the time now, in the zone of this desk.
            store_at: where the store is, for commands that a person is to type; None where nobody can name it.
        """
        self.who = who
        self.where = socket.gethostname()
        self.clock = clock
        self.store = store
        self.connectivity = Connectivity(store, clock)
        self.store_at = store_at
        self.files = files
        self._practice = practice
        self._state_cache = StateCache(store)
        self._verified_person: VerifiedPerson | None = None
        """Whose PIN was right: the person at the desk, or nobody."""
        self._second = ""
        """Whose PIN was right on the spot, beside the person at the desk."""
        self._locked = False

    @cached_property
    def _staff(self) -> "StaffList":
        from prepkit.app.staff import StaffList  # noqa: PLC0415  (loads the events, which a first screen may not need)

        return StaffList(self.store, self.clock, self.where)

    @property
    def needs_pin(self) -> bool:
        """Whether signing in asks for a PIN, by the ward file as it is now.

        Where that cannot be read, a staff list with PINs on it is the ward's word: a broken file turns nothing off.
        """
        people = self.files.find_people()
        return self._staff.read().has_pins if people is None else people.pins

    @property
    def lock_after(self) -> timedelta | None:
        """The idle time after which the screen has to lock; None where it does not."""
        from prepkit.kit.ward import LONGEST_IDLE  # noqa: PLC0415  (loads units, and what reads kits)
        from prepkit.quantities.amount import convert  # noqa: PLC0415  (as above)

        people = self.files.find_people()
        if people is None or people.lock_after is None or not people.pins:
            return None
        minutes = convert(min(people.lock_after, LONGEST_IDLE), "min").value
        return timedelta(microseconds=int(minutes * _MICROSECONDS_IN_A_MINUTE))

    @property
    def is_locked(self) -> bool:
        """Whether the screen shows no baby facts and takes nothing until somebody signs in."""
        return self._locked

    def lock(self) -> None:
        """Lock the screen; without PINs anybody could unlock it, so it stays open."""
        self._locked, self._second = self.needs_pin, ""

    def sign_on(self, typed: str, pin: str | Pin = "") -> str:
        """Take the person at the desk, by initials and, where the ward wants it, PIN; it unlocks the screen too.

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
        """The person at the desk as `resume_sign_in` takes them elsewhere; None where no PIN proved who they are."""
        return self._verified_person if self._proven == self.who else None

    def resume_sign_in(self, signed: "VerifiedPerson", *, locked: bool) -> None:
        """Take a person who gave their PIN before this desk was opened, by the same staff list; nothing is recorded.

        The screen is locked where it was when they were left, and where that PIN does not stand any more.
        """
        stands = self._staff.is_still_valid(signed)
        self.who, self._verified_person, self._second = signed.who, signed if stands else None, ""
        self._locked = (locked or not stands) and self.needs_pin

    def refuse_initials(self, typed: str) -> str:
        """Why these cannot be anybody's initials; empty where they can, whoever that is."""
        initials = check_initials(typed)
        return initials.reason if isinstance(initials, Refusal) else ""

    def verify(self, typed: str, pin: str | Pin = "", *, checks: bool = True) -> str:
        """Let a second person sign in on the spot, to check or for another word; the first stays signed in.

        Returns a refusal in words, or an empty string. Whether it is another person than the first is for the decision
        that asks for a second one.
        """
        initials, pin = check_initials(typed), hide_pin(pin)
        if isinstance(initials, Refusal):
            return initials.reason
        needs_pin = self.needs_pin
        refusal = (self._staff.try_pin(initials, pin) if needs_pin else "") or (
            self.find_bar(initials) if checks else ""
        )
        self._second = initials if needs_pin and not refusal else ""
        return refusal

    def is_beside(self, initials: str) -> bool:
        """Whether this second person is signed in on the spot; without PINs nobody has to be."""
        return not self.needs_pin or self._second == initials

    def find_bar(self, initials: str) -> str:
        """Why the ward does not let these initials check, by their role; empty where it does."""
        people = self.files.find_people()
        if people is None:
            return "The ward file cannot be read: who may check is not known until it is put right."
        return self._staff.find_bar(initials, people.barred_from_checking)

    @property
    def _proven(self) -> str:
        """Initials of the person whose PIN was right; empty where there is none."""
        return self._verified_person.who if self._verified_person else ""

    def refuse_if_not_signed_in(self) -> str:
        """Why nothing may be done at this desk now: nobody has signed in, or it is locked; empty where it may."""
        if not self.who:
            return NOT_SIGNED_IN
        if self._locked:
            return "This screen is locked: sign in first."
        if not self.needs_pin:
            return ""
        signed = self.verified_person
        if signed is None:
            return "This ward asks for a PIN: sign in first."
        if self._staff.is_still_valid(signed):
            return ""
        is_listed = bool(self._staff.read().find_hash(self.who))
        return f"{self.who} {'was given another PIN' if is_listed else 'is not on the staff list any more'}: sign in."

    def list_people(self) -> tuple[PersonRow, ...]:
        """Whom the desk can be handed to with two touches: those on the staff list, with PINs those who have one."""
        needs_pin = self.needs_pin
        people = self._staff.list_people()
        return tuple(PersonRow(person.initials, person.role) for person in people if person.pin or not needs_pin)

    def show_home(self, most: int | None = None) -> HomeView:
        """The preparations in progress: the newest first, and no more of them than `most`."""
        preps = tuple(reversed(read_open(self.store)))
        found, unreadable = self._state_cache.read_each(preps[:most])
        damaged = tuple(f"{words} {BEGIN_ANEW}" for words in unreadable)
        notices = (*damaged, *(("Practice: nothing here is a real baby.",) if self._practice else ()))
        more = len(preps) - len(preps[:most])
        return show_home(found, more, self.files.ward_name, (*notices, *self.files.list_notices()), self.clock())

    def find_sharing(self, cot: str) -> tuple[tuple[str, str], ...]:
        """The preparations in progress under a cot label, the newest first: id, and what tells each from another."""
        found, _ = self._state_cache.read_each(reversed(read_open(self.store)))
        return list_sharing(found, cot, self.clock())

    def list_kits(self) -> tuple[KitChoice, ...]:
        """What a preparation may be started from."""
        return self.files.list_kits()

    def list_locked(self, most: int | None = None) -> tuple[tuple[LockedView, ...], int]:
        """What a locked screen shows of the preparations in progress, and how many there are beside `most` of them.

        One that cannot be read is left out.
        """
        preps = tuple(reversed(read_open(self.store)))
        found, _ = self._state_cache.read_each(preps[:most])
        return tuple(show_locked(state, self.clock()) for _, state in found), len(preps) - len(preps[:most])

    def show_ended(self, before: int | None = None, most: int | None = None) -> EndedView:
        """A page of the preparations that have ended, to be looked at again; `before` is another page's `older`.

        With `most` only so many of the page are read and shown: what a screen has room for at first.
        """
        page = read_ended(self.store, _ROWS_A_PAGE + 1, before)
        found, unreadable = self._state_cache.read_each(head.prep for head in page[:_ROWS_A_PAGE][:most])
        older = page[_ROWS_A_PAGE - 1].ended if len(page) > _ROWS_A_PAGE else None
        return show_ended(found, unreadable, self.clock(), older)

    def warm_up(self) -> bool:
        """Check the files; True where that changes what the first screen says."""
        return self.files.note_problems(self.files.find_problems())

    def start(self, kit: str, cot: str, *, practice: bool = False) -> "PreparationSession | str":
        """Start a preparation, for practice where it is asked for; a refusal in words where it cannot be."""
        from prepkit.app.eventlog.repository import append_first  # noqa: PLC0415  (as the staff list)
        from prepkit.app.session import PreparationSession  # noqa: PLC0415  (loads units, kits and rules)
        from prepkit.preparation.decide import decide_start  # noqa: PLC0415  (as above)
        from prepkit.preparation.lines.events import Listed  # noqa: PLC0415  (as above)

        if nobody := self.refuse_if_not_signed_in():
            return nobody
        read = self.files.load(kit)
        if isinstance(read, str):
            return read
        decision = decide_start(
            cot,
            kit,
            kit_edition=read.kit.model.edition,
            kit_name=read.kit.model.short,
            kit_text=read.kit.text,
            ward_text=read.ward.text if read.ward else None,
            ward_name=read.ward.model.name if read.ward else None,
            practice=self._practice or practice,
            listed=Listed("facts", (), NOTHING_GIVEN),
        )
        prep = uuid.uuid4().hex
        state = append_first(self.store, prep, decision, self.make_attribution())
        return state.reason if isinstance(state, Refusal) else PreparationSession(self, prep, state)

    def resume(self, prep: str) -> "PreparationSession | str":
        """Open a preparation that is in progress; a refusal in words where it cannot be."""
        from prepkit.app.eventlog.repository import read_preparation  # noqa: PLC0415  (as the staff list)
        from prepkit.app.session import PreparationSession  # noqa: PLC0415  (loads units, kits and rules)

        if nobody := self.refuse_if_not_signed_in():
            return nobody
        return PreparationSession(self, prep, read_preparation(self.store, prep))

    def has_news(self) -> bool:
        """Whether another device wrote to the store since this was last asked, or it came into reach again."""
        return self.connectivity.look()

    def make_attribution(self, who: str = "") -> Attribution:
        """Who (the person at the desk, unless a second one acts), when and where, now."""
        proven = self._second if who else self._proven
        who = who or self.who
        is_verified = bool(who) and who == proven and not self._locked
        return Attribution(who, fix_offset(self.clock()), self.where, verified=is_verified)


def open_workstation(
    store: Store,
    *,
    ward: Path | None,
    kits: Path | None,
    practice: bool = False,
    who: str = "",
    store_at: StoreAt | None = None,
) -> Workstation:
    """A desk over an open store, with the kits and the ward file found on this machine."""
    return Workstation(store, WorkstationFiles(ward, kits), practice=practice, who=who, store_at=store_at)
