"""Prompts that start a preparation and ask for facts or a senior's agreement.

What has been answered is read from the workstation each time, so a wizard can be left and taken up again anywhere.
"""

from typing import TYPE_CHECKING

from prepkit.app.workstation import Workstation
from prepkit.tui.prompts.prompt import TYPE_IT, Alternative, PreparationWizard, Prompt, offer_typing
from prepkit.tui.prompts.sign_in import IdentityPrompts, sign_on
from prepkit.view.home import KitChoice
from prepkit.view.models import Banner, FactRow, InputKind, WeightQuestion

if TYPE_CHECKING:
    from prepkit.app.open_preparation import OpenPreparation

AGAIN, BESIDE = "again", "beside"
OR_TYPED = 'The day ("2026-11-25"), or day and time ("2026-11-25 02:10"); a time alone is today\'s.'
SECOND = ("The second person, who read the weight too, signs for it. Who is it? Enter your initials.",)


class FactWizard(PreparationWizard):
    """Facts about the baby: one that was touched, or all that the list needs; and a weight again where it is wanted."""

    def __init__(self, preparation: "OpenPreparation", fact: str | None = None, *, is_earlier: bool = False) -> None:
        """Ask for `fact`, or for whatever is needed; `is_earlier` is a day before the first of its choices."""
        super().__init__(preparation)
        self._fact = fact
        self._is_earlier = is_earlier
        self._onward = fact is None
        self._given: set[str] = set()
        self._types = False
        """Whether the value is typed that was not among the choices."""
        self._value = ""
        """A value that was typed and waits for its day."""
        self._again = ""
        self._signing = self._ask_second()

    def next_prompt(self) -> Prompt | None:
        """The touched fact, then the weight again where that is wanted, then what the list needs."""
        baby = self.preparation.baby.show_baby()
        facts = {fact.id: fact for fact in baby.facts}
        if self._fact is not None:
            return self._ask_fact(facts[self._fact])
        question = baby.weight_question
        if question is not None and (self._onward or question.withholds or not self._given.isdisjoint(question.after)):
            return self._ask_again(question, baby.facts)
        if self._onward and baby.next_fact is not None:
            self._fact = baby.next_fact
            return self._ask_fact(facts[self._fact])
        return None

    def _ask_fact(self, fact: FactRow) -> Prompt:
        if self._value:
            words = (f"{self._value} {fact.unit}", "Of which day is that weight?")
            return Prompt(fact.label, words, InputKind.CHOICE, lambda day: self._give_of(fact, day), choices=fact.days)
        if self._types:
            return Prompt(fact.label, (fact.ask, OR_TYPED), InputKind.MOMENT, lambda typed: self._give(fact, typed))
        value, other = fact.unless
        return Prompt(
            label=fact.label,
            words=(fact.ask, *self._say_now(fact)),
            entry=fact.entry,
            accept=lambda typed: self._take(fact, typed),
            unit=fact.unit,
            typed=fact.typed,
            choices=offer_typing(fact.choices[self._is_earlier :], fact.or_typed),
            alternative=Alternative(other, lambda: self._give(fact, value), is_answer=True) if other else None,
        )

    def _say_now(self, fact: FactRow) -> tuple[str, ...]:
        is_said = fact.value and fact.note and not self._is_earlier
        return (f"Now: {fact.value} ({fact.note})",) if is_said else ()

    def _take(self, fact: FactRow, typed: str) -> str:
        """Take an answer; what has to be typed, or is of some day, is asked on."""
        self._types, self._value = typed == TYPE_IT, ""
        if self._types:
            return ""
        if len(fact.days) > 1 and typed.strip() != fact.unless[0]:
            refusal = self.preparation.baby.refuse_fact(fact.id, typed)
            self._value = "" if refusal else typed.strip()
            return refusal
        return self._give(fact, typed)

    def _give_of(self, fact: FactRow, day: str) -> str:
        return self._give(fact, self._value, day)

    def _give(self, fact: FactRow, typed: str, day: str = "") -> str:
        refusal = self.preparation.baby.give_fact(fact.id, typed, day)
        if not refusal:
            self._fact, self._types, self._value = None, False, ""
            self._given.add(fact.id)
            self._onward = self._onward or fact.leads_on
            self._start_again()
        return refusal

    def _ask_again(self, question: WeightQuestion, facts: tuple[FactRow, ...]) -> Prompt:
        weight = next(fact for fact in facts if fact.id == question.fact)
        alternative = Alternative("Correct it", lambda: self._correct(weight.id))
        if question.second_person and self._again and (signing := self._signing.next_prompt()) is not None:
            return signing
        take = self._take_again if question.second_person else self._confirm
        return Prompt(f"{weight.label} again", question.words, InputKind.GRAMS, take, unit=weight.unit,
                   final=not question.second_person, may_stay_open=not question.withholds,
                   alternative=alternative)  # fmt: skip

    def _ask_second(self) -> IdentityPrompts:
        confirm = self.preparation.baby.confirm_weight
        return IdentityPrompts(
            self.preparation.session.identity, SECOND, lambda who, pin: confirm(self._again, who, pin), final=True
        )

    def _start_again(self) -> None:
        self._again, self._signing = "", self._ask_second()

    def _take_again(self, typed: str) -> str:
        refusal = self.preparation.baby.refuse_weight_again(typed)
        self._again = "" if refusal else typed
        return refusal

    def _confirm(self, typed: str) -> str:
        return self.preparation.baby.confirm_weight(typed)

    def _correct(self, weight: str) -> str:
        self._fact = weight
        self._start_again()
        return ""


class StartWizard:
    """A new preparation: who, which kit, which cot, then the facts that its list needs."""

    def __init__(self, desk: Workstation, *, practice: bool = False) -> None:
        self.title = "New practice" if practice else "New preparation"
        self._desk = desk
        self._practice = practice
        self._kits = tuple(kit for kit in desk.list_kits() if kit.usable)
        self._kit = self._kits[0].id if len(self._kits) == 1 else ""
        self._signing = sign_on(desk.identity)
        self._signing.is_done = not desk.identity.refuse_if_not_signed_in()
        self.preparation: OpenPreparation | None = None
        self._facts: FactWizard | None = None
        self._cot = ""
        """A label that was given and that another preparation in progress has too."""
        self._typed = ""
        self.taken_up = ""
        """The preparation that was already in progress, to go on with instead."""

    def banner(self) -> Banner | None:
        """The preparation's banner, once there is one."""
        return self._facts.banner() if self._facts else None

    def next_prompt(self) -> Prompt | None:
        """The first thing not known yet."""
        if self.taken_up:
            return None
        if self._facts is not None:
            return self._facts.next_prompt()
        if (signing := self._signing.next_prompt()) is not None:
            return signing
        if not self._kit:
            return Prompt(
                "Kit", ("What is being prepared?",), InputKind.CHOICE, self._take_kit, choices=_kit_choices(self._kits)
            )
        if self._cot:
            return self._ask_shared(self._cot)
        words = ("Which baby? Enter the cot label as it stands on the cot.",)
        return Prompt("Cot label", words, InputKind.TEXT, self._take_cot, typed=self._typed, capitals=True, final=True)

    def _ask_shared(self, cot: str) -> Prompt:
        """Ask what is meant: the first answer changes nothing."""
        sharing = self._desk.find_sharing(cot)
        choices = ((AGAIN, "A slip: enter another cot label"),
                   *((prep, f"Go on with {words}") for prep, words in sharing),
                   (BESIDE, f"Start another one for {cot}"))  # fmt: skip
        words = (f"A preparation for {cot} is in progress already.", "Is this another dose, another baby, or a slip?")
        return Prompt("Cot label", words, InputKind.CHOICE, self._choose_shared, choices=choices, final=True)

    def _choose_shared(self, choice: str) -> str:
        cot, self._cot = self._cot, ""
        if choice == BESIDE:
            return self._start(cot)
        self._typed = cot
        self.taken_up = "" if choice == AGAIN else choice
        return ""

    def _take_cot(self, typed: str) -> str:
        if self._desk.find_sharing(typed):
            self._cot = typed.strip()
            return ""
        return self._start(typed)

    def _take_kit(self, kit: str) -> str:
        self._kit = kit
        return ""

    def _start(self, typed: str) -> str:
        started = self._desk.start(self._kit, typed, practice=self._practice)
        if isinstance(started, str):
            return started
        self.preparation = started
        self._facts = FactWizard(started)
        return ""


class SeniorAgreementWizard(PreparationWizard):
    """A senior's agreement: their initials and a line of note."""

    title = "Senior's agreement"

    def __init__(self, preparation: "OpenPreparation") -> None:
        super().__init__(preparation)
        self._senior = ""

    def next_prompt(self) -> Prompt | None:
        """Initials first, then the note."""
        if self._is_over:
            return None
        if not self._senior:
            words = ("Which senior agreed? Enter their initials.",)
            return Prompt("Senior", words, InputKind.TEXT, self._take_senior, capitals=True)
        return Prompt("Note", (f"What did {self._senior} agree to, and why?",), InputKind.TEXT, self._agree)

    def _take_senior(self, typed: str) -> str:
        self._senior = typed.strip()
        return "" if self._senior else "Enter the senior's initials."

    def _agree(self, note: str) -> str:
        return self._end_with(self.preparation.baby.agree_senior(self._senior, note))


def _kit_choices(kits: tuple[KitChoice, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((kit.id, f"{kit.name} · {kit.note}" if kit.note else kit.name) for kit in kits)
