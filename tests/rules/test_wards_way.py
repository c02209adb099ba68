"""How a ward rounds and opens containers, and what stands in for what: beside each check the sums by hand.

Poractant alfa is 80 mg/mL, 200 mg/kg first (its label's range is 100-200 mg/kg) and 100 mg/kg after; the tracheal
syringes of the demo ward have marks of 0.1 mL up to 2.5 mL and of 0.2 mL up to 10 mL. The other drugs are invented.
"""

from fractions import Fraction

import pytest
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
    make_small_kit,
    make_small_ward,
    make_ward,
)

from prepkit.kit.axes import Axis
from prepkit.kit.lines import DoseLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import SyringeStock, Ward
from prepkit.quantities.amount import make_amount
from prepkit.rules.dose.rule import find_options, write_order
from prepkit.rules.dose.vials import prepare_containers
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.kinds import apply_rule
from prepkit.rules.rule import Entry, Order, Outcome, RuleContext
from prepkit.wording.say import say, say_all, say_by_word

PORACTANT = '[[stock]]\nproduct = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]\n'
OTHERS = (
    '[[stock]]\nproduct = "beractant"\nholds = ["4 mL", "8 mL"]\n'
    '[[stock]]\nproduct = "calfactant"\nholds = ["3 mL", "6 mL"]\n'
)


def ml(value: str | int) -> object:
    return make_amount(value, "mL")


def take(containers: str, *holds: str, ward: ParsedFile[Ward] = WARD) -> ParsedFile[Ward]:
    sizes = {"holds": tuple(make_amount(each, "mL") for each in holds)} if holds else {}
    return change_ward(ward, stock=tuple(replace(each, containers=containers, **sizes) for each in ward.model.stock))


def make_syringe(holds: str, marks: str, least: str) -> SyringeStock:
    amounts = {"holds": holds, "marks": marks, "least": least}
    return SyringeStock(route="tracheal", **{name: make_amount(value, "mL") for name, value in amounts.items()})


def find(weight: int, ward: ParsedFile[Ward] = WARD, order: Order | None = None, **facts: str) -> Outcome:
    """The surfactant's outcome itself, not in words."""
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    orders = {"surfactant": order} if order else {}
    return apply_rule(line, RuleContext(KIT.model, ward.model, find_baby(weight, **facts), NOW, {}, orders))


def find_kind(findings: tuple[Finding | str, ...], kind: Kind) -> Finding | None:
    return next((each for each in findings if isinstance(each, Finding) and each.kind is kind), None)


# ------------------------------------------------------------------------------------------------------- containers


def test_fewest_opens_one_less_and_says_so() -> None:
    # 1249 g: 3.1225 mL, of which 3 mL is 3.9 % less, from one vial and with nothing left of it.
    found = find(1249, take("fewest"))
    assert (found.amount, found.discard, [(vial.size, vial.count) for vial in found.vials]) == (
        ml(3),
        ml(0),
        [(ml(3), 1)],
    )
    assert found.in_syringe == make_amount(240, "mg")
    assert "so that one vial less is opened" in " ".join(say_all(found.working))
    assert "one vial less" not in " ".join(say_all(find(1200, take("fewest")).working))


def test_fewest_goes_no_lower_than_the_label_lets_be_measured() -> None:
    for least, amount in (("3", "3"), ("3.01", "3.2")):
        products = tuple(replace(each, least_volume=make_amount(least, "mL")) for each in KIT.model.product)
        line = next(each for each in KIT.model.line if each.id == "surfactant")
        kit, ward = replace(KIT.model, product=products), take("fewest").model
        assert apply_rule(line, RuleContext(kit, ward, find_baby(1249), NOW, {})).amount == ml(amount)


def test_fewest_takes_less_only_where_one_less_is_opened() -> None:
    # Of 6.1 mL (2440 g) the mark at or under two of 3 mL is 5.6 mL: three of 1.9 mL waste least of it, as many as
    # 6.4 mL takes.
    ward = take("fewest", "1.9", "3", ward=change_ward(syringe=(make_syringe("8", "0.8", "0.8"),), air=None))
    found = find(2440, change_ward(ward, deviation=make_amount(20, "%")))
    assert (found.amount, sum(vial.count for vial in found.vials)) == (ml("6.4"), 3)


def test_whole_takes_the_unopened_vials_nearest_to_what_is_due_within_ten_percent() -> None:
    # 3 mL is 240 mg: 200 mg/kg of 1200 g, and 88.9 % of the 270 mg that are due at 1350 g.
    assert find(1200, take("whole")).is_whole
    measured = find(1350, take("whole"))
    assert (measured.is_whole, measured.amount) == (False, ml("3.4"))
    # 3.6 mL is 288 mg, 90 % of what is due at just 1600 g, and less at 1601 g; at 1610 g it is 89.4 %.
    for weight, is_whole in ((1440, True), (1600, True), (1601, False), (1610, False)):
        assert find(weight, take("whole", "3.6")).is_whole is is_whole, weight
    # Of 290 mg (1450 g) 3.4 mL is 272 mg and 3.6 mL is 288 mg; 3.7 mL would be over 200 mg/kg.
    assert find(1450, take("whole", "3.4", "3.6", "3.7")).amount == ml("3.6")
    # And nobody asked for whole ones:
    assert find(1450, take("measured", "3.4", "3.6")).is_whole is False


def test_whole_measures_where_the_label_gives_no_range_and_after_a_first_dose() -> None:
    beractant = DEMO_TEXT.replace("poractant-alfa", "beractant").replace('["1.5 mL", "3 mL"]', '["4 mL", "8 mL"]')
    found = find(1000, take("whole", ward=make_ward(beractant)))
    assert (found.is_whole, found.amount) == (False, ml(4))
    again = find(1200, take("whole"), **give_before("200 mg/kg, 2026-11-24 12:00"))
    assert (again.is_whole, again.amount) == (False, ml("1.5"))


def test_whole_doses_of_under_a_mg_are_taken_by_their_mass_too() -> None:
    kit = make_small_kit(
        DRUG.replace("[[line]]", 'dose_range = { least = "0.5 mg/kg", most = "0.8 mg/kg" }\n\n[[line]]').replace(
            '"2 mg/kg"', '"0.8 mg/kg"'
        )
    )
    ward = make_small_ward(STOCK.replace('"5 mL"', '"0.08 mL"') + 'containers = "whole"\n' + SYRINGE, kit)
    line = kit.model.line[0]
    # 0.08 mL of 10 mg/mL is 800 microgram: 0.8 mg/kg of 1 kg.
    found = apply_rule(line, RuleContext(kit.model, ward.model, find_baby(1000, kit=kit), NOW, {}))
    assert (found.is_whole, found.amount, found.due) == (True, ml("0.08"), make_amount(800, "microgram"))


def test_so_many_of_the_largest_container_hold_the_most() -> None:
    containers = prepare_containers([make_amount(each, "mL") for each in ("1.5", "3")])
    assert containers.find_most(2) == ml(6)


# --------------------------------------------------------------------------------------------------------- rounding


def test_never_over_goes_by_the_labels_range_for_a_first_dose_and_by_the_stated_one_else() -> None:
    never = change_ward(round="not over")
    # 1400 g: 3.5 mL lies half way between 3.4 and 3.6 mL; 3.6 mL is 205.7 mg/kg.
    assert (find(1400).amount, find(1400, never).amount) == (ml("3.6"), ml("3.4"))
    # A repeat of 1480 g: 1.85 mL between 1.8 and 1.9 mL, which is 102.7 mg/kg.
    before = give_before("200 mg/kg, 2026-11-24 12:00")
    assert (find(1480, **before).amount, find(1480, never, **before).amount) == (ml("1.9"), ml("1.8"))
    # What was ordered within the range goes by the range: 150 mg/kg of 1440 g is 2.7 mL, and 2.8 mL is in it.
    order = Order("poractant-alfa", "KM", per_kg=make_amount(150, "mg/kg"))
    assert find(1413, never, order).amount == find(1413, WARD, order).amount
    assert find(1440, never, order).amount == ml("2.8")


@pytest.mark.parametrize(
    ("weight", "tell_over", "percent"),
    # 3 mL of 1200 g goes down to 2.7 mL, 90 % of what is due; of 1201 g it is a little less. 2.5 mL of 1000 g goes up
    # to 2.7 mL: 108 %.
    [
        (1200, "6.7", None),
        (1201, "6.7", Fraction(2160, 1201) * 50),
        (1000, "6.7", Fraction(108)),
        (1000, "7.5", Fraction(108)),
        (1000, "8", None),
    ],
)
def test_a_share_under_90_percent_or_past_what_the_ward_tells_is_on_the_row(
    weight: int, tell_over: str, percent: Fraction | None
) -> None:
    ward = change_ward(
        syringe=(make_syringe("9", "0.9", "0.9"),),
        air=None,
        deviation=make_amount(20, "%"),
        tell_over=make_amount(tell_over, "%"),
    )
    share = find_kind(find(weight, ward).details, Kind.SHARE_OF_DUE)
    assert (share["percent"] if share else None) == percent


# ---------------------------------------------------------------------------------------------------- what stands in

DRUG = """
[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "vial"
holds = ["5 mL"]
basis = "common practice"

[[line]]
kind = "dose"
weight = "birth"
id = "it"
group = "all"
name = "It"
route = "tracheal"
products = ["drug"]
dose = "2 mg/kg"
basis = "common practice"
"""
WEAK = DRUG.partition("[[line]]")[0].replace('"drug"', '"weak"').replace("10 mg/mL", "1 mg/mL")
WEAK = WEAK.replace('name = "Drug"', 'name = "Drug, weak"\nsubstance = "drug"')
BOTH = make_small_kit(WEAK + DRUG.replace('["drug"]', '["drug", "weak"]'))
STOCK = '[[stock]]\nproduct = "drug"\nholds = ["5 mL"]\n'
SYRINGE = '[[syringe]]\nroute = "tracheal"\nholds = "5 mL"\nmarks = "0.01 mL"\nleast = "0.05 mL"\n'


def find_small(weight: int, text: str, kit: object = BOTH) -> Outcome:
    ward = make_small_ward(text, kit)  # type: ignore[arg-type]
    line = next(each for each in kit.model.line if isinstance(each, DoseLine))  # type: ignore[attr-defined]
    return apply_rule(line, RuleContext(kit.model, ward.model, find_baby(weight, kit=kit), NOW, {}))  # type: ignore[attr-defined,arg-type]


def test_another_strength_of_the_substance_stands_in_and_the_line_says_for_what_and_why() -> None:
    # 2 mg/kg of 1 kg is 0.2 mL of the strong one, which no syringe here measures, and 2 mL of the weak one.
    stock = STOCK + STOCK.replace("drug", "weak") + SYRINGE.replace("0.05 mL", "0.21 mL")
    found = find_small(1000, stock)
    assert (found.product, found.stands_in, found.amount) == ("weak", "drug", ml(2))
    strong, weak = (next(each for each in BOTH.model.product if each.id == name) for name in ("drug", "weak"))
    assert found.details[0] == finding(Kind.STANDS_IN, product=weak, instead_of=strong)
    why = find_kind(found.working, Kind.NOT_THIS_WAY)
    assert why is not None
    assert say(why).count("0.2 mL is under the 0.21 mL that a 5 mL syringe measures") == 1
    first = find_small(1100, stock)
    assert (first.product, first.stands_in) == ("drug", "")
    assert find_kind(first.details, Kind.STANDS_IN) is None
    assert find_kind(first.working, Kind.NOT_THIS_WAY) is None


def test_where_two_stand_before_it_the_first_ones_reason_is_told() -> None:
    third = WEAK.replace('"weak"', '"weaker"').replace("1 mg/mL", "0.1 mg/mL").replace("Drug, weak", "Drug, weaker")
    kit = make_small_kit(third + WEAK + DRUG.replace('["drug"]', '["drug", "weak", "weaker"]'))
    stock = STOCK + STOCK.replace("drug", "weak") + STOCK.replace("drug", "weaker")
    # 0.2 mL and 2 mL are too little for it, 20 mL is not.
    syringe = SYRINGE.replace('"5 mL"', '"50 mL"').replace("0.05 mL", "2.1 mL")
    found = find_small(1000, stock + syringe, kit)
    assert (found.product, found.stands_in) == ("weaker", "drug")
    why = find_kind(found.working, Kind.NOT_THIS_WAY)
    assert why is not None
    assert "0.2 mL is under the 2.1 mL" in say(why)


def test_another_substance_is_named_to_be_ordered_and_never_taken() -> None:
    # Under 3.2 mL, up to 1279 g, nothing here measures poractant alfa; beractant would come to 5 mL.
    ward = make_ward(DEMO_TEXT.replace(PORACTANT, PORACTANT + OTHERS))
    coarse = change_ward(ward, syringe=(make_syringe("20", "0.2", "3.2"),), air=None)
    blocked = find(1250, coarse).blocked
    assert blocked is not None
    assert (blocked.kind, blocked["names"]) == (Kind.BY_ORDER_ALONE, ("Beractant", "Calfactant"))
    assert blocked["reason"] == find(1250, change_ward(syringe=coarse.model.syringe, air=None)).blocked
    assert find(1250, coarse, Order("beractant", "KM")).amount == ml(5)


# ----------------------------------------------------------------------------------------------- what a line says too


def test_a_dose_says_its_weight_and_after_how_many_doses_it_stands() -> None:
    first = find(1000)
    assert (first.axis, first.weight, first.standing) == (Axis.BIRTH_WEIGHT, make_amount(1000, "g"), ())
    again = find(1000, **give_before("200 mg/kg, 2026-11-23 12:00", "100 mg/kg, 2026-11-24 12:00"))
    assert again.standing == (finding(Kind.AFTER_DOSES, number=2),)


def test_air_that_a_ward_never_set_is_entered_with_the_tick_where_the_line_takes_air() -> None:
    asked = find(1000, change_ward(air=None)).enters
    assert isinstance(asked, Entry)
    assert asked.what == "air"
    assert find(1000).enters is None
    assert find_small(1000, STOCK + SYRINGE, make_small_kit(DRUG)).enters is None


RECIPE = """
[[recipe]]
id = "thin"
product = "drug"
take = "1 mL"
add = "9 mL"
diluent = "water"
gives = "1 mg/mL"
basis = "local"
source = "invented"
[[diluent]]
name = "water"
holds = ["10 mL"]
[[needle]]
gauge = "18 G blunt"
[[mixing]]
holds = "20 mL"
"""


@pytest.mark.parametrize("lacks", ["diluent", "needle", "mixing", ""])
def test_how_a_recipe_is_mixed_is_told_only_where_all_of_it_is_kept(lacks: str) -> None:
    """`check` refuses a ward file that lacks some of it; the rule does not lean on it."""
    kit = make_small_kit(DRUG)
    ward = make_small_ward(f'{STOCK}use = ["thin"]\n{RECIPE}{SYRINGE}', kit).model
    line = kit.model.line[0]
    short = replace(ward, **{lacks: ()}) if lacks else ward
    found = apply_rule(line, RuleContext(kit.model, short, find_baby(1000, kit=kit), NOW, {}))
    assert found.amount == ml(2)
    assert (find_kind(found.working, Kind.MIX_IN) is None) is bool(lacks)


# ---------------------------------------------------------------------------------------------------------- orders


def find_all(weight: int, ward: ParsedFile[Ward] = WARD, **facts: str) -> list[Order]:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    assert isinstance(line, DoseLine)
    options = find_options(line, RuleContext(KIT.model, ward.model, find_baby(weight, **facts), NOW, {}))
    for each in options.choices:
        # By nobody yet, wherever it stands.
        assert each.found["draw_up"].order is None  # type: ignore[attr-defined]
        assert each.order.by == ""
    return [each.order for each in options.choices]


def test_each_way_is_offered_by_nobody_yet() -> None:
    dose = make_amount(100, "mg/kg")
    assert find_all(1249) == [
        Order("poractant-alfa", ""),
        Order("poractant-alfa", "", "fewest"),
        Order("poractant-alfa", "", per_kg=dose),
        Order("poractant-alfa", "", "whole", ml(3)),  # type: ignore[arg-type]
    ]


def test_nothing_more_than_the_range_is_looked_at_of_whole_containers() -> None:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    assert isinstance(line, DoseLine)
    assert find_options(line, RuleContext(KIT.model, WARD.model, find_baby(1450), NOW, {})).not_offered == ()


def test_why_whole_containers_are_not_offered_is_their_own_reason() -> None:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    assert isinstance(line, DoseLine)
    line = replace(line, most=make_amount(239, "mg"))
    options = find_options(line, RuleContext(KIT.model, WARD.model, find_baby(1450), NOW, {}))
    missed = [each["reason"] for each in options.not_offered if each.kind is Kind.NOT_OFFERED_WHOLE]
    assert [each.kind for each in missed if isinstance(each, Finding)] == [Kind.OVER_SINGLE_DOSE]


def test_the_rest_of_a_dose_in_part_is_offered_by_its_name_and_drawn_up() -> None:
    before = give_before("poractant-alfa, 1 mL, 2026-11-25 02:00, part of 200 mg")
    (rest,) = [each for each in find_all(1000, **before) if each.is_rest]
    assert write_order(rest) == "poractant-alfa rest"
    # 80 of 200 mg were given: 120 mg are 1.5 mL.
    found = find(1000, WARD, replace(rest, by="KM"), **before)
    assert found.amount == ml("1.5")
    assert "ordered by KM: the rest of the last dose" in say_all(found.details)


def test_one_container_less_by_an_order_alone() -> None:
    less = find(1249, WARD, Order("poractant-alfa", "KM", "fewest"))
    assert less.amount == ml(3)
    assert "ordered by KM: one vial less" in say_all(less.details)
    assert find(1249, take("fewest"), Order("poractant-alfa", "KM")).amount == ml("3.2")
    options = find_options(
        next(each for each in KIT.model.line if isinstance(each, DoseLine) and each.id == "surfactant"),
        RuleContext(KIT.model, WARD.model, find_baby(1249), NOW, {}),
    )
    assert [say(each.found).partition(":")[0] for each in options.choices][
        1
    ] == "Poractant alfa, 200 mg/kg, one vial less"


def test_two_syringes_for_whole_vials_are_counted_in_the_working() -> None:
    few = tuple(row for row in WARD.model.syringe if row.route != "tracheal")
    small = change_ward(syringe=(*few, make_syringe("2.5", "0.1", "0.3")), air=None)
    found = find(1450, small, Order("poractant-alfa", "KM", "whole", ml(3)))  # type: ignore[arg-type]
    assert found.syringes == 2
    assert "Syringe: 2 \N{MULTIPLICATION SIGN} 2.5 mL" in " ".join(say_all(found.working))


def test_what_was_ordered_says_what_the_label_says_of_its_limits_too() -> None:
    before = give_before("200 mg/kg, 2026-11-24 12:00")
    told = find_kind(find(1000, WARD, Order("poractant-alfa", "KM"), **before).cautions, Kind.LABEL_ADVICE)
    assert told is not None
    assert told == find_kind(find(1000, **before).cautions, Kind.LABEL_ADVICE)


def test_an_order_stands_for_the_doses_that_it_was_made_on_alone() -> None:
    one = give_before("200 mg/kg, 2026-11-23 12:00")
    had = str(find_baby(1000, **one).facts["earlier_surfactant"])
    order = Order("poractant-alfa", "KM", after=had)
    assert find(1000, WARD, order, **one).amount == ml("1.25")
    two = give_before("200 mg/kg, 2026-11-23 12:00", "100 mg/kg, 2026-11-24 12:00")
    blocked = find(1000, WARD, order, **two).blocked
    assert blocked is not None
    assert (blocked.kind, blocked["order"], blocked["reason"]) == (Kind.ORDER_VOID, order, finding(Kind.GIVEN_SINCE))
    assert blocked["product"] == "Poractant alfa"
    # Nobody wrote down on which doses: it stands.
    assert find(1000, WARD, Order("poractant-alfa", "KM"), **two).amount == ml("1.25")


def test_a_mass_with_many_places_is_told_to_two_on_the_row_and_to_four_in_the_sums() -> None:
    # 0.2 mL of 11.11111 mg/mL is 2.222222 mg.
    kit = make_small_kit(DRUG.replace("10 mg/mL", "11.11111 mg/mL"))
    found = find_small(1000, STOCK + SYRINGE.replace('"0.01 mL"', '"0.2 mL"'), kit)
    assert found.blocked is not None
    wide = make_small_ward(STOCK + SYRINGE.replace('"0.01 mL"', '"0.1 mL"'), kit)
    line = find_line("it", 1000, kit=kit, ward=change_ward(wide, deviation=make_amount(20, "%")))
    assert line.details[0] == "2.22 mg, 2.22 mg/kg (due 2)"
    said = " ".join(line.working)
    assert "11.11111 mg/mL = 2.2222 mg." in said
    assert "2.2222 mg ÷ 1000 g = 2.22 mg/kg." in said


def test_a_paper_says_what_is_in_the_syringe_and_what_is_due_apart_by_word() -> None:
    # 3.6 mL for 1450 g: 288 mg, 198.6 mg/kg.
    assert say_by_word(find(1450).details)[:2] == ("in the syringe 288 mg, 199 mg/kg", "due 200 mg/kg")
