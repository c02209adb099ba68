"""The menu behind "More": the actions that have no room on the bar."""

from typing import TYPE_CHECKING, ClassVar

from textual import on
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

    @on(Row.Touched)
    def _choose(self, event: Row.Touched) -> None:
        self.dismiss(event.row.key)

    def action_who(self) -> None:
        """Leave the choice to the screen below, as for every action."""
        if any(action.name == "who" for action in self._actions):
            self.dismiss("who")

    def action_open(self) -> None:
        """Choose the marked action."""
        if isinstance(self.focused, Row):
            self.dismiss(self.focused.key)
