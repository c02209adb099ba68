"""What has to be seen first at the cot: a framed board of compartments, and the running clocks."""

from collections.abc import Callable
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace
from textual.content import Content
from textual.geometry import Offset
from textual.widget import Widget

from prepkit.tui.input.touch import Touchable
from prepkit.tui.layout import styled
from prepkit.tui.widgets.text import TextBlock
from prepkit.view.cot import ClockRow, StepRow
from prepkit.view.models import LineRow

EDGES = 4
WIDEST = 66

Words: TypeAlias = tuple[str, str]
"""A paragraph and its style."""

Compartment: TypeAlias = tuple[Words, ...]


class Board(TextBlock):
    """Compartments in a frame."""

    def __init__(self, parts: tuple[Compartment, ...]) -> None:
        super().__init__(classes="board")
        self._parts = parts

    def show(self, parts: tuple[Compartment, ...]) -> None:
        """Show others."""
        if parts != self._parts:
            self._parts = parts
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """The frame; it grows downwards, and nothing in it is cut."""
        wide = min(width, WIDEST)
        parts = [_compartment_lines(part, wide - EDGES) for part in self._parts]
        framed = [_rule("┏", "━", "┓", wide)]
        for at, part in enumerate(parts):
            framed += [_rule("┠", "─", "┨", wide)] if at else []
            framed += [_edged(line, wide) for line in part]
        return [*framed, _rule("┗", "━", "┛", wide)]


class NextBoard(Board, Touchable, can_focus=True):
    """The next step; it can be touched, to leave it out instead."""

    def lines(self, width: int) -> list[Content]:
        """The same, with ▶ in its frame where it is marked."""
        framed = super().lines(width)
        if self.has_focus:
            framed[0] = Content.styled("┏▶" + framed[0].plain[2:], "bold $amount")
        return framed

    def touch(self, at: Offset) -> None:  # noqa: ARG002 (anywhere on it will do)
        """Tell the screen."""
        self.post_message(self.Touched(self))


class BoardItem(Struct, frozen=True):
    """A board in a column."""

    key: str
    parts: tuple[Compartment, ...]
    touchable: bool = False

    def make(self) -> Widget:
        """A new board."""
        return NextBoard(self.parts) if self.touchable else Board(self.parts)

    def update(self, widget: Widget) -> None:
        """Update the board."""
        if isinstance(widget, Board):
            widget.show(self.parts)


def amount_of(line: LineRow) -> Compartment:
    """A line of the list as a compartment, without what goes with it: what it is, then its amount."""
    return compartment_of(replace(line, details=()))


def compartment_of(line: LineRow) -> Compartment:
    """A line of the list as a compartment: what it is, then its amount, then what goes with it."""
    note = ((line.note, "$ink"),) if line.note else ()
    amount = line.show or line.word
    details = ((" · ".join(line.details), "$pale"),) if line.details else ()
    return ((line.name, "$name"), (amount, "bold $amount"), *note, *details)


def board_of(step: StepRow, line_of: Callable[[LineRow], Compartment] = amount_of) -> tuple[Compartment, ...]:
    """A step as a board: its name and how, then each line whose amount a hand needs."""
    how = tuple((words, "$ink") for words in step.how)
    return (((step.name, "bold $amount"), *how), *(line_of(line) for line in step.lines))


def _compartment_lines(part: Compartment, room: int) -> list[Content]:
    return [line for words, style in part for line in styled(words, room, style)]


def _rule(left: str, middle: str, right: str, width: int) -> Content:
    return Content.styled(f"{left}{middle * (width - 2)}{right}", "bold $amount")


def _edged(line: Content, width: int) -> Content:
    edge = Content.styled("┃", "bold $amount")
    return edge.append(" ").append(line.pad_right(width - EDGES - line.cell_length)).append(" ").append(edge)


class Clocks(TextBlock):
    """A line a clock."""

    def __init__(self, clocks: tuple[ClockRow, ...]) -> None:
        super().__init__(classes="clocks")
        self._clocks = clocks

    def show(self, clocks: tuple[ClockRow, ...]) -> None:
        """Show them as they are now; the library paints only the cells that differ."""
        if clocks != self._clocks:
            self._clocks = clocks
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """Each on one line where it fits."""
        wide = min(width, WIDEST)
        return [line for clock in self._clocks for line in _clock_lines(clock, wide)]


class ClocksItem(Struct, frozen=True):
    """The clocks in a column."""

    clocks: tuple[ClockRow, ...]

    @property
    def key(self) -> str:
        """There is one set of them on a screen."""
        return "clocks"

    def make(self) -> Widget:
        """New clocks."""
        return Clocks(self.clocks)

    def update(self, widget: Widget) -> None:
        """Update them."""
        if isinstance(widget, Clocks):
            widget.show(self.clocks)


def _clock_lines(clock: ClockRow, width: int) -> list[Content]:
    """With the time it counts from where there is room; the timeline has that time too. Its end on a line below."""
    elapsed = Content.styled(clock.elapsed, "bold $amount")
    bare = Content.styled(clock.name, "$ink")
    since = bare.append(Content.styled(f" {clock.since}", "$pale"))
    below = styled(clock.end, width, "$ink") if clock.end else []
    beside = since.append(Content.styled(f" · {clock.end}", "$ink")) if clock.end else since
    for name, rest in ((beside, []), (since, below), (bare, below)):
        gap = width - name.cell_length - elapsed.cell_length
        if gap > 0:
            return [name.append(" " * gap).append(elapsed), *rest]
    return [*styled(clock.name, width, "$ink"), *styled(clock.elapsed, width, "bold $amount"), *below]
