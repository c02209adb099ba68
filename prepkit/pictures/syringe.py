"""A syringe with its real marks, the dose in it and the plunger where it stands. May import: `prepkit.quantities`."""

from fractions import Fraction

from prepkit.pictures.drawing import FULL, HALF, POINTER, Drawing, fit
from prepkit.pictures.scale import Scale, choose_labels, make_scale, write_row
from prepkit.quantities.show import write_decimal

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
    """Draw every real mark around the dose, where the whole syringe has room for some of them only."""
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
