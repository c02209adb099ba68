"""A prompt, which is one question on the pad, and a wizard, which asks prompts one after another."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from msgspec import Struct

from prepkit.view.models import Banner, InputKind

if TYPE_CHECKING:
    from prepkit.app.session import PreparationSession


class Alternative(Struct, frozen=True):
    """Something else that may be done instead of answering."""

    label: str
    take: Callable[[], None]


class Prompt(Struct, frozen=True):
    """One question."""

    label: str
    words: tuple[str, ...]
    entry: InputKind
    accept: Callable[[str], str]
    """Gives the answer to the desk; returns the refusal in words, or an empty string."""
    unit: str = ""
    typed: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    after: tuple[str, ...] = ()
    """Words below the choices."""
    capitals: bool = False
    final: bool = False
    """Whether an accepted answer cannot be gone back to."""
    alternative: Alternative | None = None
    heading: str = ""
    """What is asked about, where it is not said otherwise; stands over the words."""
    is_secret: bool = False
    """Whether the answer is shown as dots and kept by nobody here."""
    scan: Callable[[str], str] | None = None
    """Takes what a scanner typed instead of a person; returns the refusal in words, or an empty string."""


class Wizard(Protocol):
    """Questions one after the other."""

    title: str

    @property
    def preparation(self) -> "PreparationSession | None":
        """The preparation asked about, once there is one; None where nothing of a list is shown."""
        ...

    def next_prompt(self) -> Prompt | None:
        """The question to ask now; None when there is none left."""
        ...

    def banner(self) -> Banner | None:
        """The banner to show over it; None before there is a preparation."""
        ...
