"""Writing amounts so that they cannot be misread.

No trailing zero, always a leading zero, a space before the unit, a thin space between thousands, "microgram" in full,
masses under 1 mg in microgram (Joint Commission "do not use" list; ISMP list of error-prone abbreviations; style of
the BNF for Children). Body weights keep their digits together ("1450 g"), as they stand on a cot card and are typed.
May import: `prepkit.quantities`.
"""

from fractions import Fraction

from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.vocabulary import Dimension

THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"
_PLACES = 6
_TENS = tuple(10**places for places in range(_PLACES + 1))
# Asked for by every amount that is shown: a member of an enum is found slowly.
_RATE, _BODY_WEIGHT = Dimension.RATE, Dimension.BODY_WEIGHT
_FIRST_GROUPED = 1000


def round_half_up(value: Fraction, step: Fraction) -> Fraction:
    """Round to the nearest multiple of `step` (neither is negative); half way between two takes the larger."""
    (number, parts), (step_number, step_parts) = value.as_integer_ratio(), step.as_integer_ratio()
    steps = (2 * number * step_parts + parts * step_number) // (2 * parts * step_number)
    return Fraction(steps * step_number, step_parts)


def write_decimal(value: Fraction, places: int = _PLACES) -> str:
    """Write the number in plain decimals, without grouping and without trailing zeros.

    Past `places` it is rounded half up; made with integers alone, so that no amount passes through a binary float.
    """
    sign, whole, decimals = _split(value, places)
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"


def show_number(value: Fraction, places: int = _PLACES) -> str:
    """The number for a reader: as `write_decimal`, with a thin space between thousands from 1000 up."""
    sign, whole, decimals = _split(value, places)
    shown = f"{sign}{whole}" if whole < _FIRST_GROUPED else f"{sign}{whole:,}".replace(",", THIN_SPACE)
    return f"{shown}.{decimals}" if decimals else shown


def _split(value: Fraction, places: int) -> tuple[str, int, str]:
    """The sign, the whole number and the decimals that are written of a number."""
    numerator, denominator = value.numerator, value.denominator
    sign = "-" if numerator < 0 else ""
    if denominator == 1:
        return sign, abs(numerator), ""
    tens = _TENS[places]
    scaled = (2 * abs(numerator) * tens + denominator) // (2 * denominator)
    whole, rest = divmod(scaled, tens)
    return sign if scaled else "", whole, f"{rest:0{places}d}".rstrip("0") if rest else ""


def show_amount(amount: Amount, places: int = _PLACES) -> str:
    """The amount for a reader: "0.58 mL", "29 microgram", "1450 g", "100/min", "35 %"."""
    unit = amount.unit
    gap = "" if unit.dimension is _RATE else " "
    return f"{_show_value(amount, places)}{gap}{unit.text}"


def show_range(low: Amount, high: Amount, places: int = _PLACES) -> str:
    """Two ends of a range in one unit: "14-16 cm", with an en dash."""
    if low == high:
        return show_amount(low, places)
    high = convert(high, low.unit)
    return f"{_show_value(low, places)}\N{EN DASH}{show_amount(high, places)}"


def choose_mass_unit(mass: Amount) -> Amount:
    """The same mass in microgram where it is under 1 mg, in mg from there on."""
    in_mg = convert(mass, "mg")
    return in_mg if in_mg.value >= 1 else convert(mass, "microgram")


def _show_value(amount: Amount, places: int) -> str:
    write = write_decimal if amount.unit.dimension is _BODY_WEIGHT else show_number
    return write(amount.value, places)
