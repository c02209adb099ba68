"""A dose's whole outcome to the letter: each amount, each sentence of its working, each caution, nothing besides.

Figures are invented, but for those of the shipped kit's surfactant and atropine, which are checked in tests/reference.
"""

from fractions import Fraction

import pytest
from dose_scene import HEAD, NINTHS, OTHER, SMALL, SYRINGES, UNDILUTED, WEAK, draw, draw_ranged, find_outcome, vials
from msgspec.structs import replace
from trays import BOOK, KIT, give_before, make_small_kit, make_small_ward, read

from prepkit.quantities.amount import make_amount
from prepkit.rules.rule import Order
from prepkit.wording.doses import show_over

PORACTANT = (
    "[excerpt or account: Poractant alfa, US prescribing information; Poractant alfa, UK product characteristics]"
)
HANDLING = (
    "Warm in the hand for a few minutes; no artificial warming.",
    "Turn gently upside down to mix; do not shake.",
    "Discard the rest: single use.",
    "Put one that was warmed and not opened back in the fridge once, within 24 h.",
)
TRACHEAL_PARTS = ("5 mL syringe, tracheal", 'syringe label, "not for injection"', "cap for the syringe")
# Connectors: ISO 80369-7 and ISO 80369-3, as in the clinical reference, section 13.
LUER = "Route: intravenous, a luer syringe (ISO 80369-7)."
ENTERAL = "Route: enteral, an enteral syringe (ISO 80369-3), which fits no line."
TRACHEAL = "Route: tracheal, a syringe labelled not for injection: no connector of its own keeps it from a line."
NOT_FOR_INJECTION = "Not for injection: nothing but its label keeps this syringe from a line."


def test_a_first_dose_of_surfactant() -> None:
    found = find_outcome("surfactant", 1450)
    assert (found.blocked, found.show, found.product) == ("", "3.6 mL", "poractant-alfa")
    assert (found.due, found.exact, found.amount, found.air, found.discard) == tuple(
        map(read, ("290 mg", "3.625 mL", "3.6 mL", "0.5 mL", "0.9 mL"))
    )
    assert found.vials == vials("3 mL", "1.5 mL")
    assert (found.capped, found.is_held, found.over_course, found.is_unmeasured) == (None, False, None, False)
    assert found.details == (
        "288 mg, 199 mg/kg (due 200)",
        "Poractant alfa 80 mg/mL",
        "5 mL syringe + 0.5 mL air",
        "tracheal",
        "open 3 mL + 1.5 mL vial",
        "discard 0.9 mL",
    )
    assert found.working == (
        f"Dose: 200 mg/kg × 1450 g (birth weight) = 290 mg. {PORACTANT}",
        f"Strength: Poractant alfa 80 mg/mL, undiluted. {PORACTANT}",
        "Volume: 290 mg ÷ 80 mg/mL = 3.625 mL.",
        "Syringe: 5 mL, marks every 0.2 mL [local]: draw up to 3.6 mL (−0.7 % from exact).",
        "In the syringe: 3.6 mL × 80 mg/mL = 288 mg.",
        "288 mg ÷ 1450 g = 198.62 mg/kg.",
        "The syringe itself may be 4 % out at this volume [from memory: ISO 7886-1 1993].",
        TRACHEAL,
        "Open 3 mL + 1.5 mL: leaves 0.9 mL to discard, the least waste from the sizes in stock [local].",
    )
    assert found.parts == ("needle, 20 G or wider, to draw up with", *TRACHEAL_PARTS)
    assert found.how == HANDLING
    assert found.cautions == (NOT_FOR_INJECTION,)
    assert found.prescribed is not None
    assert found.prescribed.words == ("Dose: 200 mg/kg of birth weight", "Poractant alfa 80 mg/mL on the vial")
    assert (found.prescribed.holds, found.prescribed.container) == ((read("1.5 mL"), read("3 mL")), "vial")
    assert found.source is not None
    assert found.source.startswith(
        "published, read in an excerpt or account: Poractant alfa, US prescribing information (edition not recorded)"
    )


def test_a_medicine_that_is_made_up_first() -> None:
    found = find_outcome("atropine", 1450)
    made = "1 mL of Atropine 600 microgram/mL + 11 mL sodium chloride 0.9 % = 12 mL of 50 microgram/mL"
    assert (found.due, found.amount) == (read("29 microgram"), read("0.58 mL"))
    assert (found.air, found.discard, found.vials) == (None, None, vials("1 mL"))
    assert found.recipe is not None
    assert (found.recipe.id, found.recipe.strength) == ("atropine-50", read("50 microgram/mL"))
    assert found.details == (
        "29 microgram, 20 microgram/kg (due 20)",
        "Atropine 50 microgram/mL",
        "first make 1 mL of 600 microgram/mL + 11 mL sodium chloride 0.9 %",
        "1 mL syringe",
        "intravenous",
        "open 1 mL ampoule",
    )
    assert found.working[1:] == (
        (
            "Make it up in a 20 mL syringe, with 11 mL from 2 × 10 mL of sodium chloride 0.9 % and"
            " a needle of 18 G blunt. [local]"
        ),
        (
            f"Strength: {made} [excerpt or account: Queensland neonatal medicine monograph, atropine]."
            " [excerpt or account: UK product characteristics, atropine 600 microgram/mL ampoule]"
        ),
        "Volume: 29 microgram ÷ 50 microgram/mL = 0.58 mL.",
        "Syringe: 1 mL, marks every 0.01 mL [local]: draw up to 0.58 mL (exactly on a mark).",
        "In the syringe: 0.58 mL × 50 microgram/mL = 29 microgram.",
        "29 microgram ÷ 1450 g = 20 microgram/kg.",
        "The syringe itself may be 5 % out at this volume [excerpt or account: ISO 7886-1 1993].",
        LUER,
        "Open 1 mL: holds enough, the least waste from the sizes in stock [local].",
    )
    assert found.parts == (
        "20 mL syringe to make it up in",
        "sodium chloride 0.9 %, 2 × 10 mL",
        'label for what is left, "made-up stock, not for giving as it is"',
        "needle, 18 G blunt",
        "1 mL luer syringe",
        "syringe label, anticholinergic (green)",
    )
    assert found.how == ('Label what is left "made-up stock, not for giving as it is", and discard it before the cot.',)
    assert found.cautions == ("The 12 mL made up holds about 21 times this dose.",)
    assert found.prescribed is not None
    assert found.prescribed.words == (
        "Dose: 20 microgram/kg of weight now",
        "No single dose is more than 600 microgram",
        "Atropine 600 microgram/mL on the ampoule",
        f"Made up: {made}",
    )


LAST = give_before("200 mg/kg, 2026-11-23 15:00", "100 mg/kg, 2026-11-24 15:00")
INTUBATED = f"Its label's repeats are for babies who remain intubated; after this route the baby is not. {PORACTANT}"


def test_a_last_dose_that_is_held_to_what_the_course_has_left() -> None:
    found = find_outcome("surfactant", 1400, **LAST)
    assert (found.show, found.is_held, found.over_course) == ("1.7 mL", True, None)
    assert found.working[:2] == (
        f"300 mg/kg was given before; with this dose 400 mg/kg of 400 mg/kg in all. {PORACTANT}",
        f"Repeat dose: 100 mg/kg × 1400 g (birth weight) = 140 mg. {PORACTANT}",
    )
    assert found.working[4] == (
        "Syringe: 2.5 mL, marks every 0.1 mL [local]: draw up to 1.7 mL"
        " (−2.9 % from exact, down, since the nearest mark would be more than the course has left)."
    )
    assert found.cautions == (NOT_FOR_INJECTION, INTUBATED)
    assert found.prescribed is not None
    assert found.prescribed.words[0] == "Repeat dose: 100 mg/kg of birth weight"


def test_a_last_dose_whose_mark_carries_the_course_over_its_total() -> None:
    found = find_outcome("surfactant", 1270, **LAST)
    # 1.6 mL × 80 mg/mL ÷ 1.27 kg, and the 300 mg/kg before it.
    assert found.over_course == make_amount(300 + Fraction(128) / Fraction("1.27"), "mg/kg")
    assert (found.show, found.is_held) == ("1.6 mL", False)
    over = "The mark brings the course to 400.8 mg/kg: a little over the 400 mg/kg in all."
    assert found.cautions == (over, NOT_FOR_INJECTION, INTUBATED)


def test_whole_vials_under_a_ceiling_name_it() -> None:
    products = tuple(
        replace(each, most=read("250 mg")) if each.id == "poractant-alfa" else each for each in KIT.model.product
    )
    kit = replace(KIT, model=replace(KIT.model, product=products))
    found = find_outcome("surfactant", 1450, kit, order=Order("poractant-alfa", "RA", "whole", read("3 mL")))
    assert (found.blocked, found.show, found.is_held, found.is_whole) == ("", "3 mL", False, True)
    # What is due stays 200 mg/kg, at most 250 mg; what the vials hold is in the syringe.
    assert (found.due, found.capped) == (read("250 mg"), read("250 mg"))
    assert (found.in_syringe, found.exact, found.discard) == (read("240 mg"), read("3 mL"), read("0 mL"))
    assert found.vials == vials("3 mL")
    assert found.details == (
        "240 mg, 166 mg/kg (due 172)",
        "ordered by RA: whole vials",
        "Poractant alfa 80 mg/mL",
        "5 mL syringe + 0.5 mL air",
        "tracheal",
        "open 3 mL vial",
    )
    assert found.working == (
        "Ordered by RA: whole vials, Poractant alfa.",
        f"Dose: 200 mg/kg × 1450 g (birth weight) = 290 mg. {PORACTANT}",
        f"No single dose is more than 250 mg: the dose is 250 mg. {PORACTANT}",
        "Whole containers: 3 mL × 80 mg/mL = 240 mg.",
        f"The label's range for a first dose: 100–200 mg/kg. {PORACTANT}",
        f"No single dose is more than 250 mg. {PORACTANT}",
        f"Strength: Poractant alfa 80 mg/mL, undiluted. {PORACTANT}",
        "Syringe: 5 mL [local]: all of 3 mL is 3 mL; no mark is needed.",
        "In the syringe: 3 mL × 80 mg/mL = 240 mg.",
        "240 mg ÷ 1450 g = 165.52 mg/kg.",
        "The syringe itself may be 4 % out at this volume [from memory: ISO 7886-1 1993].",
        TRACHEAL,
        "Open 3 mL: all of it is given, nothing is discarded [local].",
    )
    assert found.prescribed is not None
    assert found.prescribed.words[0] == "Ordered: whole vials, 3 mL. Is that within 100–200 mg/kg?"
    assert found.prescribed.holds == (read("1.5 mL"), read("3 mL"))


def test_whole_containers_stand_beside_the_dose_that_is_due() -> None:
    found = draw_ranged(1500, line='most = "30 mg"', product='most = "25 mg"')
    assert (found.blocked, found.due, found.in_syringe) == ("", read("15 mg"), read("20 mg"))
    assert (found.basis, found.source) == ("published", BOOK)
    assert found.working[2:6] == (
        "Whole containers: 2 mL × 10 mg/mL = 20 mg.",
        "The label's range for a first dose: 5–20 mg/kg. [local]",
        "No single dose is more than 30 mg. [published: Invented book 2020]",
        "No single dose is more than 25 mg. [local]",
    )


@pytest.mark.parametrize(
    ("in_all", "reason"), [("20 mg/kg", ""), ("19.9 mg/kg", "2 mL = 20 mg/kg, past 19.9 mg/kg in all")]
)
def test_whole_containers_may_reach_what_a_course_holds_in_all_and_not_pass_it(in_all: str, reason: str) -> None:
    repeat = f'repeat = {{ dose = "5 mg/kg", interval = "12 h", most_in_all = "{in_all}" }}'
    said = draw_ranged(1000, product=repeat).blocked
    assert said == (f"ordered by RA: Drug, whole ampoules, 2 mL; {reason}: order again" if reason else "")


def test_what_whole_containers_hold_is_told_to_four_places() -> None:
    # 1.500007 mL × 10 mg/mL = 15.00007 mg.
    said = draw_ranged(1000, "1.500007 mL", line='most = "9 mg"').blocked
    assert "; 1.500007 mL = 15.0001 mg, more than the 9 mg in one dose: order again" in said


def test_a_mark_that_the_most_in_one_dose_holds_down_far() -> None:
    # 1.19 mL; the mark at 1.2 mL would be 12 mg. 9.24 mg/kg = 11 mg ÷ 1.19 kg; (1.19 - 1.1) ÷ 1.19 = 7.6 %.
    product = 'most = "12 mg"\nhandling = ["Keep cool."]'
    found = draw(1190, line='most = "11.9 mg"\nair = true', product=product, route="tracheal", head='air = "0.5 mL"')
    assert (found.show, found.is_held, found.capped) == ("1.1 mL", True, None)
    assert found.details == (
        "11 mg, 9.24 mg/kg (due 10)",
        "Drug 10 mg/mL",
        "2 mL syringe + 0.5 mL air",
        "tracheal",
        "open 5 mL ampoule",
        "discard 3.9 mL",
    )
    assert found.working == (
        "Dose: 10 mg/kg × 1190 g (birth weight) = 11.9 mg. [published: Invented book 2020]",
        "Strength: Drug 10 mg/mL, undiluted. [local]",
        "Volume: 11.9 mg ÷ 10 mg/mL = 1.19 mL.",
        (
            "Syringe: 2 mL, marks every 0.1 mL [local]: draw up to 1.1 mL"
            " (−7.6 % from exact, down, since the nearest mark would be more than the most)."
        ),
        "In the syringe: 1.1 mL × 10 mg/mL = 11 mg.",
        "11 mg ÷ 1190 g = 9.24 mg/kg.",
        "The syringe itself may be 5 % out at this volume [from memory: ISO 7886-1 1993].",
        TRACHEAL,
        "Open 5 mL: leaves 3.9 mL to discard, the least waste from the sizes in stock [local].",
    )
    assert found.how == ("Keep cool.",)
    assert found.parts == ("needle, 18 G blunt", "2 mL syringe, tracheal", *TRACHEAL_PARTS[1:])
    assert found.cautions == ("The mark is 7.6 % from exact.", NOT_FOR_INJECTION)
    assert found.prescribed is not None
    assert found.prescribed.words == (
        "Dose: 10 mg/kg of birth weight",
        "No single dose is more than 11.9 mg",
        "No single dose is more than 12 mg",
        "Drug 10 mg/mL on the ampoule",
    )
    assert (found.basis, found.source) == ("published", BOOK)


def test_an_enteral_dose_at_its_ceiling_says_nothing_of_the_syringes_own_error() -> None:
    # ISO 7886-1 is for hypodermic syringes.
    found = draw(1500, line='most = "11 mg"', route="enteral")
    assert (found.show, found.due, found.capped) == ("1.1 mL", read("11 mg"), read("11 mg"))
    assert found.working == (
        "Dose: 10 mg/kg × 1500 g (birth weight) = 15 mg. [published: Invented book 2020]",
        "No single dose is more than 11 mg: the dose is 11 mg. [published: Invented book 2020]",
        "Strength: Drug 10 mg/mL, undiluted. [local]",
        "Volume: 11 mg ÷ 10 mg/mL = 1.1 mL.",
        "Syringe: 2 mL, marks every 0.1 mL [local]: draw up to 1.1 mL (exactly on a mark).",
        "In the syringe: 1.1 mL × 10 mg/mL = 11 mg.",
        "11 mg ÷ 1500 g = 7.33 mg/kg.",
        ENTERAL,
        "Open 5 mL: leaves 3.9 mL to discard, the least waste from the sizes in stock [local].",
    )
    assert found.parts == ("needle, 18 G blunt", "2 mL enteral syringe", *TRACHEAL_PARTS[1:])
    assert found.cautions == ("Not for injection.",)


@pytest.mark.parametrize(
    ("weight", "cautions"),
    # 1.05 and 2.1 mL at marks of 0.1 mL: 4.8 % from exact; 0.95 mL is 5.3 % from it; 1 mL of 0.9524 mL is 5 %.
    [(1050, ()), (950, ("The mark is 5.3 % from exact.",)), (1000, ())],
)
def test_a_mark_further_off_than_is_usual_is_a_caution(weight: int, cautions: tuple[str, ...]) -> None:
    assert draw(weight).cautions == cautions


def test_a_mark_off_by_just_what_is_usual_is_no_caution() -> None:
    # 2 mL exactly; marks of 0.7 mL put it at 2.1 mL: 5 % more.
    kit = make_small_kit(SMALL.format(line="", product="", route="intravenous"))
    text = SYRINGES.format(route="intravenous").replace('marks = "0.1 mL"', 'marks = "0.7 mL"')
    ward = make_small_ward(text.replace('"2 mL"', '"2.1 mL"') + UNDILUTED, kit, head=HEAD)
    found = find_outcome("it", 2000, kit, ward)
    assert (found.show, found.cautions) == ("2.1 mL", ())


def test_a_volume_that_leaves_nothing_in_its_container_discards_nothing() -> None:
    found = draw(2000, UNDILUTED.replace("5 mL", "2 mL"))
    assert found.discard == read("0 mL")
    assert found.details[-1] == "open 2 mL ampoule"


def test_a_syringe_of_which_no_error_is_recorded_says_so() -> None:
    kit = make_small_kit(SMALL.format(line="", product="", route="intravenous"))
    text = SYRINGES.format(route="intravenous").replace('"2 mL"', '"20 mL"')
    found = find_outcome("it", 2000, kit, make_small_ward(text + UNDILUTED, kit, head=HEAD))
    assert "How far a 20 mL syringe itself may be out is not recorded here." in found.working


def test_volumes_are_told_to_four_places_and_the_syringes_error_to_one() -> None:
    # 10 mg ÷ 9 mg/mL = 1.1111... mL.
    assert draw(1000, OTHER, small=NINTHS).working[2] == "Volume: 10 mg ÷ 9 mg/mL = 1.1111 mL."
    # ISO 7886-1: (1.5 % of 2 mL + 2 % of 0.7 mL) ÷ 0.7 mL = 6.2857... %.
    tolerance = "The syringe itself may be 6.3 % out at this volume [from memory: ISO 7886-1 1993]."
    assert draw(700).working[6] == tolerance


def test_the_source_of_a_recipe_is_no_part_of_the_order_whatever_signs_it_holds() -> None:
    kit = make_small_kit(SMALL.format(line='most = "1.5 mg"', product="", route="intravenous"))
    text = SYRINGES.format(route="intravenous").replace('"ward list 4"', '"ward list [4]"')
    found = find_outcome("it", 1000, kit, make_small_ward(text + WEAK, kit, head=HEAD))
    assert found.prescribed is not None
    assert found.prescribed.words[-1] == "Made up: 1 mL of Drug 10 mg/mL + 9 mL glucose 5 % = 10 mL of 1 mg/mL"


def test_a_mark_over_the_labels_range_is_a_caution_and_one_at_its_end_is_none() -> None:
    # 3.6 mL × 80 mg/mL ÷ 1.4 kg; 3 mL × 80 mg/mL ÷ 1.2 kg.
    over = "The mark gives 205.7 mg/kg: a little over the 200 mg/kg of the label's range."
    assert find_outcome("surfactant", 1400).cautions == (over, NOT_FOR_INJECTION)
    assert find_outcome("surfactant", 1200).cautions == (NOT_FOR_INJECTION,)


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        ("200.1", "200.1"),
        ("200.04", "200.04"),
        ("200.004", "200.004"),
        ("200.0004", "200.0004"),
        ("200.00004", "200"),
        ("205.71", "205.7"),
    ],
)
def test_what_is_over_a_limit_is_told_to_as_few_places_as_say_so(amount: str, shown: str) -> None:
    assert show_over(read(f"{amount} mg/kg"), read("200 mg/kg")) == f"{shown} mg/kg"


def test_a_ward_without_a_volume_of_air_is_told_to_ask() -> None:
    ask = "Ask how much air the unit leaves behind the dose, and enter it with the tick."
    unset = "Air behind the dose is not set on this ward: without any, some of the dose stays in the catheter."
    found = draw(1000, line="air = true", route="tracheal")
    assert (found.how, found.cautions) == ((ask,), (NOT_FOR_INJECTION, unset))
    found = draw(1000, line="air = true", route="tracheal", head='air = "0.5 mL"')
    assert (found.how, found.cautions) == ((), (NOT_FOR_INJECTION,))


def test_a_band_that_holds_every_baby_is_not_named() -> None:
    banded = SMALL.replace('dose = "10 mg/kg"\n', "") + '[[line.band]]\ndose = "10 mg/kg"\n'
    found = draw(1000, small=banded)
    assert found.working[0] == "Dose: 10 mg/kg × 1000 g (birth weight) = 10 mg. [published: Invented book 2020]"


def test_the_same_ceiling_on_the_line_and_on_the_label_is_one_ceiling() -> None:
    found = draw(1500, line='most = "11 mg"', product='most = "11 mg"')
    assert (found.due, found.show) == (read("11 mg"), "1.1 mL")
    assert found.prescribed is not None
    assert [words for words in found.prescribed.words if "No single dose" in words] == [
        "No single dose is more than 11 mg"
    ]
