"""Breaking text into lines, never between a number and its unit. May import: `prepkit.quantities`."""

import re
import textwrap

from prepkit.quantities.vocabulary import UNITS

_GLUE = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(rf"(?<=[0-9]) (?=(?:{'|'.join(map(re.escape, UNITS))})(?![A-Za-z]))")


def glue(text: str) -> str:
    """The text with spaces that do not break between numbers and units, for what breaks its lines itself."""
    return _BEFORE_UNIT.sub(_GLUE, text)


def wrap(text: str, width: int, lead: str = "", after: str = "") -> list[str]:
    """Break into lines of at most `width`; `lead` stands before the first, `after` before each further one."""
    rows = textwrap.wrap(glue(text), width, initial_indent=lead, subsequent_indent=after, break_on_hyphens=False)
    return [row.replace(_GLUE, " ") for row in rows]
