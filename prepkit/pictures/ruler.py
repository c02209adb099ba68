"""A tube on a ruler with its mark: a catheter, a gastric tube. May import: `prepkit.quantities`."""

from fractions import Fraction

from prepkit.pictures.drawing import POINTER, Drawing, fit
from prepkit.pictures.scale import Scale, choose_labels, make_scale, write_row
from prepkit.quantities.show import write_decimal

_TUBE = "\N{BOX DRAWINGS DOUBLE HORIZONTAL}"
_MARK = "\N{BOX DRAWINGS LIGHT VERTICAL}"
_CENTIMETRE = Fraction(1)
_FIVE = 5
_RIGHT = 5


def draw_ruler(low: Fraction, high: Fraction, width: int) -> Drawing:
    """Draw a tube from its tip on the left, with its mark, or the two ends of a range.

    Args:
        low: the mark in cm from the tip, more than nothing.
        high: the other end of a range; the same for a single mark.
        width: in columns, 30 to 80.
    """
    end = Fraction(((high / _FIVE).__floor__() + 1) * _FIVE)
    scale = make_scale(Fraction(0), end, _CENTIMETRE, fit(width) - _RIGHT)
    texts = {value: write_decimal(value) for value, _ in scale.list_marks()}
    size = scale.width + _RIGHT
    rows = (
        write_row(scale.width + 2, choose_labels(scale, texts)) + " cm",
        write_row(size, {column: _MARK for _, column in scale.list_marks()}),
        _draw_tube(scale, low, high),
        _point(scale, low, high),
    )
    return Drawing(rows, f"{_name(low, high)} from the tip.")


def _draw_tube(scale: Scale, low: Fraction, high: Fraction) -> str:
    cells = [_TUBE] * (scale.width + 1)
    for column in range(scale.find_column(low), scale.find_column(high) + 1):
        cells[column] = "\N{FULL BLOCK}"
    return "".join(cells)


def _point(scale: Scale, low: Fraction, high: Fraction) -> str:
    columns = sorted({scale.find_column(low), scale.find_column(high)})
    row = write_row(scale.width + _RIGHT, dict.fromkeys(columns, POINTER))
    text = _name(low, high)
    fits = len(row) + 1 + len(text) <= scale.width + _RIGHT
    return f"{row} {text}" if fits else f"{text} ".ljust(columns[0])[: columns[0]] + row[columns[0] :]


def _name(low: Fraction, high: Fraction) -> str:
    if low == high:
        return f"{write_decimal(low)} cm"
    return f"{write_decimal(low)}\N{EN DASH}{write_decimal(high)} cm"
