"""The events of the list and of its lines (ordered, ticked, set aside), and what they leave on the state.

A list keeps the words that it showed, as the record of what was on the screen. Nothing compares or hashes them: lists
are compared by `LineSnapshot.compared` and by the kind of reason to withhold one.
"""

from typing import ClassVar, Literal, TypeAlias, get_args

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.payload import EventPayload

_MOST_DIGITS = 6
"""Of a stored volume, before the point and after it."""

ListingReason: TypeAlias = Literal["facts", "ward", "time"]
"""Why a list was worked out (again): a fact, an order or a value was given, the ward's texts changed, time passed."""
LISTING_REASONS: tuple[ListingReason, ...] = get_args(ListingReason)
WhyWithheld: TypeAlias = Literal["", "facts", "dispute", "weight"]
"""Why there is no list: a fact is wanting, two weights stand against each other, the weight is unlikely; or none."""


OrderedContainers: TypeAlias = Literal["measured", "fewest", "whole"]
"""How an order says what is drawn up: to a mark, to one with a container less, all of some containers."""


class LineSnapshot(Struct, frozen=True):
    """One line of a list, as much of it as a preparation has to know."""

    id: str
    group: str
    name: str
    show: str
    """The amount, size or setting in words; empty for a thing with no amount."""
    fingerprint: str
    """Of everything a tick vouches for: two lines with the same fingerprint are the same thing on the tray."""
    blocked: str
    """Why the line cannot be done; empty when it can."""
    essential: bool
    """Whether the line may never be set aside."""
    asks: str = ""
    """The fact that has to be given before the line is ticked, or before it is not blocked; empty where none is."""
    enters: str = ""
    """What is entered with the tick: what the ward never set ("setting", "air"), a mark within a range; or empty."""

    @property
    def compared(self) -> tuple[str | bool, ...]:
        """By what two lines of two lists are the same: all of it but the words that were shown."""
        what = (self.id, self.group, self.name, self.fingerprint, bool(self.blocked), self.essential)
        return (*what, self.asks, self.enters)

    @property
    def is_waiting(self) -> bool:
        """Whether it is blocked only because a fact of the baby is wanted: marks on it rest."""
        return bool(self.blocked and self.asks)

    def __post_init__(self) -> None:
        if not self.id or not self.fingerprint:
            raise ValueError(f"a line needs an id and a fingerprint (got {self.id!a}, {self.fingerprint!a})")


class Listed(EventPayload, frozen=True):
    """The list was worked out: it has lines, or a reason why there is none; never both, never neither."""

    KIND: ClassVar[str] = "listed"
    because: ListingReason
    lines: tuple[LineSnapshot, ...]
    withheld: str
    """Why there is no list, in words; empty when there is one."""
    why: WhyWithheld

    def __post_init__(self) -> None:
        if self.because not in LISTING_REASONS:
            raise ValueError(f"because must be one of {', '.join(LISTING_REASONS)} (got {self.because!a})")
        if bool(self.lines) == bool(self.withheld):
            raise ValueError("a list has lines, or a reason why it is withheld: exactly one of the two")
        if bool(self.why) != bool(self.withheld):
            raise ValueError("a list that is withheld says why in words and by its kind, another does neither")
        if len({line.id for line in self.lines}) != len(self.lines):
            raise ValueError("two lines of the list have the same id")


class Ordered(EventPayload, frozen=True):
    """A prescriber's choice for a dose line was recorded."""

    KIND: ClassVar[str] = "ordered"
    IS_PREPARING: ClassVar[bool] = True
    line: str
    product: str
    containers: OrderedContainers
    """"measured", "fewest" or "whole"."""
    whole: str
    """The volume of whole containers ("3 mL"); empty where they are not whole."""
    dose: str
    """The dose per kg ("100 mg/kg"); empty for the one that is stated."""
    is_rest: bool
    """Whether it is the rest of the last dose, which was given in part."""
    after: str
    """The doses given before as they were when it was ordered: it is good for no others."""
    past_interval: str
    """Why a senior orders it before the least interval is over; empty where the interval holds."""
    prescriber: str
    """Initials."""

    def __post_init__(self) -> None:
        if bool(self.whole) != (self.containers == "whole"):
            raise ValueError("whole containers have a volume, and nothing else has one")
        if self.whole and not _is_amount(self.whole, "mL"):
            raise ValueError(f"the volume of whole containers is written as in 4.5 mL (got {self.whole[:40]!a})")
        if self.dose and not _is_amount(self.dose, "mg/kg"):
            raise ValueError(f"a dose is written as in 100 mg/kg (got {self.dose[:40]!a})")


class ValueEntered(EventPayload, frozen=True):
    """A value that neither the kit nor the ward file sets was entered for a line: from then on it is the line's."""

    KIND: ClassVar[str] = "value-entered"
    IS_PREPARING: ClassVar[bool] = True
    line: str
    value: str
    """As it is stored: "9 L/min"."""


class Ticked(EventPayload, frozen=True):
    """Somebody's word that a line is done, for the line's value at that moment."""

    KIND: ClassVar[str] = "ticked"
    IS_PREPARING: ClassVar[bool] = True
    line: str
    fingerprint: str


class Unticked(EventPayload, frozen=True):
    """A tick was taken back."""

    KIND: ClassVar[str] = "unticked"
    line: str


class SetAside(EventPayload, frozen=True):
    """A line was set aside as not needed, for the line's value at that moment."""

    KIND: ClassVar[str] = "set-aside"
    IS_PREPARING: ClassVar[bool] = True
    line: str
    fingerprint: str
    reason: str


class Restored(EventPayload, frozen=True):
    """A line that was set aside is needed after all."""

    KIND: ClassVar[str] = "restored"
    line: str


def are_lines_other(lines: tuple[LineSnapshot, ...], others: tuple[LineSnapshot, ...]) -> bool:
    """Say whether two lists differ, but for the words that were shown."""
    return [line.compared for line in lines] != [line.compared for line in others]


def _is_amount(text: str, expected: str) -> bool:
    """Say whether a text is an amount as it is stored: more than nothing, in that unit, plain digits with a point."""
    number, _, unit = text.partition(" ")
    whole, point, decimals = number.partition(".")
    is_number = number.isascii() and whole.isdigit() and (decimals.isdigit() if point else True)
    is_plain = whole == "0" or not whole.startswith("0")
    is_short = max(len(whole), len(decimals)) <= _MOST_DIGITS
    return unit == expected and is_number and is_plain and is_short and number.strip("0.") != ""


LinePayload: TypeAlias = Listed | Ordered | ValueEntered | Ticked | Unticked | SetAside | Restored


class Tick(Struct, frozen=True):
    """A line ticked, for the value it had then."""

    stamp: Attribution
    fingerprint: str
    name: str
    show: str


class Aside(Struct, frozen=True):
    """A line set aside as not needed, for the value it had then."""

    stamp: Attribution
    fingerprint: str
    name: str
    show: str
    reason: str


class GivenOrder(Struct, frozen=True):
    """What a prescriber chose for a dose line."""

    what: Ordered
    stamp: Attribution


class GivenValue(Struct, frozen=True):
    """What was entered for a line, as it is stored."""

    value: str
    stamp: Attribution
