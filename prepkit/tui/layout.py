"""Laying out text in cells: wrapping that keeps a number with its unit, and columns side by side."""

import re
import textwrap
from collections.abc import Iterable

from textual.content import Content

NO_BREAK = "\u00a0"
BEFORE_TIME = re.compile(r"(?<=\d [A-Z][a-z]{2}) (?=\d\d:\d\d)")
AFTER_NUMBER = re.compile(r"(?<!\S)([(<>≥≤~]?\d\S*|\(due) (?=\S)")


def wrap(text: str, width: int) -> list[str]:
    """Break `text` into lines of at most `width` cells.

    A number stays with its unit, "due" with its number, and a time with its day.
    """
    if 0 < len(text) <= width and text == " ".join(text.split()):
        return [text]  # most of a row's words: nothing to break and nothing to tidy
    glued = AFTER_NUMBER.sub(rf"\1{NO_BREAK}", BEFORE_TIME.sub(NO_BREAK, text))
    if any(len(word) > width for word in glued.split(" ")):
        glued = text
    lines = textwrap.wrap(glued, max(width, 1), break_on_hyphens=False)
    return [line.replace(NO_BREAK, " ") for line in lines]


def styled(text: str, width: int, style: str) -> list[Content]:
    """Wrapped lines of one style."""
    return [Content.styled(line, style) for line in wrap(text, width)]


def side_by_side(*columns: tuple[list[Content], int]) -> list[Content]:
    """Columns of lines set side by side, each padded to its width."""
    height = max(len(lines) for lines, _ in columns)
    return [Content("").join(_cell(lines, width, at) for lines, width in columns) for at in range(height)]


def _cell(lines: list[Content], width: int, at: int) -> Content:
    line = lines[at] if at < len(lines) else Content("")
    return line.pad_right(max(width - line.cell_length, 0))


def stacked(lines: Iterable[Content]) -> Content:
    """Lines one under the other as one content."""
    return Content("\n").join(lines)
