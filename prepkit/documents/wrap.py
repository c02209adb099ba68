"""Plain text broken into lines. May import: `prepkit.quantities`."""

import re
import textwrap

from prepkit.quantities.vocabulary import UNITS

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
