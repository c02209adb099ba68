"""What is not in the plan: something that happened, recorded with one touch, and the rescue lines."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.screens.steps import EntryScreen
from prepkit.tui.widgets.board import BoardItem, compartment_of
from prepkit.tui.widgets.column import RowItem
from prepkit.tui.widgets.row import Row, RowText


class HappeningScreen(PreparationScreen):
    """One row a happening; a touch records it now and shows what is done then."""

    MAP = "happening"
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def draw(self) -> None:
        """What may have happened."""
        view = self.prep.cot.show_cot()
        self.head(view.banner, "What happened?")
        self.body.show([RowItem(each.happening, RowText(each.name)) for each in view.happenings])
        self.offer(self.action_named("back"), self.action_named("help"), primary="back")

    def open_row(self, row: Row) -> None:
        """Record that it happened, and show the entry."""
        if self.do(lambda: self.prep.cot.note_happening(row.key)):
            self.app.switch_screen(EntryScreen(self.desk, self.prep, self.prep.cot.last_entry))


class RescueScreen(PreparationScreen):
    """The rescue lines, large."""

    MAP = "rescue"
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def draw(self) -> None:
        """Each line in its part of one frame."""
        view = self.prep.cot.show_cot()
        self.head(view.banner, "Rescue")
        self.body.show([BoardItem("rescue", tuple(compartment_of(line) for line in view.rescue))])
        names = ("back", "help") if view.refusal else ("back", "happening")
        self.offer(*(self.action_named(name) for name in names), primary=names[-1])

    def action_happening(self) -> None:
        """Record what happened."""
        if not self.prep.cot.show_cot().refusal:
            self.app.switch_screen(HappeningScreen(self.desk, self.prep))
