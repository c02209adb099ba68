"""How much of a dose came back."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.quantities.amount import make_amount
from prepkit.rules.dose.aspirate import compute_aspirate, compute_given_per_kg
from prepkit.wording.say import say

HALF = make_amount(50, "%")


@pytest.mark.parametrize(
    ("given_ml", "came_back", "percent", "said"),
    [
        ("3.6", "0", 0, True),
        ("3.6", "1.7", Fraction(4250, 90), True),
        ("3.6", "1.8", 50, False),
        ("3", "4.5", 150, False),
    ],
)
def test_less_than_half_back_counts_as_delivered(given_ml: str, came_back: str, percent: Fraction, said: bool) -> None:
    """Clinical reference section 2.3: successful when less than half of the dose comes back (common practice)."""
    found = compute_aspirate(make_amount(given_ml, "mL"), make_amount(came_back, "mL"), HALF)
    assert found.share.value == percent
    assert found.is_delivered is said


def test_the_working_can_be_redone_on_paper() -> None:
    found = compute_aspirate(make_amount("3.6", "mL"), make_amount("0.4", "mL"), HALF)
    assert say(found.working) == "0.4 mL ÷ 3.6 mL = 11.1 % aspirated: counts as delivered (under 50 % does)."


def test_what_was_given_is_shown_per_kg() -> None:
    """By hand: 3 mL x 80 mg/mL = 240 mg; / 1.45 kg = 165.5 mg/kg."""
    per_kg, words = compute_given_per_kg(make_amount(3, "mL"), make_amount(80, "mg/mL"), make_amount(1450, "g"))
    assert per_kg.value == Fraction(240000, 1450)
    assert say(words) == "240 mg given (3 mL × 80 mg/mL), which is 165.5 mg/kg (1450 g)"


def test_due_in_the_syringe_and_given_are_three_masses() -> None:
    """By hand: 200 mg/kg x 1.45 kg = 290 mg due; 3.6 mL x 80 mg/mL = 288 mg; 3.5 mL x 80 = 280 mg, 193.1 mg/kg."""
    prepared = {"due": make_amount(290, "mg"), "in_syringe": make_amount(288, "mg")}
    given = make_amount("3.5", "mL")
    _, words = compute_given_per_kg(given, make_amount(80, "mg/mL"), make_amount(1450, "g"), **prepared)
    said = "290 mg due, 288 mg in the syringe, 280 mg given (3.5 mL × 80 mg/mL), which is 193.1 mg/kg (1450 g)"
    assert say(words) == said


def test_masses_are_told_to_two_places() -> None:
    """By hand: 1.1111 mL x 80 mg/mL = 88.888 mg."""
    prepared = {"due": make_amount("88.888", "mg"), "in_syringe": make_amount("87.776", "mg")}
    given = make_amount("1.1111", "mL")
    _, words = compute_given_per_kg(given, make_amount(80, "mg/mL"), make_amount(1000, "g"), **prepared)
    assert say(words).startswith("88.89 mg due, 87.78 mg in the syringe, 88.89 mg given (")


@given(st.integers(1, 400), st.integers(0, 400))
def test_the_share_is_the_plain_quotient(tenths: int, back: int) -> None:
    found = compute_aspirate(make_amount(Fraction(tenths, 10), "mL"), make_amount(Fraction(back, 10), "mL"), HALF)
    assert found.share.value == Fraction(back * 100, tenths)
    assert found.is_delivered == (2 * back < tenths)
