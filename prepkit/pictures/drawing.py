"""What every picture gives: rows of text cells, and the same fact in words.

May import: msgspec and the standard library.
"""

from msgspec import Struct

LEAST_WIDTH = 30
MOST_WIDTH = 80
FULL, HALF, POINTER = "\N{DARK SHADE}", "\N{LIGHT SHADE}", "\N{BLACK UP-POINTING TRIANGLE}"


class Drawing(Struct, frozen=True):
    """A picture in cells."""

    rows: tuple[str, ...]
    """None is wider than the width asked for."""
    words: str
    """The same fact, for whoever cannot see the picture or does not trust it."""


def fit(width: int) -> int:
    """The width a picture is drawn at: as asked for, between the least and the most."""
    return min(max(width, LEAST_WIDTH), MOST_WIDTH)
