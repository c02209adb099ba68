"""Prompts for who has a role: whose initials, and what is said with them."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from prepkit.tui.prompts.prompt import TYPE_IT, PreparationWizard, Prompt, offer_typing
from prepkit.view.models import FactRow, InputKind, ThenQuestion

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation

AND_WHO = "Whose initials?"


class PersonWizard(PreparationWizard):
    """One role: who, then what is said with it, then who else where that is said."""

    def __init__(self, preparation: "OpenPreparation", fact: str) -> None:
        super().__init__(preparation)
        self._fact = fact
        self._who = ""
        self._said = ""
        """What was said that another person's initials come after."""
        self._types = False
        """Whether the answer is typed that was not among the choices."""

    def next_prompt(self) -> Prompt | None:
        """What is not known yet."""
        row = next((each for each in self.preparation.baby.show_baby().facts if each.id == self._fact), None)
        if self._is_over or row is None or row.then is None:
            return None
        if not self._who:
            now = (f"Now: {row.value}",) if row.value else ()
            return self._ask_initials(row, (row.ask, *now), "", self._take_who)
        if self._said:
            words = (f"{self._who}, {self._said} …", AND_WHO)
            return self._ask_initials(row, words, self._who, self._take_other)
        return self._ask_then(row, row.then)

    def _ask_initials(self, row: FactRow, words: tuple[str, ...], but: str, take: Callable[[str], str]) -> Prompt:
        """Ask for initials: whoever is at the desk first, then all others known here; not those in `but`."""
        known = dict.fromkeys((self.preparation.session.identity.who, *(who for who, _ in row.choices)))
        people = tuple((who, who) for who in known if who and who != but)
        if self._types or not people:
            return Prompt(row.label, words, InputKind.TEXT, take, capitals=True)
        return Prompt(row.label, words, InputKind.CHOICE, take, choices=offer_typing(people, row.or_typed))

    def _ask_then(self, row: FactRow, then: ThenQuestion) -> Prompt:
        words = (f"{self._who}: {then.ask}",)
        if self._types:
            return Prompt(row.label, words, InputKind.TEXT, self._give)
        return Prompt(row.label, words, InputKind.CHOICE, lambda said: self._take_said(said, then),
                      choices=offer_typing(then.choices, then.or_typed))  # fmt: skip

    def _take_who(self, typed: str) -> str:
        if self._starts_typing(typed):
            return ""
        self._said = ""
        refusal = self._refuse_initials(typed)
        self._who = "" if refusal else typed.strip().upper()
        return refusal

    def _refuse_initials(self, typed: str) -> str:
        """Why these are no initials: read as the fact that they would give with a plain answer."""
        row = next(each for each in self.preparation.baby.show_baby().facts if each.id == self._fact)
        plain = next(said for said, _ in row.then.choices if said != row.then.and_who) if row.then else ""
        return self.preparation.baby.refuse_fact(self._fact, f"{typed}, {plain}")

    def _take_said(self, said: str, then: ThenQuestion) -> str:
        if self._starts_typing(said):
            return ""
        if said == then.and_who:
            self._said = said
            return ""
        return self._give(said)

    def _take_other(self, typed: str) -> str:
        return "" if self._starts_typing(typed) else self._give(f"{self._said} {typed}")

    def _starts_typing(self, typed: str) -> bool:
        self._types = typed == TYPE_IT
        return self._types

    def _give(self, said: str) -> str:
        return self._end_with(self.preparation.baby.give_fact(self._fact, f"{self._who}, {said}"))
