"""The second check: the checker's pad, the cover over the list meanwhile, the results, two workings that differ."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.check import SecondCheckWizard
from prepkit.tui.prompts.prompt import TypedWizard
from prepkit.tui.prompts.sign_in import StopCheckWizard
from prepkit.tui.routes import find_route, navigate
from prepkit.tui.screens.pad import PadScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.themes import SIGN_INKS
from prepkit.tui.widgets.column import Item, RowItem, WordsItem
from prepkit.tui.widgets.comparison import ComparisonItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.check import CheckedRow, CheckedView
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute


class CheckPadScreen(PadScreen):
    """Asks the checker; over it lies nothing, under it the cover as soon as the check has begun."""

    LOW_KEYS: ClassVar[bool] = True

    def __init__(self, desk: Workstation, preparation: OpenPreparation) -> None:
        self._asks = SecondCheckWizard(preparation)
        super().__init__(desk, self._asks)
        self._checked = preparation

    def show_changes(self) -> None:
        """Take in what other devices did: another line to check now, or none any more."""
        if self._asks.is_signed_out:
            self.app.call_later(self._leave_signed_out)
            return
        before = self._asks.question_asked
        if self._checked.session.refresh() and self._asks.question_asked != before:
            self._asks.is_ended_elsewhere = self._checked.check.show_cover() is None
            self.go_on()

    def _leave_signed_out(self) -> None:
        """Let the cover say who checks: from there they sign in and go on where they were."""
        if self.is_on_top and self._asks.is_signed_out:
            self.leave(answered=False)

    def leave(self, *, answered: bool) -> None:
        """Close the pad; while the check is open, in favour of the cover."""
        is_open = self._checked.check.show_cover() is not None
        if is_open and find_route(self.app.screen_stack[-2]) is not ScreenRoute.COVER:
            # Switched, not closed: what lies under the pad is not painted for a moment in between.
            navigate(self.app, ScreenRoute.COVER, instead=True, desk=self.desk, preparation=self._checked)
        else:
            self.dismiss(answered)


class CheckedScreen(PreparationScreen):
    """One row a line; a touched difference opens both workings."""

    ROUTE = ScreenRoute.CHECKED
    CSS_PATH = "checked.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """Every line that is to be checked, with both results."""
        view = self.prep.check.show_checked()
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
        found = next((each for each in self.prep.check.show_checked().rows if each.line == row.key), None)
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


TO_DECIDE = "Settle it with a reason, or correct a fact."


class DifferenceScreen(PreparationScreen):
    """Side by side where there is room, else one above the other."""

    ROUTE = ScreenRoute.DIFFERENCE
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "difference.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """Both workings, and what can be decided."""
        row = next((row for row in self.prep.check.show_checked().rows if row.line == self.subject), None)
        if row is None or not row.their_working:
            self.call_later(self._close)
            return
        self.head(self.prep.check.show_checked().banner, row.name, row.word)
        words = TO_DECIDE if not row.settle.refusal else row.note
        note = WordsItem("note", (Sentence(words, f"bold {SIGN_INKS.get(row.sign, '$ink')}", lead=f"{row.sign} "),))
        both = ComparisonItem(("The list", row.ours, row.our_working), ("The check", row.theirs, row.their_working))
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
        row = next((row for row in self.prep.check.show_checked().rows if row.line == self.subject), None)
        if row is None or row.settle.refusal:
            return
        words = (
            f"The list: {row.ours}. The check: {row.theirs}.",
            "Why does the list's stand? It stays in the record.",
        )
        settle = self.prep.check.settle
        wizard = TypedWizard("Settle", "Reason", words, lambda reason: settle(self.subject, reason), self.prep)
        self.ask(wizard, lambda given: self.action_checked() if given else None)

    def action_correct(self) -> None:
        """Go to the facts; a changed fact makes the list anew, and the line is checked again."""
        self.action_baby()


STOP = (
    "What was entered so far does not count. The list is shown again, on every device.",
    "Whoever stops their own check has seen the list then, and cannot check it any more.",
)


class CoverScreen(PreparationScreen):
    """That somebody checks, and nothing of the list; closes by itself when the check ends."""

    ROUTE = ScreenRoute.COVER
    SHOWS_WHO = False
    CSS_PATH = "cover.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def __init__(self, desk: Workstation, preparation: OpenPreparation) -> None:
        super().__init__(desk, preparation)
        self.preparation = None  # Nothing of it is shown here: the cover itself is not covered.
        self._has_checked = False

    def show_changes(self) -> None:
        """Look whether the check has ended."""
        self.prep.session.refresh()
        super().show_changes()

    def draw(self) -> None:
        """Who checks since when, and what may be done."""
        view = self.prep.check.show_cover()
        if view is None:
            self.app.call_later(self._lift)
            return
        self.head(view.banner, "Second check")
        first, *others = view.words
        words = (Sentence(first, "bold $ink"), Sentence(""), *(Sentence(words) for words in others))
        self.body.show([WordsItem("cover", words, "cover")])
        actions = (self.action_named(name) for name in ("home", "stop_check", "help", "go_on"))
        self.offer(*actions, primary="go_on")

    async def _lift(self) -> None:
        """Show what was under the cover; after a check made here, how it came out."""
        if not self.is_on_top or self.prep.check.show_cover() is not None:
            return
        below = self.app.screen_stack[-2]
        if not self._has_checked or not isinstance(below, PreparationScreen):
            await self.app.pop_screen()
            return
        self.go(ScreenRoute.LIST)
        if not self.prep.lines.show_list().withheld:
            await navigate(self.app, ScreenRoute.CHECKED, desk=self.desk, preparation=self.prep)

    def action_go_on(self) -> None:
        """Ask who checks, then go on where they were."""
        self._has_checked = True
        navigate(self.app, ScreenRoute.CHECK, desk=self.desk, preparation=self.prep)

    def action_stop_check(self) -> None:
        """Ask whether it is meant, then by whom, then stop the check."""
        self.show_message("Stop the check?", STOP, "Stop the check", lambda sure: self._stop() if sure else None)

    def _stop(self) -> None:
        """Ask who stops it: whoever stops their own check has seen the list then."""
        self._has_checked = False
        self.ask(StopCheckWizard(self.prep))

    def action_home(self) -> None:
        """Go home; the check stays open."""
        self.go(ScreenRoute.HOME)

    def action_back(self) -> None:
        """Go home too: what lies under the cover stays out of sight."""
        self.action_home()

    def action_baby(self) -> None:
        """Nothing: the baby's facts are covered too."""
