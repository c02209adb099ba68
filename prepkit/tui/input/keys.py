"""The one table of keys: what each key does on each screen. Bindings, buttons and the help sheet are all made from it.

Plain keys only: combinations with Ctrl belong to terminals.
"""

from msgspec import Struct
from textual.binding import Binding, BindingType


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


KEYS: dict[str, tuple[Key, ...]] = {
    "home": (
        Key("n", "n", "new", "Start a new preparation", "New preparation"),
        ENTER,
        WHO,
        Key("c", "c", "check", "Check the marked preparation, before you see its list", "Second check"),
        Key("l", "l", "light", "Change the light: dusk, day, night, high contrast", "Light"),
        Key("p", "p", "practise", "Start one for practice: every screen and paper says so", "Start a practice"),
        Key("e", "e", "ended", "Look again at what has ended", "Ended"),
        Key("q", "q", "leave", "Leave; everything done is kept", "Leave"),
        HELP,
        MORE,
        NEXT,
        *MOVES,
    ),
    "list": (
        Key("space", "Space", "tick", "Tick the line that is marked, or un-tick it"),
        ENTER,
        Key("y", "y", "answer_yes", "Say yes to what is asked on top: born today, or the same baby"),
        Key("a", "a", "answer_other", "Give the other answer: born earlier, or another baby"),
        Key("f", "f", "facts", "Enter what the list still needs", "Enter what is missing"),
        BABY,
        SUITABILITY,
        NOT_NEEDED,
        READY,
        TO_COT,
        CHECK,
        Key("o", "o", "hand_over", "Leave the preparation to the next person, with a line for them", "Hand over"),
        LABELS,
        STAND_DOWN,
        WHO,
        *LAST,
    ),
    "line": (
        Key("space,t", "Space", "tick", "Tick the line, or un-tick it", "Tick"),
        Key("o", "o", "order", "Record what the prescriber ordered, for a dose", "Order"),
        Key("c", "c", "cautions", "Show every caution of the line, where it has more than three"),
        Key("w", "w", "both", "Show both workings, where a second check differs", "Two workings"),
        NOT_NEEDED,
        Key("f", "f", "correct", "Correct the fact that says otherwise than the tick", "Correct the fact"),
        Key("i", "i", "in_hand", "Give batch and expiry of what is in the hand", "In hand"),
        Key("p", "p", "put_back", "Put back what is in the hand, once you are sure", "Put back"),
        *LAST,
    ),
    "baby": (
        Key("l", "l", "onward", "Give the next fact, or go to the list", "To the list"),
        Key("c", "c", "confirm", "Confirm every default as shown"),
        ENTER,
        SUITABILITY,
        WHO,
        *LAST,
    ),
    "suitability": (
        Key("space", "Space", "choose", "Say that the marked reason applies, or that it is done; again takes it back"),
        Key("a", "a", "none_of_others", "Say of each reason that is open that it does not apply", "None of the others"),
        Key("u", "u", "unsure", "Say that nobody is sure whether the marked reason applies", "Not sure"),
        ENTER,
        Key("g", "g", "agree", "Record a senior's agreement", "Senior agrees"),
        ONWARD,
        BABY,
        STAND_DOWN,
        WHO,
        *LAST,
    ),
    "ready": (
        Key("a", "a", "read_aloud", "Record that the words were read aloud", "Read aloud: to the cot"),
        Key("g", "g", "cot", "Go to the cot, once it was read aloud", "Go to the cot"),
        ONWARD,
        Key("o", "o", "home", "Go home, once it was read aloud", "Home"),
        CHECK,
        ENTER,
        STAND_DOWN,
        WHO,
        *LAST,
    ),
    "cot": (
        DONE,
        ENTER,
        HAPPENING,
        Key("r", "r", "rescue", "Show the rescue lines, large", "Rescue"),
        Key("t", "t", "record", "Show the record: what happened, what it still needs", "To the record"),
        ONWARD,
        Key("a", "a", "come_back", "Come back from the cot to prepare anew, with the reason", "Come back to prepare"),
        HOME,
        *LAST,
    ),
    "step": (
        DONE,
        Key("n", "n", "leave_out", "Leave the step out, with the reason", "Leave out"),
        *LAST,
    ),
    "entry": (
        Key("g", "g", "give", "Give the readings that are asked for", "Give readings"),
        Key("t", "t", "correct", "Correct the time; the old one is kept", "Correct time"),
        Key("n", "n", "note", "Add a note", "Add a note"),
        Key("s", "s", "strike", "Strike it out, with the reason; it stays to be seen", "Strike out"),
        ENTER,
        *LAST,
    ),
    "happening": (ENTER, *LAST),
    "rescue": (HAPPENING, *LAST),
    "record": (
        Key("f", "f", "fill", "Enter the first thing that is missing", "Fill in the next"),
        Key("s", "s", "sign", "Sign the record as it is shown; the last signature closes it", "Sign and close"),
        Key("a", "a", "add", "Add something to a closed record", "Add to it"),
        ENTER,
        TO_COT,
        ONWARD,
        HOME,
        *LAST,
    ),
    "complications": (
        Key("space", "Space", "choose", "Say that there was the marked one, or take that back"),
        Key("a", "a", "keep", "Keep what is chosen; nothing chosen says that there was none", "None of these"),
        ENTER,
        *LAST,
    ),
    "ended": (
        Key("o", "o", "older", "Show those that ended before these", "Older"),
        Key("n", "n", "newer", "Show those that ended after these", "Newer"),
        ENTER,
        *LAST,
    ),
    "checked": (CHECK, READY, ONWARD, ENTER, WHO, *LAST),
    "difference": (
        Key("s", "s", "settle", "Let the line stand although the check differs, with the reason", "Settle"),
        Key("f", "f", "correct", "Correct a fact about the baby", "Correct a fact"),
        WHO,
        *LAST,
    ),
    "labels": (ONWARD, WHO, *LAST),
    "lock": (
        Key("s,enter", "s", "sign_in", "Sign in, and go on", "Sign in"),
        HELP,
        NEXT,
        *SCROLLS,
    ),
    "cover": (
        Key("g", "g", "go_on", "Go on checking; asks who checks", "Go on checking"),
        Key("s", "s", "stop_check", "Stop the check, once you are sure", "Stop check"),
        Key("o", "o", "home", "Go home; the check stays open", "Home"),
        BACK,
        HELP,
        NEXT,
        *MOVES,
    ),
    "handover": (
        Key("t", "t", "take", "Take the preparation over", "Take it"),
        ONWARD,
        WHO,
        *LAST,
    ),
    "pad": (
        Key("enter", "Enter", "accept", "Accept what is in the field, or press the key that is marked", "Accept"),
        Key("backspace", "⌫", "rub_out", "Rub out the last character"),
        BACK,
        Key("f1", "F1", "help", "Show this sheet; what is half typed stays", "Help"),
        *MOVES,
    ),
    "menu": (ENTER, BACK, HELP, *MOVES),
    "help": (BACK, NEXT, *MOVES),
    "message": (Key("enter", "Enter", "accept", "Press the button that is marked", "OK"), BACK, *MOVES),
    "button": (Key("enter,space", "Enter", "press", "Press it"),),
    "keypad": (
        Key("enter", "Enter", "press", "Type the key that is marked"),
        Key("up", "▲", "walk(-1,0)", "Go up one row of keys, and on to the field"),
        Key("down", "▼", "walk(1,0)", "Go down one row of keys, and on to the buttons"),
        Key("left", "◀", "walk(0,-1)", "Go left among the keys"),
        Key("right", "▶", "walk(0,1)", "Go right among the keys"),
    ),
    "anywhere": (
        Key("tab", "Tab", "focus_next", "Mark the next thing"),
        Key("shift+tab", "Shift+Tab", "focus_previous", "Mark the thing before"),
        Key("ctrl+c,ctrl+q", "Ctrl+C", "leave", "Leave; everything done is kept"),
    ),
}

SCREEN_NAMES = {
    "home": "Home",
    "list": "List",
    "line": "Line",
    "baby": "Baby",
    "suitability": "Suitability",
    "ready": "Ready",
    "cot": "At the cot",
    "step": "A step",
    "entry": "An entry",
    "happening": "Something happened",
    "rescue": "Rescue",
    "record": "Record",
    "complications": "Complications",
    "ended": "Ended",
    "checked": "Second check",
    "difference": "Two workings",
    "cover": "While somebody checks",
    "labels": "Labels",
    "lock": "Locked",
    "handover": "Handed over",
    "pad": "Pads",
    "menu": "More",
    "message": "A message",
    "help": "This sheet",
    "button": "A button that is marked",
    "keypad": "A keypad that is marked",
    "anywhere": "Anywhere",
}
"""Screens, and what has keys of its own on them, as the help sheet names them."""


def bindings_of(screen: str) -> list[BindingType]:
    """The bindings of one screen, from the table."""
    return [Binding(key.keys, key.action, key.does, show=False) for key in KEYS[screen]]


def key_of(screen: str, action: str) -> Key:
    """The table's row for one action of one screen."""
    return next(key for key in KEYS[screen] if key.action == action)
