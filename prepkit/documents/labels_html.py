"""Syringe labels as HTML to print, one label a page.

Black words on white. What has to be seen is a border, never a background, because browsers print no backgrounds unless
they are told to. The colour of a class is an aid beside its word.
"""

import html
from collections.abc import Iterable

from prepkit.documents.labels import DISCARD, NOT_FOR_INJECTION, LabelSheet, StockLabel, SyringeLabel
from prepkit.wording.draw_ups import NOT_FOR_GIVING

WIDTH_MM, HEIGHT_MM = 70, 42
"""The label's size. Words that do not fit make their label higher and run on to a further page: none is cut."""

_COLOURS = {"anticholinergic": "#a4d65e"}
"""ISO 26825 (2020): anticholinergics green, Pantone 367. The screen's likeness of that ink is from memory."""

_ROOM = 30
"""Characters that a row of the usual size holds; more are set smaller."""
_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
@page {{ size: {width}mm {height}mm; margin: 0 }}
* {{ box-sizing: border-box; margin: 0 }}
body {{ font-family: "Helvetica Neue", Arial, "Liberation Sans", sans-serif; color: #000; background: #fff }}
.label {{
  width: {width}mm; min-height: {label}mm; padding: 1.6mm 2.4mm 1.2mm; display: flex; flex-direction: column;
  gap: 0.7mm; font-size: 7.5pt; line-height: 1.2; overflow-wrap: anywhere; -webkit-print-color-adjust: exact;
  print-color-adjust: exact;
}}
.label + .label {{ break-before: page }}
.classed {{ padding-left: 1.8mm; border-left: 4mm solid var(--class) }}
.row {{ display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline; gap: 0 2mm }}
.medicine {{ font-size: 12.5pt; font-weight: 700; line-height: 1.1 }}
.cot {{ font-size: 10.5pt; font-weight: 700; white-space: nowrap }}
.amount {{ font-size: 19pt; font-weight: 700; line-height: 1; white-space: nowrap }}
.air {{ font-size: 8.5pt; font-weight: 400 }}
.strength {{ font-size: 11pt; font-weight: 700; white-space: nowrap }}
.route {{
  text-align: center; border: 0.35mm solid #000; padding: 0.5mm 1.2mm; font-size: 8.5pt; font-weight: 700;
  letter-spacing: 0.02em; text-transform: uppercase;
}}
.warned {{ flex: 1 0 auto; border-width: 0.9mm; font-size: 9.5pt }}
.class {{ text-transform: uppercase; font-weight: 400; font-size: 7pt; align-self: center }}
.practice {{ font-size: 7pt; font-weight: 700; border-bottom: 0.35mm dashed #000 }}
.people {{ margin-top: auto; display: grid; grid-template-columns: auto 1fr; gap: 0.2mm 1.6mm }}
.people dd {{ font-weight: 700 }}
.blank {{ border-bottom: 0.25mm solid #000; min-width: 26mm; display: inline-block; height: 1em }}
.stock {{ border: 0.9mm double #000; justify-content: space-between }}
.stock .not {{ font-size: 12pt; font-weight: 700; text-transform: uppercase; text-align: center }}
.tight {{ gap: 0.3mm }}
.tight .medicine, .tight .cot {{ font-size: 9pt }}
.tight .amount {{ font-size: 16pt }}
.tight .strength {{ font-size: 10pt }}
.note {{ max-width: {width}mm; margin: 4mm auto; font-size: 10pt }}
@media screen {{
  body {{ background: #e8e8e8; padding: 4mm }}
  .label {{ background: #fff; margin: 0 auto 4mm; outline: 0.3mm solid #777 }}
}}
@media print {{ .note {{ display: none }} }}
</style>
{labels}
{notes}
</html>
"""


def write_labels_html(sheet: LabelSheet) -> str:
    """The labels as HTML, one on each printed page; on the screen also the syringes that have none, and why."""
    return _PAGE.format(
        title=_escape(f"Syringe labels: {sheet.cot}"),
        width=WIDTH_MM,
        height=HEIGHT_MM,
        # A hair less than the page, or rounding makes a second page.
        label=HEIGHT_MM - 1,
        labels="\n".join((*map(_write_label, sheet.labels), *map(_write_stock, sheet.stock))),
        notes="\n".join(f'<p class="note">{_escape(words)}</p>' for words in sheet.left_out),
    )


def _write_label(label: SyringeLabel) -> str:
    colour = _COLOURS.get(label.label_class, "")
    rows = (label.medicine + label.cot, label.amount + label.air + label.strength)
    names = ["label", *(["tight"] if max(map(len, rows)) > _ROOM else []), *(["classed"] if colour else [])]
    style = f' style="--class: {colour}"' if colour else ""
    air = f' <span class="air">{_escape(label.air)}</span>' if label.air else ""
    practice = '<p class="practice">Practice: not for a real baby</p>' if label.practice else ""
    parts = (
        f'<section class="{" ".join(names)}"{style}>',
        practice,
        _write_row(f'<p class="medicine">{_escape(label.medicine)}</p>', f'<p class="cot">{_escape(label.cot)}</p>'),
        _write_row(
            f'<p class="amount">{_escape(label.amount)}{air}</p>', f'<p class="strength">{_escape(label.strength)}</p>'
        ),
        _write_route(label),
        _write_people(label),
        "</section>",
    )
    return "\n".join(part for part in parts if part)


def _write_stock(label: StockLabel) -> str:
    """A frame all round, and no number as large as a dose's: it is not to be taken for one."""
    practice = '<p class="practice">Practice: not for a real baby</p>' if label.practice else ""
    rows = (("Made up", label.made), ("Made up by", label.made_by), ("With", label.cot))
    parts = (
        '<section class="label stock">',
        practice,
        f'<p class="not">{_escape(NOT_FOR_GIVING)}</p>',
        f'<p class="route">{_escape(DISCARD)}</p>',
        f"<p>{_escape(label.medicine)} {_escape(label.strength)}</p>",
        _write_list(rows),
        "</section>",
    )
    return "\n".join(part for part in parts if part)


def _write_list(rows: Iterable[tuple[str, str]]) -> str:
    listed = "".join(f"<dt>{name}</dt><dd>{_escape(words)}</dd>" for name, words in rows)
    return f'<dl class="people">{listed}</dl>'


def _write_row(left: str, right: str) -> str:
    return f'<div class="row">{left}{right}</div>'


def _write_route(label: SyringeLabel) -> str:
    warned = f" · {_escape(NOT_FOR_INJECTION)}" if label.not_for_injection else ""
    names = "route warned" if label.not_for_injection else "route"
    group = f'<p class="class">{_escape(label.label_class)}</p>' if label.label_class else ""
    return _write_row(f'<p class="{names}">{_escape(label.route)}{warned}</p>', group)


def _write_people(label: SyringeLabel) -> str:
    checked = _escape(label.checked) or '<span class="blank"></span>'
    rows = (
        *((("Weight", _escape(label.weights)),) if label.weights else ()),
        ("Prepared by", _escape(label.prepared)),
        ("Checked by", checked),
        ("Use before", _escape(label.use_before)),
    )
    return '<dl class="people">' + "".join(f"<dt>{name}</dt><dd>{words}</dd>" for name, words in rows) + "</dl>"


def _escape(text: str) -> str:
    return html.escape(text)
