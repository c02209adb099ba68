"""What a pad asks: one question, and a chain of them. May import: the view-models."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from msgspec import Struct

from prepkit.view.models import Banner, Entry

if TYPE_CHECKING:
    from prepkit.desk.opened import OpenPreparation


class WayOut(Struct, frozen=True):
    """Something else that may be done instead of answering."""

    label: str
    take: Callable[[], None]


class Ask(Struct, frozen=True):
    """One question."""

    label: str
    words: tuple[str, ...]
    entry: Entry
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
    way_out: WayOut | None = None
    heading: str = ""
    """What is asked about, where it is not said otherwise; stands over the words."""
    is_secret: bool = False
    """Whether the answer is shown as dots and kept by nobody here."""
    scan: Callable[[str], str] | None = None
    """Takes what a scanner typed instead of a person; returns the refusal in words, or an empty string."""


class Chain(Protocol):
    """Questions one after the other."""

    title: str

    @property
    def preparation(self) -> "OpenPreparation | None":
        """The preparation asked about, once there is one; None where nothing of a list is shown."""
        ...

    def next_ask(self) -> Ask | None:
        """The question to ask now; None when there is none left."""
        ...

    def banner(self) -> Banner | None:
        """The banner to show over it; None before there is a preparation."""
        ...
