"""Text made safe for where it goes: a terminal that obeys, a spreadsheet that calculates, a page that is parsed.

May import: the standard library.
"""

import html

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
