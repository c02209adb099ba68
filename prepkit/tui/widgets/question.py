"""A question above the list, with a button for each of its two answers."""

from msgspec import Struct
from textual.app import ComposeResult
from textual.widget import Widget

from prepkit.tui.input.keys import key_of
from prepkit.tui.widgets.button import Button, ButtonRow
from prepkit.tui.widgets.text import Sentence, Sentences
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute

YES, OTHER = "answer_yes", "answer_other"
"""Actions of the list."""


class TopQuestionRow(ButtonRow):
    """The question and its two answers.

    The mark never comes here: Enter pressed once too often on the way to the list must answer nothing. Keys of their
    own do instead.
    """

    def __init__(self, ask: str, other: str) -> None:
        super().__init__(classes="question")
        self._ask = ask
        self._other = other

    def compose(self) -> ComposeResult:
        """The words, and a button for each answer."""
        yield Sentences(_sentence(self._ask))
        for action, label in ((YES, "Yes"), (OTHER, self._other)):
            button = Button(action, label, key_of(ScreenRoute.LIST, action).shown, classes=action)
            button.can_focus = False
            yield button

    def show(self, ask: str) -> None:
        """Show other words."""
        if ask != self._ask:
            self._ask = ask
            for words in self.query(Sentences):
                words.show(_sentence(ask))


def _sentence(ask: str) -> Sentence:
    return Sentence(ask, "bold $ask", lead=f"{Sign.QUESTION} ")


class TopQuestionItem(Struct, frozen=True):
    """The question in the column."""

    key: str
    ask: str
    other: str
    """The answer that is not yes, in a word."""

    def make(self) -> Widget:
        """A new question."""
        return TopQuestionRow(self.ask, self.other)

    def update(self, widget: Widget) -> None:
        """Update the question."""
        if isinstance(widget, TopQuestionRow):
            widget.show(self.ask)
