"""What is true of surfactant at every gram: what the mark holds, the ward's rounding, and never another in silence.

The sums are pint's own, on its default registry; the labels' figures are those of tests/reference.
"""

from fractions import Fraction
from functools import cache

import pint
import pytest
from msgspec.structs import replace
from trays import KIT, NOW, WARD, change_ward, find_baby, find_line, give_before, make_ward, read

from prepkit.kit.lines import DoseLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import convert
from prepkit.rules.kinds import prepare_rule
from prepkit.rules.rule import Outcome, RuleContext
from prepkit.wording.say import say

GRAMS = range(600, 5001)
STOCK = '[[stock]]\nproduct = "calfactant"\nholds = ["3 mL", "6 mL"]\n'
BOTH = make_ward(WARD.text + STOCK)
REGISTRY = pint.UnitRegistry(non_int_type=Fraction)


@cache
def find_baby_once(grams: int) -> object:
    return find_baby(grams)


def work_out(ward: ParsedFile[Ward]) -> list[tuple[int, Outcome]]:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    assert isinstance(line, DoseLine)
    rule = prepare_rule(line, KIT.model, ward.model)
    return [
        (grams, rule.work_out(RuleContext(KIT.model, ward.model, find_baby_once(grams), NOW, {})))  # type: ignore[arg-type]
        for grams in GRAMS
    ]


@pytest.mark.parametrize("containers", ["measured", "fewest", "whole"])
@pytest.mark.parametrize("rounding", ["nearest", "not over"])
def test_what_is_in_the_syringe_is_the_volume_times_the_strength_and_the_wards_rounding_is_kept(
    rounding: str, containers: str
) -> None:
    stock = tuple(replace(each, containers=containers) for each in WARD.model.stock)
    drawn = [(grams, found) for grams, found in work_out(change_ward(round=rounding, stock=stock)) if not found.blocked]
    assert len(drawn) > 4000
    for grams, found in drawn:
        assert found.amount is not None
        assert found.in_syringe is not None
        assert found.due is not None
        volume = REGISTRY.Quantity(found.amount.value, "mL")
        mass = (volume * REGISTRY.Quantity(Fraction(80), "mg/mL")).to("mg").magnitude
        assert convert(found.in_syringe, "mg").value == mass, grams
        assert convert(found.due, "mg").value == Fraction(200 * grams, 1000)
        per_kg = mass * 1000 / grams
        if rounding == "not over" or found.is_whole:
            # The label's range for a first dose ends at 200 mg/kg.
            assert per_kg <= 200, grams
        if found.is_whole:
            assert per_kg >= 100
        else:
            assert abs(per_kg - 200) <= 10, grams


def test_a_ward_that_is_never_over_its_range_differs_from_the_nearest_mark() -> None:
    nearest, below = dict(work_out(WARD)), dict(work_out(change_ward(round="not over")))
    assert say(nearest[1400].show) == "3.6 mL"
    assert say(below[1400].show) == "3.4 mL"
    assert any(found.amount and found.amount.value * 80000 > 200 * grams for grams, found in nearest.items())


def test_never_over_is_never_over_the_stated_dose_where_the_label_gives_no_range() -> None:
    """Beractant is 4 mL/kg and a repeat of poractant alfa 100 mg/kg; the sums are by hand."""
    beractant = make_ward(
        WARD.text.replace("poractant-alfa", "beractant").replace('["1.5 mL", "3 mL"]', '["4 mL", "8 mL"]')
    )
    # 1030 g: 4.12 mL lies nearer to 4.2 mL, which is 101.9 mg/kg.
    assert find_line("surfactant", 1030, ward=beractant).show == "4.2 mL"
    assert find_line("surfactant", 1030, ward=change_ward(beractant, round="not over")).show == "4 mL"
    # 1480 g: 1.85 mL is half way between 1.8 and 1.9 mL, which is 102.7 mg/kg.
    before = give_before("200 mg/kg, 2026-11-24 12:00")
    assert find_line("surfactant", 1480, **before).show == "1.9 mL"
    assert find_line("surfactant", 1480, ward=change_ward(round="not over"), **before).show == "1.8 mL"


def test_fewest_takes_one_vial_less_where_that_stays_inside_the_deviation() -> None:
    stock = tuple(replace(each, containers="fewest") for each in WARD.model.stock)
    few = change_ward(stock=stock)
    # 1249 g: 3.1225 mL; 3 mL is 3.9 % less. 1263 g: 3.1575 mL, of which 3 mL is 4.99 % less; 1264 g: 5.06 %.
    for grams, shown in ((1200, "3 mL"), (1249, "3 mL"), (1263, "3 mL"), (1264, "3.2 mL")):
        line = find_line("surfactant", grams, ward=few)
        assert (line.show, sum(vial.count for vial in line.vials)) == (shown, 1 if shown == "3 mL" else 2), grams
    assert find_line("surfactant", 1249).show == "3.2 mL"


def test_another_surfactant_is_never_drawn_up_without_an_order() -> None:
    for grams, found in work_out(BOTH):
        assert found.product in {"poractant-alfa", ""}, grams
    # No poractant alfa comes to 13 mL, and from 4334 g on calfactant does: it takes no place of it.
    small = tuple(row for row in WARD.model.syringe if row.route != "tracheal")
    fine = replace(WARD.model.syringe[0], route="tracheal", holds=read("20 mL"), least=read("13 mL"))
    for grams, found in work_out(change_ward(BOTH, syringe=(*small, fine), air=None)):
        assert found.blocked, grams
        assert say(found.blocked).endswith("; Calfactant only by an order that names it")


def test_a_third_dose_that_the_label_allows_is_not_barred_by_the_rounding_of_the_first_two() -> None:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    assert isinstance(line, DoseLine)
    rule = prepare_rule(line, KIT.model, WARD.model)
    for grams in GRAMS[::7]:
        given: list[str] = []
        for day in ("2026-11-22", "2026-11-23", "2026-11-24"):
            baby = find_baby(grams, born="2026-11-21", **(give_before(*given) if given else {}))
            found = rule.work_out(RuleContext(KIT.model, WARD.model, baby, NOW, {}))
            if found.in_syringe is None:
                assert found.is_unmeasured, (grams, given, say(found.blocked))
                break
            given.append(f"{float(convert(found.in_syringe, 'mg').value):g} mg, {day} 08:00")
