"""What every picture gives, rows of text cells and the same fact in words; and the simplest picture, progress bars.

The first screen loads this module, so it imports neither units nor fractions.
"""

from collections.abc import Sequence

from msgspec import Struct

LEAST_WIDTH = 30
MOST_WIDTH = 80
FULL, HALF, POINTER = "\N{DARK SHADE}", "\N{LIGHT SHADE}", "\N{BLACK UP-POINTING TRIANGLE}"


class Drawing(Struct, frozen=True):
    """A picture in cells."""

    rows: tuple[str, ...]
    """No row is wider than the width asked for."""
    words: str
    """The same fact, for whoever cannot see the picture or does not trust it."""


def fit(width: int) -> int:
    """The width to draw at: the one asked for, but no less than the least and no more than the most."""
    return min(max(width, LEAST_WIDTH), MOST_WIDTH)


_MOST_CELLS = 20


def draw_progress(groups: Sequence[tuple[str, int, int]], width: int) -> Drawing:
    """Draw one bar for each group: (name, done, of how many). A group with something left is never drawn full."""
    words = [f"{done} of {total}" for _, done, total in groups]
    most_words = max(len(each) for each in words)
    longest = max(len(name) for name, _, _ in groups)
    names = min(longest, fit(width) - most_words - 8)
    cells = min(_MOST_CELLS, fit(width) - names - most_words - 2)
    rows = tuple(
        f"{name[:names].ljust(names)} {_bar(done, total, cells)} {said}"
        for (name, done, total), said in zip(groups, words, strict=True)
    )
    left = sum(total - done for _, done, total in groups)
    return Drawing(rows, f"{left} left." if left else "Nothing is left.")


def _bar(done: int, total: int, cells: int) -> str:
    filled = round(cells * done / total) if total else 0
    if 0 < done < total:
        filled = min(max(filled, 1), cells - 1)
    return FULL * filled + HALF * (cells - filled)
