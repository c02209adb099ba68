"""A row: a sign cell at the left and words beside it. Lines, facts, preparations and notices are all rows."""

from msgspec import Struct
from textual.content import Content
from textual.geometry import Offset

from prepkit.tui.input.touch import Touchable
from prepkit.tui.layout import side_by_side, styled, wrap
from prepkit.tui.themes import SIGN_INKS
from prepkit.tui.widgets.text import TextBlock

ROOMY = 66
"""Cells from which the amount and its details stand side by side."""

CELL = 7
ROOMY_CELL = 10
BARE_CELL = 2
"""The sign cell of a row whose sign has no word."""

MARK = 1
"""The cell for ▶."""

ROOM_FOR_TALL = 30
"""Rows of a screen from which every row is three high, for a finger."""

LEAST_ROW = 2
"""Rows of a screen that each row takes at least: what is out of sight is not read for a first frame."""

RULE = 2
AMOUNT = 21
BETWEEN = 2


class RowText(Struct, frozen=True):
    """What a row says, in the shape of a line of the list."""

    name: str
    show: str = ""
    """The amount or the value; several stand on lines of their own."""
    details: tuple[str, ...] = ()
    sign: str = ""
    word: str = ""
    note: str = ""
    is_low: bool = False
    """Whether it takes no more rows than it has words on a low screen, though it has a word beside its sign."""


class Row(TextBlock, Touchable, can_focus=True):
    """One row; the sign cell and the rest are touched apart."""

    def __init__(self, key: str, text: RowText, *, classes: str | None = None) -> None:
        super().__init__(classes=classes)
        self.key = key
        """What the row stands for: a line, a fact, a preparation."""
        self._text = text

    @property
    def text(self) -> RowText:
        """What the row says now."""
        return self._text

    def show(self, text: RowText) -> None:
        """Say something else; nothing is painted where it is the same."""
        if text != self._text:
            self._text = text
            self.redraw()

    def touch(self, at: Offset) -> None:
        """Tell whoever holds the row, and whether its sign was touched."""
        self.post_message(self.Touched(self, on_sign=at.x <= MARK + self._cell(self.size.width)))

    def lines(self, width: int) -> list[Content]:
        """The sign cell, a rule, and the words."""
        cell = self._cell(width)
        room = width - MARK - cell - RULE
        words = self._roomy(room) if width >= ROOMY else self._narrow(room)
        sign = self._sign_lines(cell)
        rows = max(len(words), len(sign), self._least(width))
        mark = [Content.styled("▶" if self.has_focus else " ", "bold $amount")]
        rule = [Content.styled("│" if self._text.word else " ", "$rule")] * rows
        filler = [Content("")] * rows
        return side_by_side((mark, MARK), ((sign + filler)[:rows], cell), (rule, RULE), (words, room))

    def _cell(self, width: int) -> int:
        if not self._text.word:
            return BARE_CELL
        return ROOMY_CELL if width >= ROOMY else CELL

    def _least(self, width: int) -> int:
        is_low = width >= ROOMY or self._text.is_low or not (self._text.word or self._text.show)
        return LEAST_ROW if is_low and self.app.size.height < ROOM_FOR_TALL else 3

    def _sign_lines(self, cell: int) -> list[Content]:
        ink = SIGN_INKS.get(self._text.sign, "$ink")
        return styled(f"{self._text.sign} {self._text.word}".strip(), cell, f"bold {ink}")

    def _narrow(self, room: int) -> list[Content]:
        return [*self._name_lines(room), *self._amount_lines(room), *self._note_lines(room), *self._detail_lines(room)]

    def _roomy(self, room: int) -> list[Content]:
        if not self._text.show or not (self._text.note or self._text.details):
            return self._narrow(room)  # nothing to set beside it: the amount has all the room
        rest = room - AMOUNT - BETWEEN
        details = [*self._note_lines(rest), *self._detail_lines(rest)]
        gap: tuple[list[Content], int] = ([Content("")], BETWEEN)
        return [*self._name_lines(room), *side_by_side((self._amount_lines(AMOUNT), AMOUNT), gap, (details, rest))]

    def _name_lines(self, room: int) -> list[Content]:
        strength = "$name" if self._text.show else "bold $ink"
        return styled(self._text.name, room, f"{strength}{' reverse' if self.has_focus else ''}")

    def _amount_lines(self, room: int) -> list[Content]:
        return [line for part in self._text.show.splitlines() for line in styled(part, room, "bold $amount")]

    def _note_lines(self, room: int) -> list[Content]:
        return styled(self._text.note, room, f"italic {SIGN_INKS.get(self._text.sign, '$ink')}")

    def _detail_lines(self, room: int) -> list[Content]:
        return [Content.styled(line, "$pale") for line in joined(self._text.details, room)]


def joined(details: tuple[str, ...], room: int) -> list[str]:
    """As many details to a line as fit whole; one that is longer than a line wraps."""
    lines: list[str] = []
    for detail in details:
        together = f"{lines[-1]} · {detail}" if lines else detail
        if lines and len(together) <= room:
            lines[-1] = together
        else:
            lines.extend(wrap(detail, room))
    return lines
