"""Where a person can go: the screens by name, where a touched sentence leads, how far a preparation has come.

Apart from the other view-models because the first screen needs these names, and must not load the rest.
"""

from enum import Enum, StrEnum

from msgspec import Struct


class ScreenRoute(StrEnum):
    """A screen to go to. The front end knows how to show it and what it needs."""

    HOME = "home"
    ENDED = "ended"
    LOCK = "lock"
    LIST = "list"
    LINE = "line"
    BABY = "baby"
    SUITABILITY = "suitability"
    LABELS = "labels"
    HANDOVER = "handover"
    READY = "ready"
    CHECK = "check"
    """The second check itself; where nothing is to be checked, how it came out."""
    CHECKED = "checked"
    DIFFERENCE = "difference"
    COVER = "cover"
    COT = "cot"
    STEP = "step"
    ENTRY = "entry"
    HAPPENING = "happening"
    RESCUE = "rescue"
    RECORD = "record"
    COMPLICATIONS = "complications"
    PAD = "pad"
    MESSAGE = "message"
    MENU = "menu"
    HELP = "help"


class Target(Struct, frozen=True):
    """Where a sentence leads when it is touched: a screen, and the line on it where it is about one."""

    route: ScreenRoute
    line: str = ""
    fact: str = ""
    """The fact that is asked for at once, where it is about one to give."""


class Stage(Enum):
    """Where a preparation is."""

    TRAY = "tray"
    COT = "cot"
    RECORD = "record"
