"""Handed over: what the next person has to know before they take the preparation."""

from typing import ClassVar

from textual.binding import BindingType

from prepkit.tui.input.keys import bindings_of
from prepkit.tui.prompts.sign_in import SignInWizard
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.column import HeadingItem, Item, WordsItem
from prepkit.tui.widgets.text import Sentence
from prepkit.view.handover import HandoverView
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute

WHO_TAKES = ("Who takes the preparation over? Enter your initials.",)


class HandoverScreen(PreparationScreen):
    """The leaver's line, what is past its time, what is left, who did what."""

    ROUTE = ScreenRoute.HANDOVER
    MARKS_BACK = True
    STEPS_SCROLL = True
    CSS_PATH = "handover.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(ROUTE)

    def draw(self) -> None:
        """Everything as it stands, and the way to take it."""
        view = self.prep.handover.show_handover()
        self._view = view
        self.head(view.banner, "Handed over" if view.is_offered else "Taken over")
        self.body.show(_items(view))
        take = [self.action_named("take")] if view.is_offered else []
        onward = [self.action_named("onward")]
        primary = "take" if take else "onward"
        self.offer(self.action_named("back"), self.action_named("more"), *onward, self.action_named("help"), *take,
                   primary=primary)  # fmt: skip

    def action_take(self) -> None:
        """Take it as it is shown; whoever is not signed on, or is the leaver, says first who they are."""
        view = self._view
        if not view.is_offered:
            return
        if not self.desk.identity.refuse_if_not_signed_in() and self.desk.identity.who != view.leaver:
            self._take(view.standing)
        else:
            wizard = SignInWizard(self.desk.identity, self.prep, WHO_TAKES)
            self.ask(wizard, lambda known: self._take(view.standing) if known else None)

    def _take(self, standing: str) -> None:
        if self.do(lambda: self.prep.handover.take_over(standing)):
            self.go(ScreenRoute.LIST)


def _items(view: HandoverView) -> list[Item]:
    note = [WordsItem("note", (Sentence(view.note, "bold $ink"),), "leaver")] if view.note else []
    parts = (
        ("Past its time", Sign.CHANGED, view.stale),
        ("Left to do", Sign.TO_DO, view.left),
        ("Done", Sign.DONE, view.done),
    )
    initials = [WordsItem("initials", (Sentence(view.initials, "$pale"),))] if view.initials else []
    return [*note, *(item for name, sign, words in parts if words for item in _part(name, sign, words)), *initials]


def _part(name: str, sign: str, words: tuple[str, ...]) -> list[Item]:
    sentences = tuple(Sentence(each, lead=f"{sign} ") for each in words)
    return [HeadingItem(name, name, str(len(words))), WordsItem(f"{name} words", sentences)]
