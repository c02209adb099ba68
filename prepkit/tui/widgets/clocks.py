"""Running clocks: what each counts from at the left, how long ago at the right."""

from msgspec import Struct
from textual.content import Content
from textual.widget import Widget

from prepkit.tui.widgets.board import WIDEST
from prepkit.tui.widgets.drawn import Drawn
from prepkit.tui.words import styled
from prepkit.view.cot_models import ClockRow


class Clocks(Drawn):
    """A line a clock."""

    def __init__(self, clocks: tuple[ClockRow, ...]) -> None:
        super().__init__(classes="clocks")
        self._clocks = clocks

    def say(self, clocks: tuple[ClockRow, ...]) -> None:
        """Show them as they are now; the library paints only the cells that differ."""
        if clocks != self._clocks:
            self._clocks = clocks
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """Each on one line where it fits."""
        return [line for clock in self._clocks for line in _lines_of(clock, min(width, WIDEST))]


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

    def tell(self, widget: Widget) -> None:
        """Update them."""
        if isinstance(widget, Clocks):
            widget.say(self.clocks)


def _lines_of(clock: ClockRow, width: int) -> list[Content]:
    """With the time it counts from where there is room; the timeline has that time too."""
    elapsed = Content.styled(clock.elapsed, "bold $amount")
    bare = Content.styled(clock.name, "$ink")
    for name in (bare.append(Content.styled(f" {clock.since}", "$pale")), bare):
        gap = width - name.cell_length - elapsed.cell_length
        if gap > 0:
            return [name.append(" " * gap).append(elapsed)]
    return [*styled(clock.name, width, "$ink"), *styled(clock.elapsed, width, "bold $amount")]
