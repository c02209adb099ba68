"""Terminals that can show little: NO_COLOR, sixteen colours, or a console whose font lacks our signs."""

from collections.abc import Mapping

from textual.driver import Driver

_FEW_COLOURS = ("linux", "ansi", "vt100", "vt102", "vt220", "cons25", "screen-16color", "xterm-16color")

# One cell for one cell, all from the code page of a bare console's font (437).
PLAIN_SIGNS = str.maketrans(
    {
        "○": "o",
        "✓": "√",
        "–": "-",
        "✗": "x",
        "↻": "~",
        "▶": "►",
        "◀": "◄",
        "⌫": "<",
        "×": "x",
        "−": "-",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "┏": "╔",
        "┓": "╗",
        "┗": "╚",
        "┛": "╝",
        "━": "═",
        "┃": "║",
        "▏": "|",
        "▔": "─",
        "▁": "_",
        "▂": "_",
        "▃": "▄",
        "▅": "▄",
        "▆": "█",
        "▇": "█",
        "╷": "│",
        "╵": "│",
        "…": ".",
    }
)


def has_few_colours(environment: Mapping[str, str]) -> bool:
    """Whether to use the terminal's own sixteen colours: no others are wanted, or it has no others."""
    if "NO_COLOR" in environment:
        return True
    term = environment.get("TERM", "")
    if environment.get("COLORTERM", "") in {"truecolor", "24bit"}:
        return False
    return term.startswith(_FEW_COLOURS)


def has_plain_font(environment: Mapping[str, str]) -> bool:
    """Whether the console's font holds little beside code page 437."""
    return environment.get("TERM", "").startswith(("linux", "cons25", "vt100", "vt102"))


def make_plain(driver: type[Driver]) -> type[Driver]:
    """A driver that writes this font's signs in place of ours."""
    write = driver.write

    def write_plainly(self: Driver, data: str) -> None:
        write(self, data.translate(PLAIN_SIGNS))

    return type("PlainDriver", (driver,), {"write": write_plainly})
