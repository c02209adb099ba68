"""Two workings of one amount: side by side where there is room, otherwise one above the other."""

from msgspec import Struct
from textual.content import Content
from textual.widget import Widget

from prepkit.tui.layout import side_by_side, styled
from prepkit.tui.widgets.text import TextBlock

ROOMY = 66
"""Cells from which the two stand side by side."""

BETWEEN = 3
HANG = 3

Working = tuple[str, str, tuple[str, ...]]
"""Whose it is, what it came to, and the steps."""


class Comparison(TextBlock):
    """Two workings."""

    def __init__(self, ours: Working, theirs: Working) -> None:
        super().__init__(classes="both")
        self._ours, self._theirs = ours, theirs

    def show(self, ours: Working, theirs: Working) -> None:
        """Show two others."""
        if (ours, theirs) != (self._ours, self._theirs):
            self._ours, self._theirs = ours, theirs
            self.redraw()

    def lines(self, width: int) -> list[Content]:
        """Comparison, with a rule between them."""
        if width < ROOMY:
            return [*_lines_of(self._theirs, width), Content(""), *_lines_of(self._ours, width)]
        half = (width - BETWEEN) // 2
        left, right = _lines_of(self._ours, half), _lines_of(self._theirs, half)
        rule = [Content.styled(" │ ", "$rule")] * max(len(left), len(right))
        return side_by_side((left, half), (rule, BETWEEN), (right, half))


class ComparisonItem(Struct, frozen=True):
    """Two workings in a column."""

    ours: Working
    theirs: Working

    @property
    def key(self) -> str:
        """There is one of them on a screen."""
        return "both"

    def make(self) -> Widget:
        """A new widget for them."""
        return Comparison(self.ours, self.theirs)

    def update(self, widget: Widget) -> None:
        """Update it."""
        if isinstance(widget, Comparison):
            widget.show(self.ours, self.theirs)


def _lines_of(working: Working, width: int) -> list[Content]:
    whose, amount, steps = working
    numbered = [line for at, step in enumerate(steps, 1) for line in _step(f"{at}.".ljust(HANG), step, width)]
    return [*styled(whose, width, "bold underline $ink"), *styled(amount, width, "bold $amount"), *numbered]


def _step(lead: str, words: str, width: int) -> list[Content]:
    return side_by_side(([Content.styled(lead, "$pale")], HANG), (styled(words, width - HANG, "$ink"), width - HANG))
