"""What a baby had before, counted: each dose whole, against the total as what was due, and the rest of one in part.

Figures are invented: 200 mg/kg first and 100 mg/kg after, of 80 mg/mL or 25 mg/mL, at 2 kg; marks may be 5 % off.
"""

from fractions import Fraction

import pytest

from prepkit.kit.earlier import EarlierDose
from prepkit.quantities.text import read_amount
from prepkit.rules.dose.history import DoseCounter, DosesHad


def make(amount: str, product: str = "strong", part_of: str = "", *, is_rest: bool = False) -> EarlierDose:
    of = read_amount(part_of) if part_of else None
    return EarlierDose(product, read_amount(amount) if amount else None, None, part_of=of, is_rest=is_rest)


def count(*doses: EarlierDose, weight: str = "2000 g") -> DosesHad:
    counter = DoseCounter(
        {"strong": read_amount("80 mg/mL"), "weak": read_amount("25 mg/mL")},
        read_amount(weight) if weight else None,
        Fraction(200),
        Fraction(100),
        Fraction(5),
    )
    return counter.count(doses)


def test_no_dose_is_nothing_and_leaves_no_rest() -> None:
    assert count() == DosesHad((), (), None)


@pytest.mark.parametrize(
    ("amount", "product", "given"),
    # By hand, at 2 kg: 320 mg are 160 mg/kg; 3 mL of 80 mg/mL are 240 mg, of 25 mg/mL 75 mg.
    [
        ("170 mg/kg", "strong", "170"),
        ("320 mg", "strong", "160"),
        ("320000 microgram", "strong", "160"),
        ("3 mL", "strong", "120"),
        ("3 mL", "weak", "37.5"),
    ],
)
def test_a_dose_counts_what_was_given_by_the_strength_of_what_it_was_of(amount: str, product: str, given: str) -> None:
    assert count(make(amount, product)) == DosesHad((Fraction(given),), (Fraction(given),), None)


@pytest.mark.parametrize(
    ("amounts", "counted"),
    # 5 % of 200 is 10, and of 100 it is 5; both edges belong to it.
    [
        (("190 mg/kg",), ("200",)),
        (("210 mg/kg",), ("200",)),
        (("189.9 mg/kg",), ("189.9",)),
        (("210.1 mg/kg",), ("210.1",)),
        (("200 mg/kg", "105 mg/kg", "95 mg/kg"), ("200", "100", "100")),
        (("100 mg/kg", "105.1 mg/kg", "94.9 mg/kg"), ("100", "105.1", "94.9")),
        (("200 mg/kg", "200 mg/kg"), ("200", "200")),
    ],
)
def test_a_dose_within_the_deviation_counts_as_what_was_due_and_whole_as_given(
    amounts: tuple[str, ...], counted: tuple[str, ...]
) -> None:
    had = count(*map(make, amounts))
    assert had.given == tuple(Fraction(amount.partition(" ")[0]) for amount in amounts)
    assert had.counted == tuple(map(Fraction, counted))
    assert had.total_given.value == sum(had.given)
    assert had.total_counted.value == sum(had.counted)


def test_what_nobody_knows_counts_as_what_was_due() -> None:
    assert count(make(""), make("")).given == (200, 100)
    # Without the weight that doses are per kg of a mass or a volume says nothing; an amount per kg still does.
    had = count(make("320 mg"), make("3 mL"), make("70 mg/kg"), weight="")
    assert had == DosesHad(
        (Fraction(200), Fraction(100), Fraction(70)), (Fraction(200), Fraction(100), Fraction(70)), None
    )


def test_the_rest_of_a_dose_in_part_is_what_was_due_less_what_was_given() -> None:
    # 400 mg are 200 mg/kg at 2 kg, and 150 mg 75 mg/kg.
    assert count(make("150 mg", part_of="400 mg")).rest == 125
    assert count(make("200 mg/kg"), make("50 mg/kg", part_of="200 mg")).rest == 50
    # 190 mg/kg are short by 5 %, which a mark may be.
    assert count(make("190 mg/kg", part_of="400 mg")).rest is None
    assert count(make("189.9 mg/kg", part_of="400 mg")).rest == Fraction("10.1")
    assert count(make("210 mg/kg", part_of="400 mg")).rest is None


def test_there_is_no_rest_of_a_whole_dose_of_an_older_one_or_without_a_weight() -> None:
    assert count(make("150 mg")).rest is None
    assert count(make("150 mg", part_of="400 mg"), make("100 mg/kg")).rest is None
    assert count(make("75 mg/kg", part_of="400 mg"), weight="").rest is None


def test_a_dose_and_its_rests_are_one() -> None:
    had = count(
        make("60 mg/kg", part_of="400 mg"),
        make("50 mg/kg", is_rest=True),
        make("90 mg/kg", is_rest=True),
        make("40 mg/kg", part_of="200 mg"),
        make("20 mg/kg", is_rest=True),
    )
    assert had == DosesHad((Fraction(200), Fraction(60)), (Fraction(200), Fraction(60)), Fraction(40))


def test_a_rest_of_a_dose_that_nobody_wrote_down_is_a_dose() -> None:
    assert count(make("50 mg/kg", is_rest=True), make("100 mg/kg")).given == (50, 100)
