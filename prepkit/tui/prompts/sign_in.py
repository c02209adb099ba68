"""Who somebody is: the one place that asks for initials and PINs."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from prepkit.app.identity import Identity
from prepkit.tui.prompts.prompt import Alternative, Prompt
from prepkit.view.models import Banner, InputKind

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation

Authenticate = Callable[[str, str], str]
"""Hands initials and PIN on; returns the refusal in words, or an empty string."""


class IdentityPrompts:
    """Somebody says who they are; every wizard that needs to know asks these questions among its own.

    Initials are touched on the staff list or typed; then comes the PIN, where one is asked for. A PIN is passed on and
    kept nowhere.
    """

    def __init__(
        self,
        identity: Identity,
        words: tuple[str, ...],
        sign: Authenticate,
        *,
        typed: str = "",
        final: bool = False,
        asks_pin: Callable[[str], bool] | None = None,
    ) -> None:
        self._identity = identity
        self._words = words
        self._sign = sign
        self._typed = typed
        self._final = final
        self._asks_pin = asks_pin or (lambda _: identity.needs_pin)
        self._who = ""
        self._by_hand = False
        """Whether the initials are to be typed although there is a staff list."""
        self.is_done = False

    def next_prompt(self) -> Prompt | None:
        """The initials, then the PIN; None once they were taken."""
        if self.is_done:
            return None
        if self._who:
            words = (f"{self._who}: enter your PIN.",)
            return Prompt("PIN", words, InputKind.COUNT, self._take_pin, final=self._final, is_secret=True)
        people = () if self._by_hand else self._identity.list_people()
        final = self._final and not self._identity.needs_pin
        if not people:
            return Prompt(
                "Initials", self._words, InputKind.TEXT, self._take, typed=self._typed, capitals=True, final=final
            )
        choices = tuple((row.initials, f"{row.initials} · {row.role}") for row in people)
        return Prompt(
            "Initials",
            self._words,
            InputKind.CHOICE,
            self._take,
            typed=self._typed,
            choices=choices,
            final=final,
            alternative=Alternative("Type initials", self._type),
        )

    def _type(self) -> str:
        self._by_hand = True
        return ""

    def _take(self, typed: str) -> str:
        refusal = self._identity.refuse_initials(typed)
        if refusal or not self._asks_pin(typed):
            return refusal or self._give(typed, "")
        self._who = typed.strip().upper()
        return ""

    def _take_pin(self, pin: str) -> str:
        return self._give(self._who, pin)

    def _give(self, typed: str, pin: str) -> str:
        refusal = self._sign(typed, pin)
        self.is_done = not refusal
        return refusal


def sign_on(identity: Identity) -> IdentityPrompts:
    """Who is here."""
    words = ("Who is at this desk?" if identity.list_people() else "Who is at this desk? Enter your initials.",
             "Your initials go on every tick.")  # fmt: skip
    return IdentityPrompts(identity, words, identity.sign_on, typed=identity.who)


class SignInWizard:
    """Who is here, over home or over a preparation."""

    title = "Who is at the desk"

    def __init__(
        self, identity: Identity, preparation: "OpenPreparation | None" = None, words: tuple[str, ...] = ()
    ) -> None:
        self.preparation = preparation
        self._signing = IdentityPrompts(identity, words, identity.sign_on) if words else sign_on(identity)

    def banner(self) -> Banner | None:
        """The preparation's banner, where there is one."""
        return self.preparation.baby.show_baby().banner if self.preparation else None

    def next_prompt(self) -> Prompt | None:
        """Who it is, once."""
        return self._signing.next_prompt()


class StopCheckWizard:
    """Who stops a check: whoever stops their own is recorded as the checker, not as the person signed in."""

    title = "Stop the check"
    preparation = None
    """Nothing of the list is shown here."""

    def __init__(self, stopped: "OpenPreparation") -> None:
        checks = stopped.check
        self._stopped = stopped
        self._signing = IdentityPrompts(
            stopped.session.identity, STOP_WHO, checks.stop, final=True, asks_pin=checks.asks_pin_to_stop
        )

    def banner(self) -> Banner | None:
        """The banner without the weight."""
        cover = self._stopped.check.show_cover()
        return cover.banner if cover else None

    def next_prompt(self) -> Prompt | None:
        """Who it is, once; nothing where the check has ended meanwhile."""
        return self._signing.next_prompt() if self._stopped.check.show_cover() else None


STOP_WHO = ("Who stops the check? Enter your initials.",)
