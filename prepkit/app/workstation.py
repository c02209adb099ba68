"""One workstation, as front ends hold it: its store, its kits and ward file, who is signed in, what is in progress.

The first screen needs this module: what a preparation needs is imported when one is opened.
"""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from prepkit.app.clock import read_clock
from prepkit.app.connectivity import Connectivity
from prepkit.app.eventlog.stream_index import StateCache, read_ended, read_open
from prepkit.app.files import WorkstationFiles
from prepkit.app.identity import Identity
from prepkit.store.interface import Store
from prepkit.store.opener import StoreAt
from prepkit.view.home import (
    EndedView,
    HomeView,
    KitChoice,
    LockedView,
    list_sharing,
    show_ended,
    show_home,
    show_locked,
)

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation, PreparationOpener

_ROWS_A_PAGE = 20
BEGIN_ANEW = "Begin it anew; prepkit verify looks the whole store through."


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
        """Open a workstation.

        Args:
            store: an open store, which this does not close.
            files: the kits and the ward file.
            practice: whether everything started here is marked as practice.
            who: initials of the person here; empty until given.
            clock: gives the time now, in the zone of this workstation.
            store_at: where the store is, for commands that a person is to type; None where nobody can name it.
        """
        self.store = store
        self.connectivity = Connectivity(store, clock)
        self.store_at = store_at
        self.files = files
        self._practice = practice
        self._state_cache = StateCache(store)
        self.identity = Identity(store, files, clock, who)

    def clock(self) -> datetime:
        """The time now: one clock, which the identity holds, for everything here."""
        return self.identity.clock()

    def show_home(self, most: int | None = None) -> HomeView:
        """The preparations in progress: the newest first, and no more of them than `most`."""
        preps, ward = tuple(reversed(read_open(self.store))), self.files.look_at_ward()
        found, unreadable = self._state_cache.read_each(preps[:most])
        damaged = tuple(f"{words} {BEGIN_ANEW}" for words in unreadable)
        notices = (*damaged, *(("Practice: nothing here is a real baby.",) if self._practice else ()))
        more = len(preps) - len(preps[:most])
        return show_home(found, more, ward.name, (*notices, *self.files.list_notices(ward)), self.clock())

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
        found, unreadable = self._state_cache.read_each(entry.prep for entry in page[:_ROWS_A_PAGE][:most])
        older = page[_ROWS_A_PAGE - 1].ended if len(page) > _ROWS_A_PAGE else None
        return show_ended(found, unreadable, self.clock(), older)

    def warm_up(self) -> bool:
        """Check the files; True where that changes what the first screen says."""
        return self.files.note_problems(self.files.find_problems())

    @property
    def _opener(self) -> "PreparationOpener":
        from prepkit.app.open_preparation import PreparationOpener  # noqa: PLC0415  (184 ms: units, kits and rules)

        return PreparationOpener(self.store, self.files, self.identity)

    def start(self, kit: str, cot: str, *, practice: bool = False) -> "OpenPreparation | str":
        """Start a preparation, for practice where it is asked for; a refusal in words where it cannot be."""
        return self._opener.start(kit, cot, practice=self._practice or practice)

    def resume(self, prep: str) -> "OpenPreparation | str":
        """Open a preparation that is in progress; a refusal in words where it cannot be."""
        return self._opener.resume(prep)

    def has_news(self) -> bool:
        """Whether another device wrote to the store since this was last asked, or it came into reach again."""
        return self.connectivity.look()


def open_workstation(
    store: Store,
    *,
    ward: Path | None,
    kits: Path | None,
    practice: bool = False,
    who: str = "",
    store_at: StoreAt | None = None,
) -> Workstation:
    """A workstation over an open store, with the kits and the ward file found on this machine."""
    return Workstation(store, WorkstationFiles(ward, kits), practice=practice, who=who, store_at=store_at)
