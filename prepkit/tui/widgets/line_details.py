"""The details of one line: its amount in a frame, how it was worked out, and where it comes from."""

from textual.content import Content
from textual.widget import Widget

from prepkit.tui.layout import wrap
from prepkit.tui.themes import SIGN_INKS
from prepkit.tui.widgets.column import Item, WordsItem
from prepkit.tui.widgets.picture import PictureItem
from prepkit.tui.widgets.text import Sentence, TextBlock
from prepkit.view.models import LineRow, LineView

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


def line_items(view: LineView) -> list[Item]:
    """What the opened line shows, in the order in which it is wanted at the tray."""
    row = view.row
    ink = SIGN_INKS.get(row.sign, "$ink")
    items: list[Item] = [WordsItem("name", (Sentence(row.name, "bold $ink"), Sentence(f"{row.sign} {row.word}", ink)))]
    if row.show:
        items.append(PlateItem(row.show))
    if details := _details(row):
        items.append(WordsItem("details", details))
    items += [PictureItem(f"picture {at}", picture) for at, picture in enumerate(view.pictures)]
    items.append(WordsItem("rest", _rest(view)))
    return items


def _details(row: LineRow) -> tuple[Sentence, ...]:
    note = (Sentence(row.note, SIGN_INKS.get(row.sign, "$ink")),) if row.note else ()
    return (*note, *(Sentence(detail, "$ink", lead="· ") for detail in row.details))


def _rest(view: LineView) -> tuple[Sentence, ...]:
    basis = (Sentence(f"Basis: {view.basis}"),) if view.basis else ()
    return (
        *_part("Working", [Sentence(words, lead=f"{at}. ") for at, words in enumerate(view.working, 1)]),
        *_part("Take care", [Sentence(words, "$ask", lead="i ") for words in view.cautions]),
        *_part("What to do", [Sentence(words) for words in view.how]),
        *_part("Where it comes from", [*basis, Sentence(view.source, "$pale")]),
    )


def _part(heading: str, sentences: list[Sentence]) -> tuple[Sentence, ...]:
    filled = [sentence for sentence in sentences if sentence.words]
    return (Sentence(""), Sentence(heading, "bold underline $ink"), *filled) if filled else ()
