"""Atropine against the table computed at 20 microgram/kg (clinical reference, section 3).

Dose: Canadian Paediatric Society 2011, doi 10.1093/pch/16.3.159, status R. No floor: Barrington 2011, doi
10.1542/peds.2010-1475, R. Strengths and recipes: SmPCs R; 1 + 11 mL Queensland NMedQ19.007 R; 0.5 + 7.5 mL London Ontario
NICU R; 1 + 9 mL from memory. The table's cells are computed from them.
"""

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from trays import DEMO_TEXT, KIT, WARD, change_ward, find_line, make_fine_ward, make_ward, write_widening

from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import convert, make_amount

# Weight g, dose microgram, mL at 600, 100, 60, 50 and 25 microgram/mL, a forced 100 microgram over 20 microgram/kg.
TABLE = """
500 10 0.0167 0.100 0.167 0.200 0.400 10.0
600 12 0.0200 0.120 0.200 0.240 0.480 8.3
750 15 0.0250 0.150 0.250 0.300 0.600 6.7
800 16 0.0267 0.160 0.267 0.320 0.640 6.2
1000 20 0.0333 0.200 0.333 0.400 0.800 5.0
1250 25 0.0417 0.250 0.417 0.500 1.000 4.0
1500 30 0.0500 0.300 0.500 0.600 1.200 3.3
1750 35 0.0583 0.350 0.583 0.700 1.400 2.9
2000 40 0.0667 0.400 0.667 0.800 1.600 2.5
2500 50 0.0833 0.500 0.833 1.000 2.000 2.0
3000 60 0.1000 0.600 1.000 1.200 2.400 1.7
3500 70 0.1167 0.700 1.167 1.400 2.800 1.4
4000 80 0.1333 0.800 1.333 1.600 3.200 1.2
5000 100 0.1667 1.000 1.667 2.000 4.000 1.0
"""
ROWS = [line.split() for line in TABLE.split("\n")[1:-1]]


def write_recipe(take: str, add: str, gives: str) -> str:
    return f"""
[[mixing]]
holds = "20 mL"

[[diluent]]
name = "sodium chloride 0.9 %"
holds = ["10 mL"]

[[needle]]
gauge = "18 G blunt"

[[recipe]]
id = "made"
product = "atropine-600"
take = "{take}"
add = "{add}"
diluent = "sodium chloride 0.9 %"
gives = "{gives}"
basis = "local"
source = "the table's own"

[[stock]]
product = "atropine-600"
holds = ["1 mL"]
use = ["made"]
"""


# The 400 microgram/mL ampoule (Canada) stands in for the kit's ampoule in that ward's own file.
WEAKER = """
[[product]]
id = "atropine-600"
name = "Atropine"
strength = "400 microgram/mL"
container = "ampoule"
holds = ["1 mL"]
basis = "local"
"""
PREFILLED = '[[stock]]\nproduct = "atropine-prefilled"\nholds = ["5 mL"]\n'
# The prefilled syringe without its label's least volume, to see the volumes that it bars.
UNBARRED = """
[[product]]
id = "atropine-prefilled"
name = "Atropine"
strength = "100 microgram/mL"
container = "prefilled syringe"
holds = ["5 mL"]
basis = "local"
"""

# A ward's own entry that bars less, or gives more volume, than the kit's counts only as approved.
APPROVED = write_widening("{}", KIT.model.id)
WARDS = {
    600: make_fine_ward('[[stock]]\nproduct = "atropine-600"\nholds = ["1 mL"]\n'),
    100: make_fine_ward(UNBARRED + PREFILLED + APPROVED.format("atropine-prefilled")),
    60: make_fine_ward(write_recipe("1 mL", "9 mL", "60 microgram/mL")),
    50: make_fine_ward(write_recipe("1 mL", "11 mL", "50 microgram/mL")),
    25: make_fine_ward(WEAKER + APPROVED.format("atropine-600") + write_recipe("0.5 mL", "7.5 mL", "25 microgram/mL")),
}
UNDILUTED_ONLY = make_ward(DEMO_TEXT.replace('use = ["atropine-50"]', 'use = ["undiluted"]'))
UNDILUTED_FIRST = make_ward(DEMO_TEXT.replace('use = ["atropine-50"]', 'use = ["undiluted", "atropine-50"]'))


def to_places(value: Fraction, cell: str, rounding: str) -> str:
    """Round a value to as many places as the table's cell has."""
    number = Decimal(value.numerator) / Decimal(value.denominator)
    return str(number.quantize(Decimal(cell), rounding))


@pytest.mark.parametrize(("place", "strength"), [(2, 600), (3, 100), (4, 60), (5, 50), (6, 25)])
@pytest.mark.parametrize("row", ROWS)
def test_every_volume_of_the_table_comes_out(row: list[str], place: int, strength: int) -> None:
    line = find_line("atropine", int(row[0]), ward=WARDS[strength])
    assert line.due is not None
    assert line.exact is not None
    assert convert(line.due, "microgram").value == Fraction(row[1])
    assert to_places(line.exact.value, row[place], ROUND_HALF_UP) == row[place]


@pytest.mark.parametrize("row", ROWS)
def test_there_is_no_floor_of_100_microgram(row: list[str]) -> None:
    line = find_line("atropine", int(row[0]), ward=WARDS[50])
    assert line.due is not None
    # The table prints 6.25 as 6.2 and 1.25 as 1.2: half to even.
    assert to_places(100 / convert(line.due, "microgram").value, row[7], ROUND_HALF_EVEN) == row[7]


@pytest.mark.parametrize("weight", [300, 500, 1450, 2500, 2999])
def test_the_strong_ampoule_undiluted_is_refused_under_3_kg(weight: int) -> None:
    line = find_line("atropine", weight, ward=UNDILUTED_ONLY)
    assert "Atropine 600 microgram/mL" in line.blocked
    assert "is under the 0.1 mL that a 1 mL syringe measures" in line.blocked
    assert (line.amount, line.show) == (None, "")


@pytest.mark.parametrize("weight", [1000, 1450, 2500, 2999])
def test_under_3_kg_the_approved_recipe_is_used_instead(weight: int) -> None:
    line = find_line("atropine", weight, ward=UNDILUTED_FIRST)
    assert not line.blocked
    assert line.recipe is not None
    assert line.recipe.id == "atropine-50"


@pytest.mark.parametrize("weight", [3000, 3001, 6000])
def test_from_3_kg_the_ward_that_prefers_it_undiluted_gets_it_so(weight: int) -> None:
    line = find_line("atropine", weight, ward=UNDILUTED_FIRST)
    assert not line.blocked
    assert line.recipe is not None
    assert line.recipe.id == "undiluted"


def find_prefilled(weight: int) -> tuple[str, str]:
    ward = make_fine_ward(PREFILLED)
    line = find_line("atropine", weight, ward=ward)
    return line.blocked, line.show


def test_the_prefilled_syringe_is_refused_under_3_kg() -> None:
    # UK SmPC of the 100 microgram/mL syringe, R: barred for doses under 0.5 mL and for babies under 3 kg.
    for weight in (1450, 2499, 2500, 2999):
        blocked, show = find_prefilled(weight)
        assert blocked == "Atropine prefilled: its label is for weight now at least 3000 g"
        assert show == ""
    assert find_prefilled(3000) == ("", "0.6 mL")


def test_no_single_dose_passes_600_microgram() -> None:
    # UK SmPC of the 100 microgram/mL syringe, R. The heaviest baby of all is far from it.
    line = find_line("atropine", 6000)
    assert line.due is not None
    assert convert(line.due, "microgram").value == 120
    kept = next(row for row in KIT.model.line if isinstance(row, DoseLine) and row.id == "atropine")
    assert kept.most == make_amount(600, "microgram")


def test_the_issues_own_example_of_atropine() -> None:
    line = find_line("atropine", 1450)
    assert line.show == "0.58 mL"
    assert line.syringe is not None
    assert (line.syringe.route, line.syringe.holds) == ("intravenous", make_amount(1, "mL"))


def test_a_ward_without_the_product_says_so() -> None:
    ward = change_ward(WARD, stock=tuple(row for row in WARD.model.stock if "atropine" not in row.product))
    line = find_line("atropine", 1450, ward=ward)
    assert line.blocked == "the ward file stocks no Atropine or Atropine prefilled"
