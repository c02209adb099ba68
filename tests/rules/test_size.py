"""Sizes: the label of a device, the ward's approval outside it, and methods that differ. Figures are invented."""

from datetime import UTC, datetime
from itertools import combinations
from typing import get_args

import pytest
from trays import NOW, find_line, make_small_kit, make_small_ward, make_tray

from prepkit.kit.fields import EXCERPT, Basis
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine, compute_line_fingerprint

DEVICE = """
[[line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
label = true
basis = "published"
source = ["book"]

[[line.method]]
by = "weight on the label"

[[line.method.band]]
size = ["1"]
birth_weight = { at_least = "2000 g", at_most = "4000 g" }

[[line.method.band]]
size = ["2"]
birth_weight = { above = "4000 g", below = "5000 g" }
"""
APPROVAL = """
[[approval]]
line = "device"
size = "1"
where = {{ birth_weight = {{ at_least = "1500 g", below = "2000 g" }}, birth_gestation = {{ at_least = "30+0" }} }}
reference = "{reference}"
approver = "lead consultant"
approved_on = {start}
review_by = {end}
"""
KIT = make_small_kit(DEVICE)


def make_approval(start: str = "2026-01-01", end: str = "2027-11-25", reference: str = "W-1") -> str:
    return APPROVAL.format(start=start, end=end, reference=reference)


def make_ward(*approvals: str) -> ParsedFile[Ward]:
    return make_small_ward("".join(approvals or (make_approval(),)), KIT)


def find(
    weight: int,
    gestation: str = "31+0",
    *,
    ward: ParsedFile[Ward] | None = None,
    now: datetime = NOW,
    bare: bool = False,
) -> ListLine:
    return find_line("device", weight, gestation, kit=KIT, ward=None if bare else ward or make_ward(), now=now)


@pytest.mark.parametrize(("weight", "show"), [(2000, "size 1"), (4000, "size 1"), (4001, "size 2"), (4999, "size 2")])
def test_in_its_label_a_device_needs_no_ward(weight: int, show: str) -> None:
    for line in (find(weight, bare=True), find(weight)):
        assert (line.show, line.blocked, line.cautions, line.standing) == (show, "", (), "label")
        assert line.basis == "published"


@pytest.mark.parametrize("weight", [1999, 5000])
def test_outside_its_label_without_a_ward_it_is_blocked(weight: int) -> None:
    line = find(weight, bare=True)
    assert line.blocked.startswith(
        f"{weight} g is outside every label: size 1 is for birth weight at least 2000 g and at most 4000"
    )
    assert line.blocked.endswith("no ward file, so no approval on file")
    assert (line.show, line.size) == ("", None)


@pytest.mark.parametrize(
    ("weight", "gestation", "approved"),
    [
        (1499, "31+0", False),
        (1500, "31+0", True),
        (1999, "31+0", True),
        (1500, "29+6", False),
        (1500, "30+0", True),
        (5000, "40+0", False),
    ],
)
def test_an_approval_holds_for_its_own_range_alone(weight: int, gestation: str, *, approved: bool) -> None:
    line = find(weight, gestation)
    if not approved:
        assert line.blocked.endswith(f"and the ward has no approval on file for {weight} g · {gestation}")
        assert line.size is None
        return
    assert (line.show, line.size, line.standing, line.basis) == ("size 1", "1", "approval W-1", "local")
    assert line.cautions == ("Outside its label: used on the ward's approval W-1.",)
    assert line.source == "W-1, approved by lead consultant on 01 Jan 2026"
    assert any("review by 25 Nov 2027. [local]" in sentence for sentence in line.working)
    assert "outside its label, on ward approval" in line.details


@pytest.mark.parametrize(
    ("end", "blocked", "soon"),
    # 25 November 2026 now; 60 days on is 24 January 2027.
    [
        ("2026-11-24", True, False),
        ("2026-11-25", False, True),
        ("2027-01-24", False, True),
        ("2027-01-25", False, False),
    ],
)
def test_an_approval_serves_to_its_review_day_and_says_so_for_60_days_before(
    end: str, *, blocked: bool, soon: bool
) -> None:
    line = find(1600, ward=make_ward(make_approval(end=end)))
    assert line.blocked == ("the ward's approval W-1 was due for review by 24 Nov 2026" if blocked else "")
    assert any("The approval is due for review by" in caution for caution in line.cautions) == soon
    assert bool(line.size) != blocked


@pytest.mark.parametrize(
    ("start", "blocked"),
    [("2026-11-25", ""), ("2026-11-26", "the ward's approval W-1 begins on 26 Nov 2026")],
)
def test_an_approval_serves_from_its_first_day(start: str, blocked: str) -> None:
    assert find(1600, ward=make_ward(make_approval(start=start))).blocked == blocked


def test_the_review_day_is_the_wards_own_day() -> None:
    ward = make_ward(make_approval(end="2026-11-24"))
    there = datetime.fromisoformat("2026-11-24T23:30-05:00")
    assert find(1600, ward=ward, now=there).blocked == ""
    assert find(1600, ward=ward, now=there.astimezone(UTC)).blocked != ""


def test_an_approval_in_force_goes_before_one_that_is_past() -> None:
    past = make_approval("2025-01-01", "2026-01-01", "W-0")
    line = find(1600, ward=make_ward(past, make_approval()))
    assert (line.blocked, line.standing) == ("", "approval W-1")
    assert "W-0 was due for review" in find(1600, ward=make_ward(past)).blocked


def test_a_tick_made_on_one_ground_does_not_count_on_another() -> None:
    grounds = [
        find(2000),
        find(1999),
        find(1999, ward=make_ward(make_approval(reference="W-2"))),
        find(1999, bare=True),
    ]
    assert len({compute_line_fingerprint(line) for line in grounds}) == 4
    assert compute_line_fingerprint(find(1600)) == compute_line_fingerprint(find(1999))


TUBES = """
[[line]]
kind = "size"
id = "tube"
group = "all"
name = "Tube"
sizes = ["2.5 mm", "3.0 mm", "3.5 mm"]
also_below = true
basis = "published"
source = ["book"]

[[line.method]]
by = "weight"
[[line.method.band]]
size = ["2.5 mm"]
birth_weight = { below = "1000 g" }
[[line.method.band]]
size = ["3.0 mm"]
birth_weight = { at_least = "1000 g", below = "3000 g" }

[[line.method]]
by = "gestation"
[[line.method.band]]
size = ["3.0 mm"]
birth_gestation = { below = "34+0" }
basis = "from memory"
[[line.method.band]]
size = ["3.5 mm"]
birth_gestation = { at_least = "34+0", at_most = "40+0" }
"""
FOLLOWER = """
[[line]]
kind = "size"
id = "catheter"
group = "all"
name = "Catheter"
basis = "local"
[[line.method]]
by = "the tube's size"
follows = "tube"
[[line.method.band]]
when_size = "3.0 mm"
size = ["6 Fr"]
[[line.method.band]]
when_size = "3.5 mm"
size = ["8 Fr"]
"""


@pytest.fixture
def tubes() -> ParsedFile[Kit]:
    return make_small_kit(TUBES + FOLLOWER)


def test_methods_that_agree_give_one_size_and_the_one_below(tubes: ParsedFile[Kit]) -> None:
    line = find_line("tube", 1000, "33+6", kit=tubes, ward=None)
    assert (line.show, line.cautions) == ("3.0 mm + 2.5 mm", ())
    assert line.working[-1] == "The size below is laid out too: 2.5 mm."


def test_methods_that_differ_lay_out_both_and_say_so(tubes: ParsedFile[Kit]) -> None:
    line = find_line("tube", 1000, "34+0", kit=tubes, ward=None)
    assert line.show == "3.0 and 3.5 mm + 2.5 mm"
    assert line.cautions == ("The methods differ: 3.0 mm by weight, 3.5 mm by gestation.",)


def test_a_line_stands_on_its_weakest_ground(tubes: ParsedFile[Kit]) -> None:
    assert find_line("tube", 1000, "33+6", kit=tubes, ward=None).basis == "from memory"
    assert find_line("tube", 1000, "34+0", kit=tubes, ward=None).basis == "published"


WEAKEST_FIRST = ("from memory", "common practice", "local", EXCERPT, "published")


@pytest.mark.parametrize(("weaker", "stronger"), [*combinations(WEAKEST_FIRST, 2)])
def test_of_each_two_bases_the_weaker_is_the_lines(weaker: str, stronger: str) -> None:
    assert set(WEAKEST_FIRST) == set(get_args(Basis))
    cited = 'basis = "published"\nsource = ["book"]'
    assert TUBES.count(cited) == 1
    text = TUBES.replace('basis = "from memory"', f'basis = "{weaker}"\nsource = ["book"]')
    kit = make_small_kit(text.replace(cited, f'basis = "{stronger}"\nsource = ["book"]'))
    assert find_line("tube", 1000, "33+6", kit=kit, ward=None).basis == weaker


def test_a_size_that_follows_another_takes_the_bands_of_every_size_laid_out(tubes: ParsedFile[Kit]) -> None:
    shows = [find_line("catheter", 1000, age, kit=tubes, ward=None).show for age in ("33+6", "34+0")]
    assert shows == ["6 Fr", "6 or 8 Fr"]
    assert "By the tube's size: 3.0 mm gives 6 Fr. [local]" in find_line("catheter", 1000, kit=tubes, ward=None).working


def test_what_follows_a_blocked_line_waits_for_it_by_name(tubes: ParsedFile[Kit]) -> None:
    tube, catheter = make_tray(3000, "40+1", kit=tubes, ward=None).lines
    assert tube.blocked == "no size is stated for 3000 g · 40+1"
    assert catheter.blocked == "waits for what is blocked: Tube"
    assert (tube.size, catheter.size) == (None, None)
