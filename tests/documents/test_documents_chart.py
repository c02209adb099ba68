"""The chart: what stands on it at each weight, on paper and in a spreadsheet. Small kits are invented."""

import csv
import io
import re
from datetime import UTC, datetime
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from msgspec.structs import replace
from trays import DEMO_TEXT, KIT, WARD, find_line, make_small_kit, make_ward

from prepkit.documents.chart import Chart, ChartColumn, make_chart, write_chart_csv, write_chart_html, write_chart_text
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.quantities.units import UNITS

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


def chart(
    *grams: int,
    kit: ParsedFile[Kit] = KIT,
    ward: ParsedFile[Ward] | None = WARD,
    gestation: str = "30+2",
    now: datetime = NOW,
) -> Chart:
    return make_chart(kit, ward, grams, gestation, now)


def find_column(made: Chart, name: str) -> ChartColumn:
    return next(column for column in made.columns if column.name == name)


def read_csv(made: Chart) -> tuple[list[str], list[list[str]]]:
    rows = list(csv.reader(io.StringIO(write_chart_csv(made))))
    at = next(number for number, row in enumerate(rows) if row[:1] == ["Weight"])
    return rows[at], rows[at + 1 :]


class Page(HTMLParser):
    """The texts of a page, cell by cell, with the tags that were opened."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.texts: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002  (the parser's own signature)
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data.replace("\u00a0", " "))


def test_each_cell_says_what_the_list_of_that_weight_says() -> None:
    heads, rows = read_csv(chart(1200, 1450, 3700))
    for row, grams in zip(rows, (1200, 1450, 3700), strict=True):
        assert row[0] == f"{grams} g"
        for name in (
            "Surfactant (by birth weight)", "Atropine (by weight now)", "Tube depth at the lips (by weight now)",
            "SpO2 target",
        ):  # fmt: skip
            line = next(line.id for line in KIT.model.line if line.name == name.partition(" (")[0])
            found = find_line(line, grams, now=NOW)
            cell = row[heads.index(name)].split("; ")
            assert cell[0] == found.show
            assert sorted(cell[1:]) == sorted(say_apart("; ".join(found.details)).split("; ") if found.details else [])


def say_apart(details: str) -> str:
    """A list's "288 mg, 199 mg/kg (due 200)" as the chart says it."""
    return re.sub(r"([^;]+ (\S+)) \(due ([^)]+)\)", r"in the syringe \1; due \3 \2", details)


def test_what_is_in_the_syringe_stands_beside_each_volume_and_what_is_due_once_over_the_column() -> None:
    """By hand: 200 mg/kg; 3.6 mL x 80 mg/mL = 288 mg, / 1.45 kg = 199 mg/kg; 3 mL x 80 = 240 mg, / 1.2 kg = 200."""
    made = chart(1200, 1450)
    surfactant = find_column(made, "Surfactant (by birth weight)")
    assert "due 200 mg/kg" in surfactant.always
    assert [cell.show for cell in surfactant.cells] == ["3 mL", "3.6 mL"]
    held = ["in the syringe 240 mg, 200 mg/kg", "in the syringe 288 mg, 199 mg/kg"]
    assert [cell.details[0] for cell in surfactant.cells] == held
    assert write_chart_text(made).count("due 200 mg/kg") == 1


def test_what_is_the_same_at_every_weight_stands_once() -> None:
    made = chart(1200, 1250)
    assert ("SpO2 target", "91–95 %") in made.always
    assert "SpO2 target" not in [column.name for column in made.columns]
    text = write_chart_text(made)
    assert text.count("SpO2 target") == 1
    assert text.count("first make 1 mL") == 1
    surfactant = find_column(made, "Surfactant (by birth weight)")
    assert "Poractant alfa 80 mg/mL" in surfactant.always
    assert [cell.show for cell in surfactant.cells] == ["3 mL", "3.2 mL"]


def test_it_says_when_from_what_and_for_whom_it_was_made() -> None:
    for text in (
        write_chart_text(chart(1450)),
        write_chart_csv(chart(1450)),
        "".join(Page(write_chart_html(chart(1450))).texts),
    ):
        said = " ".join(text.split())
        assert "Printed 2026-11-25 03:00." in said
        assert "Kit edition 2026-11, review by 2027-11-30" in said
        assert "ward Heron Ward (invented), edition 2026-10, review by 2027-10-31" in said
        assert f"kit {KIT.sha256[:16]}, ward {WARD.sha256[:16]}" in said
        assert "For a baby born today, weighed once, gestation at birth 30+2; a first dose" in said
        assert "Where birth weight and weight now differ, each line goes by the one that it names." in said
        assert "local policy, pharmacy and the prescriber decide" in said


def test_a_file_past_its_review_date_is_said_on_it() -> None:
    late = chart(1450, now=datetime(2027, 11, 1, tzinfo=UTC))
    assert any("The ward file was due for review by 31 Oct 2027" in words for words in late.made)
    assert not any("was due for review" in words for words in chart(1450).made)


def test_a_blocked_line_says_so_and_why_in_every_form() -> None:
    made = chart(1950, 2000, ward=None)
    assert "BLOCKED: 1950 g is outside every label" in " ".join(write_chart_text(made).split())
    heads, rows = read_csv(made)
    assert [row[heads.index("Supraglottic airway (by weight now)")].partition(":")[0] for row in rows] == [
        "BLOCKED",
        "size 1",
    ]
    page = write_chart_html(made)
    assert page.count('class="blocked"') == 1
    assert "BLOCKED: no ward file" in page


@pytest.mark.parametrize(
    ("grams", "gestation", "doubt"),
    [(1450, "30+2", ""), (2000, "28+0", "very unlikely at 28+0"), (1100, "30+2", "not suitable for this kit")],
)
def test_a_weight_whose_list_would_wait_is_marked(grams: int, gestation: str, doubt: str) -> None:
    made = chart(grams, gestation=gestation)
    assert made.doubts == (doubt,)
    text = write_chart_text(made)
    assert (f"[{doubt}]" in text) == bool(doubt)
    assert ("A weight that is marked" in text) == bool(doubt)
    assert read_csv(made)[1][0][1] == doubt


UNKIND = """
[[line]]
kind = "supply"
id = "it"
group = "all"
name = "{name}"
says = "{says}"
basis = "common practice"
"""


@pytest.mark.parametrize("start", ["=", "+", "-", "@", " ="])
def test_no_cell_of_the_csv_is_a_formula(start: str) -> None:
    text = UNKIND.format(name=f"{start.strip()}1+1", says=f"{start.strip()}cmd|' /C calc'!A0")
    kit = make_small_kit(text)
    kit = ParsedFile(replace(kit.model, name=f"{start}1"), kit.name, kit.text, kit.sha256)
    for row in csv.reader(io.StringIO(write_chart_csv(chart(1450, kit=kit, ward=None)))):
        for cell in row:
            assert cell.lstrip()[:1] not in {"=", "+", "-", "@"}


def test_what_stands_in_a_file_is_text_on_the_page_and_never_a_tag() -> None:
    text = UNKIND.format(name="<script>alert(1)</script>", says="<img src=x onerror='1'> & more")
    page = Page(write_chart_html(chart(1450, kit=make_small_kit(text), ward=None)))
    assert not {"script", "img"} & {*page.tags}
    assert "<script>alert(1)</script>: " in page.texts
    assert "<img src=x onerror='1'> & more" in page.texts


def test_the_page_needs_nothing_from_elsewhere_and_is_black_on_white() -> None:
    page = write_chart_html(chart(1200, 1450))
    assert not any(word in page for word in ("http", "url(", "src=", "@import", "rgb", "hsl"))
    assert {word for word in page.replace(";", " ").split() if word.startswith("#")} == {"#000", "#fff"}
    head = page.index("<thead>")
    assert head < page.index("Fingerprints") < page.index("</thead>")


def test_the_text_fits_80_columns_and_keeps_numbers_with_their_units() -> None:
    rows = write_chart_text(chart(*range(1200, 3000, 150))).split("\n")
    assert max(len(row) for row in rows) < 80
    for before, after in pairwise(rows):
        starts = after.strip().split(" ")[0].rstrip(".,;:)")
        assert not (before[-1:].isdigit() and starts in UNITS), (before, after)


def test_an_approval_that_ends_leaves_its_weights_blocked() -> None:
    ward = make_ward(DEMO_TEXT.replace("review_by = 2027-03-01", "review_by = 2026-11-24"))
    made = chart(1450, 2100, ward=ward)
    device = find_column(made, "Supraglottic airway (by weight now)")
    assert "was due for review by 24 Nov 2026" in device.cells[0].blocked
    assert device.cells[1].show == "size 1"


EACH = """
[[line]]
kind = "setting"
id = "{id}"
group = "all"
name = "It"
basis = "common practice"
band = [
  {{ {axis} = {{ below = "1500 g" }}, value = "1 cmH2O" }},
  {{ {axis} = {{ at_least = "1500 g" }}, value = "2 cmH2O" }},
]
"""


def test_each_line_says_which_weight_it_goes_by_and_one_that_goes_by_none_says_nothing() -> None:
    axes = ("birth_weight", "weight_now", "greater_weight")
    kit = make_small_kit(
        "".join(EACH.format(axis=axis, id=axis.replace("_", "-")) for axis in axes)
        + UNKIND.format(name="Other", says="so")
    )
    names = ["It (by birth weight)", "It (by weight now)", "It (by the greater of birth weight and weight now)"]
    made = chart(1450, 1500, kit=kit, ward=None)
    assert [column.name for column in made.columns] == names
    assert [name for name, _ in made.always] == ["Other"]
    # The same at these weights: still by which of the two they are.
    assert [name for name, _ in chart(1450, kit=kit, ward=None).always] == [*names, "Other"]
