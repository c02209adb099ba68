"""What a standard lets a syringe itself be out by, beside any rounding to its marks."""

from fractions import Fraction

from msgspec import Struct

from prepkit.kit.fields import EXCERPT, Basis
from prepkit.quantities.amount import Amount, convert


class _ToleranceRow(Struct, frozen=True):
    """One row of the standard's table, for capacities under `below` mL."""

    below: int
    fixed: Fraction
    """Below half the capacity: this share of the capacity ..."""
    share: Fraction
    """... plus this share of the volume."""
    upper: Fraction
    """From half the capacity on: this share of the volume."""
    lower_basis: Basis
    upper_basis: Basis


# ISO 7886-1:1993, as a testing laboratory's worked paper of 2016 quotes it: that is an account; the other rows are
# from memory. The edition of 2017, which took its place, was not read: that its table is the same is from memory too.
_TOLERANCES = (
    _ToleranceRow(2, Fraction(3, 200), Fraction(2, 100), Fraction(5, 100), EXCERPT, EXCERPT),
    _ToleranceRow(5, Fraction(3, 200), Fraction(2, 100), Fraction(5, 100), "from memory", "from memory"),
    _ToleranceRow(10, Fraction(3, 200), Fraction(1, 100), Fraction(4, 100), "from memory", "from memory"),
    _ToleranceRow(20, Fraction(3, 200), Fraction(1, 100), Fraction(4, 100), EXCERPT, "from memory"),
)


class Tolerance(Struct, frozen=True):
    """What a standard lets a syringe be out by."""

    percent: Fraction
    """In % of the volume measured."""
    basis: Basis


def find_iso_tolerance(holds: Amount, volume: Amount) -> Tolerance | None:
    """Find the error that ISO 7886-1:1993 permits a hypodermic syringe at a volume; None from 20 mL up: no row known.

    Args:
        holds: the nominal capacity.
        volume: what is measured; more than nothing.

    """
    capacity, measured = convert(holds, "mL").value, convert(volume, "mL").value
    row = next((row for row in _TOLERANCES if capacity < row.below), None)
    if row is None:
        return None
    if measured * 2 >= capacity:
        return Tolerance(row.upper * 100, row.upper_basis)
    return Tolerance((row.fixed * capacity + row.share * measured) / measured * 100, row.lower_basis)
