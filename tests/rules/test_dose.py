"""Doses.

Which strength, which syringe, which mark, and what stops them. Figures here are invented unless a source is named.
"""

from fractions import Fraction

import pytest
from dose_scene import SMALL as LINE
from trays import DEMO_TEXT, WARD, change_ward, find_line, make_fine_ward, make_small_kit, make_small_ward, make_ward

from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine
from prepkit.quantities.amount import convert, make_amount

WARD_TEXT = """
[[syringe]]
route = "intravenous"
holds = "1 mL"
marks = "0.01 mL"
least = "0.1 mL"

[[syringe]]
route = "intravenous"
holds = "5 mL"
marks = "0.2 mL"
least = "1 mL"

[[syringe]]
route = "tracheal"
holds = "2 mL"
marks = "0.1 mL"
least = "0.5 mL"

[[mixing]]
holds = "20 mL"

[[diluent]]
name = "glucose 5 %"
holds = ["10 mL"]

[[needle]]
gauge = "18 G blunt"

[[recipe]]
id = "weak"
product = "drug"
take = "1 mL"
add = "9 mL"
diluent = "glucose 5 %"
gives = "1 mg/mL"
basis = "local"
source = "ward list 4"
"""
DRUG = '[[stock]]\nproduct = "drug"\nholds = ["5 mL"]\nuse = [{use}]\n'
OTHER = '[[stock]]\nproduct = "other"\nholds = ["20 mL"]\n'


def draw(
    weight: int,
    stock: str = DRUG.format(use='"undiluted"'),
    *,
    line: str = "",
    product: str = "",
    route: str = "intravenous",
    head: str = "",
) -> ListLine:
    kit = make_small_kit(LINE.format(line=line, product=product, route=route))
    ward = make_small_ward(WARD_TEXT + stock, kit)
    if head:
        ward = make_small_ward(head + WARD_TEXT + stock, kit, head=HEAD)
    return find_line("it", weight, kit=kit, ward=ward)


HEAD = """
form = 1
name = "Invented ward"
edition = "1"
approver = "lead pharmacist"
review_by = 2030-01-01
"""


def test_the_dose_is_per_kg_times_the_weight_and_the_volume_the_dose_over_the_strength() -> None:
    line = draw(1234)
    assert line.due == make_amount("12.34", "mg")
    assert line.exact == make_amount("1.234", "mL")
    assert line.amount == make_amount("1.2", "mL")
    assert line.show == "1.2 mL"
    assert line.details[0] == "12 mg, 9.72 mg/kg (due 10)"


def test_half_way_between_two_marks_takes_the_larger() -> None:
    assert draw(500 + 5, head='deviation = "5 %"').amount == make_amount("0.51", "mL")  # 0.505 mL, marks 0.01 mL
    assert draw(504).amount == make_amount("0.5", "mL")
    assert draw(1300, head='deviation = "8 %"').amount == make_amount("1.4", "mL")  # marks 0.2 mL


def test_the_smallest_syringe_that_holds_and_measures_it_is_taken() -> None:
    assert [draw(weight).syringe.holds.value for weight in (1000, 1001, 1004)] == [1, 1, 1]  # type: ignore[union-attr]
    line = draw(1006)  # 1.006 mL is 1.01 mL at a mark: past the 1 mL syringe
    assert line.syringe is not None
    assert line.syringe.holds == make_amount(5, "mL")


def test_the_wards_order_of_recipes_is_kept() -> None:
    both = draw(500, DRUG.format(use='"undiluted", "weak"'))
    assert both.recipe is not None
    assert (both.recipe.id, both.show) == ("undiluted", "0.5 mL")
    turned = draw(400, DRUG.format(use='"weak", "undiluted"'))
    assert turned.recipe is not None
    assert (turned.recipe.id, turned.show) == ("weak", "4 mL")
    # 6 mL of the weak one fits no syringe: the second choice serves.
    second = draw(600, DRUG.format(use='"weak", "undiluted"'))
    assert second.recipe is not None
    assert (second.recipe.id, second.show) == ("undiluted", "0.6 mL")


def test_the_wards_order_of_products_is_kept() -> None:
    assert "Drug 10 mg/mL" in draw(500, DRUG.format(use='"undiluted"') + OTHER).details
    assert "Other 5 mg/mL" in draw(500, OTHER + DRUG.format(use='"undiluted"')).details


def test_a_recipe_is_taken_from_its_ampoules_and_leaves_nothing_to_report() -> None:
    line = draw(400, DRUG.format(use='"weak"'))
    assert [(vial.size, vial.count) for vial in line.vials] == [(make_amount(5, "mL"), 1)]  # 1 mL of a 5 mL ampoule
    small = draw(400, DRUG.format(use='"weak"').replace("5 mL", "2 mL"))  # 4 mL are drawn up, of 1 mL from the ampoule
    assert [(vial.size, vial.count) for vial in small.vials] == [(make_amount(2, "mL"), 1)]
    assert line.discard is None
    assert any(
        "1 mL of Drug 10 mg/mL + 9 mL glucose 5 % = 10 mL of 1 mg/mL [local: ward list 4]" in s for s in line.working
    )


def test_more_than_a_recipe_makes_is_a_miss() -> None:
    ward = make_fine_recipe()
    kit = make_small_kit(LINE.format(line="", product="", route="intravenous"))
    assert find_line("it", 1000, kit=kit, ward=ward).show == "10 mL"
    blocked = find_line("it", 1001, kit=kit, ward=ward).blocked
    assert blocked == "Drug 1 mg/mL: 10.01 mL is more than the 10 mL its recipe makes"


def make_fine_recipe() -> ParsedFile[Ward]:
    kit = make_small_kit(LINE.format(line="", product="", route="intravenous"))
    recipe = WARD_TEXT[WARD_TEXT.index("[[mixing]]") :]
    return make_fine_ward(recipe + DRUG.format(use='"weak"'), kit)


def test_rounding_does_not_pass_what_a_recipe_makes() -> None:
    kit = make_small_kit(LINE.format(line="", product="", route="intravenous"))
    text = WARD_TEXT.replace('marks = "0.2 mL"', 'marks = "0.5 mL"').replace('take = "1 mL"', 'take = "0.43 mL"')
    text = text.replace('add = "9 mL"', 'add = "3.87 mL"')
    ward = make_small_ward(text + DRUG.format(use='"weak"'), kit)
    line = find_line("it", 429, kit=kit, ward=ward)  # 4.29 of 4.3 mL; the nearest mark would be 4.5 mL
    assert line.blocked == "Drug 1 mg/mL: rounding 4.29 mL to the marks of a 5 mL syringe moves the dose by 6.8 %"


def test_under_the_least_volume_of_every_syringe_the_line_is_blocked_and_names_the_nearest_miss() -> None:
    line = draw(300, DRUG.format(use='"undiluted"'), line='most = "0.5 mg"')
    assert line.blocked == "Drug 10 mg/mL: 0.05 mL is under the 0.1 mL that a 1 mL syringe measures"
    assert (line.amount, line.exact, line.show, line.vials, line.syringe) == (None, None, "", (), None)
    assert line.due == make_amount(500, "microgram")


def test_the_nearest_miss_is_the_strength_that_came_nearest_whatever_its_place() -> None:
    stock = DRUG.format(use='"undiluted"') + OTHER
    # 0.05 mL of one and 0.1 - a little of the other: the weaker is nearer to what the syringe measures.
    line = draw(300, stock, line='most = "0.49 mg"', product='substance = "other"')
    assert line.blocked.startswith("Other 5 mg/mL: 0.09 mL is under")
    assert any("Not: Drug 10 mg/mL: 0.04" in sentence for sentence in line.working)
    turned = draw(300, OTHER + DRUG.format(use='"undiluted"'), line='most = "0.49 mg"', product='substance = "other"')
    assert turned.blocked == line.blocked


def test_too_much_for_every_syringe_names_the_largest() -> None:
    line = draw(6000)
    assert line.blocked == "Drug 10 mg/mL: 6 mL does not fit a 5 mL syringe"


@pytest.mark.parametrize(
    ("allowed", "weight", "serves"),
    # 1.1 mL between the marks 1.0 and 1.2 mL: up by 9.0909 %.
    [("9.1 %", 1100, True), ("9.09 %", 1100, False), ("5 %", 1100, False), ("5 %", 1200, True), ("0.01 %", 1200, True)],
)
def test_rounding_past_the_wards_deviation_is_refused(allowed: str, weight: int, *, serves: bool) -> None:
    line = draw(weight, head=f'deviation = "{allowed}"')
    assert bool(line.blocked) != serves
    if not serves:
        assert line.blocked == "Drug 10 mg/mL: rounding 1.1 mL to the marks of a 5 mL syringe moves the dose by 9.1 %"


def test_the_deviation_is_shown_with_its_sign() -> None:
    assert any("(+1.7 % from exact)" in sentence for sentence in draw(1180).working)
    assert any("(\N{MINUS SIGN}1.6 % from exact)" in sentence for sentence in draw(1220).working)
    assert any("(exactly on a mark)" in sentence for sentence in draw(1200).working)


def test_a_mark_under_a_syringes_least_volume_is_not_used_though_the_exact_volume_is_over_it() -> None:
    text = 'deviation = "20 %"\n' + WARD_TEXT.replace('least = "1 mL"', 'least = "1.05 mL"')
    kit = make_small_kit(LINE.format(line="", product="", route="intravenous"))
    ward = make_small_ward(text + DRUG.format(use='"undiluted"'), kit, head=HEAD)
    assert "1 mL is under the 1.05 mL" in find_line("it", 1080, kit=kit, ward=ward).blocked
    assert find_line("it", 1110, kit=kit, ward=ward).show == "1.2 mL"


@pytest.mark.parametrize(("weight", "dose", "mark"), [(1090, "10.9", "1"), (1179, "11.79", "1"), (1201, "11.9", "1")])
def test_neither_the_dose_nor_its_rounding_passes_the_ceiling(weight: int, dose: str, mark: str) -> None:
    # A most of 11.9 mg is 1.19 mL: the mark at 1.2 mL is past it, also for a dose that only rounds to it.
    line = draw(weight, line='most = "11.9 mg"', head='deviation = "20 %"')
    assert line.due == make_amount(dose, "mg")
    assert line.amount == make_amount(mark, "mL")


def test_a_mark_held_down_by_the_ceiling_says_why() -> None:
    line = draw(1190, line='most = "11.9 mg"', head='deviation = "20 %"')
    assert line.show == "1 mL"
    assert any("down, since the nearest mark would be more than the most" in sentence for sentence in line.working)
    assert not any("since the nearest mark" in sentence for sentence in draw(1190, head='deviation = "20 %"').working)


def test_a_mark_held_down_further_than_the_ward_allows_blocks() -> None:
    assert "moves the dose by 16 %" in draw(1190, line='most = "11.9 mg"').blocked


def test_the_lower_of_the_lines_and_the_products_ceiling_counts() -> None:
    low_line = draw(5000, line='most = "4 mg"', product='most = "6 mg"')
    low_product = draw(5000, line='most = "6 mg"', product='most = "4 mg"')
    assert low_line.due == low_product.due == make_amount(4, "mg")
    assert any(
        "No single dose is more than 4 mg: the dose is 4 mg. [published: Invented book 2020]" in s
        for s in low_line.working
    )
    assert any("No single dose is more than 4 mg: the dose is 4 mg. [local]" in s for s in low_product.working)


def test_a_dose_at_its_ceiling_is_not_cut() -> None:
    line = draw(400, line='most = "4 mg"')
    assert line.due == make_amount(4, "mg")
    assert not any("No single dose" in sentence for sentence in line.working)


AIR = 'deviation = "5 %"\nair = "0.5 mL"\n'


@pytest.mark.parametrize(("weight", "blocked"), [(1500, ""), (1550, "2.1 mL does not fit a 2 mL syringe")])
def test_the_air_behind_the_dose_has_to_fit_the_syringe(weight: int, blocked: str) -> None:
    line = draw(weight, line="air = true", route="tracheal", head=AIR)
    assert blocked in line.blocked
    assert bool(line.blocked) == bool(blocked)
    if not blocked:
        assert line.air == make_amount("0.5", "mL")
        assert "2 mL syringe + 0.5 mL air" in line.details


def test_a_line_that_takes_no_air_gets_none() -> None:
    line = draw(1550, route="tracheal", head=AIR)
    assert (line.air, line.show) == (None, "1.6 mL")
    assert "2 mL syringe" in line.details


def test_a_ward_that_sets_no_air_is_told_to_ask() -> None:
    line = draw(1500, line="air = true", route="tracheal")
    assert line.air is None
    assert any("not set on this ward" in caution for caution in line.cautions)


def test_the_same_syringe_never_serves_two_routes() -> None:
    assert draw(1500, route="enteral").blocked == "Drug 10 mg/mL: no syringe for this route in stock"
    for route in ("intravenous", "tracheal"):
        syringe = draw(1200, route=route).syringe
        assert syringe is not None
        assert syringe.route == route


def test_what_is_not_for_injection_says_so() -> None:
    assert any(said.startswith("Not for injection") for said in draw(1200, route="tracheal").cautions)
    assert not any(said.startswith("Not for injection") for said in draw(1200).cautions)


def test_without_a_ward_the_dose_is_known_and_the_volume_is_not() -> None:
    kit = make_small_kit(LINE.format(line="", product="", route="intravenous"))
    line = find_line("it", 1200, kit=kit, ward=None)
    assert "no ward file" in line.blocked
    assert line.due == make_amount(12, "mg")
    assert (line.amount, line.exact, line.show) == (None, None, "")


def test_without_a_ward_a_dose_of_the_products_own_is_not_known_either() -> None:
    line = find_line("surfactant", 1200, ward=None)
    assert "no ward file" in line.blocked
    assert (line.due, line.amount) == (None, None)


def test_with_nothing_in_stock_the_line_names_what_would_serve() -> None:
    line = draw(1200, "")
    assert line.blocked == "the ward file stocks no Drug or Other"
    assert line.working


def test_the_products_label_limit_holds_for_the_product_and_not_for_its_dilutions() -> None:
    line = draw(400, DRUG.format(use='"undiluted"'), product='least_volume = "0.5 mL"')
    assert line.blocked == "Drug 10 mg/mL: 0.4 mL is under the 0.5 mL that its label allows"
    assert draw(500, DRUG.format(use='"undiluted"'), product='least_volume = "0.5 mL"').show == "0.5 mL"
    assert draw(400, DRUG.format(use='"weak"'), product='least_volume = "5 mL"').show == "4 mL"


def test_a_wards_own_product_stands_over_the_kits_and_may_cite_a_source_that_the_kit_does_not_list() -> None:
    own = """
[sources.ward-book]
title = "Invented ward book"
reference = "page 4"
read = "whole"
written_for = "invented babies"

[[product]]
id = "drug"
name = "Drug, own make"
strength = "20 mg/mL"
container = "ampoule"
holds = ["5 mL"]
basis = "published"
source = ["ward-book"]
"""
    kit = make_small_kit(LINE.format(line="", product="", route="intravenous"))
    text = WARD_TEXT.replace('gives = "1 mg/mL"', 'gives = "2 mg/mL"')
    ward = make_small_ward(text + own + DRUG.format(use='"undiluted"'), kit)
    line = find_line("it", 1200, kit=kit, ward=ward)
    assert line.due == make_amount(12, "mg")
    assert line.exact == make_amount("0.6", "mL")
    assert any("[published: Invented ward book]" in sentence for sentence in line.working)


def test_the_issues_own_example_of_surfactant() -> None:
    # US label of poractant alfa: 200 mg/kg, 80 mg/mL, vials of 1.5 and 3 mL. R.
    line = find_line("surfactant", 1450)
    assert line.due == make_amount(290, "mg")
    assert line.exact == make_amount("3.625", "mL")
    assert line.amount == make_amount("3.6", "mL")
    assert [(vial.size.value, vial.count) for vial in line.vials] == [(3, 1), (Fraction(3, 2), 1)]
    assert line.discard == make_amount("0.9", "mL")
    assert "288 mg, 199 mg/kg (due 200)" in line.details
    assert line.blocked == ""


def test_every_surfactant_works_from_the_ward_file_alone() -> None:
    shown = {}
    for product, holds in (("poractant-alfa", "3 mL"), ("beractant", "8 mL"), ("calfactant", "6 mL")):
        text = DEMO_TEXT.replace(
            'product = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]', f'product = "{product}"\nholds = ["{holds}"]'
        )
        line = find_line("surfactant", 1000, ward=make_ward(text))
        shown[product] = (line.show, line.how[0])
    # Labels, R: 2.5, 4 and 3 mL/kg; the handling follows the product.
    assert [show for show, _ in shown.values()] == ["2.6 mL", "4 mL", "3 mL"]
    assert "without warming" in shown["calfactant"][1]
    assert "Warm for 20 min" in shown["beractant"][1]


def test_the_dose_reached_comes_from_the_mark_not_from_the_order() -> None:
    line = find_line("surfactant", 1000)  # 2.5 mL and 0.5 mL of air: the 5 mL syringe, marks every 0.2 mL
    assert line.amount is not None
    assert line.due is not None
    assert "208 mg, 208 mg/kg (due 200)" in line.details
    assert convert(line.due, "mg").value == 200


def test_a_syringe_table_with_nothing_for_the_route_blocks() -> None:
    ward = change_ward(WARD, syringe=tuple(row for row in WARD.model.syringe if row.route != "tracheal"))
    assert (
        find_line("surfactant", 1450, ward=ward).blocked
        == "Poractant alfa 80 mg/mL: no syringe for this route in stock"
    )


@pytest.mark.parametrize(("weight", "serves"), [(2500, False), (2999, False), (3000, True)])
def test_a_product_is_not_used_for_a_weight_that_its_label_bars(weight: int, serves: bool) -> None:
    # UK product characteristics, atropine 100 microgram/mL prefilled syringe: barred under 3 kg (R).
    kept = 'product = "atropine-600"\nholds = ["1 mL"]\nuse = ["atropine-50"]'
    assert kept in DEMO_TEXT
    ward = make_ward(DEMO_TEXT.replace(kept, 'product = "atropine-prefilled"\nholds = ["5 mL"]'))
    line = find_line("atropine", weight, "38+0", ward=ward)
    assert bool(line.blocked) != serves
    if not serves:
        assert line.blocked == "Atropine prefilled: its label is for weight now at least 3000 g"


BANDS = """
[[line.band]]
birth_weight = {{ below = "1000 g" }}
dose = "5 mg/kg"

[[line.band]]
birth_weight = {{ at_least = "1000 g", at_most = "2000 g" }}
dose = "10 mg/kg"
basis = "local"

[[line.band]]
birth_weight = {{ above = "2000 g", at_most = "3000 g" }}
dose = "20 mg/kg"
basis = "common practice"
"""


def draw_banded(weight: int, bands: str = BANDS, *, ward: bool = True) -> ListLine:
    text = LINE.replace('dose = "10 mg/kg"\n', "") + bands
    kit = make_small_kit(text.format(line="", product="", route="intravenous"))
    stocked = make_fine_ward(DRUG.format(use='"undiluted"'), kit)
    return find_line("it", weight, kit=kit, ward=stocked if ward else None)


@pytest.mark.parametrize(
    ("weight", "per_kg", "basis"),
    [(999, 5, "published"), (1000, 10, "local"), (2000, 10, "local"), (2001, 20, "common practice")],
)
def test_a_dose_by_bands_is_that_of_the_band_that_holds_with_its_own_basis(
    weight: int, per_kg: int, basis: str
) -> None:
    line = draw_banded(weight)
    assert line.due is not None
    assert convert(line.due, "mg").value == Fraction(per_kg * weight, 1000)
    assert line.exact == make_amount(Fraction(per_kg * weight, 10_000), "mL")
    assert line.basis == basis


def test_the_working_names_the_band_with_its_basis_and_source() -> None:
    first = draw_banded(999).working[0]
    assert first == (
        "Dose for birth weight under 1000 g: 5 mg/kg × 999 g (birth weight) = 4.995 mg. [published: Invented book 2020]"
    )
    assert draw_banded(1000).working[0].startswith("Dose for birth weight at least 1000 g and at most 2000 g: 10 mg/kg")
    assert draw_banded(1000).working[0].endswith("= 10 mg. [local]")


def test_a_baby_in_no_band_has_no_dose_and_the_line_says_so() -> None:
    assert draw_banded(3000).blocked == ""
    line = draw_banded(3001)
    assert line.blocked == "none of its bands of doses holds 3001 g · 30+2"
    assert (line.due, line.amount, line.show) == (None, None, "")
    assert draw_banded(3001, ward=False).blocked == line.blocked


def test_a_dose_by_bands_is_known_without_a_ward_file() -> None:
    line = draw_banded(1500, ward=False)
    assert "no ward file" in line.blocked
    assert line.due == make_amount(15, "mg")


def test_bands_go_by_gestation_and_facts_too() -> None:
    bands = BANDS.replace('{{ below = "1000 g" }}', '{{ below = "1000 g" }}\nbirth_gestation = {{ at_least = "31+0" }}')
    assert "none of its bands" in draw_banded(999, bands).blocked
    assert draw_banded(1000, bands).due == make_amount(10, "mg")
