"""View-models that several screens share: finished words for a screen, a page or a terminal line.

Everything here is text that a person may read as it stands. Whoever renders it adds room, colour and touch, never a
number, a comparison or a word.
"""

from collections.abc import Callable
from enum import StrEnum
from typing import TypeAlias

from msgspec import Struct

from prepkit.pictures.drawing import Drawing
from prepkit.view.routes import Target
from prepkit.view.signs import Banner as Banner  # noqa: PLC0414  (named here as every other model is)
from prepkit.view.signs import Sign as Sign  # noqa: PLC0414  (as above)

Picture: TypeAlias = Callable[[int], Drawing]
"""Draws itself at a width in columns."""


class LabelsView(Struct, frozen=True):
    """The syringe labels that there are now."""

    banner: Banner
    labels: tuple[tuple[str, ...], ...]
    """The rows of each label, as they are printed: the medicine and the amount first, or what it is not for."""
    left_out: tuple[str, ...]
    """Syringes without a label, and why, a sentence each."""
    command: str
    """What prints them, typed at a prompt."""


class InputKind(StrEnum):
    """How a fact is entered, which decides the pad that is shown."""

    GRAMS = "grams"
    GESTATION = "gestation"
    NUMBER = "number"
    COUNT = "count"
    CHOICE = "choice"
    MOMENT = "moment"
    DOSES = "doses"
    PERSON = "person"
    DATE = "date"
    CLOCK = "clock"
    TEXT = "text"


class FactRow(Struct, frozen=True):
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
    entry: InputKind
    choices: tuple[tuple[str, str], ...]
    """For a choice: (value to give back, words to show)."""
    note: str
    """"default, not confirmed", "needed for the list", or empty."""
    sign: Sign
    unless: tuple[str, str] = ("", "")
    """That there is no value to give: (what to give back, words to show); empty where a value has to be given."""
    or_typed: str = ""
    """For a choice: words for typing what is not among the choices; empty where all there is is among them."""
    days: tuple[tuple[str, str], ...] = ()
    """For a value of some day: (day to give back, words to show), the likeliest first; empty where it is of no day."""
    leads_on: bool = False
    """Whether giving it may make another fact needed, which is then asked at once."""
    then: "ThenQuestion | None" = None
    """For a person: what is asked once the initials are known."""


class ThenQuestion(Struct, frozen=True):
    """What is said with a person's initials."""

    ask: str
    choices: tuple[tuple[str, str], ...]
    and_who: str
    """The choice after which another person's initials stand; empty where there is none."""
    or_typed: str
    """Words for typing what is not among the choices; empty where all there is is among them."""


class WeightQuestion(Struct, frozen=True):
    """A weight that is unlikely, to be entered again."""

    fact: str
    words: tuple[str, ...]
    second_person: bool
    """Whether another person has to read and enter it."""
    withholds: bool
    """Whether no amount is shown before; else it is asked straight after one of `after` was given, and may be left."""
    after: tuple[str, ...] = ()


class BabyView(Struct, frozen=True):
    """The facts a kit asks for."""

    banner: Banner
    facts: tuple[FactRow, ...]
    weight_question: WeightQuestion | None
    next_fact: str | None
    """The fact to ask for next on the way to the list; None when the list can be shown."""
    next_label: str
    """The label of the action that asks for what the list needs next; empty where it needs nothing."""
    computed: tuple[str, ...]
    """What follows from the facts and is never asked: today's gestation, the age."""
    assumed_offer: str
    """The label of the action that confirms every default as shown; empty where none is left to confirm."""
    pictures: tuple[Picture, ...]
    """The weight between the centiles of its gestation."""


class CriterionRow(Struct, frozen=True):
    """One criterion: a reason against the route, something said or done, or what the facts show."""

    id: str
    text: str
    sign: Sign
    word: str
    """How it stands, in a word or two: "open", "applies", "done", "met", "not met", "advice"."""
    source: str


class SuitabilityView(Struct, frozen=True):
    """Whether this route is for this baby."""

    banner: Banner
    sign: Sign
    verdict: str
    words: tuple[str, ...]
    """What the verdict means and what to do next."""
    against: tuple[CriterionRow, ...]
    """The reasons against, touched where they apply."""
    progress: str
    """How many of these somebody answered: "2 of 5"."""
    none_offer: str
    """The label of the action that answers every open one with no; empty where none is open."""
    said: tuple[CriterionRow, ...]
    """What was said or done, touched once it is; nothing hangs on it."""
    facts: tuple[CriterionRow, ...]
    """What the facts show."""
    senior_wanted: bool
    """Whether a senior's recorded agreement is what is missing."""


class LineRow(Struct, frozen=True):
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


class GroupRows(Struct, frozen=True):
    """The lines of one group."""

    id: str
    name: str
    progress: str
    """ "2 of 6". """
    lines: tuple[LineRow, ...]


class BirthQuestion(Struct, frozen=True):
    """Whether the baby was born today: it stands as that until somebody says so."""

    fact: str
    """The fact to give."""
    ask: str
    """ "Born today, 29 Nov?"; past midnight "Born 28 Nov?" """
    today: str
    """What to give back for yes."""


class ListView(Struct, frozen=True):
    """The list, in groups; or why there is none yet."""

    banner: Banner
    left: str
    """ "12 of 31 left". """
    notices: tuple[str, ...]
    """What stands over the whole list: questions open, not suitable, changed since, made with example values."""
    targets: tuple[Target, ...]
    """Where each of `notices` leads, one for one."""
    withheld: str
    """Why no list is shown; empty when there is one."""
    groups: tuple[GroupRows, ...]
    news: str
    """That the ward file or the kit has changed since this was started; empty where it has not."""
    handover: str = ""
    """That it was handed over and waits to be taken; empty where it does not."""
    birth: BirthQuestion | None = None
    """Asked above everything while a line hangs on it and nobody said."""
    same_baby: str = ""
    """What was given under this cot label by others, as a question, while nobody answered it; else empty."""
    wanted: str = ""
    """A fact that some lines wait for, as a sentence; empty where there is none."""


class Offer(Struct, frozen=True):
    """An action and, where it cannot be done, why."""

    label: str
    refusal: str
    """Empty when the action can be done."""


class EntryQuestion(Struct, frozen=True):
    """A value that the ward never set, asked for with the tick."""

    label: str
    ask: str
    unit: str


class LineView(Struct, frozen=True):
    """One line opened: how its number was made and where it comes from."""

    banner: Banner
    row: LineRow
    parts: tuple[str, ...]
    """What is laid out with it, and ticked with it."""
    how: tuple[str, ...]
    """What to do with it."""
    working: tuple[str, ...]
    cautions: tuple[str, ...]
    """What can hurt, the gravest first; as many as are read at once."""
    further_cautions: tuple[str, ...]
    """The rest of them, shown when they are asked for ..."""
    further: str
    """... by "2 more cautions"; empty where there are none."""
    basis: str
    """Empty where the source begins with it."""
    source: str
    pictures: tuple[Picture, ...]
    """Where a hand has to match a number; drawn at the width there is."""
    tick: Offer
    set_aside: Offer
    is_ticked: bool
    is_set_aside: bool
    waits_for_hand: bool = False
    """Whether nothing but batch and expiry of what is in the hand stands between it and its tick."""
    enters: EntryQuestion | None = None
    """What is entered with the tick, because the ward never set it."""
    asks: str = ""
    """The fact that has to be given before the tick, or that the tick would contradict; empty where there is none."""
    contradicts: str = ""
    """The fact that says otherwise than the tick; empty where none does."""
    fingerprint: str = ""
    """What a tick is made for: where it is another one, the line is another one."""
    order: Offer | None = None
    """To record what the prescriber ordered; None for a line that is no dose."""


class ReadyView(Struct, frozen=True):
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
    targets: tuple[Target, ...] = ()
    """Where each of `missing` leads, one for one."""
