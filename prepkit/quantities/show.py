"""Writing amounts so that they cannot be misread.

No trailing zero, always a leading zero, a space before the unit, a thin space between thousands, "microgram" in full,
masses under 1 mg in microgram (Joint Commission "do not use" list; ISMP list of error-prone abbreviations; style of
the BNF for Children). Body weights keep their digits together ("1450 g"), as they stand on a cot card and are typed.
May import: `prepkit.quantities`.
"""

from fractions import Fraction
from functools import lru_cache

from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.quantities.vocabulary import Dimension

THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"
_PLACES = 6
_MOST_DIGITS_TOGETHER = 3


def round_half_up(value: Fraction, step: Fraction) -> Fraction:
    """Round to the nearest multiple of `step` (neither is negative); half way between two takes the larger."""
    return ((value / step + Fraction(1, 2)) // 1) * step


@lru_cache(maxsize=4096)  # a list says the same strengths, marks and capacities again and again
def write_decimal(value: Fraction, places: int = _PLACES) -> str:
    """Write the number in plain decimals, without grouping and without trailing zeros.

    Past `places` it is rounded half up; made with integers alone, so that no amount passes through a binary float.
    """
    scaled = (2 * abs(value.numerator) * 10**places + value.denominator) // (2 * value.denominator)
    whole, rest = divmod(scaled, 10**places)
    decimals = f"{rest:0{places}d}".rstrip("0") if places else ""
    sign = "-" if value < 0 and scaled else ""
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"


def show_number(value: Fraction, places: int = _PLACES) -> str:
    """The number for a reader: as `write_decimal`, with a thin space between thousands from 1000 up."""
    whole, point, decimals = write_decimal(abs(value), places).partition(".")
    sign = "-" if write_decimal(value, places).startswith("-") else ""
    return sign + _group(whole) + point + decimals


def show_amount(amount: Amount, places: int = _PLACES) -> str:
    """The amount for a reader: "0.58 mL", "29 microgram", "1450 g", "100/min", "35 %"."""
    gap = "" if amount.dimension is Dimension.RATE else " "
    return f"{_show_value(amount, places)}{gap}{amount.unit.text}"


def show_range(low: Amount, high: Amount, places: int = _PLACES) -> str:
    """Two ends of a range in one unit: "14-16 cm", with an en dash."""
    if low == high:
        return show_amount(low, places)
    high = convert(high, low.unit)
    return f"{_show_value(low, places)}\N{EN DASH}{show_amount(high, places)}"


def choose_mass_unit(mass: Amount) -> Amount:
    """The same mass in microgram where it is under 1 mg, in mg from there on."""
    return convert(mass, "microgram" if mass < make_amount(1, "mg") else "mg")


def _show_value(amount: Amount, places: int) -> str:
    write = write_decimal if amount.dimension is Dimension.BODY_WEIGHT else show_number
    return write(amount.value, places)


def _group(whole: str) -> str:
    if len(whole) <= _MOST_DIGITS_TOGETHER:
        return whole
    return _group(whole[:-3]) + THIN_SPACE + whole[-3:]
