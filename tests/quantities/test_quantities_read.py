"""The strict reader of amounts: what it takes, what it refuses, and where it points."""

import string
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation, UnreadableGestationError, read_gestation
from prepkit.quantities.text import THIN_SPACE, UnreadableAmountError, read_amount, read_number, show_amount
from prepkit.quantities.units import UNITS, Dimension, Unit

ALMOST_AMOUNTS = st.one_of(
    st.text(),
    st.text(alphabet="0123456789., -+eE/µ" + string.ascii_letters + THIN_SPACE, max_size=45),
    st.builds(
        lambda number, gap, unit: f"{number}{gap}{unit}",
        st.one_of(st.text("0123456789.", max_size=20), st.integers(0, 10**30).map(str)),
        st.sampled_from(["", " ", "  ", "\t", "\u00a0", THIN_SPACE]),
        st.sampled_from([*UNITS, "ml", "MG", "units", "µg", "mg/", ""]),
    ),
)


@given(ALMOST_AMOUNTS)
@example("0 mg")
@example("9999999999 mg")
@example("0.000001 mg/mL")
@example("100/min")
def test_any_text_reads_to_an_amount_that_reads_back_from_what_is_shown_or_is_refused(text: str) -> None:
    try:
        amount = read_amount(text)
    except UnreadableAmountError as error:
        refusal = error
    else:
        assert read_amount(show_amount(amount).replace(THIN_SPACE, "")) == amount
        return
    assert refusal.reason
    assert 1 <= refusal.column <= len(text) + 1


@pytest.mark.parametrize("unit", UNITS.values(), ids=lambda unit: unit.text)
def test_every_unit_of_the_vocabulary_reads(unit: Unit) -> None:
    assert read_amount(f"12.5 {unit.text}") == Amount(Fraction(25, 2), unit)


# What pint's own reader makes of these: 105 mg, 0 mg, nothing, 7 mg, a micro-nit, megagauss, molar, franklin.
PINT_TRAPS = {
    "10,5 mg": (3, "comma"),
    "0,5 mg": (2, "comma"),
    "1 000 mg": (3, 'unknown unit "000 mg"'),
    "5 mg + 2 mg": (3, 'unknown unit "mg + 2 mg"'),
    "5 unit": (3, 'unknown unit "unit"'),
    "5 MG": (3, 'did you mean "mg"?'),
    "5 M": (3, 'unknown unit "M"'),
    "5 mg*2": (3, 'unknown unit "mg*2"'),
    "5 mg/kg/mg": (3, "unknown unit"),
    "5 kmg": (3, "unknown unit"),
    "5 Fg": (3, 'did you mean "Fr"?'),
}
WRITTEN_WRONG = {
    "": (1, "is empty"),
    " 5 mg": (1, "does not begin with a number"),
    "mg": (1, "does not begin with a number"),
    "-5 mg": (1, "has a sign"),
    "+5 mg": (1, "has a sign"),
    "\N{MINUS SIGN}5 mg": (1, "has a sign"),
    ".5 mg": (1, "needs a digit before the point"),
    "5. mg": (2, "is not a number as written here"),
    "05 mg": (2, "is not a number as written here"),
    "1.2.3 mg": (4, "is not a number as written here"),
    "1.2,3 mg": (4, "comma"),
    "1,000 mg": (2, "comma"),
    "1e3 mg": (2, "exactly one space"),
    "0x10 mg": (2, "exactly one space"),
    "1_000 mg": (2, "exactly one space"),
    "5mg": (2, "exactly one space"),
    "5  mg": (2, "exactly one space"),
    "5\tmg": (2, "exactly one space"),
    "5\u00a0mg": (2, "exactly one space"),
    f"1{THIN_SPACE}000 mg": (2, "exactly one space"),
    "5": (2, "has no unit"),
    "5 ": (3, "has no unit"),
    "5 mg ": (3, 'unknown unit "mg "'),
    "5 mg\n": (3, "unknown unit"),
    "5 ml": (3, 'did you mean "mL"?'),
    "5 cc": (3, 'did you mean "mL"?'),
    "5 ug": (3, 'did you mean "microgram"?'),
    "5 \N{MICRO SIGN}g": (3, 'did you mean "microgram"?'),
    "5 \N{GREEK SMALL LETTER MU}g": (3, 'did you mean "microgram"?'),
    "5 mcg/kg": (3, 'did you mean "microgram/kg"?'),
    "5 mL/min": (3, "unknown unit"),
    "5 microgram/ml": (3, 'did you mean "microgram/mL"?'),
    "5/mL": (2, 'unknown unit "/mL"'),
    "nan mg": (1, "does not begin with a number"),
    "inf mg": (1, "does not begin with a number"),
    "\uff11\uff12 mg": (1, "does not begin with a number"),
    "1\uff12 mg": (2, "exactly one space"),
    "\u0661 mg": (1, "does not begin with a number"),
    "\u00b2 mg": (1, "does not begin with a number"),
    "0.1234567 mg": (9, "more than 6 decimals"),
    "1" * 50 + " mg": (1, "too long"),
    "9" * 1_000_000: (1, "too long"),
}


@pytest.mark.parametrize(("text", "expected"), (PINT_TRAPS | WRITTEN_WRONG).items(), ids=lambda case: repr(case)[:30])
def test_what_is_not_an_amount_is_refused_with_its_column(text: str, expected: tuple[int, str]) -> None:
    with pytest.raises(UnreadableAmountError) as caught:
        read_amount(text)
    column, words = expected
    assert words in caught.value.reason
    assert caught.value.column == column


def test_an_amount_that_measures_something_else_is_refused_with_what_is_due() -> None:
    with pytest.raises(UnreadableAmountError) as caught:
        read_amount("20 mg", Dimension.MASS_PER_WEIGHT)
    assert caught.value.reason == 'is a mass, where a dose per kg is due: did you mean "mg/kg"?'
    assert caught.value.column == 4


def test_a_missing_unit_is_refused_with_the_units_that_serve() -> None:
    with pytest.raises(UnreadableAmountError, match="has no unit"):
        read_amount("20", Dimension.VOLUME)
    with pytest.raises(UnreadableAmountError, match="in mL"):
        read_amount("20", Dimension.VOLUME)


def test_forgetting_per_kg_is_never_read_as_a_dose_per_kg() -> None:
    assert read_amount("20 microgram").dimension is Dimension.MASS
    assert read_amount("20 microgram/kg").dimension is Dimension.MASS_PER_WEIGHT


@given(st.integers(0, 10**9), st.integers(0, 999_999))
def test_a_number_reads_exactly_as_its_digits_say(whole: int, millionths: int) -> None:
    assert read_number(f"{whole}.{millionths:06d}") == Fraction(whole * 10**6 + millionths, 10**6)


@pytest.mark.parametrize("text", ["", "1,45", "1.", ".5", "-1", "1e3", "0x1", "1 ", "7cmH2O", "\uff17", "1" * 41])
def test_a_text_that_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(UnreadableAmountError):
        read_number(text)


@given(st.integers(0, 99 * 7 + 6).filter(lambda days: days >= 70))
def test_a_gestation_reads_back_from_what_is_shown(days: int) -> None:
    assert read_gestation(str(Gestation(days))) == Gestation(days)


@pytest.mark.parametrize(
    "text", ["", "30", "30+7", "30+", "30 + 2", "30.2", "30,2", "3+2", "030+2", "30+2 ", "30+2\n", "\uff13\uff10+2"]
)
def test_a_text_that_is_no_gestation_is_refused(text: str) -> None:
    with pytest.raises(UnreadableGestationError, match="weeks, plus, days"):
        read_gestation(text)


@given(st.text())
def test_any_text_is_a_gestation_or_is_refused(text: str) -> None:
    try:
        gestation = read_gestation(text)
    except UnreadableGestationError:
        return
    assert str(gestation) == text
