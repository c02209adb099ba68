"""The chart: a kit's amounts by weight, for the wall on a day without the computer; as text, CSV and HTML.

It is for babies born today and weighed once, so that a row has one weight and the sheet one gestation; each column says
which weight it goes by, for a baby whose two differ. Whatever every row would repeat is written once, above the rows.
"""

import csv
import html
import io
from collections.abc import Iterable, Sequence
from datetime import datetime

from msgspec import Struct

from prepkit.documents.safe_text import defuse_cell, glue_units, wrap_words
from prepkit.kit.axes import WEIGHTS, WORDS, Axis
from prepkit.kit.baby import make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.moments import TODAY
from prepkit.kit.names import BIRTH_GESTATION, BIRTH_WEIGHT, BORN
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_prepared, prepare_kit
from prepkit.list.lines import ListLine, TrayList
from prepkit.rules.growth import Plausibility
from prepkit.rules.weights import judge_baby_weight
from prepkit.wording.say import say, say_all, say_by_word
from prepkit.wording.things import say_measure

_ONCE = "For a baby born today, weighed once"
_TWO_WEIGHTS = "Where birth weight and weight now differ, each line goes by the one that it names."
CAUTION = (
    "An aid to preparation by trained staff. Check each number against the prescription and its working; local policy, "
    "pharmacy and the prescriber decide. Not valid after the review dates given here."
)
BLOCKED = "BLOCKED"


class ChartCell(Struct, frozen=True):
    """What one line is at one weight, in words."""

    show: str
    details: tuple[str, ...] = ()
    blocked: str = ""
    """Why it cannot be prepared; empty where it can."""

    @property
    def words(self) -> str:
        """The whole cell in one text."""
        return f"{BLOCKED}: {self.blocked}" if self.blocked else "; ".join(filter(None, (self.show, *self.details)))


class ChartColumn(Struct, frozen=True):
    """One line at every weight."""

    name: str
    """The line's, and which weight it goes by."""
    always: tuple[str, ...]
    """The details that are the same at every weight; the cells leave them out."""
    cells: tuple[ChartCell, ...]


class Chart(Struct, frozen=True):
    """The chart's cells, in words, with what it was made from."""

    title: str
    made: tuple[str, ...]
    """Date, edition, ward, fingerprints, the gestation and the facts it stands for, and what is out of date."""
    always: tuple[tuple[str, str], ...]
    """Lines that are the same at every weight: name and words."""
    weights: tuple[str, ...]
    doubts: tuple[str, ...]
    """For each weight, why the list would wait for more; empty where it would not."""
    columns: tuple[ChartColumn, ...]


def make_chart(
    kit: ParsedFile[Kit], ward: ParsedFile[Ward] | None, grams: Iterable[int], gestation: str, now: datetime
) -> Chart:
    """One row a weight, one column a line that has an amount; facts stand at the kit's defaults.

    Args:
        kit: the kit as read.
        ward: the ward file as read.
        grams: the weights of the rows, each within what a baby may weigh; at least one.
        gestation: the one the chart is made for, at birth and today.
        now: printed on it; decides approvals.
    """
    trays, prepared = [], prepare_kit(kit, ward)
    for weight in grams:
        given = {BIRTH_WEIGHT: str(weight), BIRTH_GESTATION: gestation, BORN: TODAY}
        baby, problems = make_baby(kit.model, given, now)
        if baby is None:
            raise ValueError(problems[0].words())
        trays.append(compute_prepared(prepared, baby, {}, now))
    columns, always = [], []
    for at, line in enumerate(trays[0].lines):
        cells = tuple(_make_cell(tray.lines[at]) for tray in trays)
        if line.kind == "trial" or not any(cell.words for cell in cells):
            continue
        if len(set(cells)) == 1:
            always.append((_name(line), cells[0].words))
        else:
            columns.append(_make_column(_name(line), cells))
    return Chart(
        title=kit.model.name,
        made=(*_say_made(kit, ward, gestation, now), *say_all(trays[0].overdue)),
        always=tuple(always),
        weights=tuple(say_measure(Axis.BIRTH_WEIGHT, tray.baby.get_weight(Axis.BIRTH_WEIGHT)) for tray in trays),
        doubts=tuple(_find_doubt(tray) for tray in trays),
        columns=tuple(columns),
    )


def _name(line: ListLine) -> str:
    """The line's name, and which weight it goes by: "Surfactant (by birth weight)"."""
    by = " and ".join(WORDS[axis] for axis in WEIGHTS if axis in line.declared.reads)
    return f"{line.name} (by {by})" if by else line.name


def _make_cell(line: ListLine) -> ChartCell:
    return (
        ChartCell("", (), say(line.outcome.blocked))
        if line.outcome.blocked
        else ChartCell(say(line.outcome.show), say_by_word(line.outcome.details))
    )


def _make_column(name: str, cells: Sequence[ChartCell]) -> ChartColumn:
    there = [cell for cell in cells if not cell.blocked]
    always = [words for words in there[0].details if all(words in cell.details for cell in there)] if there else []
    kept = [tuple(words for words in cell.details if words not in always) for cell in cells]
    shortened = (ChartCell(cell.show, details, cell.blocked) for cell, details in zip(cells, kept, strict=True))
    return ChartColumn(name, tuple(always), tuple(shortened))


def _find_doubt(tray: TrayList) -> str:
    """Why this baby's list would wait: the kit is not for this baby, or the weight has to be entered again."""
    if tray.verdict == "not suitable":
        return "not suitable for this kit"
    gestation = tray.baby.size.birth_gestation
    return {
        Plausibility.LIKELY: "",
        Plausibility.UNLIKELY: f"unlikely at {gestation}",
        Plausibility.VERY_UNLIKELY: f"very unlikely at {gestation}",
        Plausibility.NO_REFERENCE: f"no growth reference at {gestation}",
    }[judge_baby_weight(tray.baby).plausibility]


def _say_made(kit: ParsedFile[Kit], ward: ParsedFile[Ward] | None, gestation: str, now: datetime) -> tuple[str, ...]:
    file = (
        f"ward {ward.model.name}, edition {ward.model.edition}, review by {ward.model.review_by}"
        if ward
        else "no ward file"
    )
    prints = f"kit {kit.sha256[:16]}" + (f", ward {ward.sha256[:16]}" if ward else "")
    return (
        f"Printed {now:%Y-%m-%d %H:%M}. Kit edition {kit.model.edition}, review by {kit.model.review_by}; {file}.",
        f"Fingerprints: {prints}.",
        f"{_ONCE}, gestation at birth {gestation}; a first dose, every other fact at the kit's default. {_TWO_WEIGHTS}",
    )


_WIDTH = 78
_SAME = "The same at every weight here"
_DOUBT = "A weight that is marked is to be read and entered again before anything is prepared by it."


def write_chart_text(chart: Chart) -> str:
    """The chart in plain text: a block for each weight, since no page holds every column."""
    rows = [chart.title]
    for made in (*chart.made, CAUTION, *_list_notes(chart)):
        rows += wrap_words(made, width=_WIDTH)
    if chart.always or any(column.always for column in chart.columns):
        rows += ["", _SAME]
    for name, words in chart.always:
        rows += _write_row(name, words)
    for column in chart.columns:
        rows += _write_row(column.name, "; ".join(column.always)) if column.always else []
    for at, weight in enumerate(chart.weights):
        rows += ["", f"{weight}  [{chart.doubts[at]}]" if chart.doubts[at] else weight]
        for column in chart.columns:
            rows += _write_row(column.name, column.cells[at].words)
    return "\n".join(rows) + "\n"


def _write_row(name: str, words: str) -> list[str]:
    return wrap_words(f"{name}: {words}", "  ", then="      ", width=_WIDTH)


def write_chart_csv(chart: Chart) -> str:
    """The chart as CSV (RFC 4180), what it was made from in the first rows; no cell can be taken for a formula.

    Every line is a column, and each cell says all of it, so that a row can be read by itself.
    """
    head: list[list[str]] = [[chart.title], *([words] for words in (*chart.made, CAUTION, *_list_notes(chart))), []]
    names = ["Weight", "Mark", *(name for name, _ in chart.always), *(column.name for column in chart.columns)]
    rows = [
        [weight, chart.doubts[at], *(words for _, words in chart.always), *(_say_whole(c, at) for c in chart.columns)]
        for at, weight in enumerate(chart.weights)
    ]
    out = io.StringIO()
    csv.writer(out).writerows([defuse_cell(cell) for cell in row] for row in (*head, names, *rows))
    return out.getvalue()


def _say_whole(column: ChartColumn, at: int) -> str:
    cell = column.cells[at]
    return cell.words if cell.blocked else "; ".join(filter(None, (cell.words, *column.always)))


def write_chart_html(chart: Chart) -> str:
    """The chart as one HTML page for paper: black on white, what it was made from on every sheet."""
    width = len(chart.columns) + 1
    made = "".join(f"<p>{_escape(line)}</p>" for line in (*chart.made, CAUTION, *_list_notes(chart)))
    heads = "".join(f"<th>{_escape(column.name)}{_write_small(column.always)}</th>" for column in chart.columns)
    rows = "\n".join(_write_tr(chart, at) for at in range(len(chart.weights)))
    always = "".join(f"<li>{_escape(name)}: <b>{_escape(words)}</b></li>" for name, words in chart.always)
    same = f"<h2>{_SAME}</h2><ul>{always}</ul>" if always else ""
    title = _escape(chart.title)
    return _PAGE.format(title=title, made=made, width=width, heads=heads, rows=rows, same=same)


def _write_tr(chart: Chart, at: int) -> str:
    doubt = _write_small((chart.doubts[at],)) if chart.doubts[at] else ""
    cells = "".join(_write_td(column.cells[at]) for column in chart.columns)
    return f"<tr><th>{_escape(chart.weights[at])}{doubt}</th>{cells}</tr>"


def _write_td(cell: ChartCell) -> str:
    if cell.blocked:
        return f'<td class="blocked"><b>{BLOCKED}</b>{_write_small((cell.blocked,))}</td>'
    return f"<td><b>{_escape(cell.show)}</b>{_write_small(cell.details)}</td>"


def _write_small(words: tuple[str, ...]) -> str:
    return f"<small>{_escape('; '.join(words))}</small>" if words else ""


def _escape(words: str) -> str:
    return html.escape(glue_units(words))


def _list_notes(chart: Chart) -> tuple[str, ...]:
    return (_DOUBT,) if any(chart.doubts) else ()


_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>{title}</title>
<style>
@page {{ size: A4 landscape; margin: 10mm }}
body {{ font: 9pt sans-serif; color: #000; background: #fff; margin: 8pt }}
h1 {{ font-size: 13pt; margin: 0 0 3pt }}
h2 {{ font-size: 10pt; margin: 6pt 0 2pt }}
p {{ margin: 0 0 1pt; font-weight: normal }}
ul {{ margin: 0 0 4pt; padding: 0; columns: 3; column-gap: 12pt; list-style: none }}
li {{ break-inside: avoid; padding: 0 0 1pt 8pt; text-indent: -8pt }}
table {{ border-collapse: collapse; width: 100% }}
thead {{ display: table-header-group }}
tr {{ break-inside: avoid }}
th, td {{ border: 0.5pt solid #000; padding: 2pt 3pt; text-align: left; vertical-align: top }}
thead td {{ border: 0; padding: 0 0 4pt }}
tbody th, tbody b {{ font-size: 11pt }}
tbody th {{ white-space: nowrap }}
small {{ display: block; font: normal 8pt sans-serif; white-space: normal }}
tbody tr:nth-child(5n) > * {{ border-bottom-width: 1.5pt }}
.blocked {{ border: 2pt solid #000 }}
</style>
<table>
<thead>
<tr><td colspan="{width}"><h1>{title}</h1>{made}{same}</td></tr>
<tr><th>Weight</th>{heads}</tr>
</thead>
<tbody>
{rows}
</tbody>
</table>
</html>
"""
