"""Doses given before: those that are known, one taken off, one added, each question one touch where it can be."""

from prepkit.app.open_preparation import OpenPreparation
from prepkit.tui.prompts.prompt import TYPE_IT, Alternative, Prompt, offer_typing
from prepkit.view.doses import UNKNOWN, DosesView
from prepkit.view.models import Banner, InputKind

NONE, ADD, DONE, OFF = "none", "add", "done", "off"


class DosesWizard:
    """The doses of one fact."""

    title = ""

    def __init__(self, preparation: OpenPreparation, fact: str) -> None:
        self.preparation = preparation
        self._fact = fact
        self._is_done = False
        self._off = ""
        """A dose that was touched, to be taken off."""
        self._is_adding = False
        self._forget()

    def _forget(self, *, product: str = "") -> None:
        """Forget what was answered of a new dose, but for its product."""
        self._product, self._number, self._amount, self._day, self._types = product, "", "", "", False

    def banner(self) -> Banner:
        """Show the preparation's banner."""
        return self.preparation.doses.show(self._fact).banner

    def next_prompt(self) -> Prompt | None:
        """The short list; or what is not known yet of a new dose: which product, how much, when."""
        view = self.preparation.doses.show(self._fact)
        if self._is_done:
            return None
        if self._off:
            return self._ask_off(view)
        if not self._is_adding:
            return self._ask_which(view)
        if not self._product:
            return Prompt(view.label, ("Which medicine was given?",), InputKind.CHOICE, self._take_product,
                          choices=view.products)  # fmt: skip
        return self._ask_when(view) if self._amount else self._ask_amount(view)

    def _ask_which(self, view: DosesView) -> Prompt:
        given = tuple((dose, f"{words}: take it off") for dose, words in view.doses)
        first = ((DONE, "That is all"),) if view.doses else ((NONE, "None"),)
        choices = (*first, *given, (ADD, "Add a dose" if not view.doses else "Add another dose"))
        typed = NONE if view.is_said and not view.doses else ""
        return Prompt(view.label, (view.ask,), InputKind.CHOICE, self._choose, choices=choices, typed=typed)

    def _choose(self, choice: str) -> str:
        self._off, self._is_adding = "", choice == ADD
        self._forget()
        if choice == NONE:
            return self._end(self.preparation.doses.say_none(self._fact))
        self._is_done = choice == DONE
        if choice not in {ADD, DONE}:
            self._off = choice
        return ""

    def _end(self, refusal: str) -> str:
        self._is_done = not refusal
        return refusal

    def _ask_off(self, view: DosesView) -> Prompt:
        words = (dict(view.doses).get(self._off, ""), "Take it off? It counts no longer.")
        return Prompt(view.label, words, InputKind.CHOICE, self._take_off, final=True,
                      choices=((OFF, "Take it off"), (DONE, "Leave it")))  # fmt: skip

    def _take_off(self, choice: str) -> str:
        dose, self._off = self._off, ""
        return self.preparation.doses.take_off(self._fact, dose) if choice == OFF else ""

    def _take_product(self, product: str) -> str:
        self._forget(product=product)
        return ""

    def _ask_amount(self, view: DosesView) -> Prompt:
        unknown = Alternative(UNKNOWN[1], lambda: self._take_amount(UNKNOWN[0]), is_answer=True)
        name = dict(view.products)[self._product]
        if not self._number:
            return Prompt("Given", (f"{name}: how much was given?",), InputKind.NUMBER, self._take_number,
                          alternative=unknown, heading=view.label)  # fmt: skip
        choices = tuple((unit, f"{self._number} {unit}") for unit in view.units)
        return Prompt(view.label, (f"{name}: {self._number} of what?",), InputKind.CHOICE, self._take_unit,
                      choices=choices)  # fmt: skip

    def _take_number(self, typed: str) -> str:
        """Take the number; that it is one is seen in any unit."""
        refusal = self._refuse_amount(f"{typed.strip()} mg")
        self._number, self._amount = "" if refusal else typed.strip(), ""
        return refusal

    def _take_unit(self, unit: str) -> str:
        return self._take_amount(f"{self._number} {unit}")

    def _refuse_amount(self, amount: str) -> str:
        if not self._is_adding:
            return ""
        return self.preparation.doses.refuse(self._fact, self._product, amount)

    def _take_amount(self, amount: str) -> str:
        refusal = self._refuse_amount(amount)
        self._amount, self._day, self._types = "" if refusal else amount, "", False
        return refusal

    def _ask_when(self, view: DosesView) -> Prompt:
        said = f"{dict(view.products)[self._product]}, {self._amount}" if self._amount != UNKNOWN[0] else ""
        said = said or f"{dict(view.products)[self._product]}, amount not known"
        if self._types:
            words = (said, "When? The day and the time, such as 2026-11-25 08:00.")
            return Prompt("When", words, InputKind.MOMENT, self._add, final=True, heading=view.label)
        if not self._day:
            choices = offer_typing(view.days, "Another day: type it")
            return Prompt(view.label, (said, "On which day?"), InputKind.CHOICE, self._take_day, choices=choices)
        unknown = Alternative(UNKNOWN[1], lambda: self._add(UNKNOWN[0]), is_answer=True)
        words = (said, f"{dict(view.days)[self._day]}: at what time, such as 08:00?")
        return Prompt("Time", words, InputKind.CLOCK, lambda at: self._add(f"{self._day} {at.strip()}"),
                      alternative=unknown, final=True, heading=view.label)  # fmt: skip

    def _take_day(self, day: str) -> str:
        self._types, self._day = day == TYPE_IT, "" if day in {TYPE_IT, UNKNOWN[0]} else day
        return self._add(UNKNOWN[0]) if day == UNKNOWN[0] else ""

    def _add(self, at: str) -> str:
        """Add the dose, and show the short list again; nothing more of one that was added already."""
        if not self._is_adding:
            return ""
        refusal = self.preparation.doses.add(self._fact, self._product, self._amount, at)
        if not refusal:
            self._is_adding = False
            self._forget()
        return refusal
