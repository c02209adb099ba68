"""Doses that a baby had before: shown, added, taken off; and what other preparations gave under its cot label."""

from prepkit.app.cot_history import CotHistory
from prepkit.app.facts import change_fact, give_typed, read_typed
from prepkit.app.session import PreparationSession
from prepkit.kit.earlier import NONE, EarlierDose, EarlierDoses
from prepkit.kit.facts import read_fact
from prepkit.kit.names import NOT_KNOWN
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
        """Count what others gave under this cot label as this baby's; or say that none was given before."""
        found = self._history.find()
        if found is None:
            return ""
        return give_typed(self._session, found.fact, str(found.doses) if is_same else NONE)

    def _read(self, fact: str) -> tuple[EarlierDose, ...]:
        return self._parse(fact, self._session.state.facts.get(fact, NONE))

    def _parse(self, fact: str, text: str) -> tuple[EarlierDose, ...]:
        read = read_fact(self._session.work_out().laid, fact, text, self._session.clock())
        return read[1].doses if isinstance(read, tuple) and isinstance(read[1], EarlierDoses) else ()
