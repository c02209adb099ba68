"""Prompts of the second check: who checks, the baby, then each line that has to be worked out again.

Each line is recorded as soon as all of it is entered; a half-entered line lives here. No prompt shows an amount of
the list.
"""

from prepkit.app.open_preparation import OpenPreparation
from prepkit.tui.prompts.prompt import TYPE_IT, Alternative, Prompt, offer_typing
from prepkit.tui.prompts.sign_in import IdentityPrompts
from prepkit.view.check import CheckFact, CheckField, CheckView
from prepkit.view.models import Banner, InputKind

WHO = (
    "Who checks? Enter your initials.",
    "No device shows the list meanwhile.",
)
ENDED_ELSEWHERE = ("The check was stopped, or brought to its end, on another device.",)


class SecondCheckWizard:
    """The checker signs in, and works blind from the order and the cot."""

    title = "Second check"
    preparation = None
    """What a check shows of a preparation is not covered: it shows nothing of the list."""

    def __init__(self, preparation: OpenPreparation) -> None:
        self.checked = preparation
        self._signing = IdentityPrompts(preparation.session.identity, WHO, preparation.check.begin, final=True)
        self.is_ended_elsewhere = False
        """Whether another device stopped the check or brought it to its end, and this has not been said yet."""
        self._fact: CheckFact | None = None
        self._types = False
        """Whether the day is typed that was not among the choices."""
        self._field: CheckField | None = None
        self._given: list[str] = []
        """The answers for one line: the value, then a number for each container."""
        self._before: list[str] = []
        """What was answered before somebody went back."""

    @property
    def is_signed_out(self) -> bool:
        """Whether the checker was signed out in the middle of their check, as by the lock."""
        checks = self.checked.check
        return self._signing.is_done and not checks.is_signed_in and checks.show_cover() is not None

    @property
    def question_asked(self) -> object:
        """What is asked for now; where this changes under the pad, it has to ask anew."""
        checks = self.checked.check
        view = checks.show_check()
        return checks.is_signed_in, view.fact and view.fact.fact, view.field

    def banner(self) -> Banner:
        """The banner without the weights."""
        return self.checked.check.show_check().banner

    def next_prompt(self) -> Prompt | None:
        """Who, the baby, the lines; None when everything is entered, or the check was ended."""
        checks = self.checked.check
        signing = self._signing.next_prompt()
        if signing is not None:
            return signing
        if not checks.is_signed_in:
            return self._say_ended() if self.is_ended_elsewhere else None
        view = checks.show_check()
        if view.fact is not None:
            return self._ask_fact(view.fact)
        if view.field is None:
            checks.end()
            return None
        self._turn_to(view.field)
        return self._ask_value(view) if not self._given else self._ask_count(view, len(self._given) - 1)

    def _say_ended(self) -> Prompt:
        self.is_ended_elsewhere = False
        return Prompt("Ended", ENDED_ELSEWHERE, InputKind.CHOICE, lambda _: "", choices=(("", "Go on"),), final=True)

    def _ask_fact(self, fact: CheckFact) -> Prompt:
        """A fact to read; each is recorded as soon as it is entered."""
        if self._fact is None or self._fact.fact != fact.fact:
            self._fact, self._types = fact, False
        words, (value, other) = (fact.ask,), fact.unless
        words, (value, other) = (fact.ask,), fact.unless
        if self._types:
            return Prompt(fact.label, words, InputKind.DATE, lambda typed: self._read(fact.fact, typed), final=True)
        return Prompt(
            label=fact.label,
            words=words,
            entry=fact.entry,
            accept=lambda typed: self._read(fact.fact, typed),
            unit=fact.unit,
            choices=offer_typing(fact.choices, fact.or_typed),
            final=True,
            alternative=Alternative(other, lambda: self._read(fact.fact, value)) if other else None,
        )

    def _read(self, fact: str, typed: str) -> str:
        if typed == TYPE_IT:
            self._types = True
            return ""
        return self.checked.check.enter_fact(fact, typed)

    def _turn_to(self, field: CheckField) -> None:
        """Start afresh where it is another line, or the order of this one has changed."""
        if field != self._field:
            self._field, self._given, self._before = field, [], []

    def _ask_value(self, view: CheckView) -> Prompt | None:
        field = view.field
        if field is None:
            return None
        return Prompt(
            label=field.label,
            words=(*field.order, field.ask),
            entry=InputKind.CHOICE if field.choices else InputKind.NUMBER,
            accept=lambda typed: self._take(field, 0, typed),
            unit=field.unit,
            choices=field.choices,
            typed=self._typed_before(0),
            final=not field.containers,
            heading=f"{view.progress} · {field.name}",
        )

    def _ask_count(self, view: CheckView, at: int) -> Prompt | None:
        field = view.field
        if field is None:
            return None
        size, question = field.containers[at]
        return Prompt(
            label=size,
            words=(f"Entered: {self._given[0]} {field.unit}", question, "0 if none of this size."),
            entry=InputKind.COUNT,
            accept=lambda typed: self._take(field, at + 1, typed),
            typed=self._typed_before(at + 1),
            final=at + 1 == len(field.containers),
            heading=f"{view.progress} · {field.name}",
        )

    def _typed_before(self, at: int) -> str:
        return self._before[at] if at < len(self._before) else ""

    def _take(self, field: CheckField, at: int, typed: str) -> str:
        """Take the answer to question `at` of a line; what was answered after it is asked again."""
        given = [*self._given[:at], typed.strip()]
        sizes = [size for size, _ in field.containers]
        counts = dict(zip(sizes, given[1:], strict=False))
        refusal = self.checked.check.refuse_part(field.line, given[0], counts)
        if not refusal and len(given) > len(sizes):
            refusal = self.checked.check.enter(field.line, given[0], counts)
        if not refusal:
            self._before = [*given, *max(self._given, self._before, key=len)[len(given) :]]
            self._given = given
        return refusal
