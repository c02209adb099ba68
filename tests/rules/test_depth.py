"""Depths: the measured length wins and rounds down; methods that differ are both shown. Figures are invented."""

import pytest
from trays import DEMO_TEXT, find_line, make_small_kit, make_small_ward
from trays import make_ward as make_shipped_ward

from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine
from prepkit.quantities.amount import make_amount

LINE = """
[[line]]
kind = "depth"
id = "mark"
group = "all"
name = "Mark"
step = "0.5 cm"
basis = "common practice"
"""
RANGE = '[[line.method]]\nby = "range"\nlow = "14 cm"\nhigh = "16 cm"\nbasis = "common practice"\n'
MEASURED = '[[line.method]]\nby = "the device in hand"\nmeasured = true\nbasis = "local"\n'
FORMULA = """
[[line.method]]
by = "formula"
per_kg = "2 cm/kg"
weight = "birth"
plus = "5 cm"
basis = "published"
source = ["book"]
"""
TABLE = """
[[line.method]]
by = "table"
band = [{ birth_weight = { at_least = "1000 g", below = "2000 g" }, depth = "7.5 cm" }]
basis = "from memory"
"""


def make_kit(*methods: str, line: str = "") -> ParsedFile[Kit]:
    return make_small_kit(LINE + line + "".join(methods))


SIZES = """
[[line]]
kind = "size"
id = "device"
group = "all"
name = "Device"
basis = "common practice"
method = [{ by = "weight", band = [
    { size = ["1"], birth_weight = { below = "2000 g" } },
    { size = ["1.5"], birth_weight = { at_least = "2000 g", below = "3000 g" } },
    { size = ["1.5", "2"], birth_weight = { at_least = "3000 g", below = "4000 g" } },
] }]
"""
FOLLOWING = MEASURED + 'follows = "device"\n'


def write_row(length: str, clearance: str, size: str = "") -> str:
    said = f'size = "{size}"\n' if size else ""
    return (
        f'[[measured]]\nline = "mark"\ndevice = "device in stock"\n{said}length = "{length}"\n'
        f'clearance = "{clearance}"\nmeasured_by = "senior nurse"\nmeasured_on = 2026-05-04\n'
    )


def make_ward(kit: ParsedFile[Kit], length: str, clearance: str) -> ParsedFile[Ward]:
    return make_small_ward(write_row(length, clearance), kit)


def make_following(*methods: str) -> ParsedFile[Kit]:
    return make_small_kit(SIZES + LINE + "".join(methods))


def find(kit: ParsedFile[Kit], weight: int = 1450, ward: ParsedFile[Ward] | None = None) -> ListLine:
    return find_line("mark", weight, kit=kit, ward=ward)


@pytest.mark.parametrize(
    ("length", "clearance", "mark"),
    [
        ("16 cm", "0.5 cm", "15.5 cm"),
        ("16.4 cm", "0.5 cm", "15.5 cm"),  # 15.9 is nearer to 16, which would be past it
        ("16.49 cm", "0.5 cm", "15.5 cm"),
        ("16.5 cm", "0.5 cm", "16 cm"),
        ("158 mm", "1 cm", "14.5 cm"),
        ("18.2 cm", "1 cm", "17 cm"),  # also where it is past the range
    ],
)
@pytest.mark.parametrize("methods", [(MEASURED, RANGE), (RANGE, MEASURED)])
def test_the_measured_length_less_its_clearance_wins_and_goes_down_to_a_mark(
    methods: tuple[str, str], length: str, clearance: str, mark: str
) -> None:
    kit = make_kit(*methods)
    line = find(kit, ward=make_ward(kit, length, clearance))
    assert line.show == mark
    assert line.amount is not None
    assert line.exact is not None
    assert line.amount <= line.exact
    assert (line.low, line.high) == (None, None)
    assert line.source == "local: measured by senior nurse on 04 May 2026"
    assert line.basis == "local"


def test_the_measured_length_is_worked_out_in_words() -> None:
    kit = make_kit(MEASURED, RANGE)
    line = find(kit, ward=make_ward(kit, "16.4 cm", "0.5 cm"))
    assert line.working[0] == (
        "Measured on the ward's device in stock: 16.4 cm from port to opening, less 0.5 cm clearance = 15.9 cm;"
        " down to a mark: 15.5 cm. [local]"
    )
    assert line.working[1] == "By range: 14–16 cm. [common practice]"


def test_without_a_measured_length_the_next_method_serves() -> None:
    kit = make_kit(MEASURED, RANGE)
    for ward in (None, make_small_ward("", kit)):
        line = find(kit, ward=ward)
        assert (line.show, line.amount) == ("14–16 cm", None)
        assert (line.low, line.high) == (make_amount(14, "cm"), make_amount(16, "cm"))
        assert line.basis == "common practice"


@pytest.mark.parametrize(
    ("weight", "exact", "mark"),
    [(1000, "7", "7 cm"), (1124, "7.248", "7 cm"), (1125, "7.25", "7.5 cm"), (1374, "7.748", "7.5 cm")],
)
def test_a_formula_goes_to_the_nearest_mark_and_half_way_to_the_larger(weight: int, exact: str, mark: str) -> None:
    line = find(make_kit(FORMULA), weight)
    assert (line.exact, line.show) == (make_amount(exact, "cm"), mark)
    assert f"2 cm/kg × {weight} g (birth weight) + 5 cm = {exact} cm; to the nearest 0.5 cm: {mark}." in line.working[0]


@pytest.mark.parametrize(
    ("weight", "shown"),
    # Table 7.5 cm; the formula gives 7 cm at 1000 g, 8 cm at 1500 g, 8.002 cm at 1501 g.
    [(1000, ()), (1500, ()), (1501, ("8 cm by formula",)), (1999, ("9 cm by formula",))],
)
def test_a_method_further_off_than_allowed_is_shown_beside_the_first(weight: int, shown: tuple[str, ...]) -> None:
    line = find(make_kit(TABLE, FORMULA, line='differ = "0.5 cm"\n'), weight)
    assert line.show == "7.5 cm"
    assert line.details == shown
    assert any("the methods differ" in caution for caution in line.cautions) == bool(shown)
    assert len(line.working) == 2


def test_the_first_method_that_covers_the_baby_is_the_mark() -> None:
    kit = make_kit(TABLE, FORMULA)
    assert [find(kit, weight).show for weight in (999, 1000, 1999, 2000)] == ["7 cm", "7.5 cm", "7.5 cm", "9 cm"]
    assert find(kit, 2000).source.startswith("published: Invented book (2020)")
    assert find(kit, 1000).basis == "from memory"


def test_where_no_method_covers_the_baby_it_is_blocked() -> None:
    line = find(make_kit(TABLE), 2000)
    assert line.blocked == "no method covers 2000 g · 30+2"
    assert (line.amount, line.show) == (None, "")


def test_a_length_measured_on_the_size_laid_out_is_the_mark() -> None:
    kit = make_following(FOLLOWING, RANGE)
    ward = make_small_ward(write_row("16 cm", "0.5 cm", "1") + write_row("18 cm", "1 cm", "1.5"), kit)
    for weight, mark in ((1999, "15.5 cm"), (2000, "17 cm")):
        line = find(kit, weight, ward)
        assert (line.show, line.basis, line.cautions) == (mark, "local", ())
    assert "device in stock (size 1): 16 cm" in find(kit, 1450, ward).working[0]


@pytest.mark.parametrize(
    ("weight", "laid_out"),
    [(2000, "; what is laid out is 1.5"), (3000, "; what is laid out is 1.5 or 2"), (4000, "")],
)
def test_a_length_measured_on_another_size_does_not_serve_and_says_so(weight: int, laid_out: str) -> None:
    kit = make_following(FOLLOWING, RANGE)
    line = find(kit, weight, make_small_ward(write_row("16 cm", "0.5 cm", "1"), kit))
    assert (line.show, line.amount, line.basis) == ("14–16 cm", None, "common practice")
    assert line.cautions == (f"The ward's measured length is for size 1{laid_out}: it is not used.",)
    assert line.source == "common practice, no source to cite"


def test_where_nothing_but_another_sizes_length_is_known_the_line_is_blocked_and_says_which() -> None:
    kit = make_following(FOLLOWING)
    line = find(kit, 2000, make_small_ward(write_row("16 cm", "0.5 cm", "1"), kit))
    assert line.blocked == "no method covers 2000 g · 30+2"
    assert "for size 1; what is laid out is 1.5" in line.working[-1]


def test_the_shipped_catheter_mark_goes_by_the_size_of_the_device() -> None:
    row = write_row("16 cm", "0.5 cm", "1").replace('"mark"', '"catheter-depth"')
    assert find_line("catheter-depth", 1450, ward=make_shipped_ward(DEMO_TEXT + row)).show == "15.5 cm"
    other = make_shipped_ward(DEMO_TEXT + row.replace('size = "1"', 'size = "1.5"'))
    line = find_line("catheter-depth", 1450, ward=other)
    assert line.show == "14–16 cm"
    assert "The ward's measured length is for size 1.5; what is laid out is size 1: it is not used." in line.cautions


@pytest.mark.parametrize(("length", "clearance"), [("2 cm", "1.6 cm"), ("1 cm", "0.99 cm")])
def test_a_mark_that_goes_down_to_nothing_blocks_the_line(length: str, clearance: str) -> None:
    kit = make_kit(MEASURED, RANGE)
    line = find(kit, ward=make_ward(kit, length, clearance))
    assert line.blocked == "the ward's device in stock: length less clearance leaves no mark"
    assert (line.show, line.amount, line.low) == ("", None, None)
    assert f"{length} from port to opening, less {clearance} clearance" in line.working[0]
    assert find(kit, ward=make_ward(kit, "2.1 cm", "1.6 cm")).show == "0.5 cm"


def test_a_formula_that_comes_to_less_than_half_a_mark_blocks_the_line() -> None:
    kit = make_kit(FORMULA.replace("2 cm/kg", "0.2 cm/kg").replace('plus = "5 cm"\n', ""))
    assert find(kit, 1250).show == "0.5 cm"
    assert find(kit, 1245).blocked == "0.249 cm by formula leaves no mark of 0.5 cm"
