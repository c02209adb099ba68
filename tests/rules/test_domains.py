"""A kit's domain is clinical: where its figures begin, whatever a ward's syringes measure."""

import pytest
from shipped import KIT_IDS, read_kit_text
from trays import WARD, change_ward, make_kit, make_tray

from prepkit.quantities.amount import make_amount
from prepkit.wording.say import say

KITS = {kit: make_kit(read_kit_text(kit)) for kit in KIT_IDS}
BEGINS = {
    # Trevisanuto 2005 and Gallup 2023 took babies above 800 g (clinical corrections, section 2; R).
    "surfactant-supraglottic": 800,
    # The dosing charts of poractant alfa and beractant begin at 600 g (clinical corrections, 1.2; R).
    "surfactant-thin-catheter": 600,
    "surfactant-brief-ventilation": 600,
}


@pytest.mark.parametrize("kit", KIT_IDS)
def test_a_domain_begins_where_the_sources_of_its_figures_begin(kit: str) -> None:
    domain = KITS[kit].model.domain
    assert domain.birth_weight is not None
    assert domain.birth_weight.at_least == make_amount(BEGINS[kit], "g")
    # The program asks again for a weight now under 85 % of the birth weight (clinical corrections, section 13; C).
    assert domain.weight_now is not None
    assert domain.weight_now.at_least == make_amount(BEGINS[kit] * 85 // 100, "g")


@pytest.mark.parametrize("kit", KIT_IDS)
def test_what_no_syringe_measures_blocks_the_line_and_never_the_kit(kit: str) -> None:
    largest = max(each.holds for each in WARD.model.syringe if each.route == "tracheal")
    coarse = change_ward(
        syringe=tuple(each for each in WARD.model.syringe if each.route != "tracheal" or each.holds == largest)
    )
    fine, blocked = (make_tray(1200, "29+0", kit=KITS[kit], ward=ward) for ward in (WARD, coarse))
    assert blocked.verdict == fine.verdict
    assert blocked.reasons == fine.reasons
    by_id = {line.id: say(line.outcome.blocked) for line in blocked.lines}
    assert "3 mL is under the 8 mL that a 20 mL syringe measures" in by_id["surfactant"]
    assert by_id["t-piece-circuit"] == ""
