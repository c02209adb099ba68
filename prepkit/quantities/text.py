"""Amounts as text: read strictly from what people write, and written so that they cannot be misread.

"20 microgram/kg" is digits with a point, one space, a unit of the vocabulary. A decimal comma, a sign, an exponent, a
missing or doubled space is refused with the column where it stands, never guessed at.

Shown: no trailing zero, always a leading zero, a space before the unit, a thin space between thousands, "microgram" in
full, masses under 1 mg in microgram (Joint Commission "do not use" list; ISMP list of error-prone abbreviations; style
of the BNF for Children). Body weights keep their digits together ("1450 g"), as they stand on a cot card and are typed.
Both live here because what is shown must read back to what was meant.
"""

import re
from difflib import get_close_matches
from fractions import Fraction

from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.units import UNITS, Dimension, Unit, list_units

_NUMBER = re.compile(r"(?:0|[1-9][0-9]*)(?:\.([0-9]+))?")
_RANGE = re.compile(r"\s*(?:[-\N{EN DASH}\N{MINUS SIGN}]|to\b)\s*[0-9]")
_MOST_CHARACTERS = 40
# As many as are shown, so that what is shown always reads back to what was meant.
_MOST_DECIMALS = 6
_ALIASES = {
    "ml": "mL",
    "cc": "mL",
    "ug": "microgram",
    "mcg": "microgram",
    "µg": "microgram",
    "μg": "microgram",
    "micrograms": "microgram",
    "cmh2o": "cmH2O",
    "fg": "Fr",
    "hr": "h",
    "hours": "h",
    "minutes": "min",
}


class UnreadableAmountError(ValueError):
    """The text is not an amount; `column` counts from 1."""

    def __init__(self, reason: str, column: int) -> None:
        """Keep the reason and the column apart, so that a file's reader can point at the place."""
        self.reason = show_safely(reason)
        super().__init__(self.reason)
        self.column = column


def show_safely(text: str) -> str:
    """What a person wrote, ready to be quoted back: without anything that a terminal would obey."""
    return "".join(char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in text)


def read_amount(text: str, expected: Dimension | None = None) -> Amount:
    """Read "20 microgram/kg"; a rate may stand close to its number, as it is shown ("100/min").

    Raises:
        UnreadableAmountError: with the column and what was expected, where the text is anything else or measures
            something other than `expected`.
    """
    if len(text) > _MOST_CHARACTERS:
        raise UnreadableAmountError(f"too long for an amount (more than {_MOST_CHARACTERS} characters)", 1)
    number, rest = _split_number(text)
    if not rest:
        raise UnreadableAmountError(f"has no unit{_say_units(expected)}", len(text) + 1)
    written = rest if rest.startswith("/") else _split_space(number, rest)
    return Amount(Fraction(number), _read_unit(written, len(text) - len(written) + 1, expected))


def read_number(text: str) -> Fraction:
    """Read digits with an optional point: "6", "0.35".

    Raises:
        UnreadableAmountError: where the text is anything else.
    """
    if len(text) > _MOST_CHARACTERS:
        raise UnreadableAmountError(f"too long for a number (more than {_MOST_CHARACTERS} characters)", 1)
    number, rest = _split_number(text)
    if rest:
        raise UnreadableAmountError(f'has "{rest}" after the number', len(number) + 1)
    return Fraction(number)


def _split_space(number: str, rest: str) -> str:
    """The unit behind its one space."""
    column = len(number) + 1
    if _RANGE.match(rest):
        raise UnreadableAmountError("is a range, where one amount is due", column)
    if not rest.startswith(" ") or rest[1:2].isspace():
        meant = _find_meant(rest.strip())
        example = f': "{number} {meant[0]}"' if meant else ""
        raise UnreadableAmountError(f"needs exactly one space between the number and the unit{example}", column)
    if not rest[1:]:
        raise UnreadableAmountError("has no unit after the space", column + 1)
    return rest[1:]


def _split_number(text: str) -> tuple[str, str]:
    found = _NUMBER.match(text)
    if not found:
        raise UnreadableAmountError(_explain_start(text), 1)
    rest = text[found.end() :]
    if rest[:1] == ",":
        raise UnreadableAmountError(
            "has a comma: write a decimal point, and nothing between thousands", found.end() + 1
        )
    if rest[:1] == "." or re.match(r"[0-9]", rest):
        raise UnreadableAmountError("is not a number as written here (0.5, 12, 1.25)", found.end() + 1)
    if len(found[1] or "") > _MOST_DECIMALS:
        raise UnreadableAmountError(f"has more than {_MOST_DECIMALS} decimals", found.start(1) + _MOST_DECIMALS + 1)
    return found.group(), rest


def _explain_start(text: str) -> str:
    if not text:
        return "is empty"
    if text[0] in "+-\N{MINUS SIGN}":
        return "has a sign: amounts are written without one"
    if text[0] == ".":
        return "needs a digit before the point (0.5)"
    return "does not begin with a number"


def _read_unit(text: str, column: int, expected: Dimension | None) -> Unit:
    unit = UNITS.get(text)
    if unit is None:
        raise UnreadableAmountError(f'has an unknown unit "{text}"{_suggest(text, expected)}', column)
    if expected is not None and unit.dimension is not expected:
        # The most common slip: half of the unit is missing, as in a dose without its "per kg".
        halves = [whole for whole in list_units(expected) if whole.startswith(f"{text}/")]
        hint = f': did you mean "{halves[0]}"?' if halves else _say_units(expected)
        raise UnreadableAmountError(f"is {unit.dimension}, where {expected} is due{hint}", column)
    return unit


def _suggest(text: str, expected: Dimension | None) -> str:
    close = _find_meant(text) or get_close_matches(text, UNITS, n=1)
    return f': did you mean "{close[0]}"?' if close else _say_units(expected)


def _find_meant(text: str) -> list[str]:
    """The unit that other places write like this: "mcg/kg", "mg per mL"."""
    parts = re.split(r"/|\s+per\s+", text)
    meant = "/".join(_ALIASES.get(part.lower(), part) for part in parts).lower()
    return [unit for unit in UNITS if unit.lower() == meant]


def _say_units(expected: Dimension | None) -> str:
    if expected is None:
        return ""
    units = list_units(expected)
    return f" (in {units[0]})" if len(units) == 1 else f" (one of {', '.join(units)})"


THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"
_PLACES = 6
_TENS = tuple(10**places for places in range(_PLACES + 1))
# Looked up once, not for every amount that is shown: finding a member of an enum is slow.
_RATE, _BODY_WEIGHT = Dimension.RATE, Dimension.BODY_WEIGHT
_FIRST_GROUPED = 1000


def round_half_up(value: Fraction, step: Fraction) -> Fraction:
    """Round to the nearest multiple of `step` (neither is negative); half way between two takes the larger."""
    (number, parts), (step_number, step_parts) = value.as_integer_ratio(), step.as_integer_ratio()
    steps = (2 * number * step_parts + parts * step_number) // (2 * parts * step_number)
    return Fraction(steps * step_number, step_parts)


def write_decimal(value: Fraction, places: int = _PLACES) -> str:
    """Write the number in plain decimals, without grouping and without trailing zeros.

    Past `places` it is rounded half up, with integers alone, so that no amount passes through a binary float.
    """
    sign, whole, decimals = _split(value, places)
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"


def write_amount(amount: Amount) -> str:
    """The amount as it is stored and typed: "0.58 mL", "200 mg/kg"; `read_amount` reads it."""
    return f"{write_decimal(amount.value)} {amount.unit.text}"


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


def write_rounded(value: Fraction) -> str:
    """Write a number to about three figures: no decimals from 100, one from 10, two below."""
    return write_decimal(value, 0 if value >= 100 else 1 if value >= 10 else 2)  # noqa: PLR2004  (said just above)


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
