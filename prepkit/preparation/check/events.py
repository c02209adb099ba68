"""The events of a second check: another person's own weight and own amounts, entered blind.

The rules of `prepkit.preparation.events` hold here.
"""

from typing import ClassVar, TypeAlias

from msgspec import Struct


class CheckBegun(Struct, frozen=True):
    """A second person began to check; from now until the check ends, no amount of the list is shown to anybody."""

    KIND: ClassVar[str] = "check-begun"
    VERSION: ClassVar[int] = 1


class CheckWeighed(Struct, frozen=True):
    """The checker read the weight off the cot."""

    KIND: ClassVar[str] = "check-weighed"
    VERSION: ClassVar[int] = 1
    weight: str
    """In g, as the facts have it."""
    agrees: bool
    """Whether it is the weight that the list was made for."""


class CheckEntered(Struct, frozen=True):
    """The checker entered what they worked out for one line, for the line's value at that moment."""

    KIND: ClassVar[str] = "check-entered"
    VERSION: ClassVar[int] = 1
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


class CheckEnded(Struct, frozen=True):
    """Everything was entered: from now on the two results stand side by side."""

    KIND: ClassVar[str] = "check-ended"
    VERSION: ClassVar[int] = 1


class CheckLeft(Struct, frozen=True):
    """The check was stopped before everything was entered; what was entered does not count."""

    KIND: ClassVar[str] = "check-left"
    VERSION: ClassVar[int] = 1


class DifferenceSettled(Struct, frozen=True):
    """Somebody decided that a line stands although the check differed, and why."""

    KIND: ClassVar[str] = "difference-settled"
    VERSION: ClassVar[int] = 1
    line: str
    fingerprint: str
    reason: str


CheckPayload: TypeAlias = CheckBegun | CheckWeighed | CheckEntered | CheckEnded | CheckLeft | DifferenceSettled
