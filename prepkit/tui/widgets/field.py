"""The field of a pad: what has been typed so far, its unit, and whether the next key starts afresh."""

from textual.content import Content

from prepkit.tui.input.touch import Touchable
from prepkit.tui.layout import wrap
from prepkit.tui.widgets.text import TextBlock

DOT = "•"


class Field(TextBlock, Touchable, can_focus=True):
    """One line of typing; it grows downwards, and nothing typed is out of sight."""

    def __init__(self) -> None:
        super().__init__(id="field")
        self.label = ""
        self.unit = ""
        self.typed = ""
        self._fresh = False
        self._is_refused = False
        self._is_secret = False
        self._is_text = False

    def ask(self, label: str, unit: str, typed: str, *, secret: bool = False, is_text: bool = False) -> None:
        """Start a question, with what was given before; the first character typed replaces it."""
        self._is_text = is_text
        self.label, self.unit, self.typed = label, unit, typed
        self._fresh, self._is_refused, self._is_secret = bool(typed), False, secret
        self.redraw()

    def refuse(self) -> None:
        """Let the next character replace what was refused; ⌫ mends its end. A secret is not kept at all."""
        self.typed = "" if self._is_secret else self.typed
        self._fresh = self._is_refused = bool(self.typed)
        self.redraw()

    def type(self, characters: str) -> None:
        """Add characters."""
        self.typed = characters if self._fresh else self.typed + characters
        self._fresh = False
        self.redraw()

    def rub_out(self) -> None:
        """Take the last character away, or all of what was given before."""
        self.typed = "" if self._fresh and not self._is_refused else self.typed[:-1]
        self._fresh = False
        self.redraw()

    def take_away(self, characters: int) -> None:
        """Take that many of the last characters away."""
        self.typed, self._fresh = self.typed[: max(len(self.typed) - characters, 0)], False
        self.redraw()

    def clear(self) -> None:
        """Take everything away."""
        self.typed, self._fresh = "", False
        self.redraw()

    def touch(self, at: object) -> None:  # noqa: ARG002 (anywhere on it will do)
        """Keep a text that was given before, to go on from its end; a number is begun anew.

        The field lies close above the keys: a touch that missed one must not make "1450" of "145" and "0".
        """
        self._fresh = self._fresh and not self._is_text
        self.redraw()

    def lines(self, width: int) -> list[Content]:
        """Label, typed text with its caret, and unit."""
        mark = "▶ " if self.has_focus else "  "
        lead = Content.styled(f"{mark}{self.label}  ", "$pale")
        shown = DOT * len(self.typed) if self._is_secret else self.typed
        typed = Content.styled(shown, "bold reverse" if self._fresh else "bold $amount")
        caret = Content("") if self._fresh else Content.styled("▏", "bold $amount")
        unit = Content.styled(f" {self.unit}" if self.unit else "", "$pale")
        whole = lead.append(typed).append(caret).append(unit)
        if whole.cell_length <= width:
            return [whole]
        body = [Content.styled(line, "bold $amount") for line in _pieces(shown, width - 1)]
        return [lead, *body[:-1], body[-1].append(caret).append(unit)]


def _pieces(typed: str, width: int) -> list[str]:
    """Typed text in lines with every character kept, spaces too."""
    if typed.strip() == typed and len(wrap(typed, width)) > 1:
        return wrap(typed, width) if " ".join(wrap(typed, width)) == typed else _cut(typed, width)
    return _cut(typed, width)


def _cut(typed: str, width: int) -> list[str]:
    return [typed[at : at + width] for at in range(0, len(typed), width)] or [""]
