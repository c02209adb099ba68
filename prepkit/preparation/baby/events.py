"""The events about the baby, and what they leave on the state."""

from typing import ClassVar, Literal, TypeAlias, get_args

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.payload import EventPayload

Answer: TypeAlias = Literal["yes", "no", "unsure"]
ANSWERS: tuple[Answer, ...] = get_args(Answer)


class FactGiven(EventPayload, frozen=True):
    """A person gave a fact about the baby."""

    KIND: ClassVar[str] = "fact-given"
    IS_PREPARING: ClassVar[bool] = True
    fact: str
    value: str
    """Canonical text of the fact."""


class WeightConfirmed(EventPayload, frozen=True):
    """An unlikely weight was entered again and agreed; true for exactly these facts and no others."""

    KIND: ClassVar[str] = "weight-confirmed"
    IS_PREPARING: ClassVar[bool] = True
    fact: str
    """The weight that was entered again: at birth, or now."""
    facts: dict[str, str]
    """Its canonical text, and that of every fact that it was held against."""
    second: str
    """Initials of the second person; empty where there was none."""
    second_verified: bool = False
    """Whether the second person was proven by a PIN."""


class Answered(EventPayload, frozen=True):
    """Somebody said whether a reason against the route applies."""

    KIND: ClassVar[str] = "answered"
    criterion: str
    answer: Answer

    def __post_init__(self) -> None:
        if self.answer not in ANSWERS:
            raise ValueError(f"answer must be one of {', '.join(ANSWERS)} (got {self.answer!a})")


class Unanswered(EventPayload, frozen=True):
    """The texts were replaced, and these criteria are worded differently now: what was said no longer counts."""

    KIND: ClassVar[str] = "unanswered"
    criteria: tuple[str, ...]


class AnswerTakenBack(EventPayload, frozen=True):
    """What somebody said of a reason was taken back: it is open again."""

    KIND: ClassVar[str] = "answer-taken-back"
    criterion: str


class SaidDone(EventPayload, frozen=True):
    """Something was said or done, or that was taken back. Nothing hangs on it, a summary read aloud least of all."""

    KIND: ClassVar[str] = "said-done"
    KEEPS_READ_ALOUD: ClassVar[bool] = True
    criterion: str
    is_done: bool


class SeniorAgreed(EventPayload, frozen=True):
    """A senior agreed to go on; counts only while the verdict and its reasons have the same fingerprint."""

    KIND: ClassVar[str] = "senior-agreed"
    senior: str
    note: str
    standing: str


class SameBabyAnswered(EventPayload, frozen=True):
    """It was asked whether doses that others gave under this cot label were this baby's."""

    KIND: ClassVar[str] = "same-baby-answered"
    IS_PREPARING: ClassVar[bool] = True
    doses: dict[str, str]
    """By the moment at which each was given, in UTC: the dose as it was asked about, in words."""
    is_same: bool
    """Whether they are counted; else they were another baby's, or are counted already."""


BabyPayload: TypeAlias = (
    FactGiven | WeightConfirmed | Answered | AnswerTakenBack | SaidDone | Unanswered | SeniorAgreed | SameBabyAnswered
)


class GivenAnswer(Struct, frozen=True):
    """Whether a reason against the route applies, and who said so."""

    answer: Answer
    stamp: Attribution


class WeightConfirmation(Struct, frozen=True):
    """An unlikely weight entered again, good for exactly these facts."""

    facts: dict[str, str]
    second: str
    stamp: Attribution


class SeniorAgreement(Struct, frozen=True):
    """A senior's agreement, good for one verdict with its reasons."""

    senior: str
    note: str
    fingerprint: str
    stamp: Attribution
