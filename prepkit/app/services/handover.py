"""Handing one preparation over to the next person, and taking it."""

from prepkit.app.cot_history import CotHistory
from prepkit.app.session import PreparationSession
from prepkit.preparation.decision import Decision
from prepkit.preparation.handover.decide import decide_hand_over, decide_take_over
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import Preparation
from prepkit.view.handover import HandoverView, show_handover


class HandoverService:
    """Hands one open preparation over, and takes it. Methods return a refusal, or an empty string."""

    def __init__(self, session: PreparationSession, history: CotHistory) -> None:
        """Nothing is read yet."""
        self._session = session
        self._history = history

    def show_handover(self) -> HandoverView:
        """What the next person has to know."""
        session = self._session
        return show_handover(session.state, session.work_out(), session.clock(), self._history.ask())

    def hand_over(self, note: str) -> str:
        """Leave it to the next person, with one line for them."""
        return self._session.act(lambda state: decide_hand_over(state, note))

    def take_over(self, seen: str) -> str:
        """Take it as it was shown; `seen` is the view's fingerprint. Whoever is signed in takes it."""

        def decide(state: Preparation) -> Decision:
            return decide_take_over(state, compute_ready_fingerprint(state), seen)

        return self._session.act(decide)
