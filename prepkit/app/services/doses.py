"""Doses that a baby had before: shown, added, taken off; and what other preparations gave under its cot label."""

from prepkit.app.cot_history import CotHistory, name_moment
from prepkit.app.facts import change_fact, give_typed, read_typed
from prepkit.app.session import PreparationSession
from prepkit.kit.earlier import NONE, EarlierDose, EarlierDoses
from prepkit.kit.facts import read_fact
from prepkit.kit.names import NOT_KNOWN
from prepkit.kit.problems import Problem
from prepkit.preparation.baby.decide import decide_same_baby
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.decision import Decision
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.view.baby import say_wrong
from prepkit.view.doses import DosesView, name_dose, show_doses


class EarlierDoseService:
    """The doses given before. Methods that change something return a refusal, or an empty string."""

    def __init__(self, session: PreparationSession, history: CotHistory) -> None:
        """Nothing is read yet."""
        self._session = session
        self._history = history

    def show(self, fact: str) -> DosesView:
        """The doses of one fact, and what another one may be made of."""
        return show_doses(self._session.state, self._session.work_out(), fact, self._read(fact), self._session.clock())

    def refuse(self, fact: str, product: str, amount: str = NOT_KNOWN, at: str = NOT_KNOWN) -> str:
        """Why a dose cannot have been given as typed; empty where it can."""
        found = read_typed(self._session, fact, f"{product}, {amount}, {at}")
        return found if isinstance(found, str) else ""

    def add(self, fact: str, product: str, amount: str, at: str) -> str:
        """Add a dose: a product's id, an amount, a moment, each "not known" where nobody knows it."""
        if refusal := self.refuse(fact, product, amount, at):
            return refusal
        more = f"{product}, {amount}, {at}"
        return change_fact(self._session, fact, lambda text: f"{text}; {more}" if text not in {"", NONE} else more)

    def take_off(self, fact: str, dose: str) -> str:
        """Take a dose off, as it was shown; where it was the last, none was given before."""

        def leave(text: str) -> str:
            left = [str(each) for at, each in enumerate(self._parse(fact, text)) if name_dose(at, each) != dose]
            return "; ".join(left) or NONE

        return change_fact(self._session, fact, leave)

    def say_none(self, fact: str) -> str:
        """Say that none was given before."""
        return give_typed(self._session, fact, NONE)

    def answer_same_baby(self, *, is_same: bool) -> str:
        """Count what others gave under this cot label as this baby's, beside what is known; or say that it is not.

        Where nobody said yet what was given before, and it is another baby's, none was.
        """
        session, found = self._session, self._history.find()
        if found is None:
            return ""
        doses = {name_moment(dose): dose.words() for dose in found.doses.doses}

        def decide(state: Preparation) -> Decision:
            had, more = state.facts.get(found.fact, NONE), str(found.doses) if is_same else NONE
            typed = "; ".join(text for text in (had, more) if text != NONE) or NONE
            read = read_fact(session.look_at(state).laid, found.fact, typed, session.clock())
            if isinstance(read, Problem):
                return Refusal(f"{say_wrong(read)}.")
            listed = session.list_ahead(state, FactGiven(found.fact, read[0]))
            return decide_same_baby(state, doses, is_same=is_same, fact=found.fact, value=read[0], listed=listed)

        return session.act(decide)

    def _read(self, fact: str) -> tuple[EarlierDose, ...]:
        return self._parse(fact, self._session.state.facts.get(fact, NONE))

    def _parse(self, fact: str, text: str) -> tuple[EarlierDose, ...]:
        read = read_fact(self._session.work_out().laid, fact, text, self._session.clock())
        return read[1].doses if isinstance(read, tuple) and isinstance(read[1], EarlierDoses) else ()
