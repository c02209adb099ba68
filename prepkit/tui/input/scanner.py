"""Tells what a scanner types from what a person types: a scanner's keys come faster than hands."""

from textual import events

SEPARATOR = "\x1d"
"""ASCII 29, which ends a field of a GS1 string; a terminal sends it as Ctrl and a bracket."""
_SEPARATOR_KEYS = frozenset({"ctrl+right_square_bracket", f"ctrl+{SEPARATOR}"})

GAP = 0.05
"""Seconds between two keys above which a hand may have typed them: twenty keys a second, faster than people type."""
LEAST = 8
"""Characters in the shortest code on a pack; fewer may be two keys rolled under one hand."""
REELED = GAP / 5
"""Seconds between keys that no hand manages, and hardly a slow line, for keys that would do something."""
FEW = 2
"""Keys that may come as fast as that before what follows counts as a scan."""
MOST_IN_A_BATCH = 20
"""Characters that a batch may have by GS1; what is longer is a code, however slowly it was typed."""


class ScanDetector:
    """The characters since the last Enter, with the moment of each."""

    def __init__(self) -> None:
        self._keys: list[tuple[str, float]] = []
        self.text = ""
        """What the last scan typed."""
        self.is_quick = False
        """Whether the last scan came faster than hands; else nothing but its characters say that it was one."""

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
        self.is_quick = len(quick) >= LEAST
        if self.is_quick:
            return quick
        return typed if is_code(typed) else ""


class StrayScanFilter:
    """Keys of a scan on a screen that has no field for it: told from a hand's, so that they do nothing there.

    A key that does nothing by itself begins a run, as the first of nearly every code is: a digit, a capital, a
    bracket. Whatever comes after it faster than hands belongs to the run.
    """

    def __init__(self) -> None:
        self._burst = ScanDetector()
        self._last = 0.0
        self._reeled = 0
        self._runs = False
        self.text = ""
        """The scan that the last key ended; empty where it ended none."""

    def take(self, event: events.Key, *, acts: bool) -> bool:
        """Take one key; True where it is to do nothing. `acts` says whether it would do something on the screen."""
        since, self._last = event.time - self._last, event.time
        is_end = event.key == "enter"
        self.text = self._burst.text if is_end and self._burst.take(event) else ""
        if is_end:
            was_run, self._runs, self._reeled = self._runs and since <= GAP, False, 0
            return bool(self.text) or was_run
        if event.character == " " or not (event.is_printable or event.key in _SEPARATOR_KEYS):
            self.clear()
            return False
        if acts and since > GAP:
            self._burst.clear()
        self._burst.take(event)
        self._reeled = self._reeled + 1 if since <= REELED else 1
        self._runs = not acts or (self._runs and since <= GAP) or self._reeled > FEW
        return self._runs

    def clear(self) -> None:
        """Forget what was typed."""
        self._burst.clear()
        self._runs, self._reeled = False, 0


def is_code(text: str) -> bool:
    """Whether a text can only be a code: it has a separator or a sign of codes in front, or no batch is so long."""
    return SEPARATOR in text or text.startswith("]") or len(text) > MOST_IN_A_BATCH
