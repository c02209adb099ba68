"""Text made safe for where it goes: a terminal that obeys, a spreadsheet that calculates, a page that is parsed.

Wrapped here too: a line never breaks between a number and its unit.
"""

import html
import re
import textwrap

from prepkit.quantities.units import UNITS

WIDTH = 100
_GLUE = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(rf"(?<=[0-9]) (?=(?:{'|'.join(map(re.escape, UNITS))})(?![A-Za-z]))")


def glue_units(text: str) -> str:
    """Tie each number to its unit with a space that does not break."""
    return _BEFORE_UNIT.sub(_GLUE, text)


def wrap_words(text: str, lead: str = "", *, then: str | None = None, width: int = WIDTH) -> list[str]:
    """Break into lines, never between a number and its unit.

    Args:
        text: one paragraph.
        lead: what stands before the first line.
        then: what stands before the others; spaces of the same width where it is None.
        width: in columns.
    """
    after = " " * len(lead) if then is None else then
    rows = textwrap.wrap(glue_units(text), width, initial_indent=lead, subsequent_indent=after, break_on_hyphens=False)
    return [row.replace(_GLUE, " ") for row in rows]


PRACTICE = "PRACTICE: not a real baby"
"""What every paper and every export of a practice preparation says first."""

_SHOWN = frozenset({"\n", "\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}"})
"""Characters that count as not printable and belong in our texts."""
_FORMULA = frozenset(
    "=+-@\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}\N{FULLWIDTH COMMERCIAL AT}"
)
"""Some spreadsheets take the wide signs for the plain ones."""


def make_plain(text: str) -> str:
    """Take out of a text what a terminal could obey; line breaks stay."""
    return "".join(char if char.isprintable() or char in _SHOWN else "\N{REPLACEMENT CHARACTER}" for char in text)


def defuse_cell(cell: str) -> str:
    """Make a cell that a spreadsheet cannot take for a formula."""
    return f"'{cell}" if cell.lstrip()[:1] in _FORMULA or cell[:1] in {"\t", "\r", "\n"} else cell


def escape(text: str) -> str:
    """Escape a text for HTML, between tags and in quoted attributes."""
    return html.escape(make_plain(text).replace("\n", " "))
