"""Amounts and the arithmetic between them: exact, and refused where the dimensions do not fit.

pint checks every pairing of units once and gives the exact factor between them; from then on the numbers are fractions.
`factors.json` keeps the factors for the vocabulary, under the fingerprint of the definitions they came from;
`docs/make_factors.py` writes it. pint is asked for any other pairing, and for all of them once the definitions differ.
It is imported only then, because it costs more to import than the rest of the program together.
"""

import json
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

from prepkit.quantities.units import Dimension, Unit, find_unit

if TYPE_CHECKING:
    from pint import UnitRegistry


class DimensionMismatchError(ValueError):
    """Two amounts were put together that do not go together: a dose per kg without a weight, a mass for a volume."""


class Amount:
    """An exact number of a unit; never changed once it is made.

    Neither a Struct nor a dataclass: msgspec would read those from a table, but an amount is read from text.
    """

    __slots__ = ("unit", "value")

    def __init__(self, value: Fraction, unit: Unit) -> None:
        self.value: Final = value
        self.unit: Final = unit

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Amount):
            return NotImplemented
        return self.value == other.value and self.unit == other.unit

    def __hash__(self) -> int:
        return hash((self.value, self.unit))

    def __repr__(self) -> str:
        return f"Amount({self.value!r}, {self.unit!r})"

    @property
    def dimension(self) -> Dimension:
        """What it measures."""
        return self.unit.dimension

    def __lt__(self, other: "Amount") -> bool:
        return self.value < convert(other, self.unit).value

    def __le__(self, other: "Amount") -> bool:
        return self.value <= convert(other, self.unit).value


def make_amount(value: int | str | Fraction, unit: str) -> Amount:
    """An amount from an exact number and a unit of the vocabulary ("0.5", "mL").

    Raises:
        KeyError: where the vocabulary has no such unit.
    """
    return Amount(Fraction(value), find_unit(unit))


def convert(amount: Amount, unit: Unit | str) -> Amount:
    """The same amount in another unit of the same dimension.

    Raises:
        DimensionMismatchError: where the two units do not measure the same thing.
    """
    target = find_unit(unit) if isinstance(unit, str) else unit
    if amount.unit is target:
        return amount
    return Amount(amount.value * _find_factor(amount.unit.pint, target.pint), target)


def multiply(left: Amount, right: Amount, unit: Unit | str) -> Amount:
    """The product of two amounts, in the unit asked for (20 microgram/kg x 1450 g, in microgram).

    Raises:
        DimensionMismatchError: where the product does not measure what the unit does.
    """
    target = _as_unit(unit)
    factor = _find_factor(f"({left.unit.pint}) * ({right.unit.pint})", target.pint)
    return Amount(left.value * right.value * factor, target)


def divide(left: Amount, right: Amount, unit: Unit | str) -> Amount:
    """The quotient of two amounts, in the unit asked for (29 microgram / 50 microgram/mL, in mL).

    Raises:
        DimensionMismatchError: where the quotient does not measure what the unit does.
        ZeroDivisionError: where `right` is nothing.
    """
    target = _as_unit(unit)
    factor = _find_factor(f"({left.unit.pint}) / ({right.unit.pint})", target.pint)
    return Amount(left.value / right.value * factor, target)


def add(left: Amount, right: Amount) -> Amount:
    """The sum of two amounts of one dimension, in the first one's unit.

    Raises:
        DimensionMismatchError: where they do not measure the same thing.
    """
    return Amount(left.value + convert(right, left.unit).value, left.unit)


def subtract(left: Amount, right: Amount) -> Amount:
    """The difference of two amounts of one dimension, in the first one's unit.

    Raises:
        DimensionMismatchError: where they do not measure the same thing.
    """
    return Amount(left.value - convert(right, left.unit).value, left.unit)


def _as_unit(unit: Unit | str) -> Unit:
    return find_unit(unit) if isinstance(unit, str) else unit


@cache
def _find_factor(source: str, target: str) -> Fraction:
    """How many of the target one of the source is; exact, since the registry counts in fractions."""
    known = read_factors().get(f"{source} -> {target}")
    return Fraction(known) if known is not None else ask_factor(source, target)


@cache
def read_factors() -> Mapping[str, str]:
    """The kept factors, by "source -> target"; none if they were made from other definitions."""
    kept = json.loads(files("prepkit.quantities").joinpath("factors.json").read_text("utf-8"))
    factors: Mapping[str, str] = kept["factors"] if kept["units"] == compute_definitions() else {}
    return factors


def compute_definitions() -> str:
    """Compute the fingerprint of the definitions of the units."""
    return sha256(_read_definitions().encode()).hexdigest()


def ask_factor(source: str, target: str) -> Fraction:
    """The factor as pint gives it.

    Raises:
        DimensionMismatchError: where the two do not measure the same thing.
    """
    from pint import DimensionalityError  # noqa: PLC0415  (pint costs more than all else: first use loads it)

    registry = _open_registry()
    try:
        one: Any = registry.Quantity(Fraction(1), source)
        return Fraction(one.to(target).magnitude)
    except DimensionalityError as error:
        raise DimensionMismatchError(f"{source} does not give {target}") from error


@cache
def _open_registry() -> "UnitRegistry[Any]":
    from pint import UnitRegistry  # noqa: PLC0415  (as above)

    registry: UnitRegistry[Any] = UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions(_read_definitions().splitlines())
    return registry


def _read_definitions() -> str:
    return files("prepkit.quantities").joinpath("units.txt").read_text("utf-8")
