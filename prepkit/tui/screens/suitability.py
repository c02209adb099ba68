"""Suitability: whether this route is for this baby, with the questions to answer."""

from typing import ClassVar

from msgspec import Struct
from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widget import Widget

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.start import SeniorAgreementWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.themes import SIGN_INKS
from prepkit.tui.widgets.button import Button, ButtonRow
from prepkit.tui.widgets.column import Item, WordsItem
from prepkit.tui.widgets.text import Sentence, Sentences
from prepkit.view.models import CriterionRow, Sign, SuitabilityView
from prepkit.view.routes import ScreenRoute


class SuitabilityScreen(PreparationScreen):
    """Verdict, criteria, and questions with their answers as buttons."""

    ROUTE = ScreenRoute.SUITABILITY
    CSS_PATH = "suitability.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """The verdict, then every criterion; questions first."""
        view = self.prep.baby.show_suitability()
        self.head(view.banner, "Suitability")
        self.body.show(_items(view))
        agree = [self.action_named("agree")] if view.senior_wanted else []
        self.offer(
            self.action_named("back"),
            self.action_named("more"),
            *([self.action_named("onward")]),
            *(self.action_named(name) for name in ("baby", "stand_down", "help")),
            *agree,
            primary="agree" if agree else "onward",
        )

    @on(Button.Pressed, ".answer")
    def _answered(self, event: Button.Pressed) -> None:
        event.stop()
        question = event.button.parent.parent if event.button.parent else None
        answer = event.button.name or ""
        if isinstance(question, Question):
            self.do(lambda: self.prep.baby.answer(question.key, answer))

    def action_agree(self) -> None:
        """Record a senior's agreement."""
        if self.prep.baby.show_suitability().senior_wanted:
            self.ask(SeniorAgreementWizard(self.prep))


class Question(Vertical):
    """A question and its answers."""

    def __init__(self, row: CriterionRow) -> None:
        super().__init__()
        self.key = row.id
        self._row = row

    def compose(self) -> ComposeResult:
        """The words, and a button for each answer."""
        yield Sentences(*_sentences(self._row))
        with ButtonRow():
            for value, label in self._row.answers:
                yield Button(value, label, classes="answer")

    def on_mount(self) -> None:
        """Show the answer given."""
        self.show(self._row)

    def show(self, row: CriterionRow) -> None:
        """Show how it stands now."""
        self._row = row
        self.query_one(Sentences).show(*_sentences(row))
        labels = dict(row.answers)
        for button in self.query(Button):
            chosen = button.name == row.answer
            button.set_class(chosen, "-chosen")
            label = labels.get(button.name or "", "")
            button.relabel(f"{Sign.DONE} {label}" if chosen else label)


class QuestionItem(Struct, frozen=True):
    """A question in the column."""

    row: CriterionRow

    @property
    def key(self) -> str:
        """The criterion, and which answers there are."""
        return f"question {self.row.id}"

    def make(self) -> Widget:
        """A new question."""
        return Question(self.row)

    def update(self, widget: Widget) -> None:
        """Update the question."""
        if isinstance(widget, Question) and widget.is_mounted:
            widget.show(self.row)


def _items(view: SuitabilityView) -> list[Item]:
    ink = SIGN_INKS.get(view.sign, "$ink")
    verdict = WordsItem("verdict", (Sentence(view.verdict, f"bold {ink}", lead=f"{view.sign} "),
                                    *(Sentence(words) for words in view.words)), "verdict")  # fmt: skip
    questions = [QuestionItem(row) for row in view.rows if row.is_question]
    others = [
        WordsItem(f"criterion {row.id}", _sentences(row), "criterion") for row in view.rows if not row.is_question
    ]
    return [verdict, *questions, *others]


def _sentences(row: CriterionRow) -> tuple[Sentence, ...]:
    ink = SIGN_INKS.get(row.sign, "$ink")
    word = Sentence(row.word, f"bold {ink}", lead=f"{row.sign} ")
    source = (Sentence(row.source, "$pale", lead="  "),) if row.source else ()
    return (Sentence(row.text), word, *source)
