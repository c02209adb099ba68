"""A picture of a screen in its smallest form: the same from run to run, with no font and no host of anybody's.

The terminal library draws a window around the screen, links a web font and makes up ids; what is left here is cells.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import NamedTuple
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape

WIDE, HIGH = 12.2, 24.4
"""A cell, as the terminal library draws it."""
SVG = "{http://www.w3.org/2000/svg}"

# The size at which a letter of the commonest free monospaced font is a cell wide: not every viewer stretches a text.
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {}" xml:space="preserve"'
    ' font-family="monospace" font-size="20.26">'
)


class Patch(NamedTuple):
    """A rectangle of cells of one colour."""

    row: int
    column: int
    wide: int
    high: int
    fill: str


def make_small(svg: str) -> str:
    """The cells of an exported screen as a small SVG, an element to a line.

    Args:
        svg: what the terminal library's `export_screenshot` gives.
    """
    root = ET.fromstring(svg)  # noqa: S314  (our own)
    rows = next(each for each in root.iter(f"{SVG}g") if (each.get("transform") or "").startswith("translate(9"))
    patches = [_read_patch(each) for each in rows.iter(f"{SVG}rect")]
    texts = [each for each in rows.iter(f"{SVG}text") if (each.text or "").strip("\xa0\n ")]
    ground = Counter(patch.fill for patch in patches for _ in range(patch.wide)).most_common(1)[0][0]
    width, height = max(patch.column + patch.wide for patch in patches), max(patch.row for patch in patches) + 1
    used = {_class_of(text) for text in texts}
    inks = [rule for rule in re.findall(r"\.terminal-[\d-]*(r\d+ \{[^}]*\})", svg) if rule.split()[0] in used]
    return "\n".join(
        (
            HEAD.format(_show(width * WIDE), _show(height * HIGH)),
            "<style>",
            *(f".{re.sub(r'[ ;]+}', ' }', rule)}" for rule in inks),
            "</style>",
            f'<rect fill="{ground}" width="100%" height="100%"/>',
            *(_draw(patch) for patch in _merge(patch for patch in patches if patch.fill != ground)),
            *(_write(text) for text in texts),
            "</svg>\n",
        )
    )


def _read_patch(rect: ET.Element) -> Patch:
    x, y, wide = (float(rect.get(name) or 0) for name in ("x", "y", "width"))
    return Patch(round(y // HIGH), round(x / WIDE), round(wide / WIDE), 1, rect.get("fill") or "")


def _merge(patches: Iterable[Patch]) -> Iterator[Patch]:
    """Patches beside each other as one, then those below each other."""
    wider: list[Patch] = []
    for patch in patches:
        last = wider[-1] if wider else None
        if last and (last.row, last.column + last.wide, last.fill) == (patch.row, patch.column, patch.fill):
            wider[-1] = last._replace(wide=last.wide + patch.wide)
        else:
            wider.append(patch)
    stacked = sorted(wider, key=lambda each: (each.column, each.wide, each.fill, each.row))
    for _, column in groupby(stacked, key=lambda each: (each.column, each.wide, each.fill)):
        rows = enumerate(column)
        for _, run in groupby(rows, key=lambda each: each[1].row - each[0]):
            first, *others = (patch for _, patch in run)
            yield first._replace(high=1 + len(others))


def _draw(patch: Patch) -> str:
    x, y = _show(patch.column * WIDE), _show(patch.row * HIGH)
    wide, high = _show(patch.wide * WIDE), _show(patch.high * HIGH)
    return f'<rect fill="{patch.fill}" x="{x}" y="{y}" width="{wide}" height="{high}" shape-rendering="crispEdges"/>'


def _write(text: ET.Element) -> str:
    said = escape((text.text or "").replace("\xa0", " "))
    x, y, wide = (text.get(name) for name in ("x", "y", "textLength"))
    return f'<text class="{_class_of(text)}" x="{x}" y="{y}" textLength="{wide}">{said}</text>'


def _class_of(text: ET.Element) -> str:
    return (text.get("class") or "").rpartition("-")[2]


def _show(pixels: float) -> str:
    return f"{pixels:.1f}".removesuffix(".0")
