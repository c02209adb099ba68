"""Doses and lengths by the weight that each says: at birth, now, the greater; and what is missing blocks just that."""

import pytest
from shipped import KIT_IDS, read_kit_text
from trays import (
    DEMO_TEXT,
    KIT,
    NOW,
    WARD,
    WordedLine,
    find_baby,
    find_line,
    make_fine_ward,
    make_kit,
    make_small_kit,
    make_small_ward,
    make_tray,
    make_ward,
)

from prepkit.kit.axes import Axis
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.list.compute import compute_list
from prepkit.quantities.amount import make_amount
from prepkit.rules.findings import Kind
from prepkit.wording.say import say_all

KITS = {name: make_kit(read_kit_text(name)) for name in KIT_IDS}
OLDER = {"born": "2026-11-22"}  # NOW is 25 November, 03:00: over 24 h, whatever the time
LOST = OLDER | {"weight_now": "1310"}

LINES = """
[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "ampoule"
holds = ["50 mL"]
basis = "local"

[[line]]
kind = "dose"
id = "dose"
group = "all"
name = "Dose"
route = "intravenous"
weight = "{which}"
products = ["drug"]
dose = "10 mg/kg"
basis = "local"

[[line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.001 cm"
basis = "local"
[[line.method]]
by = "formula"
per_kg = "2 cm/kg"
weight = "{which}"
basis = "local"

[[line]]
kind = "supply"
id = "supply"
group = "all"
name = "Supply"
step = "0.001 cm"
length = {{ by = "formula", per_kg = "2 cm/kg", weight = "{which}", basis = "local" }}
basis = "local"
"""
STOCK = '[[stock]]\nproduct = "drug"\nholds = ["50 mL"]\n'
WORDS = {
    "birth": "birth weight",
    "now": "weight now",
    "greater": "the greater of birth weight and weight now",
}


def find(line: str, which: str, birth: str, kit: ParsedFile[Kit] | None = None, **facts: str) -> WordedLine:
    kit = kit or make_small_kit(LINES.format(which=which))
    return find_line(line, birth, kit=kit, ward=make_fine_ward(STOCK, kit), **facts)


@pytest.mark.parametrize("line", ["dose", "depth", "supply"])
@pytest.mark.parametrize(
    ("which", "birth", "now", "grams"),
    [
        ("birth", "1450", "1310", 1450),
        ("birth", "1450", "1500", 1450),
        ("now", "1450", "1310", 1310),
        ("now", "1450", "1500", 1500),
        ("greater", "1450", "1310", 1450),
        ("greater", "1450", "1500", 1500),
    ],
)
def test_each_goes_by_the_weight_that_it_says_and_names_it(
    line: str, which: str, birth: str, now: str, grams: int
) -> None:
    found = find(line, which, birth, **OLDER, weight_now=now)
    assert not found.blocked
    value, unit = (grams * 10, "mg") if line == "dose" else (grams * 2, "cm")
    assert (found.due if line == "dose" else found.exact) == make_amount(f"{value / 1000:.3f}", unit)
    assert f" \N{MULTIPLICATION SIGN} {grams} g ({WORDS[which]})" in found.working[0]
    if line == "dose":
        assert (found.outcome.weight, found.outcome.axis) == (make_amount(grams, "g"), {
            "birth": Axis.BIRTH_WEIGHT, "now": Axis.WEIGHT_NOW, "greater": Axis.GREATER_WEIGHT
        }[which])  # fmt: skip
        assert found.prescribed is not None
        assert found.prescribed.words[0] == f"Dose: 10 mg/kg of {WORDS[which]}"


@pytest.mark.parametrize("line", ["dose", "depth", "supply"])
@pytest.mark.parametrize("which", ["birth", "now", "greater"])
def test_where_the_birth_weight_is_not_known_the_weight_now_stands_for_it_and_says_so(line: str, which: str) -> None:
    found = find(line, which, "not known", weight_now="1310")
    assert not found.blocked
    named = "weight now" if which != "greater" else WORDS["greater"]
    assert f" 1310 g ({named})" in found.working[0]
    kit = make_small_kit(LINES.format(which=which))
    tray = compute_list(kit, None, find_baby("not known", kit=kit, weight_now="1310"), {}, NOW)
    row = next(row for row in tray.lines if row.id == line)
    remarks = [remark.kind for remark in tray.list_remarks(row)]
    assert (Kind.BY_WEIGHT_NOW in remarks) == (which == "birth")


def test_surfactant_of_a_baby_whose_birth_weight_is_not_known_says_so_on_its_line() -> None:
    baby = find_baby("not known", weight_now="1310", born="today")
    tray = compute_list(KIT, WARD, baby, {}, NOW)
    said = {row.id: say_all(tray.list_remarks(row)) for row in tray.lines if tray.list_remarks(row)}
    words = ("by the weight now: the birth weight is not known",)
    assert said == dict.fromkeys(("surfactant", "enteral-syringe", "surfactant-drawn-up"), words)
    assert find_line("surfactant", "not known", weight_now="1310", born="today").due == make_amount(262, "mg")


@pytest.mark.parametrize("kit", KIT_IDS)
def test_what_hangs_on_the_day_of_birth_is_asked_about_before_it_is_ticked(kit: str) -> None:
    made = KITS[kit]
    assumed = compute_list(made, WARD, find_baby(1450, kit=made), {}, NOW)
    asking = {row.id for row in assumed.lines if assumed.asks_birth(row)}
    today = {Axis.WEIGHT_NOW, Axis.GREATER_WEIGHT, Axis.GESTATION_TODAY, Axis.AGE}
    assert asking == {row.id for row in assumed.lines if row.declared.reads & today}
    assert "surfactant" not in asking
    assert "gastric-tube" in asking
    assert all(Kind.IF_BORN_TODAY in [each.kind for each in assumed.list_remarks(row)] for row in assumed.lines
               if row.id in asking)  # fmt: skip
    said = compute_list(made, WARD, find_baby(1450, kit=made, born="today"), {}, NOW)
    assert not any(said.asks_birth(row) or said.list_remarks(row) for row in said.lines)


# ----------------------------------------------------------------------------------------------- the ward's own way

OWN = """
[[local]]
kits = ["surfactant-supraglottic"]

[[local.line]]
kind = "dose"
id = "surfactant"
group = "medicines"
name = "Surfactant"
route = "tracheal"
weight = "{which}"
products = ["poractant-alfa"]
earlier = "earlier_surfactant"
air = true
essential = true
basis = "local"
"""


@pytest.mark.parametrize(
    ("now", "show", "kits"),
    # 200 mg/kg of 80 mg/mL: 1310 g is 3.275 mL, 1450 g 3.625 mL, at marks of 0.2 mL.
    [("1310", "3.2 mL", "3.6 mL")],
)
def test_a_ward_that_goes_by_another_weight_is_shown_beside_the_kits_own(now: str, show: str, kits: str) -> None:
    ward = make_ward(DEMO_TEXT + OWN.format(which="now"))
    line = find_line("surfactant", 1450, ward=ward, born="2026-11-22", weight_now=now)
    assert (line.show, line.kits_own) == (show, kits)
    assert f"ward's own value; the kit's: {kits}" in line.details
    assert "The kit's own goes by the birth weight." in line.working
    same = make_ward(DEMO_TEXT + OWN.format(which="birth"))
    line = find_line("surfactant", 1450, ward=same, born="2026-11-22", weight_now=now)
    assert (line.show, line.kits_own) == (kits, "")
    assert not any("The kit's own goes by" in each for each in line.working)


def test_a_ward_that_gives_more_by_another_weight_needs_an_approval() -> None:
    ward = make_ward(DEMO_TEXT + OWN.format(which="greater"))
    line = find_line("surfactant", 1450, ward=ward, born="2026-11-10", weight_now="1700")
    assert line.blocked.startswith("wider than the kit allows")
    assert find_line("surfactant", 1450, ward=ward, born="2026-11-22", weight_now="1310").show == "3.6 mL"


# ---------------------------------------------------------------------------------------------- what is not known


def list_blocked(kit: str, birth: str = "1450", gestation: str = "30+2", **facts: str) -> dict[str, str]:
    tray = make_tray(birth, gestation, kit=KITS[kit], **facts)
    return {line.id: line.blocked for line in tray.lines if line.blocked}


UNKNOWN = "the {} is not known: enter it first"


@pytest.mark.parametrize(
    ("kit", "blocked"),
    [
        # The device stands on the ward's approval, which is from 28+0; and by gestation alone go sucrose, blade, PIP.
        ("surfactant-brief-ventilation", "blade spo2-target t-piece-pip"),
        ("surfactant-supraglottic", "airway-device blade spo2-target sucrose t-piece-pip"),
        ("surfactant-thin-catheter", "blade spo2-target sucrose t-piece-pip"),
    ],
)
def test_a_gestation_that_is_not_known_blocks_the_lines_that_need_it_and_no_others(kit: str, blocked: str) -> None:
    found = list_blocked(kit, gestation="not known", nil_by_mouth="no")
    known = list_blocked(kit, nil_by_mouth="no")
    more = {line: words for line, words in found.items() if line not in known}
    own = {line for line, words in more.items() if "gestation" in words}
    assert own == {*blocked.split()}
    waiting = {line for line, words in more.items() if line not in own}
    assert all(more[line].startswith("waits for what is blocked") for line in waiting)


def test_nil_by_mouth_the_amount_of_sucrose_needs_no_gestation() -> None:
    found = find_line("sucrose", 1450, "not known", nil_by_mouth="yes")
    assert (found.blocked, found.show) == ("", "0.2 mL")


BANDS = """
[[fact]]
kind = "choice"
id = "side"
label = "Side"
ask = "Side?"
options = ["left", "right"]

[[line]]
kind = "setting"
id = "it"
group = "all"
name = "It"
basis = "local"
band = [
    { facts = { side = "left" }, value = "1 L/min" },
    { birth_gestation = { below = "28+0" }, weight_now = { below = "1000 g" }, value = "2 L/min" },
    { weight_now = { below = "2000 g" }, value = "3 L/min" },
]
"""


@pytest.mark.parametrize(
    ("weight", "side", "found"),
    [
        ("999", {"side": "left"}, "1 L/min"),
        ("999", {"side": "right"}, UNKNOWN.format("gestation at birth")),
        # The second band is not for this weight, at whatever gestation.
        ("1000", {"side": "right"}, "3 L/min"),
        ("2000", {"side": "right"}, "nothing is stated for 2000 g · gestation not known"),
        ("1000", {}, UNKNOWN.format("gestation at birth")),
    ],
)
def test_a_gestation_is_needed_only_where_it_may_choose_the_band(weight: str, side: dict[str, str], found: str) -> None:
    line = find_line("it", weight, "not known", kit=make_small_kit(BANDS), ward=None, **side)
    assert line.blocked + line.show == found


BESIDE = "face-mask tracheal-tube tracheal-tube-depth"
"""What a method by gestation would give too: a weight that can still be given is waited for."""


@pytest.mark.parametrize(
    ("kit", "blocked"),
    [
        ("surfactant-brief-ventilation", f"co2-detector gastric-tube {BESIDE}"),
        ("surfactant-supraglottic", f"airway-device atropine co2-detector gastric-tube {BESIDE}"),
        ("surfactant-thin-catheter", f"co2-detector gastric-tube {BESIDE}"),
    ],
)
def test_over_24_h_old_and_not_weighed_what_goes_by_the_weight_now_is_blocked_and_no_others(
    kit: str, blocked: str
) -> None:
    found, known = list_blocked(kit, **OLDER), list_blocked(kit, **LOST)
    own = {line for line, words in found.items() if words == UNKNOWN.format("weight now")}
    assert own == {*blocked.split()}
    others = {line: words for line, words in found.items() if line not in own | known.keys()}
    assert all(words.startswith("waits for what is blocked") for words in others.values())


@pytest.mark.parametrize("kit", KIT_IDS)
def test_not_weighed_since_goes_by_the_weight_at_birth(kit: str) -> None:
    made = KITS[kit]
    last, new = (make_tray(1450, kit=made, **facts) for facts in (
        OLDER | {"weight_now": "not weighed since"}, OLDER | {"weight_now": "1450"}))  # fmt: skip
    assert [(line.id, line.show, line.blocked) for line in last.lines] == [
        (line.id, line.show, line.blocked) for line in new.lines
    ]


@pytest.mark.parametrize(
    ("line", "facts", "show", "caution"),
    # By weight 3.0 mm, 7.5 cm from 1450 g; by gestation, 30+2 and three days, 3.0 mm and 7 cm.
    [
        (
            "tracheal-tube",
            {"birth_gestation": "not known"},
            "3.0 mm + 2.5 mm",
            "Not held against the gestation today, which is not known.",
        ),
        (
            "tracheal-tube-depth",
            {"birth_gestation": "not known"},
            "7.5 cm",
            "Not held against the gestation today, which is not known.",
        ),
        (
            "face-mask",
            {"birth_gestation": "not known"},
            "42 mm",
            "Not held against the gestation today, which is not known.",
        ),
    ],
)
def test_methods_beside_each_other_serve_without_each_other_and_say_so(
    line: str, facts: dict[str, str], show: str, caution: str
) -> None:
    given = {"birth_gestation": "30+2"} | facts
    found = find_line(line, 1450, given.pop("birth_gestation"), **given)
    assert (found.blocked, found.show) == ("", show)
    assert found.cautions[0] == caution
    assert caution not in find_line(line, 1450, "30+2").cautions


def test_where_neither_method_serves_it_names_what_is_missing_first() -> None:
    found = find_line("tracheal-tube", 1450, "not known", **OLDER)
    assert found.blocked == UNKNOWN.format("weight now")
    assert found.working == ("It goes by the weight now, which is not known.",)


DEVICE = """
[[line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
label = true
basis = "local"
[[line.method]]
by = "weight now"
[[line.method.band]]
size = ["1"]
weight_now = { at_least = "2000 g" }
"""
APPROVAL = """
[[approval]]
line = "device"
size = "1"
reference = "W-1"
approver = "lead consultant"
approved_on = 2026-01-01
review_by = 2028-01-01
where = { weight_now = { at_least = "1500 g", below = "2000 g" }, birth_gestation = { at_least = "28+0" } }
"""


@pytest.mark.parametrize(
    ("weight", "gestation", "blocked"),
    [
        ("1500", "not known", UNKNOWN.format("gestation at birth")),
        ("2000", "not known", ""),
        ("1500", "28+0", ""),
        # No approval covers this weight at any gestation: entering it would change nothing.
        ("1499", "not known", "1499 g is outside every label: size 1 is for weight now at least 2000 g"),
        ("1500", "27+6", "1500 g is outside every label: size 1 is for weight now at least 2000 g"),
    ],
)
def test_an_approval_asks_for_a_gestation_only_where_it_may_cover_the_baby(
    weight: str, gestation: str, blocked: str
) -> None:
    kit = make_small_kit(DEVICE)
    found = find_line("device", weight, gestation, kit=kit, ward=make_small_ward(APPROVAL, kit))
    assert found.blocked.startswith(blocked)
    assert bool(found.blocked) == bool(blocked)


BOTH = """
[[line.method]]
by = "gestation at birth"
[[line.method.band]]
size = ["1"]
birth_gestation = { at_least = "28+0" }
"""


def test_a_device_never_stands_on_half_of_its_label() -> None:
    kit = make_small_kit(DEVICE + BOTH)
    found = find_line("device", 2000, "not known", kit=kit, ward=None)
    assert found.blocked == UNKNOWN.format("gestation at birth")
    assert find_line("device", 2000, "28+0", kit=kit, ward=None).blocked == ""
