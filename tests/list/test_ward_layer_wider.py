"""What goes further than the kit counts only as approved. Figures are invented."""

from datetime import timedelta

import pytest
from layer_scene import DEVICE, DOSE, LARGE, LOCAL, SETTING, SMALL, STOCK, find, make
from trays import NOW, make_small_ward, write_widening

from prepkit.list.lines import compute_line_fingerprint


@pytest.mark.parametrize(
    ("line", "text", "weight", "phrase"),
    [
        ("dose", DOSE.format(dose="10.5 mg/kg"), 2000, "the kit's is 20 mg due, 2 mL"),
        # Larger by a hair, to the same mark: the mass decides as well.
        ("dose", DOSE.format(dose="10.001 mg/kg"), 2000, "the kit's is 20 mg due, 2 mL"),
        ("dose", DOSE.format(dose="10 mg/kg").replace("essential = true\n", ""), 2000, "the kit's line is essential"),
        (
            "dose",
            DOSE.format(dose="10 mg/kg").replace('earlier = "before"\n', ""),
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
    assert (bare.amount, bare.due, bare.size, bare.show, bare.details) == (None, None, None, "", ())

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
        (
            1899,
            "1899 g is outside every label: size 1 is for birth weight at least 1900 g and at most 4000 g,",
        ),
        (
            1900,
            "wider than the kit allows (the kit blocks it: 1900 g is outside every label: size 1 is for",
        ),
        (
            1999,
            "wider than the kit allows (the kit blocks it: 1999 g is outside every label: size 1 is for",
        ),
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
        '[[approval]]\nline = "device"\nsize = "1"\n'
        'where.birth_weight = { at_least = "1500 g", below = "2000 g" }\n'
        'where.birth_gestation = { at_least = "28+0" }\n'
        'reference = "W-1"\napprover = "lead consultant"\n'
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
