"""Whether the baby was born today: a question above the list, with a button for each answer."""

from msgspec import Struct
from textual.app import ComposeResult
from textual.widget import Widget

from prepkit.tui.input.keys import key_of
from prepkit.tui.widgets.button import Button, ButtonRow
from prepkit.tui.widgets.text import Sentence, Sentences
from prepkit.view.models import BirthQuestion, Sign
from prepkit.view.routes import ScreenRoute


class BirthRow(ButtonRow):
    """The question and its two answers.

    The mark never comes here: Enter pressed once too often on the way to the list must answer nothing. Keys of their
    own do instead.
    """

    ANSWERS = (("born_today", "Yes"), ("born_earlier", "Earlier"))
    """Actions of the list, and the words on their buttons."""

    def __init__(self, ask: str) -> None:
        super().__init__(id="birth")
        self._ask = ask

    def compose(self) -> ComposeResult:
        """The words, and a button for each answer."""
        yield Sentences(_sentence(self._ask))
        for action, label in self.ANSWERS:
            button = Button(action, label, key_of(ScreenRoute.LIST, action).shown, classes=action)
            button.can_focus = False
            yield button

    def show(self, ask: str) -> None:
        """Show the question of another day."""
        if ask != self._ask:
            self._ask = ask
            for words in self.query(Sentences):
                words.show(_sentence(ask))


def _sentence(ask: str) -> Sentence:
    return Sentence(ask, "bold $ask", lead=f"{Sign.QUESTION} ")


class BirthItem(Struct, frozen=True):
    """The question in the column."""

    question: BirthQuestion
    key: str = "birth"

    def make(self) -> Widget:
        """A new question."""
        return BirthRow(self.question.ask)

    def update(self, widget: Widget) -> None:
        """Update the question."""
        if isinstance(widget, BirthRow):
            widget.show(self.question.ask)
