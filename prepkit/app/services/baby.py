"""The baby of one preparation: its facts, its weight entered twice where it is unlikely, the kit's questions."""

from prepkit.app.cot_history import CotHistory
from prepkit.app.facts import give_fact, give_typed, read_typed
from prepkit.app.session import PreparationSession
from prepkit.kit.facts import write_fact
from prepkit.kit.names import BIRTH_GESTATION, BIRTH_WEIGHT, BORN, SEX, WEIGHT_NOW
from prepkit.list.criteria import find_other_kits
from prepkit.people.pin import Pin, hide_pin
from prepkit.preparation.baby.decide import (
    decide_answer,
    decide_answer_back,
    decide_none_of_others,
    decide_said,
    decide_senior,
    decide_weight,
    refuse_if_differing,
)
from prepkit.preparation.baby.events import WeightConfirmed
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint
from prepkit.preparation.decision import Decision
from prepkit.preparation.state import Preparation
from prepkit.rules.growth import Plausibility
from prepkit.view.baby import show_baby
from prepkit.view.models import BabyView, SuitabilityView
from prepkit.view.suitability import show_suitability
from prepkit.wording.layers import say_other_kits


class BabyService:
    """The facts and answers of one open preparation. Methods that change something return a refusal, or nothing."""

    def __init__(self, session: PreparationSession, history: CotHistory) -> None:
        """Nothing is read yet."""
        self._session = session
        self._history = history

    def show_baby(self) -> BabyView:
        """The facts."""
        return show_baby(self._session.state, self._session.work_out(), self._session.clock())

    def show_suitability(self) -> SuitabilityView:
        """Whether this route is for this baby."""
        worked, now = self._session.work_out(), self._session.clock()
        others = ""
        if worked.tray is not None and worked.tray.verdict == "not suitable":
            kits = self._session.files.load_all()
            others = say_other_kits(find_other_kits(kits, self._session.state.kit, worked.tray.baby, worked.ward, now))
        return show_suitability(self._session.state, worked, others)

    def refuse_fact(self, fact: str, typed: str) -> str:
        """Why a fact cannot be given as typed; empty where it can."""
        found = read_typed(self._session, fact, typed)
        return found if isinstance(found, str) else ""

    def give_fact(self, fact: str, typed: str, day: str = "") -> str:
        """Give a fact as typed; a weight of another day than today with that day."""
        return give_typed(self._session, fact, f"{typed.strip()} on {day}" if day else typed)

    def confirm_facts(self) -> str:
        """Give every default as it is shown: a person confirms them.

        That none was given before is not confirmed so, while it is asked whose a dose under this cot label was.
        """
        worked, asked = self._session.work_out(), self._history.find()
        if worked.baby is None:
            return worked.withheld
        values = {BORN: worked.baby.born, **worked.baby.facts}
        for fact, value in values.items():
            if value is None or fact not in worked.baby.assumed or (asked is not None and fact == asked.fact):
                continue
            if refusal := give_fact(self._session, fact, write_fact(value), only_assumed=True):
                return refusal
        return f"{self._history.ask()} Answer that on the list." if asked else ""

    def refuse_weight_again(self, typed: str) -> str:
        """Why the weight entered again is not the one to confirm; empty where it is."""
        question = self._find_question()
        given = self._session.state.facts.get(question[0], "") if question else ""
        differing = refuse_if_differing(given, typed)
        return differing.reason if differing else ""

    def confirm_weight(self, typed: str, second: str = "", pin: str | Pin = "") -> str:
        """The weight entered again; `second` is the other person's initials where a second person is asked for.

        With PINs that person signs in on the spot with theirs.
        """
        session, pin = self._session, hide_pin(pin)
        policy = session.identity.read_policy()
        if second.strip() and (refusal := session.identity.verify(second, pin, policy)):
            return refusal
        question = self._find_question()
        if question is None:
            return "The weight needs no confirmation any more."
        fact, facts, needs_second = question

        def decide(state: Preparation) -> Decision:
            return decide_weight(
                state,
                fact,
                facts,
                again=typed,
                second=second,
                second_verified=policy.needs_pin,
                who=session.identity.who,
                needs_second=needs_second,
                listed=session.list_ahead(state, WeightConfirmed(fact, facts, second)),
            )

        return session.act(decide, policy=policy)

    def _find_question(self) -> tuple[str, dict[str, str], bool] | None:
        """The weight to enter again, the facts that it was held against, and whether a second person enters it."""
        worked, given = self._session.work_out(), self._session.state.facts
        if worked.baby is None or (worked.weight is None and worked.change is None):
            return None
        if worked.weight is None:
            against = {fact: given[fact] for fact in (BIRTH_WEIGHT, WEIGHT_NOW)} | {BORN: write_fact(worked.baby.born)}
            return WEIGHT_NOW, against, False
        found = worked.weight
        against = {fact: given[fact] for fact in (found.fact, BIRTH_WEIGHT, BIRTH_GESTATION)} | {SEX: worked.baby.sex}
        return found.fact, against, found.plausibility is Plausibility.VERY_UNLIKELY

    def answer(self, criterion: str, answer: str) -> str:
        """Say whether a reason against applies: "yes", "no" or "unsure"."""
        return self._session.act(lambda state: decide_answer(state, criterion, answer))

    def touch(self, criterion: str) -> str:
        """Say that a reason applies, or that something was said or done; touched again, take that back.

        As it stood on this screen: what another device said of it meanwhile is not turned round.
        """
        seen, act = self._session.state, self._session.act
        found = next((each for each in self._session.work_out().laid.criterion if each.id == criterion), None)
        if found is None or found.where is not None:
            return "The kit has no such reason any more: look at the page again."
        if found.is_said:
            is_done = criterion not in seen.said
            return act(lambda state: decide_said(state, criterion, is_done=is_done))
        given = seen.answers.get(criterion)
        if given is None or given.answer == "no":
            return self.answer(criterion, "yes")
        return act(lambda state: decide_answer_back(state, criterion))

    def answer_others(self) -> str:
        """Say of every reason that this screen shows as open that it does not apply."""
        seen = self._session.state
        reasons = [each.id for each in self._session.work_out().laid.criterion if each.is_against]
        left = [each for each in reasons if each not in seen.answers]
        return self._session.act(lambda state: decide_none_of_others(state, left, seen))

    def agree_senior(self, senior: str, note: str) -> str:
        """Record a senior's agreement to the verdict as it is shown."""
        tray = self._session.work_out().tray
        if tray is None:
            return self._session.state.withheld
        seen = compute_suitability_fingerprint(tray)
        return self._session.act(lambda state: decide_senior(state, senior, note, seen, self._session.identity.who))
