"""One line opened: amount, working, cautions and source, to tick or to set aside."""

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import WordsItem
from prepkit.tui.widgets.opened import opened_items
from prepkit.tui.widgets.sentences import Sentence

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation


class LineScreen(PreparationScreen):
    """A tick leads back to the list; everything else stays here."""

    MAP = "line"
    MARKS_BACK = True
    CSS_PATH = "line.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def __init__(self, desk: "Desk", preparation: "OpenPreparation", line: str) -> None:
        super().__init__(desk, preparation)
        self.line = line

    def draw(self) -> None:
        """The line as it stands."""
        view = self.prep.show_line(self.line)
        if view is None:
            self.call_later(self.action_onward)
            return
        refusals = dict.fromkeys(offer.refusal for offer in (view.tick, view.set_aside) if offer.refusal)
        why = [WordsItem("why", tuple(Sentence(words, "$ask") for words in refusals), "why")] if refusals else []
        self.head(view.banner, view.row.name, view.row.word)
        self.body.show([*opened_items(view)[1:], *why])
        aside = [] if view.set_aside.refusal else [self.action_named("not_needed", view.set_aside.label)]
        tick = [] if view.tick.refusal else [self.action_named("tick", view.tick.label)]
        primary = "tick" if tick else "not_needed" if aside else "back"
        self.offer(self.action_named("back"), *aside, *tick, primary=primary)

    def action_tick(self) -> None:
        """Tick the line and go back to the list; un-ticking stays here."""
        view = self.prep.show_line(self.line)
        if self.do(lambda: self.prep.tick(self.line)) and view is not None and not view.is_ticked:
            self.action_back()

    def action_not_needed(self) -> None:
        """Mark it as not needed after asking why, or take that back."""
        self.put_aside(self.line)

    def action_step(self, step: int) -> None:
        """Scroll the words; the bar is reached with ◀ and ▶."""
        self.body.scroll_relative(y=step, animate=False)
