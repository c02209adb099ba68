"""View-models of what belongs to one line: what can be ordered, what is in the hand; finished words, as in `models`.

May import: nothing but `models` and the standard library.
"""

from dataclasses import dataclass

from prepkit.view.models import Banner, Offer


@dataclass(frozen=True, slots=True)
class OptionsView:
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


@dataclass(frozen=True, slots=True)
class InHandRow:
    """One container or pack in hand."""

    show: str
    """Batch and expiry: "batch AB12, in date to 2027-03-31"."""
    word: str
    """How and by whom it was given: "scanned KM 03:12"."""
    note: str
    """That it is out of date by now; else empty."""


@dataclass(frozen=True, slots=True)
class InHandView:
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
