"""One step that is to do, and one entry that was made: what may be done with it, put right, or read off."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.cot import ReadingWizard, TimeCorrectionWizard
from prepkit.tui.prompts.prompt import ReasonWizard, TypedWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import Item, RowItem, WordsItem
from prepkit.tui.widgets.cot import BoardItem, board_of, compartment_of
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence
from prepkit.view.cot import EntryView, ReadingRow
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute

LEAVE_OUT_REASONS = ("Not needed for this baby", "Done before", "Not possible now", "Not done on this ward")
STRIKE_REASONS = ("Touched by mistake", "Not done after all", "Wrong step", "Wrong baby")


class StepScreen(PreparationScreen):
    """A step still to do: do it out of order, or leave it out."""

    ROUTE = ScreenRoute.STEP
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """The step as it stands; gone where somebody else has recorded it."""
        view = self.prep.bedside.show_cot()
        row = next((row for row in view.steps if row.step == self.subject), None)
        if row is None or row.entry:
            self.call_later(self._close)
            return
        self.head(view.banner, "Step", row.word)
        why = [WordsItem("why", (Sentence(view.refusal, "$ask"),))] if view.refusal else []
        self.body.show([BoardItem("step", board_of(row, compartment_of)), *why])
        names = ("back", "more", "help") if view.refusal else ("back", "leave_out", "done")
        self.offer(*(self.action_named(name) for name in names), primary="back" if view.refusal else "done")

    def _close(self) -> None:
        if self.is_on_top:
            self.dismiss()

    def action_done(self) -> None:
        """Record it as done now."""
        # The step is drawn no more once it is done: this screen closes in favour of its readings.
        if refusal := self.attempt(lambda: self.prep.bedside.do_step(self.subject)):
            self.tell("Not done", refusal)
            return
        entry = self.prep.bedside.last_entry
        self.dismiss()
        below = self.app.screen
        if isinstance(below, PreparationScreen):
            below.ask_readings(entry)

    def action_leave_out(self) -> None:
        """Ask why, then leave it out."""
        row = next(row for row in self.prep.bedside.show_cot().steps if row.step == self.subject)
        words = (f"{row.name}: why is it left out?",)
        leave_out = self.prep.bedside.leave_out
        self.ask(
            ReasonWizard("Leave out", words, LEAVE_OUT_REASONS, lambda why: leave_out(self.subject, why), self.prep)
        )


class EntryScreen(PreparationScreen):
    """An entry of the timeline: its time, its readings, and the rescue lines where they belong to it."""

    ROUTE = ScreenRoute.ENTRY
    CSS_PATH = "steps.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """The entry as it stands."""
        view = self.prep.bedside.show_entry(self.subject)
        if view is None:
            self.call_later(self.action_back)
            return
        self.head(view.banner, view.name, view.word)
        self.body.show(_entry_items(view))
        correct = [] if view.correct.refusal else ["correct"]
        strike = [] if view.strike.refusal else ["strike"]
        primary = "give" if any(not row.value for row in view.readings) else "back"
        note = [] if view.strike.refusal else ["note"]
        names = dict.fromkeys(("back", "more", *note, *correct, *strike, "help", primary))
        self.offer(*(self.action_named(name) for name in names), primary=primary)

    def keep_mark(self) -> None:
        """Mark the primary action first: what is done then, and the rescue lines, stay in sight from the top."""
        if self.is_up and self.focused is None:
            self.set_focus(next(iter(self.bar.query(".-primary")), None))
        super().keep_mark()

    def open_row(self, row: Row) -> None:
        """Ask for the reading."""
        view = self.prep.bedside.show_entry(self.subject)
        if view is not None:
            rows = tuple(each for each in view.readings if each.reading == row.key)
            self.ask(ReadingWizard(self.prep, view.name, rows))

    def action_give(self) -> None:
        """Give the readings that are missing."""
        self.ask_readings(self.subject)

    def action_correct(self) -> None:
        """Ask when it was."""
        view = self.prep.bedside.show_entry(self.subject)
        if view is not None and not view.correct.refusal:
            self.ask(TimeCorrectionWizard(self.prep, view))
        elif view is not None:
            self.tell("Not done", view.correct.refusal)

    def action_note(self) -> None:
        """Ask for a note, in a line."""
        view = self.prep.bedside.show_entry(self.subject)
        if view is not None and not view.strike.refusal:
            words = (f"{view.name}: what is to be noted? One line.",)
            self.ask(
                TypedWizard(
                    "Note", "Note", words, lambda note: self.prep.bedside.add_note(self.subject, note), self.prep
                )
            )

    def action_strike(self) -> None:
        """Ask why, then strike it out."""
        view = self.prep.bedside.show_entry(self.subject)
        if view is None or view.strike.refusal:
            return
        words = (f"{view.name}: why is it struck out? It stays to be seen.",)
        wizard = ReasonWizard(
            "Strike out", words, STRIKE_REASONS, lambda why: self.prep.bedside.strike(self.subject, why), self.prep
        )
        self.ask(wizard, lambda given: self._close() if given else None)

    def _close(self) -> None:
        self.dismiss()


def _entry_items(view: EntryView) -> list[Item]:
    how = [WordsItem("how", tuple(Sentence(words, "bold $ink") for words in view.how))] if view.how else []
    rescue = [BoardItem("rescue", tuple(compartment_of(line) for line in view.rescue))] if view.rescue else []
    rows = [RowItem(row.reading, reading_text(row)) for row in view.readings]
    notes = [WordsItem("notes", tuple(Sentence(words, "$pale") for words in view.notes))] if view.notes else []
    recorded = Sentence(f"Recorded: {view.word}.", "$done", lead="✓ ")
    return [WordsItem("word", (recorded,)), *notes, *how, *rescue, *rows]


def reading_text(row: ReadingRow) -> RowText:
    """A reading as a row says it."""
    sign, word = (Sign.DONE, "done") if row.value else (Sign.TO_DO, "to do")
    return RowText(row.label, show=row.value, details=() if row.value else (row.ask,), sign=sign, word=word)
