"""A chart as text, CSV or HTML. May import: `prepkit.documents.chart` and what it may."""

import csv
import html
import io

from prepkit.documents.chart import BLOCKED, CAUTION, Cell, Chart, Column
from prepkit.documents.safe import defuse_cell
from prepkit.documents.wrap import glue_units, wrap_words

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


def _say_whole(column: Column, at: int) -> str:
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


def _write_td(cell: Cell) -> str:
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
