"""Kits, wards and orders for the tests that hold a dose's outcome to the letter. Figures are invented."""

from datetime import datetime

from trays import KIT, NOW, WARD, find_baby, make_small_kit, make_small_ward, read, word

from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DoseLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.rules.kinds import apply_rule
from prepkit.rules.rule import Order, Outcome, RuleContext, VialCount

SMALL = """
[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "ampoule"
holds = ["5 mL"]
basis = "local"
{product}

[[product]]
id = "other"
name = "Other"
strength = "5 mg/mL"
container = "bottle"
holds = ["20 mL"]
basis = "common practice"

[[line]]
kind = "dose"
weight = "birth"
id = "it"
group = "all"
name = "It"
route = "{route}"
products = ["drug", "other"]
dose = "10 mg/kg"
basis = "published"
source = ["book"]
{line}
"""

HEAD = """
form = 1
name = "Invented ward"
edition = "1"
approver = "lead pharmacist"
review_by = 2030-01-01
deviation = "20 %"
"""

SYRINGES = """
[[syringe]]
route = "{route}"
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
UNDILUTED = '[[stock]]\nproduct = "drug"\nholds = ["5 mL"]\n'
WEAK = UNDILUTED + 'use = ["weak"]\n'
OTHER = '[[stock]]\nproduct = "other"\nholds = ["20 mL"]\n'


def find_outcome(
    line: str,
    weight: int,
    kit: ParsedFile[Kit] = KIT,
    ward: ParsedFile[Ward] | None = WARD,
    order: Order | None = None,
    now: datetime = NOW,
    **facts: str,
) -> Outcome:
    laid = lay_over(kit.model, ward.model if ward else None).kit
    found = next(each for each in laid.line if each.id == line)
    assert isinstance(found, DoseLine)
    orders = {line: order} if order else {}
    baby = find_baby(weight, kit=kit, now=now, **facts)
    return word(apply_rule(found, RuleContext(laid, ward.model if ward else None, baby, now, {}, orders)))


def draw(
    weight: int,
    stock: str = UNDILUTED,
    *,
    line: str = "",
    product: str = "",
    route: str = "intravenous",
    head: str = "",
    small: str = SMALL,
) -> Outcome:
    kit = make_small_kit(small.format(line=line, product=product, route=route))
    ward = make_small_ward(SYRINGES.format(route=route) + stock, kit, head=HEAD + head)
    return find_outcome("it", weight, kit, ward)


def vials(*sizes: str) -> tuple[VialCount, ...]:
    return tuple(VialCount(read(size), 1) for size in sizes)


def draw_ranged(weight: int, volume: str = "2 mL", *, line: str = "", product: str = "") -> Outcome:
    """An order of one whole ampoule, whose label gives 5 to 20 mg/kg, for a line with a dose of its own."""
    span = 'dose_range = { least = "5 mg/kg", most = "20 mg/kg" }\n'
    kit = make_small_kit(SMALL.format(line=line, product=span + product, route="intravenous"))
    text = SYRINGES.format(route="intravenous") + UNDILUTED.replace("5 mL", volume)
    return find_outcome(
        "it", weight, kit, make_small_ward(text, kit, head=HEAD), Order("drug", "RA", "whole", read(volume))
    )


NINTHS = SMALL.replace('strength = "5 mg/mL"', 'strength = "9 mg/mL"')
