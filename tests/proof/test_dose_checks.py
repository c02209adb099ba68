"""Each dose that a proof walks, and what can be ordered at the edges, is held to plain sums: a broken rule fails it.

A rule is broken on purpose for each property. The grams beside the checks are worked out by hand: poractant alfa is
80 mg/mL, 200 mg/kg first and 100 mg/kg after, in syringes with marks of 0.1 mL and 0.2 mL; the invented drug of the
small kits is 10 mg/mL, 2 mg/kg.
"""

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from proof_kits import (
    DOSE,
    FINE,
    OTHERS,
    PORACTANT,
    STOCK,
    TWO_STOCKED,
    TWO_STRENGTHS,
    make_syringe,
    prove_small,
    prove_stock,
    use_containers,
    write_syringe,
)
from trays import WARD

from prepkit.documents.proof_text import write_proof_text
from prepkit.documents.proof_words import say_note
from prepkit.kit.axes import Axis
from prepkit.kit.baby import Baby
from prepkit.proof import draw_ups
from prepkit.proof.findings import Wrong, WrongDose
from prepkit.proof.notes import Note, NotWalked, Proof
from prepkit.quantities.amount import make_amount
from prepkit.rules.dose import candidates, course, rule, whole_containers
from prepkit.rules.dose.candidates import Candidate, draw_fewest, draw_measured
from prepkit.rules.dose.draw_up import DrawUp
from prepkit.rules.dose.rule import DoseRule
from prepkit.rules.dose.scales import SyringeScale
from prepkit.rules.dose.syringe import RoundingLimits, Syringes
from prepkit.rules.dose.whole_containers import draw_nearest_whole, draw_whole

RECIPE = """
[[recipe]]
id = "thin"
product = "drug"
take = "1 mL"
add = "9 mL"
diluent = "sodium chloride 0.9 %"
gives = "1 mg/mL"
basis = "common practice"
source = "invented"
[[diluent]]
name = "sodium chloride 0.9 %"
holds = ["10 mL"]
[[needle]]
gauge = "18 G blunt"
[[mixing]]
holds = "20 mL"
"""


def list_wrong(proof: Proof) -> list[Note]:
    return [note for note in proof.notes if isinstance(note.finding, WrongDose)]


def find_first(proof: Proof, ordered: str = "") -> dict[Wrong, list[tuple[int, int]]]:
    """What is wrong with a first dose, and at which grams; each keeps the kit from being proved, and is said."""
    found: dict[Wrong, list[tuple[int, int]]] = {}
    for note in list_wrong(proof):
        assert note in proof.gaps
        assert f"! wrong: {say_note(note)}"[:60] in write_proof_text(proof)
        assert isinstance(note.finding, WrongDose)
        stages = [told.doses[0].given for each in note.where for told in each.situations]
        if note.finding.ordered == ordered and (not stages or None in stages):
            runs = [(run.first, run.last) for run in note.finding.runs]
            found[note.finding.what] = found.get(note.finding.what, []) + runs
    return found


def change_mark(monkeypatch: pytest.MonkeyPatch, by: int) -> None:
    """Take a mark so many above the nearest one, and say that it is held there."""

    def choose(_: Syringes, scale: SyringeScale, volume: int, finer: int, __: RoundingLimits) -> tuple[int, str]:
        marks = scale.marks * finer
        return ((2 * volume + marks) // (2 * marks) + by) * marks, "most"

    monkeypatch.setattr(Syringes, "_choose_mark", choose)


def draw_as(monkeypatch: pytest.MonkeyPatch, draw: Callable[[Candidate], object]) -> None:
    monkeypatch.setattr(draw_ups, "draw_in_wards_way", draw)


# ------------------------------------------------------------------------------------------------- what a dose holds


def test_a_mass_that_is_not_the_volume_times_the_strength_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(DrawUp, "in_syringe", property(lambda draw_up: draw_up.due.mass))
    proof = prove_stock(grams=(1000, 1041))
    # 2.6 mL is 208 mg, what is due at 1040 g and nowhere else.
    assert find_first(proof) == {Wrong.MASS: [(1000, 1039), (1041, 1041)]}
    words = next(say_note(note) for note in list_wrong(proof))
    assert words == (
        "what is in the syringe is not the volume \N{MULTIPLICATION SIGN} the strength at 41 weights"
        " (birth weight 1000\N{EN DASH}1039 g, 1041 g); at 1000 g: poractant-alfa, 2.6 mL drawn up,"
        " 200 mg in the syringe, 200 mg due (first dose)"
    )


def test_a_dose_that_is_not_the_one_per_kg_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    count = course._count_mg
    monkeypatch.setattr(course, "_count_mg", lambda per_kg: count(per_kg) * 2)
    assert find_first(prove_small(DOSE)) == {Wrong.DUE: [(1000, 1100)]}


def test_a_dose_of_another_gram_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    weigh = Baby.get_weight
    monkeypatch.setattr(Baby, "get_weight", lambda baby, axis: weigh(baby, axis) + 1)
    assert find_first(prove_small(DOSE)) == {Wrong.DUE: [(1000, 1100)]}


def test_a_dose_by_another_weight_than_the_lines_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Baby, "find_used", lambda *_: Axis.WEIGHT_NOW)
    assert find_first(prove_small(DOSE)) == {Wrong.DUE: [(1000, 1100)]}


def test_a_mark_past_the_most_in_one_dose_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    # From 1050 g on 2.1 mg are due, 0.21 mL: half way between marks of 0.06 mL, so up to 0.24 mL.
    most = DOSE.replace('dose = "2 mg/kg"', 'dose = "2 mg/kg"\nmost = "2.1 mg"')
    stock = STOCK + write_syringe("6", "0.06", "0.06")
    assert list_wrong(prove_small(most, stock, deviation="20 %")) == []
    monkeypatch.setattr(candidates, "_find_limits", lambda *_: RoundingLimits())
    assert find_first(prove_small(most, stock, deviation="20 %")) == {Wrong.MOST: [(1050, 1100)]}


def test_a_mark_held_below_by_the_most_in_one_dose_is_in_order() -> None:
    # 0.211 mL lies nearer to 0.24 mL than to 0.18 mL; 2.4 mg would be more than 2.11 mg.
    most = DOSE.replace('dose = "2 mg/kg"', 'dose = "2 mg/kg"\nmost = "2.11 mg"')
    proof = prove_small(most, STOCK + write_syringe("6", "0.06", "0.06"), deviation="20 %")
    assert [*map(say_note, proof.gaps)] == []


def test_a_ceiling_that_is_not_heeded_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    most = DOSE.replace('dose = "2 mg/kg"', 'dose = "2 mg/kg"\nmost = "2.1 mg"')
    monkeypatch.setattr(course, "_find_ceiling", lambda *_: None)
    assert find_first(prove_small(most)) == {Wrong.MOST: [(1051, 1100)]}


def test_a_mark_held_below_by_what_a_recipe_makes_is_in_order() -> None:
    # 2.16 mL of 1080 g lies nearer to 2.4 mL than to 1.8 mL; 2.2 mL are made up.
    thin = RECIPE.replace('"1 mL"', '"0.22 mL"').replace('"9 mL"', '"1.98 mL"')
    stock = f'{STOCK}use = ["thin"]\n{thin}{write_syringe("6", "0.6", "0.6")}'
    proof = prove_small(DOSE, stock, grams=(1060, 1100), deviation="20 %")
    assert [*map(say_note, proof.gaps)] == []


# ----------------------------------------------------------------------------------------------- the ward's rounding


def test_a_nearer_mark_that_is_not_taken_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    change_mark(monkeypatch, -1)
    coarse = tuple(each for each in WARD.model.syringe if each.marks != make_amount("0.05", "mL"))
    proof = prove_stock(grams=(1000, 1010), deviation=make_amount(20, "%"), syringe=coarse)
    # 2.5 mL is half way between 2.4 and 2.6 mL; from 1001 g on the upper one is nearer.
    assert find_first(proof) == {Wrong.NEAREST: [(1001, 1010)]}
    # After 300 of 400 mg/kg the upper mark, 1.3 mL, would be 104 mg of the 100 mg/kg that are left.
    assert not [note for note in list_wrong(proof) if "last dose" in say_note(note)]
    assert [note for note in list_wrong(proof) if "further dose" in say_note(note)]


def test_a_mark_above_the_nearest_fails_the_proof_whatever_it_is_said_to_be_held_by(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    change_mark(monkeypatch, 1)
    proof = prove_stock(grams=(1000, 1010), deviation=make_amount(20, "%"))
    assert find_first(proof) == {Wrong.NEAREST: [(1000, 1010)]}
    # Neither what a course has left nor the fewest containers is a reason to go up.
    assert [note for note in list_wrong(proof) if "last dose" in say_note(note)]
    # 1140 g: 2.85 mL lies nearer to 2.8 mL than to 3 mL, which is all of one vial.
    fewest = prove_stock(grams=(1140, 1140), deviation=make_amount(20, "%"), **use_containers("fewest"))
    assert find_first(fewest) == {Wrong.NEAREST: [(1140, 1140)]}


def test_two_marks_below_the_nearest_fail_the_proof_of_a_course_too(monkeypatch: pytest.MonkeyPatch) -> None:
    change_mark(monkeypatch, -2)
    proof = prove_stock(grams=(1000, 1010), deviation=make_amount(30, "%"))
    assert [note for note in list_wrong(proof) if "last dose" in say_note(note)]


def test_a_volume_between_marks_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Syringes, "_choose_mark", lambda *given: (given[2], ""))
    assert find_first(prove_stock(grams=(1039, 1041))) == {Wrong.MARK: [(1039, 1039), (1041, 1041)]}


def test_a_mark_further_off_than_the_ward_allows_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    prepare = candidates.prepare_syringes
    monkeypatch.setattr(candidates, "prepare_syringes", lambda stock, air, _: prepare(stock, air, make_amount(50, "%")))
    # 2.5 mL goes up to 3 mL; 2.85 mL, of 1140 g, lies 5.26 % under it and 2.8575 mL, of 1143 g, 4.99 %.
    proof = prove_stock(grams=(1000, 1145), syringe=(make_syringe("20", "1", "1"),), air=None)
    assert find_first(proof) == {Wrong.DEVIATION: [(1000, 1142)]}


def test_a_mark_just_as_far_off_as_the_ward_allows_is_in_order() -> None:
    # 0.19 mL of 0.2 mL is 5 % less.
    assert prove_small(DOSE, STOCK + write_syringe("1.9", "0.19", "0.19"), grams=(1000, 1000)).gaps == ()


def test_a_ward_that_is_never_over_is_told_where_a_mark_is(monkeypatch: pytest.MonkeyPatch) -> None:
    assert list_wrong(prove_stock(grams=(1000, 1045), round="not over")) == []
    monkeypatch.setattr(candidates, "_find_limits", lambda *_: RoundingLimits())
    proof = prove_stock(grams=(1000, 1045), round="not over")
    # 2.6 mL is 208 mg: over 200 mg/kg up to 1039 g. From 1041 g on it is the mark below.
    assert find_first(proof) == {Wrong.OVER: [(1000, 1039)]}
    # 1.25 mL of 1000 g goes up to 1.3 mL, 104 mg of the 100 mg/kg that are stated.
    assert [note for note in list_wrong(proof) if "further dose" in say_note(note)]


# ---------------------------------------------------------------------------------------------------- containers


def test_one_container_less_that_nobody_asked_for_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    assert list_wrong(prove_stock(grams=(1230, 1270), **use_containers("fewest"))) == []
    draw_as(monkeypatch, draw_fewest)
    # 3 mL of 3.1 mL up to 3.157 mL: at 1240 g half way to 3.2 mL, and further than that from then on.
    assert find_first(prove_stock(grams=(1230, 1270))) == {Wrong.NEAREST: [(1241, 1263)]}


def test_fewest_that_takes_less_than_its_containers_hold_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    measure = Syringes.measure_down

    def measure_less(self: Syringes, exact: object, most: object) -> object:
        found = measure(self, exact, most)  # type: ignore[arg-type]
        return found and replace(found, volume=make_amount("2.8", "mL"))

    monkeypatch.setattr(Syringes, "measure_down", measure_less)
    ways = use_containers("fewest") | {"deviation": make_amount(15, "%")}
    assert set(find_first(prove_stock(grams=(1241, 1263), **ways))) == {Wrong.NEAREST}


def test_whole_containers_that_nobody_asked_for_fail_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    assert list_wrong(prove_stock(grams=(1195, 1210), **use_containers("whole"))) == []
    draw_as(monkeypatch, lambda candidate: draw_nearest_whole(candidate) or draw_measured(candidate))
    # 3 mL, 240 mg, lies in 200 mg/kg from 1200 g on.
    assert find_first(prove_stock(grams=(1195, 1210))) == {Wrong.CONTAINERS: [(1200, 1210)]}


def draw_all_of(volume: str) -> Callable[[Candidate], object]:
    return lambda candidate: draw_whole(candidate, make_amount(volume, "mL"))


def draw_as_first(monkeypatch: pytest.MonkeyPatch, draw: Callable[[Candidate], object]) -> None:
    draw_as(monkeypatch, lambda each: draw_measured(each) if each.due.is_repeat else draw(each))


def test_less_than_the_whole_of_the_containers_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    def draw_twice_opened(candidate: Candidate) -> object:
        found = draw_whole(candidate, make_amount(3, "mL"))
        assert isinstance(found, DrawUp)
        return replace(found, vials=tuple(replace(each, count=each.count * 2) for each in found.vials))

    draw_as_first(monkeypatch, draw_twice_opened)
    assert find_first(prove_stock(grams=(1200, 1210), **use_containers("whole"))) == {Wrong.CONTAINERS: [(1200, 1210)]}


@pytest.mark.parametrize(("volume", "grams"), [("3", (1190, 1199)), ("1.5", (1201, 1210))])
def test_whole_containers_outside_the_labels_range_fail_the_proof(
    volume: str, grams: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    # 240 mg are over 200 mg/kg up to 1199 g; 120 mg under 100 mg/kg from 1201 g on.
    monkeypatch.setattr(whole_containers, "_find_over", lambda *_: None)
    draw_as_first(monkeypatch, draw_all_of(volume))
    assert find_first(prove_stock(grams=(1190, 1210), **use_containers("whole")))[Wrong.OVER] == [grams]


def test_whole_containers_of_a_further_dose_fail_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(whole_containers, "_find_no_first", lambda _: None)
    monkeypatch.setattr(whole_containers, "_find_over", lambda *_: None)
    draw_as(monkeypatch, draw_all_of("1.5"))
    proof = prove_stock(grams=(1200, 1200), **use_containers("whole"))
    whats = {note.finding.what for note in list_wrong(proof) if "further dose" in say_note(note)}  # type: ignore[union-attr]
    assert whats == {Wrong.OVER}


def test_whole_containers_far_from_what_is_due_fail_the_proof_without_an_order(monkeypatch: pytest.MonkeyPatch) -> None:
    draw_as_first(monkeypatch, draw_all_of("1.5"))
    proof = prove_stock(grams=(660, 680), **use_containers("whole"))
    # 120 mg are 90 % of what is due at 666.6 g; an order for them stands all the same.
    assert find_first(proof) == {Wrong.DEVIATION: [(667, 680)]}


# ------------------------------------------------------------------------------------------------- medicines, orders


def test_another_substance_without_an_order_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    coarse = {"syringe": (make_syringe("20", "0.2", "3.2"),), "air": None}
    assert list_wrong(prove_stock(PORACTANT + OTHERS, (1270, 1290), **coarse)) == []
    monkeypatch.setattr(rule, "list_same", tuple)
    # 2.5 mL a kg is under 3.2 mL up to 1279 g; beractant, 4 mL a kg, is not.
    found = find_first(prove_stock(PORACTANT + OTHERS, (1270, 1290), **coarse))
    assert found == {Wrong.MEDICINE: [(1270, 1279)]}


def test_a_recipe_that_the_ward_does_not_use_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    prepare = candidates.prepare_strength
    monkeypatch.setattr(
        candidates, "prepare_strength", lambda doses, _, kit, ward: prepare(doses, ward.recipe[0], kit, ward)
    )
    assert find_first(prove_small(DOSE, STOCK + RECIPE + FINE)) == {Wrong.MEDICINE: [(1000, 1100)]}


def test_a_stand_in_that_is_not_said_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    stock = TWO_STOCKED + write_syringe("5", "0.01", "0.21")
    assert list_wrong(prove_small(TWO_STRENGTHS, stock)) == []
    make = rule.make_outcome
    monkeypatch.setattr(rule, "make_outcome", lambda draw_up: make(replace(draw_up, instead_of=None)))
    assert find_first(prove_small(TWO_STRENGTHS, stock)) == {Wrong.MEDICINE: [(1000, 1049)]}


def test_a_stand_in_that_is_said_and_is_none_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    make = rule.make_outcome
    monkeypatch.setattr(rule, "make_outcome", lambda draw_up: make(replace(draw_up, instead_of=draw_up.product)))
    assert find_first(prove_small(DOSE)) == {Wrong.MEDICINE: [(1000, 1100)]}


def test_an_order_that_is_not_drawn_up_as_it_was_ordered_fails_the_proof_at_the_edges(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(course, "_order", lambda stated, _: stated)
    proof = prove_stock(grams=(1790, 1810))
    assert find_first(proof) == {}
    # The ends, and 1799 and 1800 g, between which the 5 mL syringe gives way to the 10 mL one.
    assert find_first(proof, "poractant-alfa 100 mg/kg") == {Wrong.DUE: [(1790, 1790), (1799, 1800), (1810, 1810)]}
    assert "poractant-alfa, ordered as poractant-alfa 100 mg/kg, " in write_proof_text(proof).replace("\n    ", " ")


def test_another_product_than_the_one_that_was_ordered_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    work_out = DoseRule._work_out_ordered
    monkeypatch.setattr(
        DoseRule,
        "_work_out_ordered",
        lambda self, context, order: work_out(self, context, replace(order, product="poractant-alfa")),
    )
    proof = prove_stock(PORACTANT + OTHERS, (1500, 1501))
    assert find_first(proof, "calfactant") == {Wrong.MEDICINE: [(1500, 1501)]}
    assert find_first(proof, "poractant-alfa") == {}


# --------------------------------------------------------------------------------------------------- no false alarm


@pytest.mark.parametrize("containers", ["measured", "fewest", "whole"])
@pytest.mark.parametrize("rounding", ["nearest", "not over"])
@pytest.mark.parametrize("deviation", [5, 20])
def test_the_rules_fail_no_check_in_any_of_the_wards_ways(deviation: int, rounding: str, containers: str) -> None:
    ways = {"round": rounding, "deviation": make_amount(deviation, "%")}
    for stocked in (PORACTANT + OTHERS, OTHERS + PORACTANT):
        way = stocked.replace('mL"]\n', f'mL"]\ncontainers = "{containers}"\n')
        assert list_wrong(prove_stock(way, (1000, 1400), **ways)) == []


SYRINGES = st.builds(
    lambda holds, marks, least: write_syringe(str(holds), f"{float(Fraction(marks, 100)):g}", f"{float(least):g}"),
    st.integers(1, 20),
    st.sampled_from([1, 2, 5, 10]),
    st.sampled_from([Fraction(1, 10), Fraction(1, 5), Fraction(1, 2)]),
)


@settings(max_examples=25)
@given(st.data(), st.lists(SYRINGES, min_size=1, max_size=3, unique_by=lambda syringe: syringe.partition("marks")[0]))
def test_no_ward_is_told_of_a_wrong_dose_by_rules_that_are_right(data: st.DataObject, syringes: list[str]) -> None:
    most = data.draw(st.sampled_from(["", 'most = "2.1 mg"\n', 'most = "2.05 mg"\n']))
    use = data.draw(st.sampled_from(["", 'use = ["thin", "undiluted"]\n', 'use = ["undiluted", "thin"]\n']))
    containers = data.draw(st.sampled_from(["measured", "fewest"]))
    rounding, deviation = data.draw(st.sampled_from(["nearest", "not over"])), data.draw(st.sampled_from([2, 5, 20]))
    stock = f'round = "{rounding}"\n{STOCK}{use}containers = "{containers}"\n{RECIPE if use else ""}'
    kit = DOSE.replace("[[line]]\n", f"[[line]]\n{most}")
    proof = prove_small(kit, stock + "".join(syringes), grams=(1000, 1060), deviation=f"{deviation} %")
    assert list_wrong(proof) == []


# ------------------------------------------------------------------------------------------------ what the text says


def test_the_text_says_what_was_checked_and_which_orders_were_walked() -> None:
    near = " ".join(write_proof_text(prove_small(DOSE)).split())
    assert "Checked of each dose at every weight, by plain sums of the proof's own" in near
    assert "No other mark of the syringe is nearer, unless" in near
    assert "all that can be ordered, at the first and the last weight" in near
    over = " ".join(write_proof_text(prove_small(DOSE, f'round = "not over"\n{STOCK}{FINE}')).split())
    assert "Never past the label's range for a first dose" in over
    alone = prove_small(DOSE, None)
    assert NotWalked.ORDERS not in alone.not_walked
    assert "Checked" not in write_proof_text(alone)
