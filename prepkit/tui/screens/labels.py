"""Labels: the syringe labels as they would be printed now, and what prints them."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.app.syringe_labels import show_labels
from prepkit.tui.input.keys import bindings_of
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import HeadingItem, Item, WordsItem
from prepkit.tui.widgets.text import Sentence
from prepkit.view.models import LabelsView, Sign
from prepkit.view.routes import ScreenRoute

PRINT = "To print them, type this at a prompt:"
NONE = "There is no label yet: a syringe gets one once it is ticked."


class LabelsScreen(PreparationScreen):
    """One block a label."""

    ROUTE = ScreenRoute.LABELS
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "labels.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """The labels, or why there are none."""
        view = show_labels(self.prep.session, self.desk.store_at)
        self.head(self.prep.lines.show_list().banner, "Labels", "" if isinstance(view, str) else str(len(view.labels)))
        self.body.show([WordsItem("why", (Sentence(view, "$ask"),))] if isinstance(view, str) else _items(view))
        self.offer(self.action_named("back"), self.action_named("onward"), primary="onward")


def _items(view: LabelsView) -> list[Item]:
    labels = [WordsItem(f"label {at}", _say(rows), "label") for at, rows in enumerate(view.labels)]
    none = [] if labels else [WordsItem("none", (Sentence(NONE, "bold $ink"),))]
    left_out = tuple(Sentence(words, "$ask", lead=f"{Sign.TO_DO} ") for words in view.left_out)
    without: list[Item] = [HeadingItem("without", "Without a label", str(len(left_out))),
                           WordsItem("left out", left_out)] if left_out else []  # fmt: skip
    command = WordsItem("command", (Sentence(PRINT), Sentence(view.command, "bold $ink")), "command")
    return [*none, *labels, *without, *([command] if labels else [])]


def _say(rows: tuple[str, ...]) -> tuple[Sentence, ...]:
    """The first two rows say what is in the syringe."""
    return tuple(Sentence(row, "bold $amount" if at < LOUD else "$ink") for at, row in enumerate(rows))


LOUD = 2
