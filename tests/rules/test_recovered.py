"""How much of a dose was recovered, what was given per kg, and from when a repeat could be given."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from trays import KIT, WARD, find_baby, give_before

from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.lines import DoseLine
from prepkit.kit.procedure import WardAfterwards
from prepkit.quantities.amount import make_amount
from prepkit.rules.dose.recovered import compute_given_per_kg, compute_recovered, find_repeat
from prepkit.wording.say import say, say_all

HALF = WardAfterwards(recovered_over=make_amount(50, "%"), then="tell the consultant.", source="HW-9")


@pytest.mark.parametrize(
    ("given_ml", "recovered_ml", "percent", "is_over"),
    [
        ("3.6", "0", 0, False),
        ("3.6", "1.7", Fraction(4250, 90), False),
        ("3.6", "1.8", 50, False),
        ("3.6", "1.9", Fraction(4750, 90), True),
        ("3", "4.5", 150, True),
    ],
)
def test_more_than_the_wards_line_is_over_it(
    given_ml: str, recovered_ml: str, percent: Fraction, is_over: bool
) -> None:
    found = compute_recovered(make_amount(given_ml, "mL"), make_amount(recovered_ml, "mL"), HALF)
    assert found.share.value == percent
    assert found.is_over is is_over


def test_the_working_can_be_redone_on_paper_and_calls_nothing_a_success() -> None:
    found = compute_recovered(make_amount("3.6", "mL"), make_amount("0.4", "mL"), HALF)
    assert say_all(found.working) == ("Share recovered: 0.4 mL ÷ 3.6 mL given = 11.1 % of the dose.",)


def test_over_the_wards_line_its_own_words_say_what_to_do_with_their_source() -> None:
    found = compute_recovered(make_amount("3.6", "mL"), make_amount("2", "mL"), HALF)
    assert say_all(found.working) == (
        "Share recovered: 2 mL ÷ 3.6 mL given = 55.6 % of the dose.",
        "Over the ward's 50 % (HW-9): tell the consultant.",
    )


@pytest.mark.parametrize("ward", [None, replace(HALF, recovered_over=None, then="")])
def test_without_a_line_of_the_wards_a_share_is_a_share(ward: WardAfterwards | None) -> None:
    found = compute_recovered(make_amount("3.6", "mL"), make_amount("3", "mL"), ward)
    assert found.is_over is None
    assert len(found.working) == 1


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
    found = compute_recovered(make_amount(Fraction(tenths, 10), "mL"), make_amount(Fraction(back, 10), "mL"), HALF)
    assert found.share.value == Fraction(back * 100, tenths)
    assert found.is_over == (2 * back > tenths)


def tell_repeat(*earlier: str) -> tuple[str, ...]:
    """What is said of a repeat after these doses, the last of which was given at the cot."""
    baby = find_baby(1450, **give_before(*earlier))
    line = next(each for each in KIT.model.line if isinstance(each, DoseLine) and each.id == "surfactant")
    had = baby.facts["earlier_surfactant"]
    assert isinstance(had, EarlierDoses)
    return say_all(find_repeat(line, KIT.model, WARD.model, baby, had))


# The intervals are those of the labels (clinical corrections, 1.2): poractant alfa about 12 h, beractant 6 h.
@pytest.mark.parametrize(
    ("dose", "said"),
    [
        (
            "poractant-alfa, 3.6 mL, 2026-11-24 20:41",
            "Poractant alfa: from 08:41 on 25 Nov at the earliest",
        ),
        ("beractant, 5.8 mL, 2026-11-24 20:41", "Beractant: from 02:41 on 25 Nov at the earliest"),
        ("poractant-alfa, not known, 2026-11-24 20:41", "Poractant alfa: from 08:41 on 25 Nov"),
    ],
)
def test_a_repeat_is_told_from_the_labels_interval_and_the_dose_just_given(dose: str, said: str) -> None:
    found = tell_repeat(dose)
    assert said in found[0]
    assert "h after 20:41." in found[0]
    assert "for babies who remain intubated" in found[1]


def test_where_the_course_is_full_no_hour_is_told() -> None:
    # US and UK texts, R2: a first dose and up to 2 repeats.
    course = ("200 mg/kg, 2026-11-23 02:00", "100 mg/kg, 2026-11-23 18:00", "100 mg/kg, 2026-11-24 20:00")
    (said,) = tell_repeat(*course)
    assert said == "No repeat of Poractant alfa: 3 doses of Poractant alfa given: its label allows 3 in all."


@pytest.mark.parametrize("dose", ["poractant-alfa, 3.6 mL, not known", "not known, not known, 2026-11-24 20:41"])
def test_of_a_dose_without_a_time_or_a_product_nothing_is_told(dose: str) -> None:
    assert tell_repeat(dose) == ()
