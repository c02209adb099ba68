"""View-models of the second check and of handing over: finished words, as in `models`.

May import: nothing but `models`, msgspec and the standard library.
"""

from msgspec import Struct

from prepkit.view.models import Banner, Offer, Sign


class CheckField(Struct, frozen=True):
    """One line to work out: the order, and what to enter. Nothing in it was made from the weight."""

    line: str
    name: str
    order: tuple[str, ...]
    ask: str
    """What to enter, as a sentence."""
    label: str
    """What the field is called: "Volume", "Depth", "Size"."""
    unit: str
    """Shown after the field while typing; empty for a size."""
    choices: tuple[tuple[str, str], ...]
    """For a size: (value to give back, words to show)."""
    containers: tuple[tuple[str, str], ...]
    """For a medicine: (size as it is given back, the question how many to open)."""


class CheckView(Struct, frozen=True):
    """A check under way, as the checker sees it."""

    banner: Banner
    """Without the weight."""
    checker: str
    """Initials; empty while nobody checks."""
    asks_weight: bool
    field: CheckField | None
    """The line to work out now; None before the weight and after the last line."""
    progress: str
    """ "2 of 5". """


class CheckedRow(Struct, frozen=True):
    """One line after a check: both results."""

    line: str
    name: str
    sign: Sign
    word: str
    ours: str
    """What the list has."""
    theirs: str
    """What the checker entered; empty where nobody did."""
    our_working: tuple[str, ...]
    """Where the two differ."""
    their_working: tuple[str, ...]
    note: str
    """How a difference was settled, or why a check does not count any more."""
    settle: Offer


class CheckedView(Struct, frozen=True):
    """How the second check stands, line by line."""

    banner: Banner
    words: tuple[str, ...]
    rows: tuple[CheckedRow, ...]
    begin: Offer
    """To begin a check, or why nobody can begin one now."""


class CoverView(Struct, frozen=True):
    """What everybody sees while somebody checks: that they do, and nothing of the list."""

    banner: Banner
    """Without the weight."""
    words: tuple[str, ...]


class HandoverView(Struct, frozen=True):
    """What the next person has to know before they take a preparation."""

    banner: Banner
    note: str
    """The leaver's own line, with who and when; empty where nobody handed it over."""
    done: tuple[str, ...]
    """Who did what."""
    left: tuple[str, ...]
    stale: tuple[str, ...]
    """What has gone past its time."""
    is_offered: bool
    """Whether it waits to be taken."""
    leaver: str
    """Initials of whoever handed it over; empty where nobody did."""
    standing: str
    """Give it back when taking: it is taken as it was shown."""
    initials: str = ""
    """That initials are not verified by PIN, where the ward runs without; else empty."""
