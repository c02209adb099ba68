"""Complications: several of the kit's, or none."""

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import RowItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.view.models import Sign

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation

THAT_IS_ALL = "That is all"


class ComplicationsScreen(PreparationScreen):
    """A touch chooses one, another takes it back; nothing is recorded before it is kept."""

    MAP = "complications"
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def __init__(self, desk: "Desk", preparation: "OpenPreparation") -> None:
        super().__init__(desk, preparation)
        self._chosen_ones = set(preparation.cot.show_record().said)

    def draw(self) -> None:
        """Each with its sign."""
        view = self.prep.cot.show_record()
        self.head(view.banner, "Which complications?")
        self.body.show([RowItem(name, self._text(name)) for name in view.complication_choices])
        keep = self.action_named("keep", THAT_IS_ALL if self._chosen_ones else "")
        self.offer(self.action_named("back"), keep, primary="keep")

    def _text(self, name: str) -> RowText:
        is_chosen = name in self._chosen_ones
        return RowText(name, sign=Sign.DONE if is_chosen else Sign.TO_DO, word="yes" if is_chosen else "no")

    def action_choose(self) -> None:
        """Choose the marked one, or take it back; Enter does the same."""
        self.action_open()

    def open_row(self, row: Row) -> None:
        """Choose it, or take it back."""
        self._chosen_ones ^= {row.key}
        self.safely(self.show_now)

    def action_keep(self) -> None:
        """Record what is chosen."""
        if self.do(lambda: self.prep.cot.say_complications(self._chosen_ones)):
            self.dismiss()
