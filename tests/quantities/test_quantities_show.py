"""Writing amounts so that they cannot be misread.

The rules: Joint Commission "do not use" list, ISMP list of error-prone abbreviations, style of the BNF for Children, as
the clinical reference gives them in section 13.
"""

import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.text import (
    THIN_SPACE,
    choose_mass_unit,
    read_amount,
    round_half_up,
    show_amount,
    show_number,
    show_range,
    write_amount,
    write_decimal,
)
from prepkit.quantities.units import UNITS

UNIT_TEXTS = st.sampled_from(list(UNITS))
MILLIONTHS = st.integers(0, 10**13)


@pytest.mark.parametrize(
    ("number", "unit", "shown"),
    [
        ("1.0", "mg", "1 mg"),
        ("1.60", "mL", "1.6 mL"),
        ("0.5", "mL", "0.5 mL"),
        ("0", "mg/kg", "0 mg/kg"),
        ("29", "microgram", "29 microgram"),
        ("600", "microgram/mL", "600 microgram/mL"),
        ("1000", "microgram", f"1{THIN_SPACE}000 microgram"),
        ("999.5", "microgram", "999.5 microgram"),
        ("1234567.25", "mg", f"1{THIN_SPACE}234{THIN_SPACE}567.25 mg"),
        ("1450", "g", "1450 g"),
        ("10000", "g", "10000 g"),
        ("35", "%", "35 %"),
        ("100", "/min", "100/min"),
        ("8", "L/min", "8 L/min"),
        ("6", "cmH2O", "6 cmH2O"),
    ],
)
def test_an_amount_is_shown_as_the_rules_have_it(number: str, unit: str, shown: str) -> None:
    assert show_amount(make_amount(number, unit)) == shown


@given(MILLIONTHS, UNIT_TEXTS)
def test_what_is_shown_reads_back_to_what_was_meant(millionths: int, unit: str) -> None:
    amount = make_amount(Fraction(millionths, 10**6), unit)
    assert read_amount(show_amount(amount).replace(THIN_SPACE, "")) == amount


@given(MILLIONTHS, UNIT_TEXTS)
def test_no_amount_is_shown_with_a_trailing_zero_without_a_leading_zero_or_with_a_micro_sign(
    millionths: int, unit: str
) -> None:
    shown = show_amount(make_amount(Fraction(millionths, 10**6), unit))
    assert re.match(rf"(0|[1-9][0-9{THIN_SPACE}]*)(\.[0-9]*[1-9])?( |/min$)", shown)
    assert not set(shown) & set("\N{MICRO SIGN}\N{GREEK SMALL LETTER MU},")


@given(st.integers(0, 10**12))
def test_thousands_are_grouped_from_1000_up_in_threes(number: int) -> None:
    # Python's own grouping is the outside check.
    assert show_number(Fraction(number)) == f"{number:,}".replace(",", THIN_SPACE)


def test_a_negative_number_is_grouped_like_its_opposite() -> None:
    assert show_number(Fraction(-123)) == "-123"
    assert show_number(Fraction(-1234)) == f"-1{THIN_SPACE}234"


@given(st.integers(0, 10**9), st.integers(1, 10**6), st.integers(0, 6))
def test_a_number_that_does_not_end_is_cut_half_up_at_its_places(top: int, bottom: int, places: int) -> None:
    # Half up on the exact quotient; enough digits that Decimal never rounds twice.
    exact = Decimal(top * 10 ** (places + 1) // bottom).scaleb(-places - 1)
    expected = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    assert Decimal(write_decimal(Fraction(top, bottom), places)) == expected


def test_a_negative_number_too_small_to_show_has_no_sign() -> None:
    assert write_decimal(Fraction(-1, 10**9)) == "0"
    assert write_decimal(Fraction(-1, 2), 1) == "-0.5"


@given(MILLIONTHS, UNIT_TEXTS)
def test_an_amount_as_it_is_stored_is_read_back(millionths: int, unit: str) -> None:
    amount = make_amount(Fraction(millionths, 10**6), unit)
    assert read_amount(write_amount(amount)) == amount
    assert write_amount(make_amount(1450, "g")) == "1450 g"


@given(st.integers(0, 10**9), st.sampled_from(["0.01", "0.1", "0.2", "0.5", "1", "0.05", "0.25"]))
def test_rounding_to_marks_is_half_up(thousandths: int, step: str) -> None:
    marks = Decimal(thousandths).scaleb(-3) / Decimal(step)
    expected = marks.quantize(Decimal(1), ROUND_HALF_UP) * Decimal(step)
    assert round_half_up(Fraction(thousandths, 1000), Fraction(step)) == Fraction(expected)


@given(st.fractions(min_value=0, max_value=1000), st.fractions(min_value=Fraction(1, 1000), max_value=10))
def test_rounding_moves_by_half_a_step_at_most(value: Fraction, step: Fraction) -> None:
    rounded = round_half_up(value, step)
    assert (rounded / step).denominator == 1
    assert -step / 2 < rounded - value <= step / 2


@pytest.mark.parametrize(
    ("mass", "shown"),
    [
        ("0.999 mg", "999 microgram"),
        ("1 mg", "1 mg"),
        ("1000 microgram", "1 mg"),
        ("999.9 microgram", "999.9 microgram"),
        ("290 mg", "290 mg"),
        ("0 mg", "0 microgram"),
    ],
)
def test_a_mass_under_1_mg_is_shown_in_microgram(mass: str, shown: str) -> None:
    assert show_amount(choose_mass_unit(read_amount(mass))) == shown


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        ("14 cm", "16 cm", "14\N{EN DASH}16 cm"),
        ("0.5 mL", "1 mL", "0.5\N{EN DASH}1 mL"),
        ("1200 g", "2000 g", "1200\N{EN DASH}2000 g"),
        ("0.5 mg", "900 microgram", "0.5\N{EN DASH}0.9 mg"),
        ("100 /min", "120 /min", "100\N{EN DASH}120/min"),
        ("16 cm", "16 cm", "16 cm"),
    ],
)
def test_a_range_has_an_en_dash_and_one_unit(low: str, high: str, shown: str) -> None:
    assert show_range(read_amount(low), read_amount(high)) == shown


def test_an_amount_of_a_third_is_cut_where_it_is_told() -> None:
    assert show_amount(Amount(Fraction(1, 3), UNITS["mL"]), 2) == "0.33 mL"
