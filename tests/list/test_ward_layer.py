"""A ward file laid over a kit: what it changed says so, and goes further than the kit only as approved.

The kit, the wards and every figure in them are invented.
"""

from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trays import (
    DEMO_TEXT,
    KIT,
    NOW,
    find_line,
    make_kit,
    make_small_kit,
    make_small_ward,
    make_tray,
    make_ward,
    write_widening,
)

from prepkit.kit.baby import make_baby
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.list.fingerprint import compute_line_fingerprint
from prepkit.list.lines import ListLine, TrayList
from prepkit.list.others import find_other_kits

SMALL = make_small_kit("""
[[fact]]
kind = "amount"
id = "before"
label = "Given before"
ask = "How much before?"
least = "0 mg/kg"
most = "100 mg/kg"
default = "0 mg/kg"

[[fact]]
kind = "moment"
id = "before_at"
label = "Given at"
ask = "When?"

[[criterion]]
id = "weight-least"
text = "Weight is at least 1200 g"
where = { weight = { at_least = "1200 g" } }
otherwise = "not suitable"
basis = "local"

[[criterion]]
id = "asked"
text = "Is it so?"
wanted = "yes"
otherwise = "ask a senior"
basis = "local"

[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "vial"
holds = ["5 mL"]
dose = "10 mg/kg"
dose_range = { least = "5 mg/kg", most = "10 mg/kg" }
handling = ["Do not shake."]
basis = "local"

[[product]]
id = "other"
name = "Other"
strength = "5 mg/mL"
container = "vial"
holds = ["5 mL"]
dose = "10 mg/kg"
basis = "local"

[[line]]
kind = "dose"
id = "dose"
group = "all"
name = "Dose"
route = "intravenous"
products = ["drug", "other"]
earlier = { given = "before", at = "before_at" }
essential = true
aloud = true
cautions = ["The kit's own caution."]
how = ["Slowly."]
basis = "local"

[[line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
label = true
basis = "local"
[[line.method]]
by = "weight"
[[line.method.band]]
size = ["1"]
weight = { at_least = "2000 g", at_most = "4000 g" }

[[line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
basis = "local"
[[line.method]]
by = "measured"
measured = true
basis = "local"
[[line.method]]
by = "range"
low = "14 cm"
high = "16 cm"
basis = "local"

[[line]]
kind = "setting"
id = "pressure"
group = "all"
name = "Pressure"
basis = "local"
[[line.band]]
low = "5 cmH2O"
high = "8 cmH2O"

[[line]]
kind = "amount"
id = "drops"
group = "all"
name = "Drops"
route = "enteral"
basis = "local"
[[line.band]]
low = "0.1 mL"
high = "0.5 mL"

[[line]]
kind = "supply"
id = "tubes"
group = "all"
name = "Tubes"
basis = "local"
[[line.count]]
count = 2
[line.size]
by = "weight"
[[line.size.band]]
size = ["6 Fr", "8 Fr"]

[[line]]
kind = "trial"
id = "tried"
group = "all"
name = "Tried"
of = ["dose", "device"]
how = ["Try it."]
basis = "local"
""")
STOCK = """
[[syringe]]
route = "intravenous"
holds = "5 mL"
marks = "0.1 mL"
least = "0.1 mL"
[[syringe]]
route = "enteral"
holds = "1 mL"
marks = "0.1 mL"
least = "0.1 mL"
[[stock]]
product = "drug"
holds = ["5 mL"]
"""
LOCAL = '[[local]]\nkits = ["small"]\n'
DOSE = """
[[local.line]]
kind = "dose"
id = "dose"
group = "all"
name = "Dose"
route = "intravenous"
products = ["drug", "other"]
earlier = {{ given = "before", at = "before_at" }}
essential = true
how = ["Slowly."]
dose = "{dose}"
basis = "local"
"""
DEVICE = """
[[local.line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
label = true
basis = "local"
[[local.line.method]]
by = "weight"
[[local.line.method.band]]
size = ["1"]
weight = {{ at_least = "{least} g", at_most = "4000 g" }}
"""
SETTING = """
[[local.line]]
kind = "setting"
id = "pressure"
group = "all"
name = "Pressure"
basis = "local"
[[local.line.band]]
{band}
"""
CRITERION = """
[[local.criterion]]
id = "weight-least"
text = "Weight is at least {least} g"
where = {{ weight = {{ at_least = "{least} g" }} }}
otherwise = "not suitable"
basis = "local"
"""
PRODUCT = """
[[product]]
id = "drug"
name = "Drug"
strength = "{strength}"
container = "vial"
holds = ["5 mL"]
dose = "{dose}"
basis = "local"
"""
BARE = make_small_ward(STOCK, SMALL)
LARGE = make_kit(SMALL.text.replace('id = "small"', 'id = "large"', 1))


def make(*parts: str) -> Written[Ward]:
    return make_small_ward(STOCK + LOCAL + "".join(parts), SMALL)


def list_tray(weight: int, ward: Written[Ward] | None, now: datetime = NOW, **facts: str) -> TrayList:
    return make_tray(weight, kit=SMALL, ward=ward, now=now, **facts)


def find(line: str, weight: int, ward: Written[Ward], now: datetime = NOW, **facts: str) -> ListLine:
    return find_line(line, weight, kit=SMALL, ward=ward, now=now, **facts)


# ---------------------------------------------------------------------------------------------- replaced and added


def test_a_replaced_line_stands_in_its_place_and_says_the_kits_own_value_beside_its_own() -> None:
    ward = make(DOSE.format(dose="8 mg/kg"))
    assert [line.id for line in list_tray(2000, ward).lines] == [line.id for line in SMALL.model.line]
    line = find("dose", 2000, ward)
    assert (line.show, line.blocked) == ("1.6 mL", "")
    assert line.details[0] == "ward's own value; the kit's: 2 mL"
    assert line.kits_own == "2 mL"
    assert any("The kit's own: 2 mL; 20 mg, reaches 10 mg/kg;" in sentence for sentence in line.working)


def test_a_replaced_line_keeps_the_kits_own_cautions_in_front_and_is_still_read_aloud() -> None:
    line = find("dose", 2000, make(DOSE.format(dose="8 mg/kg") + 'cautions = ["The ward\'s own caution."]\n'))
    assert line.cautions[-2:] == ("The kit's own caution.", "The ward's own caution.")
    assert "Do not shake." in line.cautions
    assert line.aloud


def test_a_replaced_line_that_gives_the_same_says_in_its_working_that_it_is_the_wards() -> None:
    line = find("dose", 2000, make(DOSE.format(dose="10 mg/kg")))
    assert (line.kits_own, line.details) == ("", find("dose", 2000, BARE).details)
    assert any(sentence.startswith("Ward file: this line is the ward's own.") for sentence in line.working)


def test_other_words_for_a_line_leave_the_kits_own_words_beside_them() -> None:
    text = DOSE.format(dose="10 mg/kg").replace('"Slowly."', '"Quickly."').replace('name = "Dose"', 'name = "Drug"')
    working = find("dose", 2000, make(text)).working
    assert "The kit's own name: Dose." in working
    assert "The kit's own words: Slowly." in working


ADDED = """
[[local.line]]
kind = "supply"
id = "blanket"
group = "all"
name = "Blanket"
basis = "local"
"""


def test_an_added_line_stands_at_the_end_and_says_so() -> None:
    tray = list_tray(2000, make(ADDED))
    assert tray.lines[-1].id == "blanket"
    assert tray.lines[-1].details == ("added by the ward",)
    assert tray.lines[:-1] == list_tray(2000, BARE).lines


def test_a_line_is_added_to_the_kits_that_are_named_and_to_no_other() -> None:
    ward = make(ADDED)
    assert "blanket" not in {line.id for line in make_tray(1450, ward=ward).lines}


def test_a_ward_file_may_bring_the_source_that_its_line_cites() -> None:
    book = '[sources.ward-book]\ntitle = "Invented ward book"\nyear = 2026\nreference = "page 4"\n'
    cited = ADDED.replace('basis = "local"', 'basis = "published"\nsource = ["ward-book"]')
    ward = make_small_ward(book + STOCK + LOCAL + cited, SMALL)
    assert find("blanket", 2000, ward).source == "published: Invented ward book (2026), page 4"


MEDICINE = DOSE.format(dose="1 mg/kg").replace('id = "dose"', 'id = "extra"').replace('name = "Dose"', 'name = "Extra"')


def test_an_added_medicine_needs_an_approval_since_the_kit_has_none_like_it() -> None:
    line = find("extra", 2000, make(MEDICINE))
    assert line.blocked == "wider than the kit allows (the kit has no such line), and no approval on file"
    line = find("extra", 2000, make(MEDICINE, write_widening("extra")))
    assert (line.show, line.blocked) == ("0.2 mL", "")
    assert line.details[0] == "ward's own value, on ward approval W-9; the kit's: none"


# ------------------------------------------------------------------------------------------------------- going further


@pytest.mark.parametrize(
    ("line", "text", "weight", "phrase"),
    [
        ("dose", DOSE.format(dose="10.5 mg/kg"), 2000, "the kit's is 20 mg, 2 mL"),
        # Larger by a hair, to the same mark: the mass decides as well.
        ("dose", DOSE.format(dose="10.001 mg/kg"), 2000, "the kit's is 20 mg, 2 mL"),
        ("dose", DOSE.format(dose="10 mg/kg").replace("essential = true\n", ""), 2000, "the kit's line is essential"),
        (
            "dose",
            DOSE.format(dose="10 mg/kg").replace('earlier = { given = "before", at = "before_at" }\n', ""),
            2000,
            "the kit's line counts earlier doses",
        ),
        ("device", DEVICE.format(least=1999), 1999, "the kit blocks it: 1999 g is outside every label"),
        ("device", DEVICE.format(least=2000).replace('["1"]', '["2"]'), 2000, "the kit's is size 1"),
        ("device", DEVICE.format(least=2000).replace("label = true\n", ""), 2000, "stands on its label"),
        ("pressure", SETTING.format(band='low = "5 cmH2O"\nhigh = "9 cmH2O"'), 2000, "the kit's is 5–8 cmH2O"),
        ("pressure", SETTING.format(band='low = "4 cmH2O"\nhigh = "8 cmH2O"'), 2000, "the kit's is 5–8 cmH2O"),
        ("pressure", SETTING.format(band='floor = "6 cmH2O"'), 2000, "the kit's is 5–8 cmH2O"),
        ("pressure", SETTING.format(band='value = "6 L/min"'), 2000, "the kit's is 5–8 cmH2O"),
        (
            "depth",
            """
[[local.line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
basis = "local"
[[local.line.method]]
by = "range"
low = "14 cm"
high = "16.5 cm"
basis = "local"
""",
            2000,
            "the kit's is 14–16 cm",
        ),
        (
            "drops",
            """
[[local.line]]
kind = "amount"
id = "drops"
group = "all"
name = "Drops"
route = "enteral"
basis = "local"
[[local.line.band]]
value = "0.6 mL"
""",
            2000,
            "the kit's is 0.1–0.5 mL",
        ),
        ("tubes", '[[local.line]]\nkind = "supply"\nid = "tubes"\ngroup = "all"\nname = "Tubes"\nbasis = "local"\n',
         2000, "the kit's is 2 × 6 or 8 Fr"),
        ("tried", ('[[local.line]]\nkind = "trial"\nid = "tried"\ngroup = "all"\nname = "Tried"\nof = ["dose"]\n'
         'how = ["Try it."]\nbasis = "local"\n'), 2000, 'the kit\'s is of "device" too'),
    ],
)  # fmt: skip
def test_what_goes_further_than_the_kit_is_blocked_without_an_approval_and_given_with_one(
    line: str, text: str, weight: int, phrase: str
) -> None:
    bare = find(line, weight, make(text))
    assert bare.blocked.startswith("wider than the kit allows (")
    assert phrase in bare.blocked
    assert bare.blocked.endswith("and no approval on file")
    assert (bare.amount, bare.dose, bare.size, bare.show, bare.details) == (None, None, None, "", ())

    approved = find(line, weight, make(text, write_widening(line)))
    assert approved.blocked == ""
    assert approved.details[0].startswith("ward's own value, on ward approval W-9; the kit's: ")
    assert any(phrase in caution and "approval W-9" in caution for caution in approved.cautions)
    assert any("W-9, approved by lead consultant on 01 Jan 2026; review by 01 Jan 2028" in w for w in approved.working)


@pytest.mark.parametrize(
    ("line", "text", "weight", "show"),
    [
        ("dose", DOSE.format(dose="9.999 mg/kg"), 2000, "2 mL"),
        ("device", DEVICE.format(least=2001), 2001, "size 1"),
        ("pressure", SETTING.format(band='value = "8 cmH2O"'), 2000, "8 cmH2O"),
        ("pressure", SETTING.format(band='low = "6 cmH2O"\nhigh = "8 cmH2O"'), 2000, "6–8 cmH2O"),
    ],
)
def test_what_is_within_the_kit_needs_no_approval(line: str, text: str, weight: int, show: str) -> None:
    found = find(line, weight, make(text))
    assert (found.blocked, found.show) == ("", show)


@pytest.mark.parametrize(
    ("weight", "blocked"),
    [
        (1899, "1899 g is outside every label: size 1 is for at least 1900 g and at most 4000 g, and the ward has no"),
        (1900, "wider than the kit allows (the kit blocks it: 1900 g is outside every label: size 1 is for at least"),
        (1999, "wider than the kit allows (the kit blocks it: 1999 g is outside every label: size 1 is for at least"),
        (2000, ""),
        (4000, ""),
        (4001, "4001 g is outside every label"),
    ],
)
def test_a_label_is_wider_to_the_gram(weight: int, blocked: str) -> None:
    found = find("device", weight, make(DEVICE.format(least=1900)))
    assert found.blocked.startswith(blocked)
    assert bool(found.blocked) == bool(blocked)
    approved = find("device", weight, make(DEVICE.format(least=1900), write_widening("device")))
    assert (approved.show == "size 1") == (1900 <= weight <= 4000)
    assert ("widening" in approved.standing) == (1900 <= weight < 2000)


def test_a_label_drawn_wider_does_not_hide_that_the_kit_asks_for_an_approval_there() -> None:
    approval = (
        '[[approval]]\nline = "device"\nsize = "1"\nweight = { at_least = "1500 g", below = "2000 g" }\n'
        'gestation = { at_least = "28+0" }\nreference = "W-1"\napprover = "lead consultant"\n'
        "approved_on = 2026-01-01\nreview_by = 2028-01-01\n"
    )
    assert find("device", 1999, make(approval)).standing == "approval W-1"
    assert find("device", 1999, make(DEVICE.format(least=1500), approval)).blocked.startswith("wider than the kit")


def test_a_narrower_label_blocks_and_says_what_the_kit_gives() -> None:
    found = find("device", 2499, make(DEVICE.format(least=2500)))
    assert found.blocked.startswith("2499 g is outside every label")
    assert found.blocked.endswith("(ward's own; the kit's: size 1)")


@pytest.mark.parametrize(("what", "kit"), [("device", "small"), ("dose", "large"), ("drug", "small")])
def test_an_approval_counts_for_what_it_names_in_the_kits_it_names(what: str, kit: str) -> None:
    text = STOCK + LOCAL + DOSE.format(dose="11 mg/kg") + write_widening(what, kit)
    assert find("dose", 2000, make_small_ward(text, SMALL, LARGE)).blocked.endswith("and no approval on file")


# 25 November 2026 now; 60 days on is 24 January 2027.
@pytest.mark.parametrize(
    ("start", "end", "blocked", "soon"),
    [
        ("2026-01-01", "2026-11-24", "the ward's approval W-9 was due for review by 24 Nov 2026", False),
        ("2026-01-01", "2026-11-25", "", True),
        ("2026-01-01", "2027-01-24", "", True),
        ("2026-01-01", "2027-01-25", "", False),
        ("2026-11-25", "2028-01-01", "", False),
        ("2026-11-26", "2028-01-01", "the ward's approval W-9 begins on 26 Nov 2026", False),
    ],
)
def test_an_approval_serves_from_its_first_day_to_its_review_day(
    start: str, end: str, blocked: str, *, soon: bool
) -> None:
    found = find("dose", 2000, make(DOSE.format(dose="11 mg/kg"), write_widening("dose", start=start, end=end)))
    assert found.blocked.endswith(blocked)
    assert bool(found.blocked) == bool(blocked)
    assert any(caution.startswith("The approval is due for review") for caution in found.cautions) == soon


def test_a_tick_hangs_on_the_approval_its_dates_included() -> None:
    text = DOSE.format(dose="11 mg/kg")
    approvals = [
        write_widening("dose"),
        write_widening("dose", reference="W-10"),
        write_widening("dose", end="2028-01-02"),
        write_widening("dose", start="2026-01-02"),
    ]
    lines = [find("dose", 2000, make(text, approval)) for approval in approvals]
    assert {line.show for line in lines} == {"2.2 mL"}
    assert len({compute_line_fingerprint(line) for line in lines}) == 4
    later = find("dose", 2000, make(text, approvals[0]), NOW + timedelta(days=390))
    assert compute_line_fingerprint(later) == compute_line_fingerprint(lines[0])


def test_what_tries_a_changed_line_waits_while_it_is_blocked_and_follows_it_when_approved() -> None:
    text = DOSE.format(dose="11 mg/kg")
    assert find("tried", 2000, make(text)).blocked == "waits for what is blocked: Dose"
    tried = find("tried", 2000, make(text, write_widening("dose")))
    assert tried.show == "2.2 mL and size 1"
    assert tried.details == ("ward's own value; the kit's: 2 mL and size 1",)
    assert "widening W-9" in tried.standing


# ---------------------------------------------------------------------------------------------------------- products


def test_a_product_stated_anew_says_the_kits_own_and_keeps_its_handling() -> None:
    ward = make_small_ward(STOCK + PRODUCT.format(strength="20 mg/mL", dose="10 mg/kg"), SMALL)
    line = find("dose", 2000, ward)
    assert (line.show, line.details[0]) == ("1 mL", "ward's own value; the kit's: 2 mL")
    assert "Do not shake." in line.cautions
    assert "Ward file: Drug 20 mg/mL, 10 mg/kg is the ward's own entry." in line.working
    assert "The kit's own: Drug 10 mg/mL, 10 mg/kg. [local]" in line.working


@pytest.mark.parametrize(
    ("strength", "dose"), [("9 mg/mL", "10 mg/kg"), ("10 mg/mL", "10.1 mg/kg"), ("20 mg/mL", "11 mg/kg")]
)
def test_a_product_that_goes_further_needs_an_approval_of_its_own(strength: str, dose: str) -> None:
    text = PRODUCT.format(strength=strength, dose=dose)
    blocked = find("dose", 2000, make_small_ward(STOCK + text, SMALL)).blocked
    assert blocked == "wider than the kit allows (the kit's is 20 mg, 2 mL), and no approval on file"
    for_line = make_small_ward(STOCK + text + write_widening("dose"), SMALL)
    assert find("dose", 2000, for_line).blocked
    assert find("dose", 2000, make_small_ward(STOCK + text + write_widening("drug"), SMALL)).blocked == ""


def test_a_line_and_its_product_changed_need_an_approval_each() -> None:
    text = PRODUCT.format(strength="9 mg/mL", dose="10 mg/kg"), LOCAL, DOSE.format(dose="11 mg/kg")
    approvals = [write_widening("dose"), write_widening("drug")]
    shut = [find("dose", 2000, make_small_ward(STOCK + "".join((*text, each)), SMALL)).blocked for each in approvals]
    assert all(blocked.startswith("wider than the kit allows") for blocked in shut)
    assert find("dose", 2000, make_small_ward(STOCK + "".join((*text, *approvals)), SMALL)).blocked == ""


def test_dropping_a_product_is_narrower_even_where_the_other_takes_more_volume() -> None:
    both = STOCK + '[[stock]]\nproduct = "other"\nholds = ["5 mL"]\n'
    text = DOSE.format(dose="10 mg/kg").replace('["drug", "other"]', '["other"]')
    line = find("dose", 2000, make_small_ward(both + LOCAL + text, SMALL))
    assert (line.blocked, line.show, line.kits_own) == ("", "4 mL", "2 mL")


def test_a_recipe_of_a_product_stated_anew_is_compared_as_the_kits_product_would_make_it() -> None:
    recipe = """
[[recipe]]
id = "half"
product = "drug"
take = "1 mL"
add = "1 mL"
diluent = "water"
gives = "2.5 mg/mL"
basis = "local"
source = "invented"
"""
    stock = STOCK + 'use = ["half"]\n' + recipe + PRODUCT.format(strength="5 mg/mL", dose="10 mg/kg")
    # The kit's 10 mg/mL would be 5 mg/mL in the same recipe: 0.8 mL for 4 mg, where the ward's is 1.6 mL.
    blocked = find("dose", 400, make_small_ward(stock, SMALL)).blocked
    assert blocked == "wider than the kit allows (the kit's is 4 mg, 0.8 mL), and no approval on file"


# -------------------------------------------------------------------------------------------------- a measured length

MEASURED = """
[[measured]]
line = "depth"
device = "size 1 (invented)"
length = "18 cm"
clearance = "1 cm"
measured_by = "lead nurse"
measured_on = 2026-01-01
"""


def test_a_measured_length_says_the_kits_own_beside_it_and_needs_no_approval() -> None:
    line = find("depth", 2000, make_small_ward(STOCK + MEASURED, SMALL))
    assert (line.show, line.blocked) == ("17 cm", "")
    assert line.details == ("ward's own value; the kit's: 14–16 cm",)


def test_a_measured_length_is_no_way_past_a_line_that_does_not_ask_for_one() -> None:
    kit = make_small_kit(SMALL.text.partition("[[fact]]")[2].join(("[[fact]]", "")).replace(
        '[[line.method]]\nby = "measured"\nmeasured = true\nbasis = "local"\n', ""))  # fmt: skip
    own = """
[[local.line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
basis = "local"
[[local.line.method]]
by = "measured"
measured = true
basis = "local"
"""
    line = find_line("depth", 2000, kit=kit, ward=make_small_ward(STOCK + MEASURED + LOCAL + own, kit))
    assert line.blocked == "wider than the kit allows (the kit's is 14–16 cm), and no approval on file"


# ---------------------------------------------------------------------------------------------------------- criteria


def find_reason(weight: int, ward: Written[Ward], criterion: str = "weight-least") -> tuple[str, str]:
    reason = next(row for row in list_tray(weight, ward).reasons if row.criterion == criterion)
    return reason.verdict, reason.text


@pytest.mark.parametrize(
    ("weight", "verdict"), [(1199, "not suitable"), (1200, "not suitable"), (1299, "not suitable"), (1300, "met")]
)
def test_a_stricter_criterion_stands_and_says_the_kits_own(weight: int, verdict: str) -> None:
    found, text = find_reason(weight, make(CRITERION.format(least=1300)))
    assert found == verdict
    kits = "met" if weight >= 1200 else "not suitable"
    assert text.endswith(f"(the ward's own; the kit's: Weight is at least 1200 g, {kits})")


@pytest.mark.parametrize(("weight", "verdict"), [(1199, "not suitable"), (1200, "met")])
def test_a_milder_criterion_does_not_count_without_an_approval(weight: int, verdict: str) -> None:
    ward = make(CRITERION.format(least=1100))
    found, text = find_reason(weight, ward)
    assert found == verdict
    assert list_tray(weight, ward).verdict == ("not suitable" if weight < 1200 else "questions open")
    if weight < 1200:
        assert text == (
            "Weight is at least 1200 g (this baby: 1199 g)"
            " (the ward's own is wider, and no approval on file: Weight is at least 1100 g)"
        )


@pytest.mark.parametrize(("weight", "verdict"), [(1099, "not suitable"), (1100, "met"), (1199, "met"), (1200, "met")])
def test_a_milder_criterion_counts_as_approved_and_says_the_kits_own(weight: int, verdict: str) -> None:
    found, text = find_reason(weight, make(CRITERION.format(least=1100), write_widening("weight-least")))
    assert found == verdict
    assert "the kit's: Weight is at least 1200 g" in text
    assert ("on ward approval W-9, approved by lead consultant on 01 Jan 2026, review by 01 Jan 2028" in text) == (
        1100 <= weight < 1200
    )


def test_a_milder_verdict_is_wider_too() -> None:
    advice = CRITERION.format(least=1200).replace('otherwise = "not suitable"', 'otherwise = "advice"')
    assert find_reason(1199, make(advice))[0] == "not suitable"
    assert find_reason(1199, make(advice, write_widening("weight-least")))[0] == "advice"


@pytest.mark.parametrize(
    ("end", "verdict", "words", "notices"),
    [
        ("2026-11-24", "not suitable", "the ward's approval W-9 was due for review by 24 Nov 2026", 0),
        ("2026-11-25", "met", "review by 25 Nov 2026", 1),
        ("2027-01-24", "met", "review by 24 Jan 2027", 1),
        ("2027-01-25", "met", "review by 25 Jan 2027", 0),
    ],
)
def test_an_approval_of_a_criterion_ends_with_its_review_and_is_told_60_days_before(
    end: str, verdict: str, words: str, notices: int
) -> None:
    ward = make(CRITERION.format(least=1100), write_widening("weight-least", end=end))
    found, text = find_reason(1150, ward)
    assert found == verdict
    assert words in text
    said = [words for words in list_tray(1150, ward).overdue if "W-9" in words]
    assert len(said) == notices


QUESTION = """
[[local.criterion]]
id = "seen"
text = "Has a senior seen the baby?"
wanted = "yes"
otherwise = "not suitable"
basis = "local"
"""


def test_an_added_question_is_asked_and_says_whose_it_is() -> None:
    ward = make(QUESTION)
    assert find_reason(2000, ward, "seen") == ("questions open", "Has a senior seen the baby? (added by the ward)")
    tray = make_tray(2000, kit=SMALL, ward=ward, answers={"seen": "no", "asked": "yes"})
    assert tray.verdict == "not suitable"


def test_another_kit_is_offered_as_the_ward_has_it() -> None:
    baby, _ = make_baby(KIT.model, {"weight": "1199", "gestation": "30+2"}, NOW)
    assert baby is not None
    criterion, widening = CRITERION.format(least=1100), write_widening("weight-least")
    for ward, offered in ((BARE, False), (make(criterion), False), (make(criterion, widening), True), (None, False)):
        assert bool(find_other_kits((SMALL,), KIT.model.id, baby, ward, NOW)) == offered


# --------------------------------------------------------------------------------------------------------------- laws

laws = settings(max_examples=40)
GRAMS = st.integers(300, 6000)
NARROWER = make(
    DOSE.format(dose="7 mg/kg"),
    DEVICE.format(least=2400),
    SETTING.format(band='value = "7 cmH2O"'),
    CRITERION.format(least=1500),
)


@laws
@given(grams=GRAMS)
def test_what_is_narrower_never_unblocks_and_never_gives_more(grams: int) -> None:
    own, ward = list_tray(grams, BARE), list_tray(grams, NARROWER)
    for before, after in zip(own.lines, ward.lines, strict=True):
        assert after.blocked or not before.blocked, after.id
        assert before.blocked or "wider" not in after.blocked
        if after.dose is not None and before.dose is not None:
            assert after.dose <= before.dose
    for one, two in zip(own.reasons, ward.reasons, strict=True):
        assert two.verdict in {"not suitable", one.verdict}


@laws
@given(grams=GRAMS, dose=st.integers(1, 300), least=st.integers(500, 4000), milder=st.integers(300, 3000))
def test_without_an_approval_no_ward_file_gives_more_than_the_kit(
    grams: int, dose: int, least: int, milder: int
) -> None:
    text = DOSE.format(dose=f"{dose / 10:g} mg/kg"), DEVICE.format(least=least), CRITERION.format(least=milder)
    own, ward = list_tray(grams, BARE), list_tray(grams, make(*text))
    for before, after in zip(own.lines, ward.lines, strict=True):
        assert after.blocked or not before.blocked, after.id
        if after.amount is not None and before.amount is not None:
            assert after.amount <= before.amount
    for one, two in zip(own.reasons, ward.reasons, strict=True):
        assert two.verdict != "met" or one.verdict == "met"


@laws
@given(grams=GRAMS, days=st.integers(22 * 7, 44 * 7 + 6))
def test_a_ward_file_that_says_nothing_of_this_kit_leaves_its_list_alone(grams: int, days: int) -> None:
    gestation = f"{days // 7}+{days % 7}"
    elsewhere = make_ward(DEMO_TEXT + LOCAL + ADDED + QUESTION + write_widening("dose"), KIT, SMALL)
    plain, beside = make_tray(grams, gestation), make_tray(grams, gestation, ward=elsewhere)
    assert (plain.lines, plain.reasons, plain.overdue) == (beside.lines, beside.reasons, beside.overdue)


@laws
@given(grams=GRAMS)
def test_a_line_stated_word_for_word_like_the_kits_is_the_kits(grams: int) -> None:
    text = DOSE.format(dose="10 mg/kg").replace('dose = "10 mg/kg"\n', "").replace('how = ["Slowly."]\n', "")
    same = make(text + 'how = ["Slowly."]\naloud = true\ncautions = ["The kit\'s own caution."]\n')
    assert list_tray(grams, same).lines == list_tray(grams, BARE).lines


def test_a_stored_text_gives_the_same_list_again() -> None:
    ward = make(DOSE.format(dose="8 mg/kg"), CRITERION.format(least=1300))
    baby, _ = make_baby(SMALL.model, {"weight": "2000", "gestation": "30+2"}, NOW)
    assert baby is not None
    again = make_small_ward(ward.text, SMALL, head="")
    assert compute_list(SMALL, ward, baby, {}, NOW).lines == compute_list(SMALL, again, baby, {}, NOW).lines
