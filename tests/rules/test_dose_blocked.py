"""What blocks a dose, to the letter: the reason, the nearest miss, the working that is left. Figures are invented."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from dose_scene import NINTHS, OTHER, SMALL, UNDILUTED, WEAK, draw, draw_ranged, find_outcome
from msgspec.structs import replace
from trays import KIT, WARD, change_ward, expect, give_before, make_small_kit, read

from prepkit.kit.spans import WeightSpan, Where
from prepkit.rules.rule import Order

SAME = 'substance = "Other"\n'
EITHER = UNDILUTED + 'use = ["weak", "undiluted"]\n'


def test_the_nearest_miss_goes_by_what_share_of_the_need_there_is() -> None:
    # The recipe makes 10 of 20 mL; 2 mL are 95 % of the label's least. Then 80 % of 12.5 mL, and 31 % of 4 mL.
    label = draw(2000, EITHER, product='least_volume = "2.1 mL"').blocked
    assert label == "Drug 10 mg/mL: 2 mL is under the 2.1 mL that its label allows"
    made = draw(1250, EITHER, product='least_volume = "4 mL"').blocked
    assert made == "Drug 1 mg/mL: 12.5 mL is more than the 10 mL its recipe makes"


def test_a_miss_is_told_to_four_places() -> None:
    made = draw(1200, WEAK, line='most = "10.00007 mg"').blocked
    assert made == "Drug 1 mg/mL: 10.0001 mL is more than the 10 mL its recipe makes"
    # 10.7 mg ÷ 9 mg/mL = 1.18888... mL.
    bound = NINTHS.replace('basis = "common practice"', 'basis = "common practice"\nleast_volume = "1.5 mL"')
    label = draw(1070, OTHER, small=bound).blocked
    assert label == "Other 9 mg/mL: 1.1889 mL is under the 1.5 mL that its label allows"


def test_what_is_far_too_much_for_every_syringe_is_still_nearer_than_what_the_label_bars() -> None:
    found = draw(3000, UNDILUTED + OTHER, product=f'{SAME}where = {{ birth_weight = {{ at_least = "5000 g" }} }}')
    assert (found.blocked, found.is_unmeasured) == ("Other 5 mg/mL: 6 mL does not fit a 2 mL syringe", True)


def test_whole_containers_need_no_mark() -> None:
    # 1.99 mL lies between the marks of 0.1 mL.
    found = draw_ranged(1500, "1.99 mL")
    assert (found.blocked, found.show, found.is_whole) == ("", "1.99 mL", True)


def test_where_nothing_measures_it_each_miss_is_named_once_under_the_sums() -> None:
    found = draw(300, UNDILUTED + 'use = ["undiluted", "weak"]\n' + OTHER, line='most = "0.44 mg"', product=SAME)
    # Of at least 0.5 mL: 0.044 mL, nearest to no mark at all; 0.44 mL, at 0.4 mL; 0.088 mL, whose mark passes the most.
    assert found == expect(
        blocked="Drug 1 mg/mL: 0.4 mL is under the 0.5 mL that a 2 mL syringe measures",
        due=read("440 microgram"),
        capped=read("440 microgram"),
        is_unmeasured=True,
        working=(
            "Dose: 10 mg/kg × 300 g (birth weight) = 3 mg. [published: Invented book 2020]",
            "No single dose is more than 440 microgram: the dose is 440 microgram. [published: Invented book 2020]",
            "Not: Drug 10 mg/mL: 0 mL is under the 0.5 mL that a 2 mL syringe measures.",
            "Not: Drug 1 mg/mL: 0.4 mL is under the 0.5 mL that a 2 mL syringe measures.",
            "Not: Other 5 mg/mL: 0 mL is under the 0.5 mL that a 2 mL syringe measures.",
        ),
    )


def test_what_the_label_bars_is_no_want_of_a_syringe() -> None:
    found = draw(1200, product='where = { birth_weight = { at_least = "2000 g" } }')
    assert found == expect(
        blocked="Drug: its label is for birth weight at least 2000 g",
        due=read("12 mg"),
        working=(
            "Dose: 10 mg/kg × 1200 g (birth weight) = 12 mg. [published: Invented book 2020]",
            "Not: Drug: its label is for birth weight at least 2000 g.",
        ),
    )


def test_a_strength_that_nearly_serves_is_nearer_than_a_product_that_the_label_bars() -> None:
    found = draw(
        300,
        UNDILUTED + OTHER,
        product=f'{SAME}where = {{ birth_weight = {{ at_least = "2000 g" }} }}',
        line='most = "0.5 mg"',
    )
    assert found.blocked == "Other 5 mg/mL: 0.1 mL is under the 0.5 mL that a 2 mL syringe measures"
    assert found.is_unmeasured


@pytest.mark.parametrize(
    ("weight", "blocked"),
    # The recipe makes 10 mL, and the syringe holds 2.
    [(1050, "Drug 1 mg/mL: 10.5 mL is more than the 10 mL its recipe makes"), (900, "does not fit a 2 mL syringe")],
)
def test_a_recipe_that_makes_too_little(weight: int, blocked: str) -> None:
    assert blocked in draw(weight, WEAK).blocked


def test_without_a_ward_file_a_dose_of_the_kits_own_keeps_its_sum() -> None:
    blocked = "no ward file: which strengths and syringes are in stock is not known"
    kit = make_small_kit(SMALL.format(line="", product="", route="intravenous"))
    sum_of_it = "Dose: 10 mg/kg × 1200 g (birth weight) = 12 mg. [published: Invented book 2020]"
    assert find_outcome("it", 1200, kit, None) == expect(blocked=blocked, due=read("12 mg"), working=(sum_of_it,))
    capped = make_small_kit(SMALL.format(line="", product='most = "11 mg"', route="intravenous"))
    assert find_outcome("it", 1200, capped, None).due == read("11 mg")
    own = "The dose is the stocked product's own."
    assert find_outcome("surfactant", 1450, ward=None) == expect(blocked=blocked, working=(own,))


def test_nothing_in_stock_says_so_in_its_working_too() -> None:
    none = "Nothing in stock to draw it up from."
    assert draw(1200, "") == expect(blocked="the ward file stocks no Drug or Other", working=(none,))


def test_what_is_not_due_says_that_nothing_is_drawn_up() -> None:
    found = find_outcome("surfactant", 1450, **give_before("200 mg/kg, 2026-11-25 02:00"))
    reason = "may be given from 14:00 on 25 Nov: 12 h after the last dose at 02:00 on 25 Nov"
    assert found == expect(blocked=reason, working=(f"Nothing is drawn up: {reason}.",))


@pytest.mark.parametrize(
    ("order", "what", "reason"),
    [
        (Order("gone", "RA"), '"gone", measured', "it is not in stock for this line any more"),
        (
            Order("gone", "RA", "whole", read("3 mL")),
            '"gone", whole containers, 3 mL',
            "it is not in stock for this line any more",
        ),
        (Order("beractant", "RA"), "Beractant, measured", "it is not in stock for this line any more"),
        (
            Order("beractant", "RA", "whole", read("4 mL")),
            "Beractant, whole vials, 4 mL",
            "it is not in stock for this line any more",
        ),
        (
            Order("poractant-alfa", "RA", "whole", read("6 mL")),
            "Poractant alfa, whole vials, 6 mL",
            "6 mL = 331.0345 mg/kg, outside 100–200 mg/kg for a first dose",
        ),
        (
            Order("poractant-alfa", "RA", "whole", read("2 mL")),
            "Poractant alfa, whole vials, 2 mL",
            "the vials in stock do not make 2 mL",
        ),
    ],
)
def test_an_order_that_cannot_be_kept_is_named_with_the_reason(order: Order, what: str, reason: str) -> None:
    assert find_outcome("surfactant", 1450, order=order) == expect(
        blocked=f"ordered by RA: {what}; {reason}: order again",
        working=(f"Nothing is drawn up, and nothing takes the place of what was ordered: {reason}.",),
    )


def test_an_order_to_measure_what_no_syringe_measures_names_the_nearest_miss() -> None:
    bare = change_ward(WARD, syringe=tuple(row for row in WARD.model.syringe if row.holds.value in {1, 5}))
    reason = "Poractant alfa 80 mg/mL: 10.5 mL does not fit a 5 mL syringe"
    found = find_outcome("surfactant", 4000, ward=bare, order=Order("poractant-alfa", "RA"))
    assert found.blocked == f"ordered by RA: Poractant alfa, measured; {reason}: order again"


@pytest.mark.parametrize(
    ("change", "order", "reason"),
    [
        ({"where": "2000 g"}, "3 mL", "Poractant alfa: its label is for birth weight at least 2000 g"),
        ({"most": "239 mg"}, "3 mL", "3 mL = 240 mg, more than the 239 mg in one dose"),
        ({"least_volume": "3.5 mL"}, "3 mL", "3 mL is under the 3.5 mL that its label allows"),
        ({"dose_range": ""}, "3 mL", "the label of Poractant alfa states no range for a first dose"),
    ],
)
def test_whole_vials_that_the_label_does_not_allow(change: dict[str, str], order: str, reason: str) -> None:
    values: dict[str, object] = {key: read(text) if text else None for key, text in change.items()}
    if "where" in values:
        values["where"] = Where(birth_weight=WeightSpan(at_least=read("2000 g")))
    products = tuple(replace(each, **values) if each.id == "poractant-alfa" else each for each in KIT.model.product)
    kit = replace(KIT, model=replace(KIT.model, product=products))
    found = find_outcome("surfactant", 1450, kit, order=Order("poractant-alfa", "RA", "whole", read(order)))
    assert found.blocked == f"ordered by RA: Poractant alfa, whole vials, {order}; {reason}: order again"


def test_whole_vials_that_no_two_syringes_hold() -> None:
    order = Order("poractant-alfa", "RA", "whole", read("4.5 mL"))
    small = tuple(row for row in WARD.model.syringe if row.route == "tracheal" and 2 < row.holds.value < 3)
    few = change_ward(WARD, syringe=small)
    # Two of 2.5 mL hold 5 mL: the dose and one air of 0.5 mL, but not two.
    assert (
        "4.5 mL does not fit a 2.5 mL syringe: order again"
        in find_outcome("surfactant", 1950, ward=few, order=order).blocked
    )
    found = find_outcome("surfactant", 1950, ward=change_ward(few, air=None), order=order)
    assert (found.blocked, found.syringes, found.syringe) == ("", 2, small[0])
    assert found.details[3] == "2 × 2.5 mL syringe"


def test_whole_vials_for_a_repeat_dose_are_refused_by_name() -> None:
    facts = give_before("200 mg/kg, 2026-11-24 12:00")
    found = find_outcome("surfactant", 1450, order=Order("poractant-alfa", "RA", "whole", read("3 mL")), **facts)
    assert "; a repeat dose is due, and whole vials are for a first dose: order again" in found.blocked


@pytest.mark.parametrize(
    ("at", "told"),
    # In London the hour from 01:00 on 25 October 2026 comes twice; 12 h after 13:30 summer time is the first 01:30.
    [("13:30", "01:30+01:00"), ("14:30", "01:30+00:00"), ("12:30", "00:30"), ("15:30", "02:30")],
)
def test_a_time_that_comes_twice_that_night_is_told_with_its_offset(at: str, told: str) -> None:
    now = datetime(2026, 10, 25, 0, 10, tzinfo=ZoneInfo("Europe/London"))
    found = find_outcome("surfactant", 1450, now=now, **give_before(f"200 mg/kg, 2026-10-24 {at}"))
    assert found.blocked == f"may be given from {told} on 25 Oct: 12 h after the last dose at {at} on 24 Oct"
