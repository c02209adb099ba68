"""View-models of what belongs to one line: what can be ordered, what is in the hand; finished words, as in `models`.

May import: nothing but `models`, msgspec and the standard library.
"""

from msgspec import Struct

from prepkit.view.models import Banner, Offer


class OptionsView(Struct, frozen=True):
    """What can be ordered for one dose line."""

    banner: Banner
    name: str
    now: str
    """What is used now, and by whose order."""
    choices: tuple[tuple[str, str], ...]
    """(option to give back, words to show)."""
    chosen: str
    """The option that is used now; empty where none is."""
    not_offered: tuple[str, ...]
    """What is not among the choices, and why, a sentence each."""


class InHandRow(Struct, frozen=True):
    """One container or pack in hand."""

    show: str
    """Batch and expiry: "batch AB12, in date to 2027-03-31"."""
    word: str
    """How and by whom it was given: "scanned KM 03:12"."""
    note: str
    """That it is out of date by now; else empty."""


class InHandView(Struct, frozen=True):
    """What is asked of the containers and packs in hand for one line, and what was given."""

    banner: Banner
    line: str
    name: str
    """What is wanted, in words: "Poractant alfa"."""
    ask: str
    """What to do, as a sentence."""
    is_missing: bool
    """Whether the tick waits for it."""
    expiry_form: str
    """How an expiry is typed."""
    rows: tuple[InHandRow, ...]
    put_back: Offer
