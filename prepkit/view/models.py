"""View-models: finished words for a screen, a page or a terminal line.

Everything here is text that a person may read as it stands. Whoever renders it adds room, colour and touch, never a
number, a comparison or a word. May import: `prepkit.pictures`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from prepkit.pictures.drawing import Drawing

Picture: TypeAlias = Callable[[int], Drawing]
"""Draws itself at a width in columns."""


class Sign(StrEnum):
    """How a thing stands, as one cell; the word beside it says the same, so that neither colour nor sign is alone."""

    TO_DO = "○"
    DONE = "✓"
    NOT_NEEDED = "–"
    BLOCKED = "✗"
    CHANGED = "↻"
    QUESTION = "?"
    ADVICE = "i"


@dataclass(frozen=True, slots=True)
class Banner:
    """What stands on top of every screen of one preparation."""

    cot: str
    baby: str
    """Weight and gestation in words ("1450 g · 30+2"), or what is still to be entered."""
    kit: str
    practice: bool


@dataclass(frozen=True, slots=True)
class HomeRow:
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


@dataclass(frozen=True, slots=True)
class EndedRow:
    """One preparation that has ended."""

    prep: str
    cot: str
    kit: str
    how: str
    """How it ended, by whom and when: "closed by RA at 10:15"."""
    sign: Sign
    practice: bool


@dataclass(frozen=True, slots=True)
class EndedView:
    """The preparations that have ended, the newest first."""

    rows: tuple[EndedRow, ...]
    unreadable: tuple[str, ...]
    empty: str
    """What to say where there is none."""


@dataclass(frozen=True, slots=True)
class PersonRow:
    """Somebody on the staff list, to be chosen when another person takes over the desk."""

    initials: str
    role: str


@dataclass(frozen=True, slots=True)
class LockedView:
    """What a locked screen shows of a preparation: its cot and how far it is, and nothing about the baby."""

    cot: str
    left: str
    """How much is left in words: "12 of 31 left"."""


@dataclass(frozen=True, slots=True)
class KitChoice:
    """A kit that a new preparation may be started from."""

    id: str
    name: str
    note: str
    """Edition, or why it cannot be used."""
    usable: bool


@dataclass(frozen=True, slots=True)
class HomeView:
    """The first screen."""

    ward: str
    rows: tuple[HomeRow, ...]
    kits: tuple[KitChoice, ...]
    notices: tuple[str, ...]
    """Things to know before starting: no ward file, a ward file with problems, a practice store."""
    empty: str
    """What to say where there is no preparation."""


class Entry(StrEnum):
    """How a fact is entered, which decides the pad that is shown."""

    GRAMS = "grams"
    GESTATION = "gestation"
    NUMBER = "number"
    COUNT = "count"
    CHOICE = "choice"
    MOMENT = "moment"
    CLOCK = "clock"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class FactRow:
    """One fact about the baby."""

    id: str
    label: str
    ask: str
    """The question as a sentence, for the pad's heading."""
    value: str
    """As shown ("6 cmH2O"); empty where nothing is known yet."""
    typed: str
    """As a person would type it again ("6"); empty where nothing is known yet."""
    unit: str
    """Shown after the field while typing; empty where there is none."""
    entry: Entry
    choices: tuple[tuple[str, str], ...]
    """For a choice: (value to give back, words to show)."""
    note: str
    """"assumed", "needed for the list", or empty."""
    sign: Sign


@dataclass(frozen=True, slots=True)
class WeightQuestion:
    """A weight that is unlikely for the gestation, to be entered again before any amount is shown."""

    words: tuple[str, ...]
    second_person: bool
    """Whether another person has to read and enter it."""


@dataclass(frozen=True, slots=True)
class BabyView:
    """The facts a kit asks for."""

    banner: Banner
    facts: tuple[FactRow, ...]
    weight_question: WeightQuestion | None
    next_fact: str | None
    """The fact to ask for next on the way to the list; None when the list can be shown."""
    assumed_offer: str
    """The label of the action that confirms every assumed fact as shown; empty where none is left to confirm."""
    pictures: tuple[Picture, ...]
    """The weight between the centiles of its gestation."""


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One criterion, met or not, or a question to answer."""

    id: str
    text: str
    sign: Sign
    word: str
    """How it stands, in a word or two: "met", "not met", "to answer", "advice"."""
    is_question: bool
    answers: tuple[tuple[str, str], ...]
    """For a question: (value to give back, words to show)."""
    answer: str | None
    source: str


@dataclass(frozen=True, slots=True)
class SuitabilityView:
    """Whether this route is for this baby."""

    banner: Banner
    sign: Sign
    verdict: str
    words: tuple[str, ...]
    """What the verdict means and what to do next."""
    rows: tuple[CriterionRow, ...]
    senior_wanted: bool
    """Whether a senior's recorded agreement is what is missing."""


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line of the list."""

    id: str
    name: str
    show: str
    """The amount, size or setting: the biggest thing on the line. Empty for a thing with no amount."""
    details: tuple[str, ...]
    """What goes with it: syringe, strength, vials; the most important first."""
    sign: Sign
    word: str
    """How it stands: "to do", "done AB 03:12", "not needed", "blocked", "changed"."""
    note: str
    """What has to be said on the row itself: "was 3.6 mL", the reason of a block; else empty."""


@dataclass(frozen=True, slots=True)
class GroupRows:
    """The lines of one group."""

    id: str
    name: str
    progress: str
    """ "2 of 6". """
    lines: tuple[LineRow, ...]


@dataclass(frozen=True, slots=True)
class ListView:
    """The list, in groups; or why there is none yet."""

    banner: Banner
    left: str
    """ "12 of 31 left". """
    notices: tuple[str, ...]
    """What stands over the whole list: questions open, not suitable, changed since, made with example values."""
    withheld: str
    """Why no list is shown; empty when there is one."""
    groups: tuple[GroupRows, ...]
    news: str
    """That the ward file or the kit has changed since this was started; empty where it has not."""
    handover: str = ""
    """That it was handed over and waits to be taken; empty where it does not."""


@dataclass(frozen=True, slots=True)
class Offer:
    """An action and, where it cannot be done, why."""

    label: str
    refusal: str
    """Empty when the action can be done."""


@dataclass(frozen=True, slots=True)
class LineView:
    """One line opened: how its number was made and where it comes from."""

    banner: Banner
    row: LineRow
    how: tuple[str, ...]
    """What to do with it."""
    working: tuple[str, ...]
    cautions: tuple[str, ...]
    basis: str
    source: str
    pictures: tuple[Picture, ...]
    """Where a hand has to match a number; drawn at the width there is."""
    tick: Offer
    set_aside: Offer
    is_ticked: bool
    is_set_aside: bool
    order: Offer | None = None
    """To record what the prescriber ordered; None for a line that is no dose."""


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
class ReadyView:
    """The gate: what is missing, or the words to read aloud."""

    banner: Banner
    is_open: bool
    title: str
    missing: tuple[str, ...]
    summary: tuple[str, ...]
    said: str
    """Who read it aloud and when; empty while nobody has."""
    pictures: tuple[Picture, ...]
    """How far each group is, while something is missing."""
    checks: tuple[str, ...] = ()
    """The sentences among `missing` that a second check answers."""
    handover: str = ""
    """The sentence among `missing` that it waits to be taken; empty where it does not."""


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
