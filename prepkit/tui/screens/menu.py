"""The menu behind "More": the actions that have no room on the bar."""

from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical

from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.base import DeskScreen
from prepkit.tui.widgets.button import Action
from prepkit.tui.widgets.column import Column, RowItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.view.models import Banner

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation


class MenuScreen(DeskScreen[str]):
    """One row an action; gives back the name of the chosen one."""

    MAP = "menu"
    SHOWS_WHO = True
    CSS_PATH = "menu.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def __init__(
        self, desk: "Desk", preparation: "OpenPreparation | None", actions: tuple[Action, ...], banner: Banner | None
    ) -> None:
        super().__init__(desk, preparation)
        self._actions = actions
        self._banner = banner

    def compose_middle(self) -> ComposeResult:
        """The rows, low on the screen."""
        with Vertical(id="low"):
            yield Column(id="body")

    def draw(self) -> None:
        """The actions as rows."""
        self.head(self._banner, "More")
        rows = [RowItem(action.name, RowText(action.label, sign=action.letter)) for action in self._actions]
        self.body.show(rows)
        self.offer(self.action_named("back"))

    def open_row(self, row: Row) -> None:
        """Choose the action."""
        self.dismiss(row.key)

    def has_key(self, key: str) -> bool:
        """Whether a key does something here: one of the menu's own, or a letter beside a row."""
        return super().has_key(key) or bool(self._find(key))

    def on_key(self, event: events.Key) -> None:
        """Take the letter beside a row as that row: whoever reads it presses it."""
        if chosen := self._find(event.key):
            event.stop()
            self.dismiss(chosen)

    def _find(self, letter: str) -> str:
        return next((action.name for action in self._actions if action.letter == letter), "")

    def action_who(self) -> None:
        """Leave the choice to the screen below, as for every action."""
        if any(action.name == "who" for action in self._actions):
            self.dismiss("who")
