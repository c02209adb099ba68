"""Doses given before, as they are typed, kept and told; of a dose in part, what it is of and that its rest is one."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from trays import NOW

from prepkit.kit.earlier import MOST_DOSES, EarlierDose, EarlierDoses, read_earlier
from prepkit.kit.problems import Problem
from prepkit.quantities.text import read_amount

PRODUCTS = {"poractant-alfa": "Poractant alfa", "beractant": "Beractant"}
NOON = datetime(2026, 11, 24, 12, tzinfo=UTC)
DOSE = "poractant-alfa, 1.8 mL, 2026-11-24T12:00+00:00"
WRITE_SO = 'write product, amount, time: "poractant-alfa, 250 mg, 2026-11-28 08:00"; "not known" for any of them'


def read(typed: str) -> EarlierDoses | Problem:
    return read_earlier("Doses", typed, PRODUCTS, NOW)


def read_doses(typed: str) -> tuple[EarlierDose, ...]:
    found = read(typed)
    assert isinstance(found, EarlierDoses), found
    return found.doses


def test_a_dose_in_part_and_its_rest_read_back_as_they_are_written_and_are_told_so() -> None:
    typed = f"{DOSE}, part of 290 mg; {DOSE.replace('12:00', '13:00', 1)}, rest"
    part, rest = read_doses(typed)
    given = read_amount("1.8 mL")
    assert part == EarlierDose(
        "poractant-alfa", given, NOON, "Poractant alfa", part_of=read_amount("290 mg"), is_rest=False
    )
    later = NOON + timedelta(hours=1)
    assert rest == EarlierDose("poractant-alfa", given, later, "Poractant alfa", part_of=None, is_rest=True)
    assert str(EarlierDoses((part, rest))) == typed
    assert part.words() == "Poractant alfa, 1.8 mL, 24 Nov 12:00, part of 290 mg"
    assert rest.words() == "Poractant alfa, 1.8 mL, 24 Nov 13:00, the rest of it"


def test_a_whole_dose_is_neither_a_part_nor_a_rest() -> None:
    (dose,) = read_doses(DOSE)
    assert (dose.part_of, dose.is_rest) == (None, False)


@pytest.mark.parametrize("typed", ["", " ", "0", "None"])
def test_none_is_no_dose(typed: str) -> None:
    assert read(typed) == EarlierDoses()


def test_as_many_doses_as_a_slip_may_name_are_read_and_one_more_is_not() -> None:
    assert len(read_doses("; ".join([DOSE] * MOST_DOSES))) == MOST_DOSES
    wrong = f"{MOST_DOSES + 1} doses are more than any course has"
    assert read("; ".join([DOSE] * (MOST_DOSES + 1))) == Problem("", 0, "Doses", wrong, "look at the doses")


@pytest.mark.parametrize(
    ("typed", "wrong", "hint"),
    [
        ("200 mg", '"200 mg" is not a dose', WRITE_SO),
        (f"{DOSE}, some", f'"{DOSE[:40]}..." is not a dose', WRITE_SO),
        (f"{DOSE}, rest, rest", f'"{DOSE[:40]}..." is not a dose', WRITE_SO),
        (f"{DOSE}, part of 290 mg, rest", f'"{DOSE[:40]}..." is not a dose', WRITE_SO),
        (f"{DOSE}, part of it", '"it" does not begin with a number', 'such as "250 mg", "200 mg/kg" or "3.2 mL"'),
        (f"{DOSE}, part of 0 mg", '"0 mg" is not a dose', 'in mg, mg/kg or mL: "250 mg"'),
        ("poractant, 2 mL, not known", 'no product "poractant" is known', 'did you mean "poractant-alfa"?'),
        ("beractant, 2 cm, not known", '"2 cm" is not a dose', 'in mg, mg/kg or mL: "250 mg"'),
        ("beractant, x, not known", '"x" does not begin with a number', 'such as "250 mg", "200 mg/kg" or "3.2 mL"'),
    ],
)
def test_what_is_no_dose_is_a_problem_of_the_fact_with_what_to_write(typed: str, wrong: str, hint: str) -> None:
    assert read(typed) == Problem("", 0, "Doses", wrong, hint)


def test_what_the_hints_name_is_read() -> None:
    for amount in ("250 mg", "200 mg/kg", "3.2 mL"):
        assert read_doses(f"poractant-alfa, {amount}, 2026-11-24 08:00")[0].amount == read_amount(amount)


def test_a_moment_as_a_record_keeps_it_is_not_held_against_a_clock_that_was_set_back() -> None:
    late = "2026-11-26T08:00+01:00"
    (dose,) = read_doses(f"beractant, 4 mL, {late}")
    assert dose.at == datetime(2026, 11, 26, 8, tzinfo=timezone(timedelta(hours=1)))
    for typed in ("2026-11-26 08:00", "2026-11-26T08:00"):
        found = read(f"beractant, 4 mL, {typed}")
        assert isinstance(found, Problem), typed
        assert "has not been yet" in found.wrong
    # Of another form than a record's it is typed by hand.
    assert isinstance(read("beractant, 4 mL, 2026-11-26T08:00:00+01:00"), Problem)


def test_a_moment_without_an_offset_takes_the_wards() -> None:
    (dose,) = read_doses("beractant, 4 mL, 2026-11-24T08:00")
    assert dose.at is not None
    assert dose.at.utcoffset() == NOW.utcoffset()
