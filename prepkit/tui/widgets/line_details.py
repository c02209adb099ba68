"""The details of one line: its amount in a frame, how it was worked out, and where it comes from."""

from collections.abc import Sequence
from typing import ClassVar

from msgspec import Struct
from textual.content import Content
from textual.widget import Widget

from prepkit.tui.input.keys import key_of
from prepkit.tui.layout import wrap
from prepkit.tui.themes import SIGN_INKS
from prepkit.tui.widgets.column import Item, WordsItem
from prepkit.tui.widgets.picture import PictureItem
from prepkit.tui.widgets.row import Row, RowText
from prepkit.tui.widgets.text import Sentence, TextBlock
from prepkit.view.models import LineRow, LineView
from prepkit.view.routes import ScreenRoute

EDGES = 4


class Plate(TextBlock):
    """An amount in a frame, so that it is found first."""

    def __init__(self, amount: str) -> None:
        super().__init__(classes="plate")
        self._amount = amount

    def show(self, amount: str) -> None:
        """Show another amount."""
        if amount != self._amount:
            self._amount = amount
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """The frame and the amount in it."""
        words = wrap(self._amount, width - EDGES)
        wide = max(len(line) for line in words) + 2
        rows = [
            ("┏", "━" * wide, "┓"),
            *(("┃", f" {line} ".ljust(wide), "┃") for line in words),
            ("┗", "━" * wide, "┛"),
        ]
        return [Content.styled(left + middle + right, "bold $amount") for left, middle, right in rows]


class PlateItem:
    """The plate in a column."""

    key = "plate"

    def __init__(self, amount: str) -> None:
        self._amount = amount

    def make(self) -> Widget:
        """A new plate."""
        return Plate(self._amount)

    def update(self, widget: Widget) -> None:
        """Update the plate."""
        if isinstance(widget, Plate):
            widget.show(self._amount)


class FurtherItem(Struct, frozen=True):
    """What the rest of the cautions is touched by. The mark never comes here: to open the line would scroll to it."""

    words: str

    key: ClassVar[str] = "further"

    def make(self) -> Widget:
        """A new row."""
        row = Row(self.key, self._text)
        row.can_focus = False
        return row

    def update(self, widget: Widget) -> None:
        """Update the row."""
        if isinstance(widget, Row):
            widget.show(self._text)

    @property
    def _text(self) -> RowText:
        return RowText(self.words, sign=key_of(ScreenRoute.LINE, "cautions").shown)


def line_items(view: LineView, in_hand: Sequence[Item] = (), *, has_all: bool) -> list[Item]:
    """What the opened line shows, in the order in which it is wanted at the tray.

    Args:
        view: the line.
        in_hand: what is shown of its batches.
        has_all: whether the cautions that are not read at once are shown too.

    """
    row, basis = view.row, (Sentence(f"Basis: {view.basis}"),) if view.basis else ()
    ink = SIGN_INKS.get(row.sign, "$ink")
    cautions = (*view.cautions, *(view.further_cautions if has_all else ()))
    return [
        WordsItem("name", (Sentence(row.name, "bold $ink"), Sentence(f"{row.sign} {row.word}", ink))),
        *([PlateItem(row.show)] if row.show else []),
        *([WordsItem("details", details)] if (details := _details(row)) else []),
        *(PictureItem(f"picture {at}", picture) for at, picture in enumerate(view.pictures)),
        *_part("parts", "Lay out with it", [Sentence(words, lead="+ ") for words in view.parts]),
        *in_hand,
        *_part("cautions", "Take care", [Sentence(words, "$ask", lead="i ") for words in cautions]),
        *([FurtherItem(view.further)] if view.further and not has_all else []),
        *_part("how", "What to do", [Sentence(words) for words in view.how]),
        *_part("working", "Working", [Sentence(words, lead=f"{at}. ") for at, words in enumerate(view.working, 1)]),
        *_part("source", "Where it comes from", [*basis, Sentence(view.source, "$pale")]),
    ]


def _details(row: LineRow) -> tuple[Sentence, ...]:
    note = (Sentence(row.note, SIGN_INKS.get(row.sign, "$ink")),) if row.note else ()
    return (*note, *(Sentence(detail, "$ink", lead="· ") for detail in row.details))


def _part(key: str, heading: str, sentences: list[Sentence]) -> list[Item]:
    """A heading and what stands under it; nothing where nothing does."""
    filled = [sentence for sentence in sentences if sentence.words]
    return [WordsItem(key, (Sentence(""), Sentence(heading, "bold underline $ink"), *filled))] if filled else []
