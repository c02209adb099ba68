"""The lock: what a screen shows after the ward's idle time, until somebody signs in."""

from collections.abc import Callable
from typing import ClassVar

from textual.binding import BindingType

from prepkit.app.workstation import Workstation
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.routes import go_back
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.widgets.column import HeadingItem, Item, WordsItem
from prepkit.tui.widgets.text import Sentence
from prepkit.view.home import LockedView
from prepkit.view.routes import ScreenRoute

LOCKED = "Nobody touched this screen for a while, so it locked. Everything done is kept."


class LockScreen(WorkstationScreen[None]):
    """How far each cot is, nothing about a baby, and the way back in."""

    ROUTE = ScreenRoute.LOCK
    MARKS_BACK = False
    STEPS_SCROLL = True
    CSS_PATH = "lock.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation, unlocked: Callable[[bool], object] | None = None) -> None:
        super().__init__(desk)
        self._unlocked = unlocked
        """Called once the screen is unlocked: whether by the person whose place lies under it."""
        self._who = desk.identity.who
        """Whose place lies under the lock."""
        self._most = 0
        """How many cots are read; 0 until the first frame, which needs only those that fit."""
        self._more = 0

    def draw(self) -> None:
        """The ward, then each cot and how much is left."""
        ward = self.desk.files.ward_name
        self.head(None, f"Locked · {ward}" if ward else "Locked")
        self._most = self._most or self.app.size.height
        rows, self._more = self.desk.list_locked(self._most)
        self.body.show(_items(self._who, rows, self._more))
        self.offer(self.action_named("help"), self.action_named("sign_in"), primary="sign_in")

    def point(self) -> None:
        """Also read on where less than a screenful is left below."""
        super().point()
        if self._more and self.is_up and self.body.max_scroll_y - self.body.scroll_offset.y < self.app.size.height // 2:
            self._most += self.app.size.height
            self.safely(self.show_now)

    def action_sign_in(self) -> None:
        """Ask who it is; the same person finds their place again, another one starts at home."""
        self.ask_who(self._unlock)

    def _unlock(self, _: object) -> None:
        if self.desk.identity.is_locked:
            return
        is_same = self.desk.identity.who == self._who
        if is_same:
            self.app.pop_screen()
        else:
            go_back(self.app, ScreenRoute.HOME)
        if self._unlocked is not None:
            self._unlocked(is_same)

    def action_back(self) -> None:
        """Nothing lies behind a lock."""


def _items(who: str, rows: tuple[LockedView, ...], more: int) -> list[Item]:
    cots = tuple(Sentence(f"{row.cot}: {row.left}", "bold $ink") for row in rows)
    heading: list[Item] = (
        [HeadingItem("cots", "In progress", str(len(rows) + more)), WordsItem("cot words", cots)] if cots else []
    )
    whose = f"{who} was at this desk and finds everything where it was left."
    return [*heading, WordsItem("locked", (Sentence(LOCKED), Sentence(whose)), "locked")]
