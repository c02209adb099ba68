"""Kits, ward files and babies by chance, for the laws of what is prepared once. Figures are invented."""

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction

from hypothesis import strategies as st
from msgspec.structs import replace
from shipped import KIT_IDS, read_kit_text
from trays import DEMO_TEXT, NOW, WARD, change_ward, make_kit, make_small_kit, make_small_ward, make_ward

from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import make_amount
from prepkit.quantities.gestation import Gestation

# Every kind of line by bands of every sort, a dose by bands with ceilings, a recipe and a course. Figures are invented.
EVERY_KIND = """
[[fact]]
kind = "amount"
id = "flow"
label = "Flow"
ask = "Flow?"
least = "1 L/min"
most = "12 L/min"

[[fact]]
kind = "choice"
id = "side"
label = "Side"
ask = "Side?"
options = ["left", "right"]
default = "left"

[[fact]]
kind = "doses"
id = "before"
label = "Before"
ask = "Before?"

[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "ampoule"
holds = ["1 mL", "2.5 mL"]
most = "17 mg"
least_volume = "0.3 mL"
repeat = { dose = "3.3 mg/kg", interval = "6 h", most_in_all = "21.7 mg/kg" }
basis = "local"

[[product]]
id = "other"
name = "Other"
strength = "900 microgram/mL"
container = "bottle"
holds = ["20 mL"]
where = { birth_weight = { above = "1.1 kg" } }
basis = "local"

[[line]]
kind = "dose"
weight = "birth"
id = "dose"
group = "all"
name = "Dose"
route = "enteral"
products = ["drug", "other"]
earlier = "before"
air = true
basis = "local"
band = [
    { birth_weight = { at_most = "1.5 kg" }, dose = "7.7 mg/kg" },
    { birth_weight = { above = "1.5 kg", below = "4000 g" }, dose = "9 mg/kg" },
]

[[line]]
kind = "size"
id = "size"
group = "all"
name = "Size"
basis = "local"

[[line.method]]
by = "weight"
band = [
    { weight_now = { below = "2 kg" }, size = ["a"] },
    { weight_now = { at_least = "2 kg" }, size = ["b", "c"] },
]

[[line.method]]
by = "gestation"
band = [{ birth_gestation = { above = "30+3" }, size = ["b"] }]

[[line]]
kind = "size"
id = "follower"
group = "all"
name = "Follower"
basis = "local"

[[line.method]]
by = "size"
follows = "size"
band = [{ when_size = "a", size = ["x"] }, { when_size = "b", size = ["y"] }]

[[line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
differ = "0.5 cm"
basis = "local"

[[line.method]]
by = "device"
measured = true
follows = "size"
basis = "local"

[[line.method]]
by = "formula"
per_kg = "1.3 cm/kg"
weight = "now"
plus = "43 mm"
basis = "local"

[[line.method]]
by = "table"
basis = "local"
band = [
    { gestation_today = { below = "29+0" }, depth = "6 cm" },
    { gestation_today = { at_least = "29+0" }, depth = "9 cm" },
]

[[line]]
kind = "setting"
id = "setting"
group = "all"
name = "Setting"
basis = "local"
band = [
    { facts = { side = "right" }, floor = "2 L/min" },
    { facts = { flow = { at_least = "4 L/min" } }, copies = "flow" },
    { birth_weight = { at_least = "2500 g" }, low = "3 L/min", high = "5 L/min" },
    { birth_weight = { below = "2500 g" }, age = { at_most = "50 h" }, value = "3 L/min" },
]

[[line]]
kind = "amount"
id = "amount"
group = "all"
name = "Amount"
route = "enteral"
basis = "local"
band = [
    { birth_gestation = { below = "32+0" }, value = "0.3 mL" },
    { birth_gestation = { at_least = "32+0", at_most = "38+2" }, low = "0.25 mL", high = "1 mL" },
]

[[line]]
kind = "supply"
id = "supply"
group = "all"
name = "Supply"
step = "0.5 cm"
basis = "local"
count = [{ facts = { side = "left" }, count = 2 }, { facts = { side = "right" }, count = 1 }]
size = { by = "weight", band = [{ greater_weight = { below = "3 kg" }, size = ["6 Fr"] }] }
length = { by = "formula", per_kg = "2.1 cm/kg", weight = "greater", basis = "local" }

[[line]]
kind = "trial"
id = "trial"
group = "all"
name = "Trial"
of = ["dose", "follower"]
how = ["Try it."]
basis = "local"
"""
HEAD = """
form = 1
name = "Invented ward"
edition = "1"
approver = "lead pharmacist"
review_by = 2030-01-01
deviation = "20 %"
"""
STOCK = """
air = "0.15 mL"

[[mixing]]
holds = "20 mL"

[[diluent]]
name = "water"
holds = ["10 mL"]

[[needle]]
gauge = "18 G blunt"

[[recipe]]
id = "weak"
product = "drug"
take = "1 mL"
add = "3 mL"
diluent = "water"
gives = "2.5 mg/mL"
basis = "local"
source = "ward list 4"

[[stock]]
product = "drug"
holds = ["1 mL", "2.5 mL"]
use = ["undiluted", "weak"]

[[stock]]
product = "other"
holds = ["20 mL"]

[[measured]]
line = "depth"
device = "invented device"
size = "a"
length = "11.7 cm"
clearance = "0.5 cm"
measured_by = "nurse"
measured_on = 2026-01-01
""" + "".join(
    f'[[syringe]]\nroute = "enteral"\nholds = "{holds} mL"\nmarks = "{marks} mL"\nleast = "{least} mL"\n'
    for holds, marks, least in (("1", "0.05", "0.1"), ("3", "0.1", "0.5"), ("10", "0.5", "1"))
)
SHIPPED = [make_kit(read_kit_text(kit)) for kit in KIT_IDS]
SMALL = make_small_kit(EVERY_KIND)
MORE = DEMO_TEXT + '[[stock]]\nproduct = "beractant"\nholds = ["4 mL", "8 mL"]\n'
SHIPPED_WARDS = [WARD, make_ward(MORE, *SHIPPED), None]
SMALL_WARDS = [
    make_small_ward(STOCK, SMALL, head=HEAD),
    make_small_ward(STOCK, SMALL, head=HEAD.replace("20 %", "7 %")),
    None,
]
SHIPPED_PAIRS = [(kit, ward) for kit in SHIPPED for ward in SHIPPED_WARDS]
SMALL_PAIRS = [(SMALL, ward) for ward in SMALL_WARDS]
_DAY = re.compile(r"[0-9-]{10}")
HUNDREDTHS = st.integers(1, 60).map(lambda number: make_amount(Fraction(number, 100), "mL"))


@st.composite
def draw_ward(draw: st.DrawFn, ward: ParsedFile[Ward]) -> ParsedFile[Ward]:
    """Another ward of the same products: other marks, another tolerance, other air, its stock in another order."""
    stock = draw(st.permutations(ward.model.stock))
    syringes = tuple(replace(row, marks=draw(HUNDREDTHS), least=draw(HUNDREDTHS)) for row in ward.model.syringe)
    return change_ward(
        ward,
        round=draw(st.sampled_from(["nearest", "not over"])),
        syringe=syringes,
        deviation=make_amount(draw(st.sampled_from(["0.5", "3", "5", "10", "33.3"])), "%"),
        air=draw(st.none() | HUNDREDTHS),
        stock=tuple(
            replace(
                row,
                use=tuple(draw(st.permutations(row.use))),
                containers=draw(st.sampled_from(["measured", "fewest", "whole"])),
            )
            for row in stock
        ),
    )


def list_before(product: str, amounts: Sequence[str]) -> list[str]:
    """Doses given before: none, one of each amount, at two moments, and some of which not all is known."""
    moments = ("2026-11-24 12:00", "2026-11-24 20:00", "2026-11-25 00:00")
    known = [f"{product}, {amount} mg/kg, {at}" for amount in amounts for at in moments]
    two = f"{known[0]}; {product}, 12 mg, 2026-11-24 06:00"
    return ["none", *known, two, f"{product}, not known, {moments[0]}", f"not known, {amounts[0]} mg/kg, not known"]


@st.composite
def draw_facts(draw: st.DrawFn, kit: ParsedFile[Kit]) -> Mapping[str, str]:
    """Facts of a baby, those around the edges of bands among them, some given and some left to the kit's default."""
    edges = st.sampled_from([999, 1000, 1200, 1450, 1500, 1501, 1999, 2000, 2001, 2500, 3000, 4000, 5000, 5001])
    grams = edges | st.integers(300, 6000)
    facts = {
        "birth_weight": str(draw(grams)),
        "birth_gestation": str(Gestation(draw(st.integers(154, 314)))),
    } | draw(st.sampled_from([{}] * 4 + [{"birth_weight": "not known"}, {"birth_gestation": "not known"}]))
    if draw(st.booleans()) or facts["birth_weight"] == "not known":
        day = draw(st.sampled_from(["2026-11-25", "2026-11-24T03:00+00:00", "2026-11-22", "2026-11-02"]))
        facts |= {"born": day, "weight_now": f"{draw(grams)} on 2026-11-25"}
        if facts["birth_weight"] != "not known" and draw(st.booleans()):
            # Over 24 h old it is wanted; before that it is the weight at birth.
            del facts["weight_now"]
    offered: dict[str, list[str]] = {
        "cpap": ["3", "6", "12"], "fio2": ["21", "31"], "gastric_tube": ["yes", "no"], "nil_by_mouth": ["yes", "no"],
        "earlier_surfactant": list_before("poractant-alfa", ["100", "200", "300", "301"]),
        "flow": ["1", "4", "3.99"], "side": ["left", "right"],
        "before": [*list_before("drug", ["7.7", "18.4", "18.3", "18.5"]), *list_before("other", ["7.7"])],
    }  # fmt: skip
    is_first, born = draw(st.booleans()), facts.get("born", "2026-11-25")[:10]
    for fact in kit.model.fact:
        if is_first and ("before" in fact.id or "earlier" in fact.id):
            continue
        # No dose was given before the birth.
        said = [each for each in offered.get(fact.id, []) if all(day >= born for day in _DAY.findall(each))]
        value = draw(st.sampled_from([None, *said]))
        facts |= {fact.id: value} if value else {}
    return facts


@st.composite
def draw_all(
    draw: st.DrawFn, pairs: Sequence[tuple[ParsedFile[Kit], ParsedFile[Ward] | None]]
) -> tuple[ParsedFile[Kit], ParsedFile[Ward] | None, Baby]:
    """A kit, a ward file, often changed, and a baby."""
    kit, ward = draw(st.sampled_from(pairs))
    if ward is not None and draw(st.integers(0, 4)):
        ward = draw(draw_ward(ward))
    return kit, ward, read_baby(kit, draw(draw_facts(kit)))


def read_baby(kit: ParsedFile[Kit], facts: Mapping[str, str]) -> Baby:
    baby, problems = make_baby(kit.model, facts, NOW)
    assert baby is not None, problems
    return baby
