"""How much of a dose came back, and what the rest comes to."""

from msgspec import Struct

from prepkit.quantities.amount import Amount, convert, divide, make_amount, multiply
from prepkit.quantities.text import show_amount

_TIMES = "\N{MULTIPLICATION SIGN}"


class Aspirate(Struct, frozen=True):
    """What came back of what was given."""

    share: Amount
    """In %."""
    is_delivered: bool
    working: str


def compute_aspirate(given: Amount, aspirated: Amount, below: Amount) -> Aspirate:
    """Compute the share that came back, and whether the dose counts as delivered.

    Args:
        given: the volume given, more than nothing.
        aspirated: the volume that came back; may be nothing, or more than was given.
        below: the dose counts as delivered where less than this share came back.
    """
    share = Amount(convert(aspirated, "mL").value / convert(given, "mL").value * 100, make_amount(1, "%").unit)
    is_delivered = share < below
    said = "counts as delivered" if is_delivered else "does not count as delivered"
    working = (
        f"{show_amount(aspirated)} ÷ {show_amount(given)} = {show_amount(share, 1)} came back:"
        f" {said} (under {show_amount(below)} does)."
    )
    return Aspirate(share, is_delivered, working)


def compute_given_per_kg(given: Amount, strength: Amount, weight: Amount) -> tuple[Amount, str]:
    """Compute what a volume of a strength gives per kg, with the sum."""
    mass = multiply(given, strength, "mg")
    per_kg = divide(mass, weight, "mg/kg")
    words = f"{show_amount(given)} {_TIMES} {show_amount(strength)} ÷ {show_amount(weight)} = {show_amount(per_kg, 1)}"
    return per_kg, words
