"""Prompts about one line: what was ordered and by whom; batch and expiry of what is in hand."""

from prepkit.app.open_preparation import OpenPreparation
from prepkit.tui.prompts.prompt import PreparationWizard, Prompt
from prepkit.view.models import InputKind


class OrderWizard(PreparationWizard):
    """What a prescriber ordered for a dose line: one of the options, then their initials."""

    title = "Order"

    def __init__(self, preparation: OpenPreparation, line: str) -> None:
        super().__init__(preparation)
        self._line = line
        self._option = ""
        self._reason = ""

    def next_prompt(self) -> Prompt | None:
        """The options first, then who prescribed the one that was chosen, and why where that is asked."""
        view = self.preparation.lines.show_options(self._line)
        if self._is_over or view is None:
            return None
        if not self._option:
            words = (f"{view.name}: what did the prescriber order?", view.now)
            return Prompt("Order", words, InputKind.CHOICE, self._choose, typed=view.chosen, choices=view.choices,
                       after=view.not_offered)  # fmt: skip
        chosen, who = dict(view.choices).get(self._option, ""), "Who prescribed it? Enter their initials."
        if self._option in view.want_reason:
            who = "Which senior ordered it? Enter their initials."
            if not self._reason:
                words = (chosen, "Why before the interval is over?")
                return Prompt("Reason", words, InputKind.TEXT, self._take_reason)
        return Prompt("Prescriber", (chosen, who), InputKind.TEXT, self._order, capitals=True)

    def _choose(self, option: str) -> str:
        self._option = option
        return ""

    def _take_reason(self, reason: str) -> str:
        self._reason = reason.strip()
        return "" if self._reason else "Say why."

    def _order(self, prescriber: str) -> str:
        return self._end_with(self.preparation.lines.order(self._line, self._option, prescriber, self._reason))


class BatchWizard(PreparationWizard):
    """One container or pack for a line: scanned at any of the questions, or typed."""

    title = "In hand"

    def __init__(self, preparation: OpenPreparation, line: str) -> None:
        super().__init__(preparation)
        self._line = line
        self._batch = ""

    def next_prompt(self) -> Prompt | None:
        """The batch, then the expiry; None once one was given, or where nothing is wanted any more."""
        view = self.preparation.batches.show(self._line)
        if self._is_over or view is None:
            return None
        if not self._batch:
            return Prompt("Batch", (view.name, view.ask), InputKind.TEXT, self._take_batch, capitals=True,
                       scan=self._scan)  # fmt: skip
        words = (f"{view.name}, batch {self._batch}: until when is it in date?", view.expiry_form)
        return Prompt("Expiry", words, InputKind.DATE, self._give, scan=self._scan)

    def _take_batch(self, typed: str) -> str:
        refusal = self.preparation.batches.refuse_batch(typed)
        self._batch = "" if refusal else typed.strip()
        return refusal

    def _give(self, typed: str) -> str:
        return self._end_with(self.preparation.batches.give(self._line, self._batch, typed))

    def _scan(self, text: str) -> str:
        return self._end_with(self.preparation.batches.scan(self._line, text))
