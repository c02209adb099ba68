"""One workstation: its store, its kits, its ward file, and who is at it. May import: every layer but the front ends."""

import socket
import uuid
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from prepkit.desk.clock import fix_offset, read_clock
from prepkit.desk.files import Files
from prepkit.desk.ledger import read_preparation, write_first
from prepkit.errors import StoreDamaged
from prepkit.preparation.decide import decide_start
from prepkit.preparation.events import CLOSING_KINDS, Listed, Stamp
from prepkit.preparation.text import Refusal, check_initials
from prepkit.store import Store
from prepkit.view.home import show_home
from prepkit.view.models import HomeView

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation
    from prepkit.preparation.state import Preparation

NOTHING_GIVEN = "The weight and gestation are needed for the list."


class Desk:
    """One workstation. It belongs to the thread that made it, as its store does."""

    def __init__(
        self,
        store: Store,
        files: Files,
        *,
        practice: bool = False,
        who: str = "",
        clock: Callable[[], datetime] = read_clock,
    ) -> None:
        """Sit down at a desk.

        Args:
            store: an open store; the desk does not close it.
            files: the kits and the ward file.
            practice: whether everything started here is marked as practice.
            who: initials of the person at the desk; empty until given.
            clock: gives the time now, in the zone of this desk.
        """
        self.who = who
        self.where = socket.gethostname()
        self.clock = clock
        self.store = store
        self.files = files
        self._practice = practice

    def sign_on(self, typed: str) -> str:
        """Take the initials of the person at the desk; a refusal in words, or an empty string."""
        initials = check_initials(typed)
        if isinstance(initials, Refusal):
            return initials.reason
        self.who = initials
        return ""

    def show_home(self) -> HomeView:
        """The preparations in progress and what a new one may be started from."""
        found: list[tuple[str, Preparation]] = []
        unreadable = []
        for prep in self.store.read_open(CLOSING_KINDS):
            try:
                found.append((prep, read_preparation(self.store, prep)))
            except StoreDamaged as error:
                unreadable.append(str(error))
        files = self.files
        notices = (*(("Practice: nothing here is a real baby.",) if self._practice else ()), *files.list_notices())
        return show_home(
            tuple(reversed(found)), tuple(unreadable), files.list_kits(), files.ward_name, notices, self.clock()
        )

    def warm_up(self) -> bool:
        """Load what is heavy and check the files, once the first screen is shown; True where that changed it."""
        return self.files.check()

    def start(self, kit: str, cot: str) -> "OpenPreparation | str":
        """Start a preparation; a refusal in words where it cannot be."""
        from prepkit.desk.opened import OpenPreparation  # noqa: PLC0415  (loads units, kits and rules)

        if not self.who:
            return "Nobody has signed on at this desk: give your initials first."
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
            practice=self._practice,
            listed=Listed("facts", (), NOTHING_GIVEN),
        )
        prep = uuid.uuid4().hex
        state = write_first(self.store, prep, decision, self.make_stamp())
        return state.reason if isinstance(state, Refusal) else OpenPreparation(self, prep, state)

    def resume(self, prep: str) -> "OpenPreparation | str":
        """Open a preparation that is in progress; a refusal in words where it cannot be."""
        from prepkit.desk.opened import OpenPreparation  # noqa: PLC0415  (loads units, kits and rules)

        if not self.who:
            return "Nobody has signed on at this desk: give your initials first."
        return OpenPreparation(self, prep, read_preparation(self.store, prep))

    def has_news(self) -> bool:
        """Whether another device wrote to the store since this was last asked."""
        return self.store.has_news()

    def make_stamp(self) -> Stamp:
        """Who, when and where, now."""
        return Stamp(self.who, fix_offset(self.clock()), self.where)


def open_desk(store: Store, *, ward: Path | None, kits: Path | None, practice: bool = False, who: str = "") -> Desk:
    """A desk over an open store, with the kits and the ward file found on this machine."""
    return Desk(store, Files(ward, kits), practice=practice, who=who)
