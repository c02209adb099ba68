"""The palette: calm colours of our own for a dim ward, every pair at 4.5:1 or better.

Colour is never alone: signs, words, reverse video and the ▶ say the same without it. May import: the terminal library.
"""

from textual.theme import Theme

from prepkit.view.models import Sign

INK = "#e8e6df"
PALE = "#b9bdc0"
GROUND = "#14181c"
TILE = "#1d242a"
RAISED = "#28323a"
LINE = "#4d5b66"
PRIMARY = "#a8cfc6"

INKS = {
    "ink": INK,
    "amount": "#ffffff",
    "name": "#d3d6d6",
    "pale": PALE,
    "done": "#a5cfa0",
    "ask": "#e2cc94",
    "changed": "#c6b8e6",
    "blocked": "#e3b795",
    "advice": "#a9c7e4",
    "primary-ink": PRIMARY,
}
"""Colours that text is set in, on any of the grounds."""

GROUNDS = {"ground": GROUND, "tile": TILE, "raised": RAISED}
"""Colours that text is set on."""

ON_PRIMARY = "#10201d"

CALM = Theme(
    name="calm",
    primary=PRIMARY,
    foreground=INK,
    background=GROUND,
    surface=TILE,
    panel=RAISED,
    text_alpha=1.0,
    variables={**INKS, **GROUNDS, "rule": LINE, "on-primary": ON_PRIMARY},
)

SIGN_INKS: dict[str, str] = {
    Sign.TO_DO: "$ink",
    Sign.DONE: "$done",
    Sign.NOT_NEEDED: "$pale",
    Sign.BLOCKED: "$blocked",
    Sign.CHANGED: "$changed",
    Sign.QUESTION: "$ask",
    Sign.ADVICE: "$advice",
}
"""The ink of each sign; a sign without one is set in plain ink."""
