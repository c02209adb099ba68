"""A second dose of surfactant: the repeat dose, what was given, when it may be given, and the total.

Poractant alfa: repeat 100 mg/kg, about 12 h after, 400 mg/kg in all; US prescribing information, status R.
"""

from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from trays import (
    DEMO_TEXT,
    KIT,
    NOW,
    WARD,
    change_ward,
    find_baby,
    find_line,
    give_before,
    make_fine_ward,
    make_ward,
    read,
    word_tray,
)

from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.lines import DoseLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.list.lines import ListLine
from prepkit.quantities.amount import convert, make_amount, multiply
from prepkit.rules.dose.course import prepare_doses
from prepkit.rules.findings import Finding
from prepkit.rules.rule import RuleContext
from prepkit.wording.say import say

LONDON = ZoneInfo("Europe/London")
FINE = make_fine_ward('[[stock]]\nproduct = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]\n')


def give_again(given: str, at: str, weight: int = 1450) -> ListLine:
    """At 03:00 on 25 November."""
    return find_line("surfactant", weight, ward=FINE, **give_before(f"{given} mg/kg, {at}"))


def test_a_second_dose_takes_the_repeat_dose() -> None:
    line = give_again("200", "2026-11-24 15:00")
    assert line.blocked == ""
    assert line.due == make_amount(145, "mg")
    assert line.exact == make_amount("1.8125", "mL")
    assert line.working[0].startswith("200 mg/kg was given before; with this dose 300 mg/kg of 400 mg/kg in all.")
    assert line.working[1].startswith("Repeat dose: 100 mg/kg × 1450 g (birth weight) = 145 mg.")
    assert all("[excerpt or account: " in sentence for sentence in line.working[:2])


def test_what_was_given_is_told_to_one_place() -> None:
    # 150 mg ÷ 1.45 kg = 103.448... mg/kg.
    line = find_line("surfactant", 1450, ward=FINE, **give_before("150 mg, 2026-11-24 12:00"))
    assert line.working[0].startswith("103.4 mg/kg was given before;")


@pytest.mark.parametrize("given", ["0.1", "1"])
def test_the_least_amount_given_before_makes_it_a_further_dose(given: str) -> None:
    line = give_again(given, "2026-11-24 15:00")
    assert line.due == make_amount(145, "mg")
    assert line.working[0].startswith(f"{given} mg/kg was given before")


def test_a_product_of_which_no_dose_is_stated_is_not_due() -> None:
    """`check` refuses such a kit; the rule does not lean on it."""
    kit = KIT.model
    line = next(each for each in kit.line if each.id == "surfactant")
    product = replace(next(each for each in kit.product if each.id == "poractant-alfa"), dose=None)
    assert isinstance(line, DoseLine)
    doses = prepare_doses(replace(line, dose=None, band=()), product, kit, read("5 %"))
    due = doses.find_due(RuleContext(kit, WARD.model, find_baby(1450), NOW, {}))
    assert isinstance(due, Finding)
    assert say(due) == "no dose of Poractant alfa is stated"


def test_nothing_given_is_a_first_dose() -> None:
    line = find_line("surfactant", 1450, ward=FINE, earlier_surfactant="none")
    assert line.due == make_amount(290, "mg")
    assert line.working[0].startswith("Dose: 200 mg/kg")


@pytest.mark.parametrize(
    ("at", "blocked"),
    [
        ("2026-11-24 15:00", ""),
        ("2026-11-24 14:59", ""),
        ("2026-11-24 15:01", "may be given from 03:01 on 25 Nov: 12 h after the last dose at 15:01 on 24 Nov"),
        ("2026-11-25 03:00", "may be given from 15:00 on 25 Nov: 12 h after the last dose at 03:00 on 25 Nov"),
        ("2026-11-24 23:30", "may be given from 11:30 on 25 Nov: 12 h after the last dose at 23:30 on 24 Nov"),
    ],
)
def test_before_its_interval_it_is_blocked_with_the_time_it_may_be_given(at: str, blocked: str) -> None:
    line = give_again("200", at)
    assert line.blocked == blocked
    assert (line.amount is None) == bool(blocked)


@pytest.mark.parametrize(
    ("given", "blocked"),
    [
        ("300", ""),
        ("300.1", "300.1 mg/kg given and 100 mg/kg more is 400.1 mg/kg: past 400 mg/kg in all"),
        ("400", "400 mg/kg given and 100 mg/kg more is 500 mg/kg: past 400 mg/kg in all"),
    ],
)
def test_the_total_may_be_reached_and_not_passed(given: str, blocked: str) -> None:
    assert give_again(given, "2026-11-24 15:00").blocked == blocked


def test_what_is_past_the_total_is_not_promised_for_later() -> None:
    assert "past 400 mg/kg in all" in give_again("400", "2026-11-25 02:00").blocked
    without_time = find_line("surfactant", 1450, ward=FINE, **give_before("400 mg/kg, not known"))
    assert "past 400 mg/kg in all" in without_time.blocked


def give_last(weight: int, ward: ParsedFile[Ward] = WARD) -> ListLine:
    """All that a course has left, after 300 of 400 mg/kg."""
    facts = give_before("200 mg/kg, 2026-11-23 15:00", "100 mg/kg, 2026-11-24 15:00")
    return find_line("surfactant", weight, ward=ward, **facts)


def test_rounding_keeps_to_the_total_where_the_mark_below_is_near_enough() -> None:
    # 140 mg is 1.75 mL; the nearest 0.1 mL would be 1.8 mL, which is past what is left of the course.
    line = give_last(1400)
    assert line.exact == make_amount("1.75", "mL")
    assert line.amount == make_amount("1.7", "mL")
    assert any("down, since the nearest mark would be more than the course has left" in each for each in line.working)
    assert not any("brings the course" in each for each in line.cautions)
    free = find_line("surfactant", 1400, ward=WARD, **give_before("200 mg/kg, 2026-11-24 15:00"))
    assert free.amount == make_amount("1.8", "mL")


def test_a_last_dose_takes_the_nearest_mark_where_the_one_below_is_too_far_off_and_says_so() -> None:
    # 127 mg is 1.5875 mL; 1.5 mL is 5.5 % less, 1.6 mL is 0.8 % more: 100.8 mg/kg.
    line = give_last(1270)
    assert line.blocked == ""
    assert line.amount == make_amount("1.6", "mL")
    assert line.cautions[0] == "The mark brings the course to 400.8 mg/kg: a little over the 400 mg/kg in all."


def test_a_caution_of_very_little_over_the_total_still_says_more_than_the_total() -> None:
    # 399.9 mg is 4.99875 mL; 5 mL is 0.025 % more, 4.8 mL is 4 % less.
    near = change_ward(WARD, deviation=read("1 %"))
    assert give_last(3999, near).cautions[0] == (
        "The mark brings the course to 400.03 mg/kg: a little over the 400 mg/kg in all."
    )
    # 160 mg is 2 mL, which is a mark.
    assert not any("brings the course" in each for each in give_last(1600, near).cautions)


@settings(max_examples=60, deadline=None)
@given(weight=st.integers(1200, 5000), allowed=st.sampled_from(["1 %", "5 %", "20 %"]))
def test_a_course_is_never_over_its_total_by_more_than_half_a_mark(weight: int, allowed: str) -> None:
    line = give_last(weight, change_ward(WARD, deviation=read(allowed)))
    if line.blocked:
        return
    assert line.amount is not None
    assert line.exact is not None
    assert line.syringe is not None
    over = convert(line.amount, "mL").value - convert(line.exact, "mL").value
    assert over * 2 <= convert(line.syringe.marks, "mL").value
    assert any("brings the course" in each for each in line.cautions) == (over > 0)


@settings(max_examples=60, deadline=None)
@given(weight=st.integers(1200, 5000), given_before=st.sampled_from(["0", "200", "300"]))
def test_no_dose_of_a_course_passes_the_most_in_one_dose(weight: int, given_before: str) -> None:
    most = read("150 mg")
    capped = tuple(replace(row, most=most) if row.id == "surfactant" else row for row in KIT.model.line)
    kit = replace(KIT, model=replace(KIT.model, line=capped))
    facts = {} if given_before == "0" else give_before(f"{given_before} mg/kg, 2026-11-24 15:00")
    line = find_line("surfactant", weight, kit=kit, ward=change_ward(WARD, deviation=read("20 %")), **facts)
    assert line.due is None or line.due <= most
    if line.amount is not None:
        assert line.recipe is not None
        assert multiply(line.amount, line.recipe.strength, "mg") <= most


def test_a_product_without_a_repeat_dose_is_not_given_again() -> None:
    own = """
[[product]]
id = "poractant-alfa"
name = "Poractant alfa"
strength = "80 mg/mL"
container = "vial"
holds = ["3 mL"]
dose = "200 mg/kg"
basis = "local"
"""
    ward = make_ward(DEMO_TEXT + own)
    assert find_line("surfactant", 1450, ward=ward).blocked == ""
    line = find_line("surfactant", 1450, ward=ward, **give_before("200 mg/kg, 2026-11-24 15:00"))
    reason = "given before: Poractant alfa, 200 mg/kg, 24 Nov 15:00; no repeat dose of Poractant alfa is stated"
    assert line.blocked == f"{reason} (ward's own; the kit's: 1.8 mL)"


def test_what_is_not_due_of_the_first_choice_is_not_given_as_the_second() -> None:
    # Beractant may be repeated after 6 h: US prescribing information, R.
    names = ("poractant-alfa", "beractant")
    ward = make_fine_ward("".join(f'[[stock]]\nproduct = "{name}"\nholds = ["4 mL"]\n' for name in names))
    line = find_line("surfactant", 1450, ward=ward, **give_before("100 mg/kg, 2026-11-24 19:00"))
    assert "may be given from 07:00 on 25 Nov" in line.blocked


def test_hours_are_counted_across_a_change_of_the_clocks() -> None:
    # In London the clocks go back at 02:00 on 25 October 2026: 12 h after 20:00 is 07:00.
    early, due = datetime(2026, 10, 25, 6, 59, tzinfo=LONDON), datetime(2026, 10, 25, 7, 0, tzinfo=LONDON)
    lines = [
        find_line(
            "surfactant",
            1450,
            ward=FINE,
            now=now,
            **give_before("200 mg/kg, 2026-10-24 20:00"),
        )
        for now in (early, due)
    ]
    assert lines[0].blocked == "may be given from 07:00 on 25 Oct: 12 h after the last dose at 20:00 on 24 Oct"
    assert lines[1].blocked == ""


def test_the_time_is_told_on_the_clock_of_the_ward() -> None:
    there = timezone(timedelta(hours=5, minutes=30))
    line = find_line(
        "surfactant",
        1450,
        ward=FINE,
        now=datetime(2026, 11, 25, 8, 30, tzinfo=there),
        **give_before("200 mg/kg, 2026-11-24 15:01+00:00"),
    )
    assert line.blocked == "may be given from 08:31 on 25 Nov: 12 h after the last dose at 20:31 on 24 Nov"


def test_an_earlier_dose_that_has_not_been_yet_is_not_counted_from() -> None:
    """A clock that was set back, or a record of another machine: what is typed in the future is refused before."""
    baby = find_baby(1450)
    for minutes, blocked in (
        (0, "may be given from 15:00"),
        (1, "recorded at 03:01 on 25 Nov, which has not been yet"),
    ):
        dose = EarlierDose("poractant-alfa", read("200 mg/kg"), NOW + timedelta(minutes=minutes))
        facts = {**baby.facts, "earlier_surfactant": EarlierDoses((dose,))}
        tray = word_tray(compute_list(KIT, FINE, replace(baby, facts=facts), {}, NOW))
        line = next(line for line in tray.lines if line.id == "surfactant")
        assert blocked in line.blocked
        assert line.amount is None


def test_more_given_than_a_whole_course_is_a_slip_to_look_at() -> None:
    # Calfactant: 315 mg/kg in all, US prescribing information, R.
    ward = make_fine_ward('[[stock]]\nproduct = "calfactant"\nholds = ["3 mL"]\n')
    line = find_line("surfactant", 1450, ward=ward, **give_before("calfactant, 400 mg/kg, 2026-11-20 15:00"))
    most = "more than the 315 mg/kg of a whole course of Calfactant"
    assert line.blocked == f"400 mg/kg is recorded as given before, {most}: look at the amount"
    line = find_line("surfactant", 1450, ward=ward, **give_before("calfactant, 315 mg/kg, 2026-11-20 15:00"))
    assert "315 mg/kg given and 105 mg/kg more is 420 mg/kg: past 315 mg/kg in all" in line.blocked


@pytest.mark.parametrize(
    ("now", "at", "since"),
    [
        # Clocks go back at 01:00 UTC on 25 October 2026, forward at 01:00 UTC on 29 March 2026 (Europe/London).
        (datetime(2026, 10, 25, 6, 59, tzinfo=LONDON), "2026-10-24 20:00", "07:00 on 25 Oct"),
        (datetime(2026, 3, 29, 8, 59, tzinfo=LONDON), "2026-03-28 20:00", "09:00 on 29 Mar"),
    ],
)
def test_the_due_time_is_right_on_the_wall_clock_across_a_change(now: datetime, at: str, since: str) -> None:
    given = give_before(f"200 mg/kg, {at}")
    assert f"may be given from {since}" in find_line("surfactant", 1450, ward=FINE, now=now, **given).blocked
    later = now + timedelta(minutes=1)
    assert find_line("surfactant", 1450, ward=FINE, now=later, **given).blocked == ""


@pytest.mark.parametrize(
    "dose", ["poractant-alfa, not known, 2026-11-24 12:00", "not known, 200 mg/kg, 2026-11-24 12:00"]
)
def test_doses_that_are_not_known_in_full_never_bar_the_next(dose: str) -> None:
    line = find_line("surfactant", 1450, ward=FINE, **give_before(*[dose] * 4))
    assert (line.blocked, line.due) == ("", make_amount(145, "mg"))
