"""One line opened: amount, working, cautions and source, to tick or to set aside."""

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import bindings_of
from prepkit.tui.order_asks import OrderAsks
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
        order = [self.action_named("order", view.order.label)] if view.order else []
        both = [self.action_named("both")] if self._has_difference() else []
        primary = "tick" if tick else "not_needed" if aside else "order" if order else "back"
        self.offer(self.action_named("back"), self.action_named("more"), *both, *order, *aside, *tick, primary=primary)

    def _has_difference(self) -> bool:
        rows = self.prep.checks.show_checked().rows
        return any(row.line == self.line and row.their_working and not row.settle.refusal for row in rows)

    def action_both(self) -> None:
        """Show the two workings of a line whose check differs."""
        if self._has_difference():
            self.action_difference(self.line)

    def action_tick(self) -> None:
        """Tick the line and go back to the list; un-ticking stays here."""
        view = self.prep.show_line(self.line)
        if self.do(lambda: self.prep.tick(self.line)) and view is not None and not view.is_ticked:
            self.action_back()

    def action_order(self) -> None:
        """Ask what was ordered and by whom; a line that is no dose has nothing to ask."""
        view = self.prep.show_options(self.line)
        if view is None:
            return
        if view.choices:
            self.ask(OrderAsks(self.prep, self.line))
        else:
            self.tell("Nothing to order", " ".join((view.now, *view.not_offered)))

    def action_not_needed(self) -> None:
        """Mark it as not needed after asking why, or take that back."""
        self.put_aside(self.line)

    def action_step(self, step: int) -> None:
        """Scroll the words; the bar is reached with ◀ and ▶."""
        self.body.scroll_relative(y=step, animate=False)
