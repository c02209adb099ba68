"""Arithmetic between amounts, beside pint's own in Decimal; and the vocabulary."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from importlib.resources import files
from typing import Any, TypeAlias

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.quantities.amount import (
    Amount,
    DimensionMismatchError,
    add,
    convert,
    divide,
    make_amount,
    multiply,
    subtract,
)
from prepkit.quantities.text import read_amount
from prepkit.quantities.units import UNITS, Dimension, Unit, find_unit, list_units

# A registry of pint's own that counts in Decimal; ours counts in fractions.
REGISTRY: Any = pint.UnitRegistry(None, non_int_type=Decimal)
REGISTRY.load_definitions(files("prepkit.quantities").joinpath("units.txt").read_text("utf-8").splitlines())
Pint: TypeAlias = Any
NUMBERS = st.integers(1, 10**7).map(lambda thousandths: Decimal(thousandths) / 1000)
UNIT_ROWS = st.sampled_from(list(UNITS.values()))


def as_pint(number: Decimal, unit: Unit) -> Pint:
    return REGISTRY.Quantity(number, unit.pint)


def expect(worked: Pint, target: Unit) -> Fraction | None:
    """What pint makes of it in the target unit; None where it refuses."""
    try:
        return Fraction(worked.to(target.pint).magnitude)
    except pint.DimensionalityError:
        return None


def run(function: Callable[..., Amount], *operands: Amount | Unit) -> Fraction | None:
    try:
        return function(*operands).value
    except DimensionMismatchError:
        return None


def is_near(ours: Fraction | None, theirs: Fraction | None) -> bool:
    """Equal, but for the 28 digits that pint's Decimal carries and ours has no end of; both refuse or neither does."""
    if ours is None or theirs is None:
        return ours is theirs
    return abs(ours - theirs) <= abs(ours) / 10**24


@given(NUMBERS, UNIT_ROWS, NUMBERS, UNIT_ROWS, UNIT_ROWS)
def test_a_product_is_what_pint_makes_of_it_or_is_refused_by_both(
    left: Decimal, left_unit: Unit, right: Decimal, right_unit: Unit, target: Unit
) -> None:
    worked = expect(as_pint(left, left_unit) * as_pint(right, right_unit), target)
    ours = run(multiply, Amount(Fraction(left), left_unit), Amount(Fraction(right), right_unit), target)
    assert is_near(ours, worked)


@given(NUMBERS, UNIT_ROWS, NUMBERS, UNIT_ROWS, UNIT_ROWS)
def test_a_quotient_is_what_pint_makes_of_it_or_is_refused_by_both(
    left: Decimal, left_unit: Unit, right: Decimal, right_unit: Unit, target: Unit
) -> None:
    worked = expect(as_pint(left, left_unit) / as_pint(right, right_unit), target)
    ours = run(divide, Amount(Fraction(left), left_unit), Amount(Fraction(right), right_unit), target)
    assert is_near(ours, worked)


@given(NUMBERS, UNIT_ROWS, NUMBERS, UNIT_ROWS)
def test_a_sum_and_a_difference_are_what_pint_makes_of_them(
    left: Decimal, left_unit: Unit, right: Decimal, right_unit: Unit
) -> None:
    one, two = Amount(Fraction(left), left_unit), Amount(Fraction(right), right_unit)
    for ours, sign in ((run(add, one, two), 1), (run(subtract, one, two), -1)):
        try:
            worked = expect(as_pint(left, left_unit) + sign * as_pint(right, right_unit), left_unit)
        except pint.DimensionalityError:
            worked = None
        assert is_near(ours, worked)


@given(NUMBERS, UNIT_ROWS, UNIT_ROWS)
def test_a_conversion_is_what_pint_makes_of_it_and_undoes_itself(number: Decimal, unit: Unit, target: Unit) -> None:
    amount = Amount(Fraction(number), unit)
    ours = run(convert, amount, target)
    assert is_near(ours, expect(as_pint(number, unit), target))
    assert (ours is not None) == (unit.dimension is target.dimension)
    if ours is not None:
        assert convert(Amount(ours, target), unit) == amount


@pytest.mark.parametrize(
    ("one", "unit", "many"),
    [
        # The definitions of the units: SI prefixes, and the hour and the day of the SI brochure.
        ("mg", "microgram", 1000),
        ("mg/mL", "microgram/mL", 1000),
        ("mg/kg", "microgram/kg", 1000),
        ("kg", "g", 1000),
        ("cm", "mm", 10),
        ("h", "min", 60),
        ("d", "h", 24),
    ],
)
def test_one_unit_is_exactly_so_many_of_the_other_and_the_other_way_round(one: str, unit: str, many: int) -> None:
    assert convert(make_amount(1, one), unit) == make_amount(many, unit)
    assert convert(make_amount(1, unit), one) == make_amount(Fraction(1, many), one)


def test_a_dose_per_kg_times_a_weight_is_a_mass() -> None:
    assert multiply(read_amount("20 microgram/kg"), read_amount("1450 g"), "microgram") == read_amount("29 microgram")
    assert multiply(read_amount("200 mg/kg"), read_amount("1.45 kg"), "mg") == read_amount("290 mg")


def test_a_mass_over_a_strength_is_a_volume() -> None:
    assert divide(read_amount("290 mg"), read_amount("80 mg/mL"), "mL") == read_amount("3.625 mL")
    assert divide(read_amount("29 microgram"), read_amount("50 microgram/mL"), "mL") == read_amount("0.58 mL")


@pytest.mark.parametrize(
    ("worked", "left", "right", "unit"),
    [
        (multiply, "20 microgram", "1450 g", "microgram"),  # the "per kg" forgotten
        (multiply, "20 microgram/kg", "20 microgram/kg", "microgram"),
        (multiply, "3 cm/kg", "1450 g", "mL"),
        (divide, "20 microgram/kg", "50 microgram/mL", "mL"),  # the weight forgotten
        (divide, "50 microgram/mL", "29 microgram", "mL"),  # upside down
        (divide, "1450 g", "80 mg/mL", "mL"),  # a body's weight is no mass of a medicine
    ],
)
def test_what_does_not_go_together_is_refused(worked: Callable[..., Amount], left: str, right: str, unit: str) -> None:
    with pytest.raises(DimensionMismatchError):
        worked(read_amount(left), read_amount(right), unit)


@pytest.mark.parametrize(
    ("left", "right"), [("1 mg", "1 mL"), ("1 kg", "1 mg"), ("1 mg/kg", "1 mg"), ("1 %", "1 cm"), ("8 Fr", "8 mm")]
)
def test_sums_and_comparisons_of_different_things_are_refused(left: str, right: str) -> None:
    one, two = read_amount(left), read_amount(right)
    for worked in (add, subtract, Amount.__lt__, Amount.__le__):
        with pytest.raises(DimensionMismatchError):
            worked(one, two)


def test_nothing_is_divided_by_nothing() -> None:
    with pytest.raises(ZeroDivisionError):
        divide(read_amount("1 mg"), read_amount("0 mg/mL"), "mL")


def test_comparison_goes_by_what_is_measured_not_by_the_digits() -> None:
    assert read_amount("999 microgram") < read_amount("1 mg")
    assert read_amount("1000 microgram") <= read_amount("1 mg")
    assert read_amount("2 kg") > read_amount("1999 g")
    assert not read_amount("1 mg") < read_amount("1000 microgram")


def test_a_unit_that_is_not_in_the_vocabulary_does_not_exist() -> None:
    with pytest.raises(KeyError):
        find_unit("MG")
    with pytest.raises(KeyError):
        make_amount(1, "gram")


# UCUM essence table 2.2, as the clinical reference gives it in section 14; the quotients are those codes joined.
UCUM = {
    "mg": "mg", "microgram": "ug", "mL": "mL", "g": "g", "kg": "kg", "cm": "cm", "mm": "mm", "Fr": "[Ch]",
    "cmH2O": "cm[H2O]", "L/min": "L/min", "/min": "/min", "%": "%", "min": "min", "h": "h", "d": "d",
    "mg/mL": "mg/mL", "microgram/mL": "ug/mL", "mg/kg": "mg/kg", "microgram/kg": "ug/kg", "mL/kg": "mL/kg",
    "cm/kg": "cm/kg",
}  # fmt: skip


def test_every_unit_has_its_ucum_code() -> None:
    assert {text: unit.ucum for text, unit in UNITS.items()} == UCUM


def test_no_unit_can_be_misread() -> None:
    texts = list(UNITS)
    assert not [text for text in texts if set(text) & set("\N{MICRO SIGN}\N{GREEK SMALL LETTER MU}")]
    assert len({text.lower() for text in texts}) == len(texts)


@pytest.mark.parametrize("dimension", Dimension)
def test_every_dimension_has_a_unit_and_all_its_units_convert_into_each_other(dimension: Dimension) -> None:
    units = list_units(dimension)
    assert units
    for unit in units:
        assert convert(make_amount(1, units[0]), unit).value > 0


def test_pint_knows_no_unit_beside_ours_and_no_prefix() -> None:
    for text in ("milligram_per_litre", "kilomilligram", "MG", "gram", "molar", "unit", "mg"):
        with pytest.raises(pint.UndefinedUnitError):
            REGISTRY.Quantity(Decimal(1), text)
