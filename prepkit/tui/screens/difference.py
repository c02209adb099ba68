"""Two workings of one line: the list's and the checker's, until it is decided which of them stands."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.asks import TextAsks
from prepkit.tui.keys import bindings_of
from prepkit.tui.look import SIGN_INKS
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.both import BothItem
from prepkit.tui.widgets.column import WordsItem
from prepkit.tui.widgets.sentences import Sentence

TO_DECIDE = "Settle it with a reason, or correct a fact."


class DifferenceScreen(PreparationScreen):
    """Side by side where there is room, else one above the other."""

    MAP = "difference"
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "difference.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(MAP)

    def draw(self) -> None:
        """Both workings, and what can be decided."""
        row = next((row for row in self.prep.checks.show_checked().rows if row.line == self.subject), None)
        if row is None or not row.their_working:
            self.call_later(self._close)
            return
        self.head(self.prep.checks.show_checked().banner, row.name, row.word)
        words = TO_DECIDE if not row.settle.refusal else row.note
        note = WordsItem("note", (Sentence(words, f"bold {SIGN_INKS.get(row.sign, '$ink')}", lead=f"{row.sign} "),))
        both = BothItem(("The list", row.ours, row.our_working), ("The check", row.theirs, row.their_working))
        self.body.show([note, both])
        settle = [] if row.settle.refusal else [self.action_named("settle")]
        self.offer(self.action_named("back"), self.action_named("correct"), *settle,
                   primary="settle" if settle else "correct")  # fmt: skip

    def _close(self) -> None:
        """Show the whole check where this line does not differ any more."""
        if self.is_on_top:
            self.action_checked()

    def action_settle(self) -> None:
        """Ask for the reason, then let the line stand."""
        row = next((row for row in self.prep.checks.show_checked().rows if row.line == self.subject), None)
        if row is None or row.settle.refusal:
            return
        words = (
            f"The list: {row.ours}. The check: {row.theirs}.",
            "Why does the list's stand? It stays in the record.",
        )
        settle = self.prep.checks.settle
        chain = TextAsks("Settle", "Reason", words, lambda reason: settle(self.subject, reason), self.prep)
        self.ask(chain, lambda given: self.action_checked() if given else None)

    def action_correct(self) -> None:
        """Go to the facts; a changed fact makes the list anew, and the line is checked again."""
        self.action_baby()
