"""What to lay out, how many and how far in; trials, which hang on the values they follow. Figures are invented."""

import pytest
from trays import BOOK, NOW, find_line, make_small_kit, make_small_ward, make_tray

from prepkit.list.lines import ListLine, TrayList, compute_line_fingerprint
from prepkit.quantities.amount import make_amount

FACT = """
[[fact]]
kind = "choice"
id = "in_place"
label = "One in place"
ask = "Is one in place?"
options = ["yes", "no"]
"""
SUPPLY = '[[line]]\nkind = "supply"\nid = "it"\ngroup = "all"\nname = "It"\nbasis = "common practice"\n'
COUNT = """
[[line.count]]
facts = { in_place = "yes" }
count = 1

[[line.count]]
facts = { in_place = "no" }
count = 2
"""
SIZE = """
[line.size]
by = "weight"

[[line.size.band]]
size = ["5 Fr", "6 Fr"]
birth_weight = { below = "1000 g" }
basis = "published"
source = ["book"]

[[line.size.band]]
size = ["8 Fr"]
birth_weight = { at_least = "1000 g", at_most = "3000 g" }
"""
LENGTH = """
[line.length]
by = "weight"
per_kg = "2 cm/kg"
weight = "birth"
plus = "10 cm"
basis = "published"
source = ["book"]
"""
STEP = 'step = "0.5 cm"\n'


def lay_out(text: str, weight: int = 1450, **facts: str) -> ListLine:
    return find_line("it", weight, "30+2", kit=make_small_kit(FACT + SUPPLY + text), ward=None, now=NOW, **facts)


@pytest.mark.parametrize(
    ("text", "weight", "in_place", "show"),
    [
        ("", 1450, "no", ""),
        ('says = "per local policy"\n', 1450, "no", "per local policy"),
        (COUNT, 1450, "no", "2 ×"),
        (COUNT, 1450, "yes", ""),
        (COUNT + SIZE, 1450, "yes", "1 × 8 Fr"),
        (SIZE, 999, "no", "5 or 6 Fr"),
        (SIZE, 1000, "no", "8 Fr"),
        (STEP + LENGTH, 1450, "no", "to 13 cm"),
        (STEP + COUNT + SIZE + LENGTH, 1450, "no", "2 × 8 Fr to 13 cm"),
    ],
)
def test_a_supply_shows_what_is_stated_of_it(text: str, weight: int, in_place: str, show: str) -> None:
    line = lay_out(text, weight, in_place=in_place)
    assert (line.show, line.blocked) == (show, "")


def test_a_measured_length_that_leaves_no_mark_or_is_of_another_size_blocks_a_supply() -> None:
    device = """
[[line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
basis = "common practice"
method = [{ by = "weight", band = [
    { size = ["1"], birth_weight = { below = "2000 g" } },
    { size = ["2"], birth_weight = { at_least = "2000 g" } },
] }]
"""
    length = '[line.length]\nby = "the device in hand"\nmeasured = true\nfollows = "device"\nbasis = "local"\n'
    kit = make_small_kit(device + SUPPLY + STEP + length)
    row = (
        '[[measured]]\nline = "it"\ndevice = "device in stock"\nsize = "1"\nlength = "{}"\nclearance = "1 cm"\n'
        'measured_by = "lead nurse"\nmeasured_on = 2026-03-02\n'
    )
    ward = make_small_ward(row.format("16.2 cm"), kit)
    assert find_line("it", 1999, kit=kit, ward=ward).show == "to 15 cm"
    other = find_line("it", 2000, kit=kit, ward=ward)
    assert other.blocked == "no length is stated for 2000 g · 30+2"
    assert "for size 1; what is laid out is 2" in other.working[-1]
    short = find_line("it", 1999, kit=kit, ward=make_small_ward(row.format("1.2 cm"), kit))
    assert short.blocked == "the ward's device in stock (size 1): length less clearance leaves no mark"


def test_a_length_is_exact_and_at_a_mark() -> None:
    line = lay_out(STEP + LENGTH, 1550)
    assert (line.exact, line.amount) == (make_amount("13.1", "cm"), make_amount(13, "cm"))
    assert (line.basis, line.source) == ("published", BOOK)


def test_every_part_of_a_supply_is_worked_out_with_its_own_ground() -> None:
    line = lay_out(STEP + COUNT + SIZE + LENGTH, 999, in_place="no")
    sum_of_it = "2 cm/kg × 999 g (birth weight) + 10 cm = 11.998 cm"
    assert line.working == (
        "Count: 2 (in place no). [common practice]",
        "Size by weight: birth weight under 1000 g gives 5 or 6 Fr. [published: Invented book 2020]",
        f"Length. By weight: {sum_of_it}; to the nearest 0.5 cm: 12 cm. [published: Invented book 2020]",
    )
    assert lay_out("").working == ("Lay it out. [common practice]",)


@pytest.mark.parametrize(
    ("text", "weight", "name"), [(COUNT, 1450, "count"), (SIZE, 3001, "size"), (COUNT + SIZE, 3001, "count")]
)
def test_what_is_stated_for_other_babies_alone_blocks(text: str, weight: int, name: str) -> None:
    line = lay_out(text, weight)  # nobody said whether one is in place
    assert line.blocked == f"no {name} is stated for {weight} g · 30+2"
    assert (line.show, line.size, line.amount) == ("", None, None)


TUBE = """
[[line]]
kind = "size"
id = "tube"
group = "all"
name = "Tube"
basis = "local"
[[line.method]]
by = "weight"
[[line.method.band]]
size = ["3.0 mm"]
birth_weight = { at_most = "2000 g" }

[[line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
basis = "local"
[[line.method]]
by = "formula"
per_kg = "1 cm/kg"
weight = "birth"
plus = "6 cm"
basis = "local"
"""
FOLLOWING = """
[line.size]
by = "the tube"
follows = "tube"
[[line.size.band]]
when_size = "3.0 mm"
size = ["6 Fr"]
"""
TRIALS = """
[[line]]
kind = "trial"
id = "both"
group = "all"
name = "Try both"
how = ["Try it."]
of = ["tube", "depth"]
basis = "common practice"

[[line]]
kind = "trial"
id = "alone"
group = "all"
name = "Try something"
how = ["Try it."]
basis = "common practice"
"""
TRIED = make_small_kit(TUBE + SUPPLY + FOLLOWING + TRIALS)


def make_trials(weight: int) -> TrayList:
    return make_tray(weight, kit=TRIED, ward=None)


def find(weight: int, line: str) -> ListLine:
    return next(row for row in make_trials(weight).lines if row.id == line)


def test_a_supply_that_follows_another_lines_size_waits_for_it_by_name() -> None:
    assert find(2000, "it").show == "6 Fr"
    assert find(2001, "it").blocked == "waits for what is blocked: Tube"


def test_a_trial_shows_the_values_it_is_made_for() -> None:
    line = find(1450, "both")
    assert line.show == "3.0 mm and 7.5 cm"
    assert line.working == ("Do it now. [common practice]", "Tube: 3.0 mm", "Depth: 7.5 cm")


def test_a_trial_of_what_is_blocked_waits_and_shows_nothing() -> None:
    line = find(2001, "both")
    assert (line.blocked, line.show) == ("waits for what is blocked: Tube", "")
    assert find(2001, "alone").blocked == ""


@pytest.mark.parametrize(("one", "other", "same"), [(1450, 1700, True), (1450, 1749, True), (1450, 1750, False)])
def test_a_trial_is_done_again_when_a_value_it_follows_changes_and_not_before(
    one: int, other: int, *, same: bool
) -> None:
    # 1 cm/kg + 6 cm to 0.5 cm: 7.5 cm to 1749 g, 8 cm from 1750 g.
    assert (write(one, "both") == write(other, "both")) == same
    assert write(one, "alone") == write(other, "alone")


def write(weight: int, line: str) -> str:
    return compute_line_fingerprint(find(weight, line))


def test_the_shipped_trials_follow_the_surfactant_and_the_device() -> None:
    """The same 3.6 mL of another dose is another trial; the device's trial stays while its ground does."""
    one, other = (
        {line.id: compute_line_fingerprint(line) for line in make_tray(grams).lines} for grams in (1450, 1460)
    )
    assert one["surfactant-drawn-up"] != other["surfactant-drawn-up"]
    assert one["device-inspected"] == other["device-inspected"]
    labelled = find_line("device-inspected", 2000)  # the label of a size 1 begins at 2 kg: common practice
    approved = find_line("device-inspected", 1999)
    assert labelled.show == approved.show == "size 1"
    assert compute_line_fingerprint(labelled) != compute_line_fingerprint(approved)
