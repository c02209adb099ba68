"""The audit as text, CSV and HTML."""

import csv
import io
from collections.abc import Iterator

from prepkit.documents.audit import Audit
from prepkit.documents.bars import draw_html, draw_text
from prepkit.documents.safe_text import defuse_cell, escape, make_plain

_NOTE = "Closed records only; practice never counts. Each share is of the records where it is known."


def write_audit_text(audit: Audit) -> str:
    """The audit in plain text, with bars in cells."""
    return make_plain("\n".join(_write(audit)) + "\n")


def write_audit_csv(audit: Audit) -> str:
    """The audit as CSV (RFC 4180): what, which, the number, of how many; no cell can be taken for a formula."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["measure", "item", "value", "of"])
    writer.writerows([defuse_cell(make_plain(str(cell))) for cell in row] for row in _list_rows(audit))
    return out.getvalue()


def write_audit_html(audit: Audit) -> str:
    """The audit as one HTML page, black on white."""
    numbers = "".join(
        f"<dt>{escape(name)}</dt><dd>{escape(words)}</dd>"
        for name, words in (
            ("closed records", str(audit.count)),
            *((share.name, share.words()) for share in audit.shares),
            *((spread.name, spread.words()) for spread in audit.spreads),
        )
    )
    charts = "".join(f"<section><h2>{escape(chart.title)}</h2>{draw_html(chart)}</section>" for chart in audit.charts)
    notes = "".join(f"<p>{escape(words)}</p>" for words in (_NOTE, *audit.left_out))
    return _PAGE.format(days=escape(audit.days), numbers=numbers, charts=charts, notes=notes)


def _write(audit: Audit) -> Iterator[str]:
    yield f"Audit, {audit.days}: {audit.count} closed record{'' if audit.count == 1 else 's'}"
    yield ""
    named = [*((share.name, share.words()) for share in audit.shares)]
    named += [(spread.name, spread.words()) for spread in audit.spreads]
    room = max(len(name) for name, _ in named)
    for name, words in named:
        yield f"  {name:<{room}}  {words}"
    for chart in audit.charts:
        yield ""
        yield chart.title
        yield from list(draw_text(chart)) or ["  none"]
    yield ""
    yield _NOTE
    yield from audit.left_out


def _list_rows(audit: Audit) -> Iterator[tuple[object, ...]]:
    yield "days", audit.days, "", ""
    yield "closed records", "all", audit.count, ""
    for share in audit.shares:
        yield "share", share.name, share.count, share.of
    for spread in audit.spreads:
        for which, value in (("least", spread.least), ("median", spread.median), ("most", spread.most)):
            yield f"{spread.name}, {spread.unit}", which, value, spread.count
    for chart in audit.charts:
        for bar in chart.bars:
            yield chart.title, bar.name, bar.count, audit.count
    for words in audit.left_out:
        yield "not counted", words, "", ""


_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>Audit, {days}</title>
<style>
@page {{ size: A4; margin: 12mm }}
* {{ box-sizing: border-box; margin: 0 }}
body {{ font: 9pt/1.35 "Liberation Sans", Arial, Helvetica, "DejaVu Sans", sans-serif; color: #000; background: #fff; max-width: 186mm; margin: 0 auto }}
h1 {{ font-size: 20pt; letter-spacing: -.01em; border-bottom: 1.4pt solid #000; padding-bottom: 3pt }}
h2 {{ font-size: 10pt; margin: 12pt 0 3pt; border-bottom: .4pt solid #000 }}
dl {{ display: grid; grid-template-columns: auto 1fr; gap: 1.5pt 6mm; margin-top: 8pt; font-variant-numeric: tabular-nums }}
dd {{ margin: 0; font-weight: bold }}
section {{ break-inside: avoid }}
table {{ border-collapse: collapse; width: 100% }}
th {{ width: 62mm; font-weight: normal; text-align: left }}
td:last-child {{ width: 10mm; text-align: right; font-weight: bold; font-variant-numeric: tabular-nums }}
.bar {{ display: block; height: 6pt; border: 1pt solid #000; border-width: 3pt 0; background: #000 }}
p {{ margin-top: 8pt; font-size: 8pt }}
</style>
<h1>Audit, {days}</h1>
<dl>{numbers}</dl>
{charts}
{notes}
</html>
"""  # noqa: E501  (a style sheet, a rule a line)
