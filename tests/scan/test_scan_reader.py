"""Scans read: with separators, without them, and everything that has to be refused.

The product numbers begin with 952, which GS1 keeps for examples: none is a real product's.
"""

from collections.abc import Sequence
from datetime import date

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from prepkit.scan.fields import Unreadable, compute_check_digit
from prepkit.scan.reader import MOST_IN_A_SCAN, Scanned, read_scan

TODAY = date(2026, 11, 25)
GS = "\x1d"
GTIN = "09524000000002"
OTHER = "09524000000019"
CHARACTERS = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"

# Texts full of what looks like the next field, where a dropped separator does harm.
PIECES = st.sampled_from(["10", "17", "21", "01", "171231", "17271231", "11270101", "240", "712", GTIN, "A", "7", "X9"])
VALUES = st.one_of(
    st.lists(PIECES, min_size=1, max_size=6).map(lambda each: "".join(each)[:20]),
    st.text(CHARACTERS, min_size=1, max_size=20),
    st.text("0127", min_size=1, max_size=20),
)
GTINS = (
    st.text("0123456789", min_size=13, max_size=13).filter(int).map(lambda each: f"{each}{compute_check_digit(each)}")
)
# The window of years around the day the scans are read on.
DAYS = st.dates(date(1977, 1, 1), date(2076, 12, 31))


def compose(fields: Sequence[tuple[str, str]], separator: str) -> str:
    """Write the fields one after another, a separator after each of varying length but the last."""
    parts = [f"{ai}{value}{separator if ai in {'10', '21'} else ''}" for ai, value in fields]
    return "".join(parts).removesuffix(separator) if separator else "".join(parts)


@st.composite
def codes(draw: st.DrawFn) -> tuple[Scanned, list[tuple[str, str]]]:
    """A code with or without batch and serial number, its fields in any order."""
    gtin, day = draw(GTINS), draw(DAYS)
    batch, serial = draw(VALUES | st.just("")), draw(VALUES | st.just(""))
    fields = [("01", gtin), ("17", f"{day:%y%m%d}")]
    fields += [(ai, value) for ai, value in (("10", batch), ("21", serial)) if value]
    return Scanned(gtin, batch, day, serial), draw(st.permutations(fields))


@given(codes())
def test_a_code_with_its_separators_is_read_as_what_it_was_made_of(code: tuple[Scanned, list[tuple[str, str]]]) -> None:
    said, fields = code
    text = compose(fields, GS)
    found = read_scan(text, TODAY)
    if not said.batch:
        assert isinstance(found, Unreadable)
    elif GS in text:
        assert found == said
    else:
        check_without_separators(said, found)


@given(codes())
@example((Scanned(GTIN, "AB21", date(2027, 12, 31), ""), [("01", GTIN), ("17", "271231"), ("10", "AB21")]))
@settings(max_examples=400)
def test_a_code_whose_separators_were_dropped_is_read_right_or_refused(
    code: tuple[Scanned, list[tuple[str, str]]],
) -> None:
    said, fields = code
    check_without_separators(said, read_scan(compose(fields, ""), TODAY))


def check_without_separators(said: Scanned, found: Scanned | Unreadable) -> None:
    if isinstance(found, Unreadable):
        assert "two ways" in found.reason or (not said.batch and "no batch" in found.reason)
        return
    assert (found.gtin, found.batch, found.expiry) == (said.gtin, said.batch, said.expiry)
    assert found.serial in {said.serial, ""}


@given(st.text(max_size=60) | st.text(f"{CHARACTERS}{GS}", max_size=80) | st.text(f"01279{GS}()]d", max_size=80))
def test_whatever_is_typed_is_read_or_refused_in_plain_words(text: str) -> None:
    found = read_scan(text, TODAY)
    if isinstance(found, Unreadable):
        assert found.reason.isascii()
        assert found.reason.isprintable()


PLAIN = f"01{GTIN}1727123110AB12"
READ = Scanned(GTIN, "AB12", date(2027, 12, 31), "")


@pytest.mark.parametrize("prefix", ["", "]d2", "]C1", "]Q3", GS, f"]C1{GS}", "  "])
@pytest.mark.parametrize("ending", ["", "\r\n", "\t", GS])
def test_what_scanners_put_before_and_after_is_tolerated(prefix: str, ending: str) -> None:
    assert read_scan(prefix + PLAIN + ending, TODAY) == READ


@pytest.mark.parametrize(
    "text",
    [
        f"01{GTIN}10AB12{GS}17271231",
        f"10AB12{GS}01{GTIN}17271231",
        f"(01){GTIN}(17)271231(10)AB12",
        f"(01) {GTIN} (17) 271231 (10) AB12",
        f"01{GTIN}1127010117271231240X{GS}10AB12",
        f"01{GTIN}1727123191inner{GS}10AB12",
        f"01{GTIN}{GS}17271231{GS}10AB12",
        f"01{GTIN}1727123110AB12{GS}10AB12",
        f"01{GTIN}111011011727123110AB12",
    ],
)
def test_other_orders_and_other_fields_are_read(text: str) -> None:
    assert read_scan(text, TODAY) == READ


def test_a_serial_number_is_read() -> None:
    assert read_scan(f"01{GTIN}21S1{GS}1727123110AB12", TODAY) == Scanned(GTIN, "AB12", date(2027, 12, 31), "S1")
    assert read_scan(f"(01){GTIN}(21)S1(17)271231(10)AB12", TODAY) == Scanned(GTIN, "AB12", date(2027, 12, 31), "S1")


def test_day_00_is_the_last_of_the_month() -> None:
    found = read_scan(f"01{GTIN}1728020010AB12", TODAY)
    assert isinstance(found, Scanned)
    assert found.expiry == date(2028, 2, 29)


def test_a_serial_that_is_not_certain_is_left_out_where_batch_and_expiry_are() -> None:
    found = read_scan(f"01{GTIN}10AB1217271231215571299", TODAY)
    assert found == Scanned(GTIN, "AB12", date(2027, 12, 31), "")


REFUSED = {
    "empty": ("  ", "Nothing was scanned"),
    "too long": ("0" * (MOST_IN_A_SCAN + 1), "too long"),
    "very long": ("(01)" * 1_000_000, "too long"),
    "an escape sequence": (f"01{GTIN}\x1b[2J", "U+001B"),
    "a null": (f"01{GTIN}\x00", "U+0000"),
    "a line break inside": (f"01{GTIN}\n17271231", "U+000A"),
    "digits of another script": ("\u0660\u0661" + GTIN, "U+0660"),
    "a product number alone": (GTIN, "product number alone"),
    "a product number alone, of 13 digits": ("9524000000002", "product number alone"),
    "a product number alone, with its symbology": ("]E09524000000002", "product number alone"),
    "a web address": ("https://example.org/01/09524000000002", "No reading"),
    "two ways: a serial number or a longer batch": (
        f"01{GTIN}1727123110AB12217",
        "two ways: batch AB12, expiry 2027-12-31; or batch AB12217, expiry 2027-12-31",
    ),
    "two ways: which date": (f"01{GTIN}10A1727123117280101", "two ways"),
    "two ways: a date of production or a longer batch": (f"01{GTIN}10A1127010117271231", "two ways"),
    "a wrong check digit": (f"01{GTIN[:-1]}31727123110AB12", "No reading"),
    "a wrong check digit, with separators": (f"01{GTIN[:-1]}310AB12{GS}17271231", "3 stands where 2 is due"),
    "no such day": (f"01{GTIN}1727133110AB12", "No reading"),
    "no such day, with separators": (f"01{GTIN}10AB12{GS}17270230", "no day that exists (270230)"),
    "no such month, with separators": (f"01{GTIN}10AB12{GS}17271331", "no GS1 code has"),
    "no batch": (f"01{GTIN}17271231", "no batch"),
    "no batch, with separators": (f"01{GTIN}21S{GS}17271231", "no batch"),
    "no expiry, with separators": (f"01{GTIN}21S{GS}10AB12", "no expiry"),
    "no product number, with separators": (f"21S{GS}1727123110AB12", "no product number"),
    "a batch that is too long": (f"01{GTIN}17271231{GS}10{'A' * 21}", "too long"),
    "a field that is too long and looks like two": (f"01{GTIN}17271231{GS}10{'A' * 20}21S", "too long"),
    "the same field twice, each time another": (f"01{GTIN}17271231{GS}10A{GS}10B", "the batch twice"),
    "two products": (f"01{GTIN}01{OTHER}17271231{GS}10A", "the product number twice"),
    "a bracket inside a batch": (f"(01){GTIN}(17)271231(10)A(B", "brackets"),
    "brackets in the wrong places": (f"(01){GTIN}17271231(10)AB12", "brackets"),
    "brackets of no field": (f"(01){GTIN}(05)1", "no GS1 code"),
    "an unknown field": (f"05{GS}01{GTIN}", "no GS1 code"),
}


@pytest.mark.parametrize(("text", "said"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_read_one_way_is_refused_with_the_reason(text: str, said: str) -> None:
    found = read_scan(text, TODAY)
    assert isinstance(found, Unreadable), found
    assert said in found.reason
