"""What lies on the tray: a syringe with the plunger at its mark, a tube on a ruler, the containers that are opened."""

from collections.abc import Sequence
from fractions import Fraction

from prepkit.pictures.drawing import FULL, HALF, POINTER, Drawing, fit
from prepkit.pictures.scale import Scale, choose_labels, make_scale, write_row
from prepkit.quantities.text import write_decimal

_TIP = "\N{BOX DRAWINGS LIGHT HORIZONTAL}" * 2
_PLUNGER = "\N{BOX DRAWINGS DOUBLE VERTICAL}"
_ROD = "\N{BOX DRAWINGS LIGHT HORIZONTAL}"
_END = "\N{BOX DRAWINGS LIGHT VERTICAL AND LEFT}"
_MARK = "\N{BOX DRAWINGS LIGHT VERTICAL}"
_BASES = tuple(Fraction(each) for each in ("0.1", "1", "5", "10", "50"))
_LEFT = len(_TIP)
_RIGHT = 5
"""Room for the rod's end and half of the last number with its unit."""


def draw_syringe(holds: Fraction, marks: Fraction, volume: Fraction, air: Fraction, width: int) -> Drawing:
    """Draw a syringe, tip on the left; all volumes in mL.

    Args:
        holds: its nominal capacity, a whole number of marks.
        marks: the volume between two of its marks.
        volume: the dose, more than nothing; with the air no more than the syringe holds.
        air: what stays behind the dose; may be nothing.
        width: in columns, 30 to 80.
    """
    room = fit(width) - _LEFT - _RIGHT
    scale = make_scale(Fraction(0), holds, marks, room)
    rows = [*_draw_scale(scale), _draw_barrel(scale, volume, air), _draw_pointer(scale, volume)]
    if scale.step != marks:
        rows += _draw_close_up(scale, marks, volume, room)
    return Drawing(tuple(rows), _say(marks, volume, air, scale.step))


def _draw_scale(scale: Scale) -> tuple[str, str]:
    texts = {value: write_decimal(value) for value, _ in scale.list_marks()}
    return _number(scale, choose_labels(scale, texts)), _mark(scale)


def _number(scale: Scale, labels: dict[int, str]) -> str:
    """Write the numbers over their marks, and the unit behind the last."""
    return write_row(scale.width + _LEFT + 2, {column + _LEFT: text for column, text in labels.items()}) + " mL"


def _mark(scale: Scale) -> str:
    return write_row(scale.width + _LEFT + 1, {column + _LEFT: _MARK for _, column in scale.list_marks()})


def _draw_barrel(scale: Scale, volume: Fraction, air: Fraction) -> str:
    dose, plunger = scale.find_column(volume), scale.find_column(volume + air)
    filled = FULL * dose + HALF * (plunger - dose)
    return _TIP + filled + _PLUNGER + _ROD * (scale.width - plunger) + _END


def _draw_pointer(scale: Scale, volume: Fraction) -> str:
    column = scale.find_column(volume) + _LEFT
    text = f"{write_decimal(volume)} mL"
    fits_right = column + 2 + len(text) <= scale.width + _LEFT + _RIGHT
    return " " * column + f"{POINTER} {text}" if fits_right else f"{text} {POINTER}".rjust(column + 1)


def _draw_close_up(scale: Scale, marks: Fraction, volume: Fraction, room: int) -> list[str]:
    """Draw every real mark around the dose, when the whole syringe has room for only some of them."""
    low = (volume / scale.step).__floor__() * scale.step
    low = min(low, scale.end - scale.step)
    near = make_scale(low, low + scale.step, marks, min(room, int(scale.step / marks) * 4))
    numbers = {0: write_decimal(low), near.width: write_decimal(near.end)}
    pointer = " " * (near.find_column(volume) + _LEFT) + POINTER
    return [
        f"every {write_decimal(near.step)} mL here:",
        _number(near, numbers),
        _mark(near),
        pointer,
    ]


def _say(marks: Fraction, volume: Fraction, air: Fraction, drawn: Fraction) -> str:
    base = next((each for each in _BASES if each / marks >= 2 and (each / marks).denominator == 1), marks)  # noqa: PLR2004
    low = (volume / base).__floor__() * base
    past = (volume - low) / marks
    count = f"{past.numerator} mark{'' if past == 1 else 's'} of {write_decimal(marks)} mL past {write_decimal(low)} mL"
    words = f"{write_decimal(volume)} mL: {count if past else 'on that number'}"
    if air:
        words += f"; then {write_decimal(air)} mL air behind it, plunger at {write_decimal(volume + air)} mL"
    return f"{words}." if drawn == marks else f"{words}. Drawn: every {write_decimal(drawn)} mL."


_TUBE = "\N{BOX DRAWINGS DOUBLE HORIZONTAL}"
_RULER_MARK = "\N{BOX DRAWINGS LIGHT VERTICAL}"
_CENTIMETRE = Fraction(1)
_FIVE = 5
_RULER_RIGHT = 5


def draw_ruler(low: Fraction, high: Fraction, width: int) -> Drawing:
    """Draw a tube from its tip on the left, with its mark, or the two ends of a range.

    Args:
        low: the mark in cm from the tip, more than nothing.
        high: the other end of a range; the same for a single mark.
        width: in columns, 30 to 80.
    """
    end = Fraction(((high / _FIVE).__floor__() + 1) * _FIVE)
    scale = make_scale(Fraction(0), end, _CENTIMETRE, fit(width) - _RULER_RIGHT)
    texts = {value: write_decimal(value) for value, _ in scale.list_marks()}
    size = scale.width + _RULER_RIGHT
    rows = (
        write_row(scale.width + 2, choose_labels(scale, texts)) + " cm",
        write_row(size, {column: _RULER_MARK for _, column in scale.list_marks()}),
        _draw_tube(scale, low, high),
        _point(scale, low, high),
    )
    return Drawing(rows, f"{_say_depth(low, high)} from the tip.")


def _draw_tube(scale: Scale, low: Fraction, high: Fraction) -> str:
    cells = [_TUBE] * (scale.width + 1)
    for column in range(scale.find_column(low), scale.find_column(high) + 1):
        cells[column] = "\N{FULL BLOCK}"
    return "".join(cells)


def _point(scale: Scale, low: Fraction, high: Fraction) -> str:
    columns = sorted({scale.find_column(low), scale.find_column(high)})
    row = write_row(scale.width + _RULER_RIGHT, dict.fromkeys(columns, POINTER))
    text = _say_depth(low, high)
    fits = len(row) + 1 + len(text) <= scale.width + _RULER_RIGHT
    return f"{row} {text}" if fits else f"{text} ".ljust(columns[0])[: columns[0]] + row[columns[0] :]


def _say_depth(low: Fraction, high: Fraction) -> str:
    if low == high:
        return f"{write_decimal(low)} cm"
    return f"{write_decimal(low)}\N{EN DASH}{write_decimal(high)} cm"


_MOST_CELLS = 24
_LEAST_CELLS = 4


def draw_vials(sizes: Sequence[tuple[Fraction, int]], used: Fraction, width: int) -> Drawing:
    """Draw each container as a bar as long as it holds, filled as far as it is used.

    Args:
        sizes: what they hold in mL and how many of each, at least one.
        used: what is drawn from all of them in mL, no more than they hold.
        width: in columns, 30 to 80.
    """
    each = sorted((size for size, count in sizes for _ in range(count)), reverse=True)
    cells = min(_MOST_CELLS, fit(width) - len("[] 0.75 of 1.5 mL used"))
    longest = each[0]
    rows, left = [], used
    for size in each:
        taken = min(size, left)
        left -= taken
        rows.append(_draw_one(size, taken, max(round(cells * size / longest), _LEAST_CELLS)))
    discarded = sum(each, Fraction(0)) - used
    names = " + ".join(_name_container(size, each.count(size)) for size in dict.fromkeys(each))
    if not discarded:
        return Drawing(tuple(rows), f"All of {names}: {write_decimal(used)} mL used, nothing discarded.")
    rest = f"{write_decimal(discarded)} mL discarded"
    return Drawing(tuple(rows), f"{names} opened: {write_decimal(used)} mL used, {rest}.")


def _name_container(size: Fraction, count: int) -> str:
    many = f"{count} \N{MULTIPLICATION SIGN} " if count > 1 else ""
    return f"{many}{write_decimal(size)} mL"


def _draw_one(size: Fraction, taken: Fraction, cells: int) -> str:
    """Draw one container. A partly used one never looks full or untouched."""
    filled = round(cells * taken / size)
    if 0 < taken < size:
        filled = min(max(filled, 1), cells - 1)
    said = "all" if taken == size else write_decimal(taken)
    return f"[{FULL * filled}{HALF * (cells - filled)}] {said} of {write_decimal(size)} mL used"
