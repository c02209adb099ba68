"""What can be ordered for a dose line, and what an order does to the line. Figures are invented unless a source stands.

Poractant alfa: 80 mg/mL, vials of 1.5 and 3 mL, first dose 100-200 mg/kg (UK product characteristics), repeat dose
100 mg/kg; all of status R. The whole-vial habit: Boix 2019, doi 10.1055/s-0038-1675645, R.
"""

from datetime import timedelta
from fractions import Fraction
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import asdict, replace
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
    make_small_ward,
    make_ward,
    word,
    write_widening,
)

from prepkit.kit.baby import Baby
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.fields import EXCERPT
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DoseLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine
from prepkit.quantities.amount import make_amount
from prepkit.quantities.text import read_amount
from prepkit.rules.dose.rule import OrderOptions, find_options, write_order
from prepkit.rules.findings import Kind, finding
from prepkit.rules.kinds import apply_rule
from prepkit.rules.rule import Order, Outcome, RuleContext
from prepkit.wording.say import say, say_all

PORACTANT = '[[stock]]\nproduct = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]\n'
FINE = make_fine_ward(PORACTANT)
BOTH = PORACTANT + '[[stock]]\nproduct = "beractant"\nholds = ["4 mL", "8 mL"]\n'
REPEAT = give_before("200 mg/kg, 2026-11-24 12:00")


def find_for(
    weight: int,
    ward: ParsedFile[Ward] | None = WARD,
    kit: ParsedFile[Kit] = KIT,
    line: str = "surfactant",
    **facts: str,
) -> OrderOptions:
    laid = lay_over(kit.model, ward.model if ward else None).kit
    found = next(each for each in laid.line if each.id == line)
    assert isinstance(found, DoseLine)
    context = RuleContext(laid, ward.model if ward else None, find_baby(weight, kit=kit, **facts), NOW, {})
    options = find_options(found, context)
    choices = (SimpleNamespace(**asdict(each.order), id=each.id, words=say(each.found)) for each in options.choices)
    return OrderOptions(tuple(choices), say_all(options.not_offered))


def ids(weight: int, ward: ParsedFile[Ward] | None = WARD, kit: ParsedFile[Kit] = KIT, **facts: str) -> list[str]:
    return [option.id for option in find_for(weight, ward, kit, **facts).choices]


def whole(volume: str = "3 mL", product: str = "poractant-alfa") -> dict[str, Order]:
    return {"surfactant": Order(product, "RA", "whole", read_amount(volume))}


def measured(product: str = "poractant-alfa") -> dict[str, Order]:
    return {"surfactant": Order(product, "RA")}


def change_kit(product: str = "poractant-alfa", **changes: object) -> ParsedFile[Kit]:
    """The shipped kit with one product changed."""
    products = tuple(replace(each, **changes) if each.id == product else each for each in KIT.model.product)
    return replace(KIT, model=replace(KIT.model, product=products))


# What is offered


def test_the_measured_dose_and_each_whole_vial_dose_in_the_range_are_offered() -> None:
    # By hand, Boix 2019's habit at 1450 g: 3 mL × 80 mg/mL = 240 mg; 240 ÷ 1.45 = 165.517... mg/kg, within 100-200.
    # 1.5 mL would be 82.8 mg/kg, 4.5 mL 248.3 mg/kg: both are outside.
    options = find_for(1450).choices
    assert [option.id for option in options] == [
        "poractant-alfa",
        "poractant-alfa 100 mg/kg",
        "poractant-alfa 3 mL",
    ]
    assert options[0].words == (
        "Poractant alfa, 200 mg/kg, measured: 3.6 mL = 198.6 mg/kg; open 3 mL + 1.5 mL, discard 0.9 mL"
    )
    assert options[1].words == ("Poractant alfa, 100 mg/kg, measured: 1.8 mL = 99.3 mg/kg; open 3 mL, discard 1.2 mL")
    assert options[2].words == "Poractant alfa, whole vials: 3 mL = 165.5 mg/kg; open 3 mL, nothing discarded"


def test_a_measured_dose_that_leaves_nothing_says_nothing_of_a_rest() -> None:
    # 200 mg/kg × 1.2 kg ÷ 80 mg/mL = 3 mL.
    assert find_for(1200, FINE).choices[0].words == "Poractant alfa, 200 mg/kg, measured: 3 mL = 200 mg/kg; open 3 mL"


@pytest.mark.parametrize(
    ("weight", "volumes"),
    # Both ends of 100-200 mg/kg belong to it: 120 mg ÷ 200 mg/kg = 600 g, ÷ 100 = 1200 g; 240 mg: 1200 g and 2400 g.
    [
        (599, []),
        (600, ["1.5 mL"]),
        (1199, ["1.5 mL"]),
        (1200, ["1.5 mL", "3 mL"]),
        (1201, ["3 mL"]),
        (1800, ["3 mL", "4.5 mL"]),
        (2400, ["3 mL", "4.5 mL", "6 mL"]),
        (2401, ["4.5 mL", "6 mL"]),
    ],
)
def test_the_ends_of_the_range_belong_to_it(weight: int, volumes: list[str]) -> None:
    offered = find_for(weight, FINE).choices
    assert [option.id for option in offered if option.whole] == [f"poractant-alfa {volume}" for volume in volumes]


@given(
    weight=st.integers(500, 6000),
    sizes=st.lists(st.integers(3, 60).map(lambda tenths: Fraction(tenths, 10)), min_size=1, max_size=3, unique=True),
)
def test_every_whole_vial_option_lies_in_the_range_and_reads_back(weight: int, sizes: list[Fraction]) -> None:
    holds = tuple(make_amount(size, "mL") for size in sorted(sizes))
    stock = tuple(replace(each, holds=holds) for each in FINE.model.stock)
    options = find_for(weight, change_ward(FINE, stock=stock)).choices
    wholes = [option for option in options if option.whole is not None]
    for option in wholes:
        product, _, volume = option.id.partition(" ")
        assert (product, read_amount(volume)) == (option.product, option.whole)
        # mg/kg by plain fractions: mL × 80 mg/mL ÷ kg.
        reached = read_amount(volume).value * 80 / Fraction(weight, 1000)
        assert 100 <= reached <= 200
        tenths = (reached * 10 + Fraction(1, 2)) // 1
        assert f" = {int(tenths) / 10:g} mg/kg; open " in option.words
    # Nothing in the range is left out: every sum of up to 20 containers, by brute force.
    low, high = Fraction(weight, 800), Fraction(weight, 400)
    sums = {Fraction(0)}
    found: set[Fraction] = set()
    for _ in range(20):
        sums = {each + size for each in sums for size in sizes if each + size <= high}
        found |= {each for each in sums if each >= low}
    assert {option.whole.value for option in wholes if option.whole} == found


@pytest.mark.parametrize("product", ["beractant", "calfactant"])
def test_a_product_with_a_single_dose_is_offered_measured_only(product: str) -> None:
    # Beractant 100 mg/kg, calfactant 105 mg/kg: labels, R. Neither gives a range.
    assert ids(1000, make_fine_ward(f'[[stock]]\nproduct = "{product}"\nholds = ["3 mL", "4 mL"]\n')) == [product]


def test_every_stocked_product_is_offered_and_the_first_is_what_is_used_unordered() -> None:
    ward = make_fine_ward(BOTH)
    assert ids(1450, ward) == [
        "poractant-alfa",
        "beractant",
        "poractant-alfa fewest",
        "poractant-alfa 100 mg/kg",
        "poractant-alfa 3 mL",
    ]
    assert find_line("surfactant", 1450, ward=ward).details[1] == "Poractant alfa 80 mg/mL"


def test_a_repeat_dose_has_no_whole_vials() -> None:
    options = find_for(1450, **REPEAT)
    assert [option.id for option in options.choices] == ["poractant-alfa"]
    assert options.choices[0].words.startswith("Poractant alfa, repeat dose, measured: 1.8 mL = 99.3 mg/kg")
    assert options.not_offered == ()


def test_nothing_is_offered_that_is_not_due() -> None:
    soon = give_before("200 mg/kg, 2026-11-25 01:00")
    options = find_for(1450, make_fine_ward(BOTH), **soon)
    # But by a senior, who says why.
    assert [option.id for option in options.choices] == ["poractant-alfa early", "beractant early"]
    assert options.not_offered == (
        "Nothing of Poractant alfa: may be given from 13:00 on 25 Nov: 12 h after the last dose at 01:00 on 25 Nov.",
        "Nothing of Beractant: may be given from 07:00 on 25 Nov: 6 h after the last dose at 01:00 on 25 Nov.",
    )


def test_nothing_is_offered_without_a_ward_file() -> None:
    said = "Nothing can be ordered without a ward file: what is in stock is not known."
    assert find_for(1450, None) == OrderOptions((), (said,))


def test_whole_vials_need_no_mark() -> None:
    # 4.5 mL lies between the marks of the ward's 5 and 10 mL syringes, and under what its 20 mL one measures.
    options = find_for(1950)
    assert "poractant-alfa 4.5 mL" in [option.id for option in options.choices]
    line = find_line("surfactant", 1950, orders=whole("4.5 mL"))
    assert (line.show, line.details[3]) == ("4.5 mL", "5 mL syringe + 0.5 mL air")
    assert "Syringe: 5 mL [local]: all of 3 mL + 1.5 mL is 4.5 mL; no mark is needed." in line.working


@pytest.mark.parametrize(("air", "count"), [("2 mL", 1), ("2.1 mL", 2), ("3.5 mL", 2), ("3.6 mL", None)])
def test_the_air_has_to_fit_beside_whole_vials_in_one_syringe_or_in_each_of_two(air: str, count: int | None) -> None:
    syringes = tuple(each for each in WARD.model.syringe if each.holds.value <= 5)
    ward = change_ward(air=read_amount(air), syringe=syringes)
    assert ("poractant-alfa 3 mL" in ids(1450, ward)) == (count is not None)
    line = find_line("surfactant", 1450, ward=ward, orders=whole())
    assert (line.outcome.syringes if not line.blocked else None) == count
    if count == 2:
        assert line.details[4] == f"2 × 5 mL syringe + {air} air each"


@pytest.mark.parametrize(("most", "is_offered"), [("240 mg", True), ("239.9 mg", False)])
def test_whole_vials_stay_under_the_most_in_one_dose(most: str, *, is_offered: bool) -> None:
    kit = change_kit(most=read_amount(most))
    assert ("poractant-alfa 3 mL" in ids(1450, kit=kit)) == is_offered


@pytest.mark.parametrize(("least", "is_offered"), [("3 mL", True), ("3.1 mL", False)])
def test_whole_vials_stay_over_the_least_volume_of_the_label(least: str, *, is_offered: bool) -> None:
    kit = change_kit(least_volume=read_amount(least))
    assert ("poractant-alfa 3 mL" in ids(1450, kit=kit)) == is_offered


def test_a_ward_that_only_dilutes_a_product_opens_no_whole_vials() -> None:
    recipe = """
[[mixing]]
holds = "20 mL"

[[diluent]]
name = "sodium chloride 0.9 %"
holds = ["10 mL"]

[[needle]]
gauge = "18 G blunt"

[[recipe]]
id = "half"
product = "poractant-alfa"
take = "3 mL"
add = "3 mL"
diluent = "sodium chloride 0.9 %"
gives = "40 mg/mL"
basis = "local"
source = "invented"
"""
    ward = make_fine_ward(recipe + PORACTANT + 'use = ["half"]\n')
    assert ids(1000, ward) == ["poractant-alfa", "poractant-alfa 100 mg/kg"]
    assert " of 40 mg/mL = 200 mg/kg" in find_for(1000, ward).choices[0].words
    blocked = find_line("surfactant", 1000, ward=ward, orders=whole("1.5 mL")).blocked
    assert "does not use Poractant alfa undiluted" in blocked


def test_a_product_that_its_label_bars_is_not_offered() -> None:
    text = DEMO_TEXT + '[[stock]]\nproduct = "atropine-prefilled"\nholds = ["5 mL"]\n'
    options = find_for(1450, make_ward(text), line="atropine")
    assert [option.id for option in options.choices] == ["atropine-600"]
    assert options.not_offered == ("Not measured: Atropine prefilled: its label is for weight now at least 3000 g.",)


def test_whole_vials_of_a_product_that_its_label_bars_are_not_even_looked_for() -> None:
    bound = next(each.where for each in KIT.model.product if each.id == "atropine-prefilled")
    assert find_for(1450, FINE, change_kit(where=bound)) == OrderOptions(
        (), ("Not measured: Poractant alfa: its label is for weight now at least 3000 g.",)
    )


# What an order does


def test_an_order_of_whole_vials_is_drawn_up_to_the_letter_with_its_sums() -> None:
    line = find_line("surfactant", 1450, orders=whole())
    assert (line.blocked, line.show) == ("", "3 mL")
    assert line.amount == line.exact == make_amount(3, "mL")
    assert (line.due, line.in_syringe) == (make_amount(290, "mg"), make_amount(240, "mg"))
    assert [(vial.size, vial.count) for vial in line.vials] == [(make_amount(3, "mL"), 1)]
    assert line.discard == make_amount(0, "mL")
    assert line.details[:3] == (
        "240 mg, 166 mg/kg (due 200)",
        "82.8 % of what is due",
        "ordered by RA: whole vials",
    )
    assert not any("discard" in detail for detail in line.details)
    said = "\n".join(line.working)
    assert "Ordered by RA: whole vials, Poractant alfa." in said
    assert "Whole containers: 3 mL × 80 mg/mL = 240 mg." in said
    assert "In the syringe: 3 mL × 80 mg/mL = 240 mg.\n240 mg ÷ 1450 g = 165.52 mg/kg." in said
    assert "The label's range for a first dose: 100–200 mg/kg. [excerpt or account: " in said
    assert (line.basis, "Poractant alfa" in line.source) == (EXCERPT, True)


def test_an_order_to_measure_says_who_ordered_it_and_changes_no_amount() -> None:
    plain, ordered = find_line("surfactant", 1450), find_line("surfactant", 1450, orders=measured())
    assert ordered.details[1] == "ordered by RA: measured"
    product = next(each for each in KIT.model.product if each.id == "poractant-alfa")
    words = [say(finding(Kind.ORDER_NAMED, order=order, product=product)) for order in measured().values()]
    assert words == ["Ordered by RA: measured, Poractant alfa."]
    assert words[0] in ordered.working
    assert (ordered.amount, ordered.due, ordered.vials) == (plain.amount, plain.due, plain.vials)


def test_an_order_of_another_product_in_stock_is_drawn_up_instead_of_the_first() -> None:
    line = find_line("surfactant", 1450, ward=make_fine_ward(BOTH), orders=measured("beractant"))
    # Beractant 100 mg/kg of 25 mg/mL, label, R: 145 mg, 5.8 mL.
    assert (line.show, line.due) == ("5.8 mL", make_amount(145, "mg"))


def check_void(line: ListLine, reason: str) -> None:
    assert reason in line.blocked
    assert line.blocked.startswith("ordered by RA: ")
    assert line.blocked.endswith(": order again")
    assert (line.amount, line.exact, line.show, line.vials, line.syringe) == (None, None, "", (), None)


def test_an_order_that_does_not_fit_the_weight_any_more_blocks_the_line_and_nothing_takes_its_place() -> None:
    # 240 mg ÷ 2.401 kg = 99.958... mg/kg; ÷ 1.199 kg = 200.166... mg/kg.
    light, heavy = (find_line("surfactant", weight, ward=FINE, orders=whole()) for weight in (1199, 2401))
    check_void(heavy, "3 mL = 99.9584 mg/kg, outside 100–200 mg/kg for a first dose")
    check_void(light, "3 mL = 200.1668 mg/kg, outside 100–200 mg/kg for a first dose")
    assert [find_line("surfactant", weight, ward=FINE, orders=whole()).blocked for weight in (1200, 2400)] == ["", ""]


def test_an_order_of_a_product_that_is_not_stocked_any_more_blocks_the_line() -> None:
    for orders in (measured("beractant"), whole("3 mL", "beractant")):
        check_void(find_line("surfactant", 1450, orders=orders), "Beractant, ")
        check_void(find_line("surfactant", 1450, orders=orders), "it is not in stock for this line any more")
    check_void(find_line("surfactant", 1450, orders=measured("gone")), '"gone", measured; it is not in stock')
    check_void(find_line("surfactant", 1450, orders=measured("atropine-600")), "it is not in stock for this line")


def test_an_order_of_whole_vials_does_not_stand_for_a_repeat_dose() -> None:
    check_void(find_line("surfactant", 1450, orders=whole(), **REPEAT), "a repeat dose is due")
    assert find_line("surfactant", 1450, orders=measured(), **REPEAT).show == "1.8 mL"


def test_an_order_of_vials_that_the_stock_does_not_make_blocks_the_line() -> None:
    ward = make_ward(DEMO_TEXT.replace('holds = ["1.5 mL", "3 mL"]', 'holds = ["2 mL"]'))
    check_void(find_line("surfactant", 1450, ward=ward, orders=whole()), "the vials in stock do not make 3 mL")


def test_an_order_of_whole_vials_needs_a_range_on_the_label() -> None:
    ward = make_fine_ward(BOTH)
    check_void(find_line("surfactant", 1450, ward=ward, orders=whole("4 mL", "beractant")), "states no range")


def test_an_order_keeps_the_interval_of_what_it_names() -> None:
    # Beractant may be repeated after 6 h: US prescribing information, R2 (corrections, 1.2).
    ward = make_fine_ward(BOTH)
    early, due = (give_before(f"200 mg/kg, 2026-11-24 {at}") for at in ("21:01", "21:00"))
    orders = measured("beractant")
    blocked = find_line("surfactant", 1450, ward=ward, orders=orders, **early).blocked
    assert blocked.startswith("may be given from 03:01")
    line = find_line("surfactant", 1450, ward=ward, orders=orders, **due)
    assert (line.blocked, line.show) == ("", "5.8 mL")


def test_another_surfactant_after_the_first_is_offered_and_given_only_by_name() -> None:
    before = give_before("beractant, 100 mg/kg, 2026-11-24 12:00")
    ward = make_fine_ward(BOTH)
    line = find_line("surfactant", 1450, ward=ward, **before)
    assert line.blocked == (
        "the dose before was of another medicine (Beractant, 100 mg/kg, 24 Nov 12:00):"
        " Poractant alfa after it only by an order that names it"
    )
    assert ids(1450, ward, **before) == ["poractant-alfa", "beractant"]
    for product, shown in (("poractant-alfa", "1.813 mL"), ("beractant", "5.8 mL")):
        ordered = find_line("surfactant", 1450, ward=ward, orders=measured(product), **before)
        assert (ordered.blocked, ordered.show) == ("", shown)


def test_a_senior_orders_it_before_the_interval_is_over_with_a_reason_and_never_past_the_course() -> None:
    senior = {"surfactant": Order("poractant-alfa", "RA", past_interval="FiO2 60 % and rising")}
    for hours in ("01:00", "02:59"):
        soon = give_before(f"200 mg/kg, 2026-11-25 {hours}")
        assert "may be given from" in find_line("surfactant", 1450, ward=FINE, orders=measured(), **soon).blocked
        assert find_line("surfactant", 1450, ward=FINE, orders=senior, **soon).show == "1.813 mL"
    full = give_before("200 mg/kg, 2026-11-24 01:00", "200 mg/kg, 2026-11-25 01:00")
    assert "past 400 mg/kg in all" in find_line("surfactant", 1450, ward=FINE, orders=senior, **full).blocked


def test_a_senior_gets_no_further_than_a_dose_that_has_not_been_yet_by_the_clock() -> None:
    dose = EarlierDose("poractant-alfa", read_amount("200 mg/kg"), NOW + timedelta(minutes=1))
    baby = find_baby(1450)
    baby = replace(baby, facts={**baby.facts, "earlier_surfactant": EarlierDoses((dose,))})
    order = Order("poractant-alfa", "RA", past_interval="FiO2 60 %")
    assert "has not been yet" in apply_surfactant(baby, order).blocked


def apply_surfactant(baby: Baby, order: Order, ward: ParsedFile[Ward] = FINE) -> Outcome:
    surfactant = next(each for each in KIT.model.line if each.id == "surfactant")
    return word(apply_rule(surfactant, RuleContext(KIT.model, ward.model, baby, NOW, {}, {"surfactant": order})))


def order_dose(per_kg: str, product: str = "poractant-alfa") -> dict[str, Order]:
    return {"surfactant": Order(product, "RA", per_kg=read_amount(per_kg))}


@pytest.mark.parametrize(
    ("per_kg", "product", "reason"),
    [
        ("100 mg/kg", "poractant-alfa", ""),
        ("150 mg/kg", "poractant-alfa", ""),
        ("200 mg/kg", "poractant-alfa", ""),
        (
            "99.9 mg/kg",
            "poractant-alfa",
            "99.9 mg/kg is outside the 100–200 mg/kg that the label allows for a first dose",
        ),
        ("201 mg/kg", "poractant-alfa", "201 mg/kg is outside the 100–200 mg/kg that the label allows"),
        ("100 mg/kg", "beractant", "the label of Beractant states no range for a first dose"),
    ],
)
def test_another_dose_is_ordered_within_the_labels_range_alone(per_kg: str, product: str, reason: str) -> None:
    line = find_line("surfactant", 1000, ward=make_fine_ward(BOTH), orders=order_dose(per_kg, product))
    if reason:
        check_void(line, reason)
    else:
        assert line.blocked == ""
        assert line.due == make_amount(read_amount(per_kg).value, "mg")
        assert line.details[1] == f"ordered by RA: {per_kg}, measured"


def test_no_other_dose_is_ordered_in_the_place_of_a_repeat() -> None:
    # 200 mg/kg after 300 would be past the 400 mg/kg of the course.
    facts = give_before("200 mg/kg, 2026-11-23 12:00", "100 mg/kg, 2026-11-24 12:00")
    line = find_line("surfactant", 1450, ward=FINE, orders=order_dose("200 mg/kg"), **facts)
    assert "300 mg/kg given and 200 mg/kg more is 500 mg/kg: past 400 mg/kg in all" in line.blocked
    line = find_line("surfactant", 1450, ward=FINE, orders=order_dose("150 mg/kg"), **REPEAT)
    check_void(line, "a repeat dose is due, and an order of 150 mg/kg is for a first dose")


def test_an_order_for_one_line_touches_no_other() -> None:
    assert find_line("atropine", 1450, orders=whole()) == find_line("atropine", 1450)


@settings(max_examples=60, deadline=None)
@given(weight=st.integers(500, 5000))
def test_what_is_offered_is_drawn_up_when_it_is_ordered_and_nothing_else_is(weight: int) -> None:
    baby, offered = find_baby(weight), find_for(weight).choices
    for option in offered:
        order = Order(option.product, "RA", option.containers, option.whole, option.per_kg)
        outcome = apply_surfactant(baby, order, WARD)
        assert outcome.blocked == ""
        assert option.id == write_order(order)
        assert f": {outcome.show} = " in option.words
    for volume in ("1.5 mL", "3 mL", "4.5 mL", "6 mL", "7.5 mL", "9 mL", "10.5 mL", "12 mL"):
        is_offered = f"poractant-alfa {volume}" in [option.id for option in offered]
        outcome = apply_surfactant(baby, whole(volume)["surfactant"], WARD)
        assert bool(outcome.blocked) != is_offered


OWN = """
[[product]]
id = "{id}"
name = "{name}"
strength = "{strength}"
container = "vial"
holds = [{holds}]
dose = "{dose}"
{range}
basis = "local"

[[stock]]
product = "{id}"
holds = [{holds}]
"""


@pytest.mark.parametrize(
    ("product", "strength", "dose", "holds", "volume"),
    # Labels, R: 2.5 mL/kg, 4 mL/kg, 3 mL/kg; at 1000 g.
    [
        ("poractant-alfa", "80 mg/mL", "200 mg/kg", '"1.5 mL", "3 mL"', "2.5"),
        ("beractant", "25 mg/mL", "100 mg/kg", '"4 mL", "8 mL"', "4"),
        ("calfactant", "35 mg/mL", "105 mg/kg", '"3 mL", "6 mL"', "3"),
    ],
)
def test_each_surfactant_works_when_the_ward_file_alone_declares_it(
    product: str, strength: str, dose: str, holds: str, volume: str
) -> None:
    kit = change_kit(product, strength=read_amount("1 mg/mL"), dose=read_amount("1 mg/kg"), dose_range=None)
    own = OWN.format(id=product, name="Own", strength=strength, dose=dose, holds=holds, range="") + write_widening(
        product, kit.model.id
    )
    ward = make_fine_ward(own, kit)
    line = find_line("surfactant", 1000, kit=kit, ward=ward)
    assert (line.blocked, line.exact) == ("", make_amount(volume, "mL"))
    assert any("Own" in words for words in line.details)
    assert ids(1000, ward, kit) == [product]


def test_a_range_in_the_wards_own_product_gives_whole_vials() -> None:
    span = 'dose_range = { least = "100 mg/kg", most = "200 mg/kg" }'
    own = OWN.format(id="calfactant", name="Own", strength="35 mg/mL", dose="105 mg/kg", holds='"3 mL"', range=span)
    own += write_widening("calfactant", KIT.model.id)
    assert ids(1000, make_fine_ward(own)) == [
        "calfactant",
        "calfactant 100 mg/kg",
        "calfactant 200 mg/kg",
        "calfactant 3 mL",
    ]


def test_an_absurdly_small_container_does_not_make_endless_sums() -> None:
    ward = make_small_ward(PORACTANT.replace('"1.5 mL", "3 mL"', '"0.000001 mL"'), KIT)
    assert find_for(5000, ward).choices == ()
