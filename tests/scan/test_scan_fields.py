"""Batch, expiry and GTIN, each by itself."""

from datetime import date

import pytest
from biip.checksums import gs1_standard_check_digit
from biip.gs1_element_strings import GS1ElementString
from hypothesis import given
from hypothesis import strategies as st

from prepkit.scan.fields import (
    Unreadable,
    compute_check_digit,
    compute_year,
    read_batch,
    read_expiry,
    read_gtin,
    read_six_digits,
)

TODAY = date(2026, 11, 25)


@given(st.text("0123456789", min_size=1, max_size=17))
def test_the_check_digit_is_biips(digits: str) -> None:
    assert compute_check_digit(digits) == gs1_standard_check_digit(digits)


# The example of a GTIN-13 with check digit 0 in biip's account of GS1 General Specifications 7.9.1; 952 is the prefix
# that GS1 keeps for examples.
@pytest.mark.parametrize("text", ["9501101531000", "09501101531000", "95012346"])
def test_a_gtin_is_read_as_14_digits(text: str) -> None:
    assert read_gtin(text) == text.zfill(14)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("9501101531001", "1 stands where 0 is due"),
        ("950110153100", "0 stands where 6 is due"),
        ("00000000000000", "zeros"),
        ("950110153100a", "digits"),
        ("٩٥٠١١٠١٥٣١٠٠٠", "digits"),
        ("95011015310000000", "digits"),
        ("", "digits"),
    ],
)
def test_a_gtin_that_cannot_be_right_is_refused(text: str, said: str) -> None:
    found = read_gtin(text)
    assert isinstance(found, Unreadable)
    assert said in found.reason


@pytest.mark.parametrize("typed", ["A", "ab/12-3_", "  LOT 7".replace(" ", ""), "(21)x", "!\"%&'()*+,-./:;<=>?_"])
def test_a_batch_is_kept_as_it_is_typed(typed: str) -> None:
    assert read_batch(f" {typed} ") == typed


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("  ", "empty"),
        ("A" * 21, "at most 20 characters (got 21)"),
        ("A B", "U+0020"),
        ("A#B", '"#"'),
        ("A\x1b[31mB", "U+001B"),
        ("Ä1", "U+00C4"),
        ("A\u202eB", "U+202E"),
        ("A\nB", "U+000A"),
    ],
)
def test_a_batch_of_a_wrong_form_is_refused_and_not_echoed_raw(typed: str, said: str) -> None:
    found = read_batch(typed)
    assert isinstance(found, Unreadable)
    assert said in found.reason
    assert found.reason.isascii()
    assert found.reason.isprintable()


@pytest.mark.parametrize(
    ("typed", "expiry"),
    [
        ("2027-03-31", date(2027, 3, 31)),
        (" 2027-03 ", date(2027, 3, 31)),
        ("2028-02", date(2028, 2, 29)),
        ("2027-02", date(2027, 2, 28)),
        ("2026-12-01", date(2026, 12, 1)),
    ],
)
def test_a_month_alone_is_its_last_day(typed: str, expiry: date) -> None:
    assert read_expiry(typed) == expiry


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "03/2027",
        "03-2027",
        "2027-3",
        "27-03",
        "2027-03-",
        "2027-13",
        "2027-02-29",
        "2027-00",
        "2027-01-00",
        "٢٠٢٧-03",
    ],
)
def test_another_form_of_expiry_is_refused_with_the_form(typed: str) -> None:
    found = read_expiry(typed)
    assert isinstance(found, Unreadable)
    assert "2027-03 (to the end of the month) or as 2027-03-31" in found.reason


@given(st.dates(date(1976, 1, 1), date(2075, 12, 31)))
def test_six_digits_are_read_back_within_the_window(day: date) -> None:
    """GS1's window around 2026: 49 years back and 50 ahead."""
    year_ahead = -49 <= day.year - TODAY.year <= 50
    found = read_six_digits(f"{day:%y%m%d}", TODAY)
    assert (found == day) == year_ahead


@pytest.mark.parametrize(
    ("today", "two_digits", "year"),
    [(2026, 76, 2076), (2026, 77, 1977), (2051, 1, 2101), (2051, 2, 2002), (2099, 0, 2100), (2000, 99, 1999)],
)
def test_the_window_of_years_moves_with_the_day_it_is_read_on(today: int, two_digits: int, year: int) -> None:
    assert compute_year(two_digits, date(today, 6, 1)) == year


@given(st.integers(0, 99))
def test_the_window_is_biips_for_the_year_of_its_clock(two_digits: int) -> None:
    """biip reads the clock, we are told: for the year it reads in, both say the same."""
    found = GS1ElementString.extract(f"17{two_digits:02}0601").date
    assert found is not None
    years = {compute_year(two_digits, date(year, 6, 1)) for year in _find_years_of_biips_clock()}
    assert found.year in years


def _find_years_of_biips_clock() -> set[int]:
    """The year of biip's clock, seen from where its window begins: no test of ours reads the clock."""
    firsts = {two: GS1ElementString.extract(f"17{two:02}0601").date for two in range(100)}
    return {min(found.year for found in firsts.values() if found is not None) + 49}


@pytest.mark.parametrize(
    ("digits", "day"),
    [("270200", date(2027, 2, 28)), ("280200", date(2028, 2, 29)), ("271200", date(2027, 12, 31))],
)
def test_day_00_is_the_last_of_the_month(digits: str, day: date) -> None:
    """Clinical reference, section 14."""
    assert read_six_digits(digits, TODAY) == day


@pytest.mark.parametrize("digits", ["271301", "270001", "270230", "270100x", "27010", "-70101", "٢٧٠١٠١"])
def test_no_day_is_made_of_digits_that_are_none(digits: str) -> None:
    assert read_six_digits(digits, TODAY) is None
