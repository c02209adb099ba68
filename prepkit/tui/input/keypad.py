"""The keypad: keys for a thumb, drawn as one widget, so that a phone's own keyboard need not cover the screen."""

from typing import ClassVar

from msgspec import Struct
from textual import events
from textual.binding import BindingType
from textual.content import Content
from textual.geometry import Offset, Size
from textual.message import Message

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.input.touch import Touchable
from prepkit.tui.layout import stacked

RUB_OUT = "\b"
CLEAR = "\0"


class Cap(Struct, frozen=True):
    """One key: what is on it and what it types."""

    shown: str
    types: str


Caps = tuple[tuple[Cap, ...], ...]


def _caps(characters: str) -> tuple[Cap, ...]:
    return tuple(Cap(character, character) for character in characters)


WIPE = Cap("Clear", CLEAR)
BACKWARD = Cap("⌫", RUB_OUT)
SPACE = Cap("Space", " ")
DIGITS: Caps = (_caps("123"), _caps("456"), _caps("789"))

GRAMS: Caps = (*DIGITS, (WIPE, *_caps("0"), BACKWARD))
GESTATION: Caps = (*DIGITS, (*_caps("+0"), BACKWARD))
NUMBER: Caps = (*DIGITS, (*_caps(".0"), BACKWARD))
DATE: Caps = (*DIGITS, (*_caps("-0"), BACKWARD))
CLOCK: Caps = (*DIGITS, (*_caps(":0"), BACKWARD))
MOMENT: Caps = (_caps("123-"), _caps("456:"), (*_caps("789"), SPACE), (WIPE, *_caps("0+"), BACKWARD))


def letters(*, capitals: bool) -> Caps:
    """A keypad of digits and letters, in the order people know from keyboards."""
    rows = ("qwertyuiop", "asdfghjkl-", "zxcvbnm,./")
    cased = [row.upper() if capitals else row for row in rows]
    return (_caps("1234567890"), *(_caps(row) for row in cased), (WIPE, SPACE, BACKWARD))


LOW, TALL = 2, 3
"""Rows to a key."""

ROOM_FOR_DIGITS, ROOM_FOR_LETTERS = 24, 30
"""Rows of a screen that has room for tall keys."""


class Keypad(Touchable):
    """Rows of keys. A key acts when the press and the release are both on it; arrows and Enter work too."""

    FOCUS_ON_CLICK = False
    ALLOW_SELECT = False
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("keypad")

    class Typed(Message):
        """A key was touched or pressed."""

        def __init__(self, types: str) -> None:
            super().__init__()
            self.types = types

    def __init__(self, caps: Caps = GRAMS, *, low: bool = False) -> None:
        super().__init__(id="keypad")
        self._low = low
        """Whether digits too stay low until there is room for tall letters: the words above need the rows."""
        self._caps = caps
        self._at = (0, 0)
        self._down: tuple[int, int] | None = None

    @property
    def caps(self) -> Caps:
        """The rows of keys."""
        return self._caps

    def lay(self, caps: Caps) -> None:
        """Show other keys."""
        if caps != self._caps:
            self._caps, self._at = caps, (0, 0)
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002 (the library's signature)
        """All rows of keys, each as high as the screen has room for."""
        return len(self._caps) * self._tall()

    def render(self) -> Content:
        """All rows of keys."""
        return stacked(line for row in range(len(self._caps)) for line in self._row_lines(row))

    def region_of(self, cap: Cap) -> tuple[Offset, Size]:
        """Where a key stands in the keypad, and its size."""
        row, column = next((r, c) for r, caps in enumerate(self._caps) for c, each in enumerate(caps) if each == cap)
        edges = self._edges(row)
        return Offset(edges[column], row * self._tall()), Size(edges[column + 1] - edges[column], self._tall())

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Remember which key the finger went down on."""
        self._down = self._key_at(event.offset)

    def touch(self, at: Offset) -> None:
        """Type the key, where the finger came up on the key it went down on."""
        key = self._key_at(at)
        if key is not None and key == self._down:
            self._type(key)

    def action_walk(self, down: int, along: int) -> None:
        """Move the mark; off the top goes back to the field, off the bottom on to the buttons."""
        row, column = self._at[0] + down, self._at[1] + along
        if not 0 <= row < len(self._caps):
            self.screen.call_next(self.screen.run_action, f"step({down})")
            return
        if down:
            column = column * len(self._caps[row]) // len(self._caps[self._at[0]])
        self._at = (row, max(0, min(column, len(self._caps[row]) - 1)))
        self.refresh()

    def action_press(self) -> None:
        """Type the marked key."""
        self._type(self._at)

    def _type(self, key: tuple[int, int]) -> None:
        self.post_message(self.Typed(self._caps[key[0]][key[1]].types))

    def _tall(self) -> int:
        rows = self.app.size.height
        needs_few = len(self._caps) == len(GRAMS) and not self._low
        return TALL if rows >= (ROOM_FOR_DIGITS if needs_few else ROOM_FOR_LETTERS) else LOW

    def _edges(self, row: int) -> list[int]:
        count, width = len(self._caps[row]), self.content_size.width
        return [width * column // count for column in range(count + 1)]

    def _key_at(self, at: Offset) -> tuple[int, int] | None:
        row = at.y // self._tall()
        if not (0 <= row < len(self._caps) and 0 <= at.x < self.content_size.width):
            return None
        edges = self._edges(row)
        return row, next(column for column in range(len(edges) - 1) if at.x < edges[column + 1])

    def _row_lines(self, row: int) -> list[Content]:
        edges = self._edges(row)
        widths = [edges[at + 1] - edges[at] - 1 for at in range(len(edges) - 1)]
        faces = [self._face(row, column, width) for column, width in enumerate(widths)]
        # With few colours a raised ground is the same as any other.
        lower, upper, edge = ("─", "─", "$rule") if self.app.native_ansi_color else ("▀", "▄", "$raised")
        under = [Content.styled(lower * width, edge) for width in widths]
        above = [[Content.styled(upper * width, edge) for width in widths]] if self._tall() == TALL else []
        return [Content("").join(part.append(" ") for part in parts) for parts in (*above, faces, under)]

    def _face(self, row: int, column: int, width: int) -> Content:
        marked = self.has_focus and (row, column) == self._at
        style = "bold reverse" if marked else "bold $ink on $raised"
        shown = self._caps[row][column].shown
        return Content.styled(shown.rjust((width + len(shown) + 1) // 2).ljust(width), style)
