"""The list: every line with its sign and its amount, in groups; beside it, where there is room, the marked line."""

from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widget import Widget

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.start import FactWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.column import Column, HeadingItem, Item, RowItem, WordsItem
from prepkit.tui.widgets.line_details import line_items
from prepkit.tui.widgets.question import TopQuestionItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import LineRow, ListView, Sign
from prepkit.view.routes import ScreenRoute, Stage

LINE = "line"
NOTICE = "notice"
NEWS = "news"
HANDOVER = "handover"
WANTED = "wanted"
MARK_FIRST = "Mark a line first: move to it with the arrow keys, or touch its name and come back."
HAS_ALL = "The list has every fact it needs. Defaults to confirm are under Baby, questions under Suitability."


class ListScreen(PreparationScreen):
    """Lines in groups. Space or a touch on the sign ticks; Enter or a touch on the words opens."""

    ROUTE = ScreenRoute.LIST
    CSS_PATH = "list.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def compose_middle(self) -> ComposeResult:
        """The list, and the pane for the marked line."""
        with Horizontal(id="middle"):
            yield Column(id="body")
            yield Column(id="pane")

    def draw(self) -> None:
        """The list, or why there is none."""
        view = self.prep.lines.show_list()
        self._targets = {f"{NOTICE} {at}": lead for at, lead in enumerate(view.targets)}
        self.head(view.banner, "List", view.left)
        self.body.show(_items(view))
        self._offer(view)
        self._show_pane()

    def _offer(self, view: ListView) -> None:
        labels = {}
        names, primary = ["back", "more", "baby", "suitability", "hand_over", "stand_down", "help"], "suitability"
        if not view.withheld:
            names = ["back", "more", "baby", "suitability", "not_needed", "check", "hand_over", "labels", "stand_down",
                     "help", "ready"]  # fmt: skip
            primary = "ready"
        if view.withheld or view.wanted:
            baby = self.prep.baby.show_baby()
            if baby.weight_question is not None or baby.next_fact is not None:
                names, primary = [*names, "facts"], "facts"
                labels = {"facts": baby.next_label}
        if self.prep.bedside.stage is not Stage.TRAY:
            names, primary = ["back", "more", "baby", "suitability", "help", "cot"], "cot"
        self.offer(*(self.action_named(name, labels.get(name, "")) for name in names), primary=primary)

    def _marked_line(self) -> str | None:
        return _line_of(self.focused)

    # The pane

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Open the marked line in the pane."""
        if isinstance(event.widget, Row):
            self.safely(self._show_pane)

    def on_resize(self, event: events.Resize) -> None:  # noqa: ARG002 (the library's signature)
        """Fill the pane where there has come to be one."""
        self.call_after_refresh(lambda: self.safely(self._show_pane))

    def _show_pane(self) -> None:
        line = self._marked_line()
        pane = self.query_one("#pane", Column)
        view = self.prep.lines.show_line(line) if line is not None and pane.display else None
        if view is not None:
            pane.show(line_items(view, has_all=True))

    # Touch and keys

    def action_touch(self, touched: Widget, on_sign: bool) -> None:  # noqa: FBT001 (as the actions of every screen)
        """Tick a line at its sign; at its words open it, where the pane does not show it."""
        line = _line_of(touched)
        if line is not None and on_sign:
            self.tick(line)
        elif line is None or not self.query_one("#pane").display:
            self.open_marked(touched)

    def action_tick(self) -> None:
        """Tick the marked line, or un-tick it."""
        line = self._marked_line()
        if line is not None:
            self.tick(line)

    def open_row(self, row: Row) -> None:
        """Open the line, or go where a notice leads."""
        line = _line_of(row)
        if line is not None:
            self.action_line(line)
        elif row.key == NEWS:
            words = (row.text.name, "Accept the change? Exactly what it changes is un-ticked.")
            self.show_message("Changed", words, "Accept", self._take_news_in)
        elif row.key == WANTED:
            self.action_facts()
        elif row.key == HANDOVER:
            self.action_handover()
        else:
            target = self._targets[row.key]
            self.go(target.route, target.line)

    def _take_news_in(self, sure: bool | None) -> None:  # noqa: FBT001 (the library's own signature)
        if sure:
            self.do(self.prep.lines.take_news)

    def action_not_needed(self) -> None:
        """Mark the marked line as not needed, or take that back."""
        line = self._marked_line()
        if line is None:
            self.tell("Not needed", MARK_FIRST)
        else:
            self.put_aside(line)

    def action_check(self) -> None:
        """Show how the second check stands; where nobody has checked yet, begin one."""
        if any(row.theirs for row in self.prep.check.show_checked().rows):
            self.action_checked()
        else:
            super().action_check()

    def action_scan(self, text: str) -> None:
        """Take a container in hand for the line that it is for, and open that line: the tick is still a hand's."""
        if self.is_covered or not self.prep.batches.is_asked:
            super().action_scan(text)
            return
        line, refusal = self.prep.batches.find_line(text)
        if line:
            refusal = self.attempt(lambda: self.prep.batches.scan(line, text))
            self.action_line(line)
        if refusal:
            self.tell("Not in hand", refusal)

    @on(Button.Pressed, ".question Button")
    async def _answered(self, event: Button.Pressed) -> None:
        event.stop()
        await self.run_action(event.button.name or "")

    def action_answer_yes(self) -> None:
        """Say that it was born today, or that it is the same baby; nothing where nothing is asked."""
        view = self.prep.lines.show_list()
        birth = view.birth
        if birth is not None:
            self.do(lambda: self.prep.baby.give_fact(birth.fact, birth.today))
        elif view.same_baby:
            self.do(lambda: self.prep.doses.answer_same_baby(is_same=True))

    def action_answer_other(self) -> None:
        """Ask on which day it was born, and what is then needed; or say that it is another baby."""
        view = self.prep.lines.show_list()
        if view.birth is not None:
            self.ask(FactWizard(self.prep, view.birth.fact, is_earlier=True))
        elif view.same_baby:
            self.do(lambda: self.prep.doses.answer_same_baby(is_same=False))

    def action_facts(self) -> None:
        """Ask for what the list still needs."""
        asks = FactWizard(self.prep)
        if asks.next_prompt() is None:
            self.tell("Nothing to enter", HAS_ALL)
        else:
            self.ask(asks)


def _line_of(widget: Widget | None) -> str | None:
    kind, _, line = widget.key.partition(" ") if isinstance(widget, Row) else ("", "", "")
    return line if kind == LINE else None


def _items(view: ListView) -> list[Item]:
    handover = [RowItem(HANDOVER, RowText(view.handover, sign=Sign.QUESTION), "notice")] if view.handover else []
    news = [RowItem(NEWS, RowText(view.news, sign=Sign.CHANGED), "notice")] if view.news else []
    notices = [RowItem(f"{NOTICE} {at}", RowText(words, sign="i"), "notice") for at, words in enumerate(view.notices)]
    if view.withheld:
        return [*handover, *news, *notices, WordsItem("withheld", (Sentence(view.withheld, "bold $ink"),), "withheld")]
    wanted = [RowItem(WANTED, RowText(view.wanted, sign=Sign.QUESTION), "notice")] if view.wanted else []
    items: list[Item] = [*_ask(view), *handover, *news, *wanted, *notices]
    for group in view.groups:
        items.append(HeadingItem(f"group {group.id}", group.name, group.progress))
        items += [RowItem(f"{LINE} {line.id}", row_text(line)) for line in group.lines]
    return items


def _ask(view: ListView) -> list[Item]:
    """What is asked on top, one question after the other: another day of birth may answer whose the doses were."""
    if view.birth is not None:
        return [TopQuestionItem("birth", view.birth.ask, "Earlier")]
    return [TopQuestionItem("same baby", view.same_baby, "No")] if view.same_baby else []


def row_text(line: LineRow) -> RowText:
    """A line as a row says it."""
    return RowText(line.name, line.show, line.details, line.sign, line.word, line.note)
