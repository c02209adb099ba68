"""One key: what it does and how it is shown; and the keys that several screens share.

May import: msgspec and the standard library.
"""

from msgspec import Struct


class Key(Struct, frozen=True):
    """One key (or a few that mean the same), its action, its button and its sentence on the help sheet."""

    keys: str
    """Names of the keys, as the terminal library spells them."""
    shown: str
    action: str
    does: str
    label: str = ""
    """Words on the button; empty where the action has none."""

    @property
    def shown_all(self) -> str:
        """Every key of it, as the help sheet names them: "h ? F1"."""
        others = [_SHOWN.get(name, name) for name in self.keys.split(",")]
        return " ".join(dict.fromkeys((self.shown, *others)))


_SHOWN = {
    "up": "▲",
    "down": "▼",
    "left": "◀",
    "right": "▶",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "enter": "Enter",
    "escape": "Esc",
    "space": "Space",
    "backspace": "⌫",
    "question_mark": "?",
    "full_stop": ".",
    "f1": "F1",
    "tab": "Tab",
    "shift+tab": "Shift+Tab",
    "ctrl+c": "Ctrl+C",
    "ctrl+q": "Ctrl+Q",
}
"""Names of keys as the terminal library spells them, and as a person does."""


UP = Key("up", "▲", "step(-1)", "Go up one row")
DOWN = Key("down", "▼", "step(1)", "Go down one row")
LEFT = Key("left", "◀", "aside(-1)", "Go left among buttons")
RIGHT = Key("right", "▶", "aside(1)", "Go right among buttons")
PAGE_UP = Key("pageup", "PgUp", "page(-1)", "Scroll up one page")
PAGE_DOWN = Key("pagedown", "PgDn", "page(1)", "Scroll down one page")
SCROLLS = (UP, DOWN, PAGE_UP, PAGE_DOWN)
MOVES = (UP, DOWN, LEFT, RIGHT, PAGE_UP, PAGE_DOWN)

ENTER = Key("enter", "Enter", "open", "Open the row that is marked, or press the button")
BACK = Key("escape", "Esc", "back", "Go back one screen", "Back")
HELP = Key("h,question_mark,f1", "h", "help", "Show this sheet", "Help")
NEXT = Key("full_stop", ".", "next", "Do the usual next thing: what the large button at the bottom says")
MORE = Key("m", "m", "more", "Show the actions that have no button here", "More")
LAST = (BACK, HELP, MORE, NEXT, *MOVES)
"""What the keys of most screens end with."""
BABY = Key("b", "b", "baby", "Show the baby's facts", "Baby")
SUITABILITY = Key("s", "s", "suitability", "Show whether this route is for this baby", "Suitability")
READY = Key("r", "r", "ready", "Show what is missing, or the words to read aloud", "Ready")
WHO = Key("w", "w", "who", "Say who is at this desk, or let another person take it", "Who")
LABELS = Key("e", "e", "labels", "Show the syringe labels, and what prints them", "Labels")
STAND_DOWN = Key("d", "d", "stand_down", "End the preparation without going to the cot", "Stand down")
NOT_NEEDED = Key("n", "n", "not_needed", "Mark the line as not needed, or take that back", "Not needed")

CHECK = Key("c", "c", "check", "Let a second person check, or show how the check came out", "Second check")
ONWARD = Key("l", "l", "onward", "Go to the list", "To the list")
TO_COT = Key("t", "t", "cot", "Go to the steps at the cot, once the team has gone there", "To the cot")
DONE = Key("space", "Space", "done", "Record the step as done now", "Done now")
HAPPENING = Key("e", "e", "happening", "Record something that is not in the plan", "Something happened")
HOME = Key("o", "o", "home", "Go home; everything recorded is kept", "Home")
