"""The events of a preparation as a whole, and the union of every subject's events.

Kinds and versions are stored for years: a kind is never renamed, and a payload whose fields change gets a new version.
Constructors refuse what could never be true (`ValueError`).
"""

from typing import ClassVar, Literal, TypeAlias, get_args

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.bedside.events import BedsidePayload
from prepkit.preparation.check.events import CheckPayload
from prepkit.preparation.lines.events import LinePayload


class HandedOver(Struct, frozen=True):
    """Whoever had the preparation leaves it, with one line for the next."""

    KIND: ClassVar[str] = "handed-over"
    VERSION: ClassVar[int] = 1
    note: str


class TakenOver(Struct, frozen=True):
    """The next person saw what is done, what is left and what is past its time, and took it."""

    KIND: ClassVar[str] = "taken-over"
    VERSION: ClassVar[int] = 1
    standing: str
    """Fingerprint of what was shown to them."""


ListingReason: TypeAlias = Literal["facts", "ward", "time"]
"""Why a list was worked out (again): a fact or an order was given, the ward's texts changed, time passed."""

Answer: TypeAlias = Literal["yes", "no", "unsure"]

ANSWERS: tuple[Answer, ...] = get_args(Answer)
LISTING_REASONS: tuple[ListingReason, ...] = get_args(ListingReason)


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

    def __post_init__(self) -> None:
        if not self.id or not self.fingerprint:
            raise ValueError(f"a line needs an id and a fingerprint (got {self.id!a}, {self.fingerprint!a})")


class Started(Struct, frozen=True):
    """A preparation was started for a cot, from a kit and the ward's file, whose full texts it keeps."""

    KIND: ClassVar[str] = "started"
    VERSION: ClassVar[int] = 1
    cot: str
    kit: str
    kit_edition: str
    kit_name: str
    kit_text: str
    ward_text: str | None
    ward_name: str | None
    practice: bool


class FactGiven(Struct, frozen=True):
    """A person gave a fact about the baby."""

    KIND: ClassVar[str] = "fact-given"
    VERSION: ClassVar[int] = 1
    fact: str
    value: str
    """Canonical text of the fact."""


class Listed(Struct, frozen=True):
    """The list was worked out: its lines, or why there is none. Never both and never neither."""

    KIND: ClassVar[str] = "listed"
    VERSION: ClassVar[int] = 1
    because: ListingReason
    lines: tuple[LineSnapshot, ...]
    withheld: str
    """Why there is no list; empty when there is one."""

    def __post_init__(self) -> None:
        if self.because not in LISTING_REASONS:
            raise ValueError(f"because must be one of {', '.join(LISTING_REASONS)} (got {self.because!a})")
        if bool(self.lines) == bool(self.withheld):
            raise ValueError("a list has lines, or a reason why it is withheld: exactly one of the two")
        if len({line.id for line in self.lines}) != len(self.lines):
            raise ValueError("two lines of the list have the same id")


class WeightConfirmed(Struct, frozen=True):
    """An unlikely weight was entered again and agreed; true for exactly these facts and no others."""

    KIND: ClassVar[str] = "weight-confirmed"
    VERSION: ClassVar[int] = 1
    weight: str
    gestation: str
    sex: str
    second: str
    """Initials of the second person; empty where there was none."""
    second_verified: bool = False
    """Whether the second person was proven by a PIN."""


class Answered(Struct, frozen=True):
    """A question about suitability was answered."""

    KIND: ClassVar[str] = "answered"
    VERSION: ClassVar[int] = 1
    criterion: str
    answer: Answer

    def __post_init__(self) -> None:
        if self.answer not in ANSWERS:
            raise ValueError(f"answer must be one of {', '.join(ANSWERS)} (got {self.answer!a})")


class Unanswered(Struct, frozen=True):
    """The texts were replaced and these questions are asked otherwise since: their answers count no longer."""

    KIND: ClassVar[str] = "unanswered"
    VERSION: ClassVar[int] = 1
    criteria: tuple[str, ...]


class SeniorAgreed(Struct, frozen=True):
    """A senior agreed to go on; counts only while the verdict and its reasons have the same fingerprint."""

    KIND: ClassVar[str] = "senior-agreed"
    VERSION: ClassVar[int] = 1
    senior: str
    note: str
    standing: str


class ReadAloud(Struct, frozen=True):
    """The summary was read aloud and the team goes; counts until anything changes."""

    KIND: ClassVar[str] = "read-aloud"
    VERSION: ClassVar[int] = 1
    standing: str
    """Fingerprint of the whole ready list."""


class StoodDown(Struct, frozen=True):
    """The preparation ended without going to the cot. Nothing comes after it."""

    KIND: ClassVar[str] = "stood-down"
    VERSION: ClassVar[int] = 1
    reason: str


class WardReplaced(Struct, frozen=True):
    """From now on the list is worked out from these texts."""

    KIND: ClassVar[str] = "ward-replaced"
    VERSION: ClassVar[int] = 1
    kit_text: str
    kit_edition: str
    ward_text: str | None
    ward_name: str | None


Payload: TypeAlias = (
    Started
    | FactGiven
    | Listed
    | WeightConfirmed
    | Answered
    | Unanswered
    | SeniorAgreed
    | LinePayload
    | ReadAloud
    | StoodDown
    | WardReplaced
    | CheckPayload
    | HandedOver
    | TakenOver
    | BedsidePayload
)

PAYLOADS: tuple[type[Payload], ...] = get_args(Payload)


class Event(Struct, frozen=True):
    """One entry of a preparation's record."""

    seq: int
    stamp: Attribution
    payload: Payload
