"""The chart: a kit's amounts by weight, for the wall on a day without the computer.

May import: `prepkit.list` and below.
"""

import csv
import html
import io
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from prepkit.documents.safe import defuse_cell
from prepkit.kit.baby import make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.list.lines import ListLine

_WIDTH = 110
CAUTION = (
    "An aid to preparation by trained staff. Check each number against the prescription and its working; local policy, "
    "pharmacy and the prescriber decide. Not valid after the review dates below."
)


@dataclass(frozen=True, slots=True)
class Chart:
    """The chart's cells, in words, with what it was made from."""

    title: str
    made: tuple[str, ...]
    """Date, edition, ward, fingerprints, the gestation and the facts it stands for."""
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def make_chart(
    kit: Written[Kit], ward: Written[Ward] | None, grams: Iterable[int], gestation: str, now: datetime
) -> Chart:
    """One row a weight, one column a line that has an amount; facts stand at the kit's defaults.

    Args:
        kit: the kit as read.
        ward: the ward file as read.
        grams: the weights of the rows, each within what a baby may weigh.
        gestation: the one the chart is made for.
        now: printed on it; decides approvals.
    """
    trays = []
    for weight in grams:
        baby, problems = make_baby(kit.model, {"weight": str(weight), "gestation": gestation}, now)
        if baby is None:
            raise ValueError(problems[0].words())
        trays.append(compute_list(kit, ward, baby, {}, now))
    lines = trays[0].lines if trays else ()
    columns = [line.id for line in lines if any(_has_amount(_line(tray.lines, line.id)) for tray in trays)]
    heads = ("Weight", *(line.name for line in lines if line.id in columns))
    rows = tuple(
        (f"{tray.baby.weight_g} g", *(_say(_line(tray.lines, column)) for column in columns)) for tray in trays
    )
    return Chart(kit.model.name, _say_made(kit, ward, gestation, now), heads, rows)


def write_chart_text(chart: Chart) -> str:
    """The chart in plain text: a block for each weight, since no page holds every column."""
    blocks = [chart.title, *chart.made, *textwrap.wrap(CAUTION, _WIDTH), ""]
    for weight, *cells in chart.rows:
        blocks.append(weight)
        for head, cell in zip(chart.heads[1:], cells, strict=True):
            blocks += textwrap.wrap(f"{head}: {cell}", _WIDTH, initial_indent="  ", subsequent_indent="      ")
        blocks.append("")
    return "\n".join(blocks) + "\n"


def write_chart_csv(chart: Chart) -> str:
    """The chart as CSV (RFC 4180), what it was made from in the first rows; no cell can be taken for a formula."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerows([[defuse_cell(chart.title)], *([defuse_cell(made)] for made in chart.made), [CAUTION], []])
    writer.writerows([defuse_cell(cell) for cell in row] for row in (chart.heads, *chart.rows))
    return out.getvalue()


def write_chart_html(chart: Chart) -> str:
    """The chart as one HTML page for paper: black on white, its head on every sheet."""
    heads = "".join(f"<th>{html.escape(head)}</th>" for head in chart.heads)
    rows = "\n".join("<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>" for row in chart.rows)
    made = "".join(f"<p>{html.escape(line)}</p>" for line in (*chart.made, CAUTION))
    return _PAGE.format(title=html.escape(chart.title), made=made, heads=heads, rows=rows)


_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>{title}</title>
<style>
@page {{ size: A4 landscape; margin: 10mm }}
body {{ font: 9pt sans-serif; color: #000; background: #fff }}
p {{ margin: 0 0 2pt }}
table {{ border-collapse: collapse; width: 100% }}
thead {{ display: table-header-group }}
tr {{ break-inside: avoid }}
th, td {{ border: 0.5pt solid #000; padding: 1pt 3pt; text-align: left; vertical-align: top }}
td:first-child, th:first-child {{ font-weight: bold; white-space: nowrap }}
</style>
<h1>{title}</h1>
{made}
<table>
<thead><tr>{heads}</tr></thead>
<tbody>
{rows}
</tbody>
</table>
</html>
"""


def _line(lines: tuple[ListLine, ...], name: str) -> ListLine:
    return next(line for line in lines if line.id == name)


def _has_amount(line: ListLine) -> bool:
    return line.kind != "trial" and bool(line.show or line.blocked)


def _say(line: ListLine) -> str:
    if line.blocked:
        return f"BLOCKED: {line.blocked}"
    return "; ".join(part for part in (line.show, *line.details) if part)


def _say_made(kit: Written[Kit], ward: Written[Ward] | None, gestation: str, now: datetime) -> tuple[str, ...]:
    file = (
        f"ward {ward.model.name}, edition {ward.model.edition}, review by {ward.model.review_by}"
        if ward
        else "no ward file"
    )
    prints = f"kit {kit.sha256[:16]}" + (f", ward {ward.sha256[:16]}" if ward else "")
    return (
        f"Printed {now:%Y-%m-%d %H:%M}. Kit edition {kit.model.edition}, review by {kit.model.review_by}; {file}.",
        f"Fingerprints: {prints}.",
        f"For a gestation of {gestation}, a first dose, and every other fact at the kit's default.",
    )
