"""The air behind a dose: what the ward set, what its catheter holds, or what is entered with the tick.

The demo ward leaves 0.5 mL behind surfactant. At 1100 g 2.75 mL are due, and 2.8 mL lie in a 5 mL syringe.
"""

from datetime import date

import pytest
from msgspec.structs import replace
from trays import KIT, NOW, WARD, change_ward, find_baby

from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import DeadVolume, Ward
from prepkit.quantities.amount import Amount, make_amount
from prepkit.rules.dose.draw_up import add_entered_air
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.kinds import apply_rule
from prepkit.rules.rule import EnteredValue, Entry, Order, Outcome, RuleContext
from prepkit.wording.say import say

UNSET = change_ward(air=None)


def ml(value: str | int) -> Amount:
    return make_amount(value, "mL")


def find(
    ward: ParsedFile[Ward] = WARD,
    entered: str | None = None,
    weight: int = 1100,
    order: Order | None = None,
    *,
    takes_air: bool = True,
) -> Outcome:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    line = replace(line, air=takes_air)
    values = {} if entered is None else {"surfactant": EnteredValue(ml(entered), "KM")}
    orders = {} if order is None else {"surfactant": order}
    context = RuleContext(KIT.model, ward.model, find_baby(weight), NOW, {}, orders, entered=values)
    return apply_rule(line, context)


def list_kind(found: Outcome, kind: Kind) -> list[Finding]:
    every = (*found.details, *found.working, *found.cautions)
    return [each for each in every if isinstance(each, Finding) and each.kind is kind]


def measure(
    volume: str, kit: str = KIT.model.id, line: str = "surfactant", air: str | None = "0.5"
) -> ParsedFile[Ward]:
    catheter = DeadVolume(
        line=line, kits=(kit,), volume=ml(volume), measured_by="lead nurse", measured_on=date(2026, 5, 1)
    )
    return change_ward(air=None if air is None else ml(air), dead_volume=(catheter,))


def test_what_the_ward_set_lies_behind_the_dose_and_nothing_is_asked() -> None:
    found = find()
    assert (found.air, found.enters, found.entered) == (ml("0.5"), None, None)
    assert list_kind(found, Kind.SYRINGE_AND_AIR) == [
        finding(Kind.SYRINGE_AND_AIR, count=1, holds=ml(5), air=ml("0.5"))
    ]
    assert list_kind(found, Kind.NO_AIR_STATED) == list_kind(found, Kind.CLEARS) == []
    # Set to none it is none, and nobody is asked either.
    none = find(change_ward(air=ml(0)))
    assert (none.air, none.enters) == (None, None)
    assert list_kind(none, Kind.SYRINGE_AND_AIR)[0]["air"] is None


@pytest.mark.parametrize(("volume", "air"), [("0.31", "0.4"), ("0.4", "0.4"), ("0.4001", "0.5"), ("0.8", "0.8")])
def test_a_catheter_that_was_measured_decides_rounded_up_to_a_tenth(volume: str, air: str) -> None:
    for of_ward in ("0.5", None):
        ward = measure(volume, air=of_ward)
        found = find(ward)
        assert (found.air, found.enters) == (ml(air), None)
        catheter = ward.model.dead_volume[0]
        assert list_kind(found, Kind.CLEARS) == [finding(Kind.CLEARS, dead_volume=catheter, air=ml(air))]
        assert list_kind(found, Kind.NO_AIR_STATED) == []


def test_a_catheter_of_another_kit_or_line_decides_nothing() -> None:
    for ward in (measure("0.8", kit="another"), measure("0.8", line="another")):
        assert find(ward).air == ml("0.5")
        assert list_kind(find(ward), Kind.CLEARS) == []


def test_the_air_has_to_fit_behind_the_dose() -> None:
    # 4.4 mL of 1760 g fill a 5 mL syringe with 0.5 mL; with 0.7 mL the next one is taken.
    sizes = [find(measure(volume), weight=1760).syringe for volume in ("0.6", "0.7")]
    assert [size.holds for size in sizes if size] == [ml(5), ml(10)]


def test_a_line_without_air_gets_none_whatever_the_ward_set_or_measured() -> None:
    for ward in (WARD, UNSET, measure("0.8")):
        found = find(ward, takes_air=False)
        assert (found.air, found.enters) == (None, None)
        assert list_kind(found, Kind.NO_AIR_STATED) == list_kind(found, Kind.CLEARS) == []


def test_what_was_never_set_is_asked_up_to_what_the_syringe_holds_and_said_to_be_wanted() -> None:
    found = find(UNSET)
    assert found.enters == Entry("air", ml(0), ml("2.2"))
    assert (found.air, found.entered) == (None, None)
    assert len(list_kind(found, Kind.NO_AIR_STATED)) == 1
    # 12 mL in a 20 mL syringe: never more than 5 mL, a guard against slips. 4.5 mL leave 0.5 mL in two of 2.5 mL.
    large = find(UNSET, weight=4800)
    assert large.syringe is not None
    assert large.enters == Entry("air", ml(0), ml(5))
    small = tuple(row for row in WARD.model.syringe if row.route == "tracheal" and row.holds == ml("2.5"))
    two = find(change_ward(UNSET, syringe=small), weight=2200, order=Order("poractant-alfa", "KM", "whole", ml("4.5")))
    assert (two.syringes, two.enters) == (2, Entry("air", ml(0), ml("0.5")))


def test_what_was_entered_is_the_lines_air_from_then_on_and_asked_for_no_more() -> None:
    asked, found = find(UNSET), find(UNSET, "0.8")
    assert (found.air, found.entered) == (ml("0.8"), EnteredValue(ml("0.8"), "KM"))
    held = finding(Kind.SYRINGE_AND_AIR, count=1, holds=ml(5), air=ml("0.8"))
    assert [each if each.kind is not Kind.SYRINGE_AND_AIR else held for each in asked.details] == list(found.details)
    assert found.working == (*asked.working, finding(Kind.ENTERED_AIR, air=ml("0.8"), by="KM"))
    assert say(found.working[-1]) == "Air behind the dose, 0.8 mL: entered with the tick by KM."
    assert list(found.cautions) == [
        each for each in asked.cautions if not (isinstance(each, Finding) and each.kind is Kind.NO_AIR_STATED)
    ]
    assert len(found.cautions) == len(asked.cautions) - 1


def test_no_air_that_was_entered_is_none_and_more_than_fits_is_not_taken() -> None:
    none = find(UNSET, "0")
    assert (none.air, none.entered) == (None, EnteredValue(ml(0), "KM"))
    assert list_kind(none, Kind.SYRINGE_AND_AIR)[0]["air"] is None
    assert list_kind(none, Kind.NO_AIR_STATED) == []
    assert find(UNSET, "2.5") == find(UNSET)
    # Where nothing is asked, nothing is taken.
    assert find(WARD, "0.8") == find(WARD)
    assert add_entered_air(find(WARD), None) == find(WARD)
