"""Which containers to open: least discarded, then fewest opened, against every possibility tried."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.rules.dose.vials import choose_vials
from prepkit.rules.rule import VialCount
from prepkit.wording.things import show_vials

TENTHS = st.integers(1, 120).map(lambda tenths: Fraction(tenths, 10))
SIZES = st.lists(st.integers(5, 80).map(lambda tenths: Fraction(tenths, 10)), min_size=1, max_size=3, unique=True)


def choose(volume: str | Fraction, *sizes: str | Fraction) -> tuple[tuple[VialCount, ...], Amount]:
    return choose_vials(make_amount(volume, "mL"), [make_amount(size, "mL") for size in sizes])


def find_best(volume: Fraction, sizes: list[Fraction]) -> tuple[Fraction, int]:
    """The least that any opening holds, and the fewest containers that hold it: every count up to what would do."""
    every = product(*(range(int(volume / size) + 2) for size in sizes))
    opened = [
        (sum((size * count for size, count in zip(sizes, counts, strict=True)), Fraction(0)), sum(counts))
        for counts in every
    ]
    return min(each for each in opened if each[0] >= volume)


@settings(max_examples=60, deadline=None)
@given(volume=TENTHS, sizes=SIZES)
def test_no_other_opening_discards_less_or_opens_fewer(volume: Fraction, sizes: list[Fraction]) -> None:
    vials, left = choose(volume, *sizes)
    held = sum((convert(vial.size, "mL").value * vial.count for vial in vials), Fraction(0))
    assert (held, sum(vial.count for vial in vials)) == find_best(volume, sizes)
    assert left.value == held - volume >= 0


@settings(max_examples=60, deadline=None)
@given(volume=TENTHS, sizes=SIZES)
def test_the_order_in_which_the_sizes_are_stocked_does_not_matter(volume: Fraction, sizes: list[Fraction]) -> None:
    vials, left = choose(volume, *sizes)
    assert choose(volume, *reversed(sizes)) == (vials, left)
    held = [vial.size.value for vial in vials]
    assert held == sorted(held, reverse=True)
    assert all(vial.count > 0 for vial in vials)


@pytest.mark.parametrize(
    ("volume", "words", "left"),
    # Poractant alfa comes in 1.5 and 3 mL: US prescribing information, status R.
    [
        ("0.1", "1.5 mL", "1.4"),
        ("1.5", "1.5 mL", "0"),
        ("1.6", "3 mL", "1.4"),
        ("3", "3 mL", "0"),
        ("3.6", "3 mL + 1.5 mL", "0.9"),
        ("4.6", "2 × 3 mL", "1.4"),
        ("7.6", "3 × 3 mL", "1.4"),
        ("10.5", "3 × 3 mL + 1.5 mL", "0"),
    ],
)
def test_vials_of_poractant_alfa(volume: str, words: str, left: str) -> None:
    vials, discard = choose(volume, "1.5", "3")
    assert show_vials(vials) == words
    assert discard == make_amount(left, "mL")


def test_less_waste_goes_before_fewer_vials() -> None:
    vials, left = choose("4", "2", "5")  # one of 5 mL would waste 1 mL
    assert (show_vials(vials), left) == ("2 × 2 mL", make_amount(0, "mL"))


def test_one_size_alone_is_opened_as_often_as_needed() -> None:
    vials, left = choose("8.1", "4")
    assert (show_vials(vials), left) == ("3 × 4 mL", make_amount("3.9", "mL"))
