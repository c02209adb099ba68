"""View-models of the first screen and of who is at a desk; finished words, as in `models`.

May import: nothing but `models`, msgspec and the standard library.
"""

from msgspec import Struct

from prepkit.view.signs import Sign


class HomeRow(Struct, frozen=True):
    """One preparation in progress."""

    prep: str
    cot: str
    kit: str
    left: str
    """What is left: "12 of 31 left", "weight to enter", "ready since 03:12"."""
    who: str
    """Who last did something, and since when it has been going: "AB · since 02:41"."""
    sign: Sign
    practice: bool
    apart: str = ""
    """What tells it from another one in progress under the same label: "begun 02:41 · 1450 g · 30+2"; else empty."""


class EndedRow(Struct, frozen=True):
    """One preparation that has ended."""

    prep: str
    cot: str
    kit: str
    how: str
    """How it ended, by whom and when: "closed by RA at 10:15"."""
    sign: Sign
    practice: bool


class EndedView(Struct, frozen=True):
    """A page of the preparations that have ended, the last ended first."""

    rows: tuple[EndedRow, ...]
    unreadable: tuple[str, ...]
    empty: str
    """What to say where there is none."""
    older: int | None
    """What to ask the desk for to see those that ended before these; None where these are the first that ended."""


class PersonRow(Struct, frozen=True):
    """Somebody on the staff list, to be chosen when another person takes over the desk."""

    initials: str
    role: str


class LockedView(Struct, frozen=True):
    """What a locked screen shows of a preparation: its cot and how far it is, and nothing about the baby."""

    cot: str
    left: str
    """How much is left in words: "12 of 31 left"."""


class KitChoice(Struct, frozen=True):
    """A kit that a new preparation may be started from."""

    id: str
    name: str
    note: str
    """Edition, or why it cannot be used."""
    usable: bool


class HomeView(Struct, frozen=True):
    """The first screen."""

    ward: str
    rows: tuple[HomeRow, ...]
    more: str
    """That there are more than are shown; empty where there are not."""
    notices: tuple[str, ...]
    """Things to know before starting: no ward file, a ward file with problems, a practice store."""
    empty: str
    """What to say where there is no preparation."""
