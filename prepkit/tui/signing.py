"""Who somebody is: the one place where initials are asked for. May import: the desk and the view-models."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from prepkit.tui.ask import Ask
from prepkit.view.models import Banner, Entry

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk
    from prepkit.desk.opened import OpenPreparation


class Signing:
    """Somebody says who they are; every chain that needs to know puts these questions among its own."""

    def __init__(
        self, words: tuple[str, ...], sign: Callable[[str], str], typed: str = "", *, final: bool = False
    ) -> None:
        self._words = words
        self._sign = sign
        self._typed = typed
        self._final = final
        self.is_done = False

    def next_ask(self) -> Ask | None:
        """The initials; None once they were taken."""
        if self.is_done:
            return None
        return Ask("Initials", self._words, Entry.TEXT, self._take, typed=self._typed, capitals=True,
                   final=self._final)  # fmt: skip

    def _take(self, typed: str) -> str:
        refusal = self._sign(typed)
        self.is_done = not refusal
        return refusal


def sign_on(desk: "Desk") -> Signing:
    """Who is at the desk."""
    words = ("Who is at this desk? Enter your initials.", "They stand beside every tick made here.")
    return Signing(words, desk.sign_on, desk.who)


class WhoAsks:
    """Who is at the desk, over home or over a preparation."""

    title = "Who is at the desk"

    def __init__(self, desk: "Desk", preparation: "OpenPreparation | None" = None, words: tuple[str, ...] = ()) -> None:
        self.preparation = preparation
        self._signing = Signing(words, desk.sign_on) if words else sign_on(desk)

    def banner(self) -> Banner | None:
        """The preparation's banner, where there is one."""
        return self.preparation.show_baby().banner if self.preparation else None

    def next_ask(self) -> Ask | None:
        """Who it is, once."""
        return self._signing.next_ask()
