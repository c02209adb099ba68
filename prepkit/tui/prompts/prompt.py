"""A prompt is one question on the pad; a wizard asks one after another. With the two wizards that any screen asks."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from msgspec import Struct

from prepkit.view.models import Banner, InputKind

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation

TYPE_IT = "type it"


class Alternative(Struct, frozen=True):
    """Something else that may be done instead of answering."""

    label: str
    take: Callable[[], str]
    """Does it; returns the refusal in words, or an empty string."""
    is_answer: bool = False
    """Whether it answers the question, so that one can go back to it."""


class Prompt(Struct, frozen=True):
    """One question."""

    label: str
    words: tuple[str, ...]
    entry: InputKind
    accept: Callable[[str], str]
    """Hands the answer on; returns the refusal in words, or an empty string."""
    unit: str = ""
    typed: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    after: tuple[str, ...] = ()
    """Words below the choices."""
    capitals: bool = False
    final: bool = False
    """Whether nobody can go back to an accepted answer."""
    may_stay_open: bool = False
    """Whether Back leaves the pad here: what was given before stands."""
    alternative: Alternative | None = None
    heading: str = ""
    """What the question is about, if nothing else says so; stands over the words."""
    is_secret: bool = False
    """Whether the answer is shown as dots and kept nowhere here."""
    scan: Callable[[str], str] | None = None
    """Takes what a scanner typed instead of a person; returns the refusal in words, or an empty string."""


def offer_typing(choices: tuple[tuple[str, str], ...], words: str) -> tuple[tuple[str, str], ...]:
    """The choices, and to type what is not among them; `words` is empty where all there is is among them."""
    return (*choices, (TYPE_IT, words)) if words else choices


class Wizard(Protocol):
    """Questions one after the other."""

    title: str

    @property
    def preparation(self) -> "OpenPreparation | None":
        """The preparation asked about, once there is one; None where nothing of a list is shown."""
        ...

    def next_prompt(self) -> Prompt | None:
        """The question to ask now; None when there is none left."""
        ...

    def banner(self) -> Banner | None:
        """The banner to show over it; None before there is a preparation."""
        ...


class PreparationWizard:
    """What questions about one preparation share: its banner, and that they end with the answer that is not refused."""

    title = ""

    def __init__(self, preparation: "OpenPreparation") -> None:
        self.preparation = preparation
        self._is_over = False

    def banner(self) -> Banner:
        """Show the preparation's banner."""
        return self.preparation.baby.show_baby().banner

    def _end_with(self, refusal: str) -> str:
        self._is_over = not refusal
        return refusal


class ReasonWizard(PreparationWizard):
    """A reason: a few ready ones, or typed."""

    def __init__(self, title: str, words: tuple[str, ...], ready: tuple[str, ...], accept: Callable[[str], str],
                 preparation: "OpenPreparation") -> None:  # fmt: skip
        super().__init__(preparation)
        self.title = title
        self._words = words
        self._ready = ready
        self._accept = accept
        self._typing = False

    def next_prompt(self) -> Prompt | None:
        """The ready reasons, then the letters where none of them fits."""
        if self._is_over:
            return None
        if self._typing:
            return Prompt("Reason", self._words, InputKind.TEXT, self._give)
        choices = offer_typing(tuple((reason, reason) for reason in self._ready), "Another reason: type it")
        return Prompt("Reason", self._words, InputKind.CHOICE, self._choose, choices=choices)

    def _choose(self, choice: str) -> str:
        if choice == TYPE_IT:
            self._typing = True
            return ""
        return self._give(choice)

    def _give(self, reason: str) -> str:
        return self._end_with(self._accept(reason))


class TypedWizard(PreparationWizard):
    """One answer, typed: a line of text, or a number where it has a unit."""

    def __init__(self, title: str, label: str, words: tuple[str, ...], accept: Callable[[str], str],
                 preparation: "OpenPreparation", *, unit: str = "") -> None:  # fmt: skip
        super().__init__(preparation)
        self.title = title
        self._accept = accept
        entry = InputKind.NUMBER if unit else InputKind.TEXT
        self._ask = Prompt(label, words, entry, self._give, unit=unit, final=bool(unit))

    def next_prompt(self) -> Prompt | None:
        """The question, once."""
        return None if self._is_over else self._ask

    def _give(self, typed: str) -> str:
        return self._end_with(self._accept(typed))
