"""A scale in text cells: which of its marks are drawn, and at which column a value stands.

Columns are whole numbers from 0; a value on a drawn mark stands exactly at its column, and a value between two drawn
marks stands strictly between theirs.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct

_NICE = (1, 2, 5)
_LEAST_BETWEEN = 2
"""Columns from one drawn mark to the next, so that there is a place between them."""


class Scale(Struct, frozen=True):
    """Marks from `start` to `end`, of which every `step` is drawn, `columns` apart."""

    start: Fraction
    end: Fraction
    step: Fraction
    columns: int

    @property
    def width(self) -> int:
        """The column of the last mark."""
        return self.count * self.columns

    @property
    def count(self) -> int:
        """How many steps there are from start to end."""
        return int((self.end - self.start) / self.step)

    def list_marks(self) -> tuple[tuple[Fraction, int], ...]:
        """Every drawn mark with its column."""
        return tuple((self.start + self.step * at, at * self.columns) for at in range(self.count + 1))

    def find_column(self, value: Fraction) -> int:
        """The column of a value from start to end."""
        steps = (value - self.start) / self.step
        whole = steps.numerator // steps.denominator
        rest = steps - whole
        if rest == 0:
            return whole * self.columns
        inside = round(rest * self.columns)
        return whole * self.columns + min(max(inside, 1), self.columns - 1)


def make_scale(start: Fraction, end: Fraction, marks: Fraction, width: int) -> Scale:
    """Choose the finest drawing of a scale that fits.

    Args:
        start: where it begins; on a mark.
        end: where it ends, a whole number of marks after `start`.
        marks: the distance between two real marks.
        width: the columns that the last mark may be at, at most; 2 or more.
    """
    total = int((end - start) / marks)
    for many in _list_multiples(total):
        count = total // many
        if count * _LEAST_BETWEEN <= width:
            return Scale(start, end, marks * many, width // count)
    return Scale(start, end, end - start, width)


def _list_multiples(total: int) -> Iterator[int]:
    """1, 2, 5, 10, 20, ... marks that divide the whole scale, up to all of it."""
    power = 1
    while power <= total:
        for nice in _NICE:
            if nice * power <= total and total % (nice * power) == 0:
                yield nice * power
        power *= 10
    yield total


def choose_labels(scale: Scale, texts: dict[Fraction, str], gap: int = 1) -> dict[int, str]:
    """Choose which marks carry their number, evenly, so that no two touch: by column, the text centred on it.

    The first and the last mark always do, if there is room for both.
    """
    marks = scale.list_marks()
    for every in _list_multiples(scale.count):
        chosen = [(column, texts[value]) for value, column in marks[::every]]
        starts = [(column - len(text) // 2, column - len(text) // 2 + len(text)) for column, text in chosen]
        if all(left[1] + gap <= right[0] for left, right in pairwise(starts)):
            return dict(chosen)
    return {marks[0][1]: texts[marks[0][0]]}


def write_row(width: int, parts: dict[int, str]) -> str:
    """Write texts centred on their columns into one row of `width` columns."""
    cells = [" "] * width
    for column, text in sorted(parts.items()):
        begin = min(max(column - len(text) // 2, 0), max(width - len(text), 0))
        for at, letter in enumerate(text[:width]):
            cells[begin + at] = letter
    return "".join(cells).rstrip()
