"""The events of a second check, and what they leave on the state.

Another person enters their own weight and their own amounts, blind.
"""

from collections.abc import Mapping
from typing import ClassVar, TypeAlias

from msgspec import Struct, field

from prepkit.attribution import Attribution
from prepkit.preparation.payload import EventPayload


class CheckBegun(EventPayload, frozen=True):
    """A second person began to check; from now until the check ends, no amount of the list is shown to anybody."""

    KIND: ClassVar[str] = "check-begun"


class CheckRead(EventPayload, frozen=True):
    """The checker read a fact of the baby off the cot or the notes: a weight, the day of birth."""

    KIND: ClassVar[str] = "check-read"
    fact: str
    value: str
    """Canonical text, as the facts have it."""
    agrees: bool
    """Whether it is what the list was made for."""


class CheckEntered(EventPayload, frozen=True):
    """The checker entered what they worked out for one line, for the line's value at that moment."""

    KIND: ClassVar[str] = "check-entered"
    line: str
    fingerprint: str
    value: str
    """As it is shown: "3.6 mL", "size 1"."""
    vials: str
    """As they are shown: "3 mL + 1.5 mL"; empty where none are asked for."""
    agrees: bool

    def __post_init__(self) -> None:
        if not self.line or not self.fingerprint or not self.value:
            raise ValueError("an entry needs a line, a fingerprint and a value")


class CheckEnded(EventPayload, frozen=True):
    """Everything was entered: from now on the two results stand side by side."""

    KIND: ClassVar[str] = "check-ended"


class CheckLeft(EventPayload, frozen=True):
    """The check was stopped before everything was entered; what was entered does not count."""

    KIND: ClassVar[str] = "check-left"


class DifferenceSettled(EventPayload, frozen=True):
    """Somebody decided that a line stands although the check differed, and why."""

    KIND: ClassVar[str] = "difference-settled"
    line: str
    fingerprint: str
    reason: str


CheckPayload: TypeAlias = CheckBegun | CheckRead | CheckEntered | CheckEnded | CheckLeft | DifferenceSettled


class Settlement(Struct, frozen=True):
    """Why a line stands although the check differed."""

    reason: str
    stamp: Attribution


class Check(Struct, frozen=True):
    """What a second person worked out for a line, for the value it had then."""

    stamp: Attribution
    fingerprint: str
    name: str
    show: str
    """What the list showed."""
    value: str
    """What the checker entered, as it is shown."""
    vials: str
    agrees: bool
    settled: Settlement | None = None

    @property
    def holds(self) -> bool:
        """Whether nothing is left to settle."""
        return self.agrees or self.settled is not None


class OpenCheck(Struct, frozen=True):
    """A check that has begun and not ended: while there is one, no amount is shown to anybody."""

    stamp: Attribution
    """Who checks, since when."""
    read: frozenset[str] = frozenset()
    """The facts that were read in this check, and agreed."""
    entries: Mapping[str, Check] = field(default_factory=dict)


class FactRead(Struct, frozen=True):
    """What a checker read of one fact, off the cot or the notes."""

    fact: str
    value: str
    stamp: Attribution
