"""What a scanner types, told from what a person types: a scanner's keys come faster than hands.

May import: the terminal library's key event.
"""

from textual import events

SEPARATOR = "\x1d"
"""ASCII 29, which ends a field of a GS1 string; a terminal sends it as Ctrl and a bracket."""
_SEPARATOR_KEYS = frozenset({"ctrl+right_square_bracket", f"ctrl+{SEPARATOR}"})

GAP = 0.05
"""Seconds between two keys above which a hand may have typed them: twenty keys a second, faster than people type."""
LEAST = 8
"""Characters in the shortest code on a pack; fewer may be two keys rolled under one hand."""
MOST_IN_A_BATCH = 20
"""Characters that a batch may have by GS1; what is longer is a code, however slowly it was typed."""


class Burst:
    """The characters since the last Enter, with the moment of each."""

    def __init__(self) -> None:
        self._keys: list[tuple[str, float]] = []
        self.text = ""
        """What the last scan typed."""

    def take(self, event: events.Key) -> bool:
        """Take one key; True where it is the Enter that ends a scan."""
        if event.key == "enter":
            self.text = self._find_scan(event.time)
            self._keys = []
            return bool(self.text)
        if event.key == "backspace":
            self._keys = self._keys[:-1]
        character = SEPARATOR if event.key in _SEPARATOR_KEYS else event.character or ""
        if character == SEPARATOR or event.is_printable:
            self._keys.append((character, event.time))
        return False

    def clear(self) -> None:
        """Forget what was typed."""
        self._keys = []

    def _find_scan(self, now: float) -> str:
        typed = "".join(character for character, _ in self._keys)
        quick, after = "", now
        for character, at in reversed(self._keys):
            if after - at > GAP:
                break
            quick, after = character + quick, at
        if len(quick) >= LEAST:
            return quick
        return typed if is_code(typed) else ""


def is_code(text: str) -> bool:
    """Whether a text can only be a code: it has a separator or a sign of codes in front, or no batch is so long."""
    return SEPARATOR in text or text.startswith("]") or len(text) > MOST_IN_A_BATCH
