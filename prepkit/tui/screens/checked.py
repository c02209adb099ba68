"""The second check: how it came out, line by line."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.keys import bindings_of
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import Item, RowItem, WordsItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.sentences import Sentence
from prepkit.view.check_models import CheckedRow, CheckedView
from prepkit.view.models import Sign


class CheckedScreen(PreparationScreen):
    """One row a line; a touched difference opens both workings."""

    MAP = "checked"
    CSS_PATH = "checked.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def draw(self) -> None:
        """Every line that is to be checked, with both results."""
        view = self.prep.checks.show_checked()
        self.head(view.banner, "Second check")
        self.body.show(_items(view))
        check = [] if view.begin.refusal else [self.action_named("check")]
        ready = self.action_named("ready")
        rest = [] if check else [ready]
        self.offer(
            self.action_named("back"),
            self.action_named("more"),
            self.action_named("onward"),
            *([ready] if check else []),
            self.action_named("help"),
            *(check or rest),
            primary="check" if check else "ready",
        )

    def open_row(self, row: Row) -> None:
        """Show both workings where they differ, else the line."""
        found = next((each for each in self.prep.checks.show_checked().rows if each.line == row.key), None)
        if found is not None and found.their_working:
            self.action_difference(row.key)
        elif found is not None:
            self.action_line(row.key)


def _items(view: CheckedView) -> list[Item]:
    words = WordsItem("words", tuple(Sentence(words) for words in view.words), "summing-up")
    return [words, *(RowItem(row.line, _text(row)) for row in view.rows)]


def _text(row: CheckedRow) -> RowText:
    theirs = (f"checked: {row.theirs}",) if row.theirs else ()
    note = "" if row.sign == Sign.QUESTION else row.note  # That it differs, its word says already.
    return RowText(row.name, show=row.ours, details=theirs, sign=row.sign, word=row.word, note=note)
