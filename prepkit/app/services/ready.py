"""The gate of one preparation: what is still missing, read aloud before the team goes, or stood down."""

from prepkit.app.cot_history import CotHistory
from prepkit.app.session import PreparationSession
from prepkit.preparation.decide import decide_read_aloud, decide_stand_down
from prepkit.preparation.decision import Decision
from prepkit.preparation.listing import work_out
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import Preparation
from prepkit.view.models import ReadyView
from prepkit.view.ready import find_missing, show_ready


class ReadyService:
    """Going to the cot, or not. Methods that change something return a refusal, or an empty string."""

    def __init__(self, session: PreparationSession, history: CotHistory) -> None:
        """Nothing is read yet."""
        self._session = session
        self._history = history

    def show_ready(self) -> ReadyView:
        """The gate."""
        session = self._session
        session.note_seen()
        asked = self._history.ask(at_gate=True)
        return show_ready(session.state, session.work_out(), session.clock(), session.find_news(), asked)

    def read_aloud(self) -> str:
        """Record that the summary as shown was read aloud and the team goes to the cot."""
        seen = compute_ready_fingerprint(self._session.state)

        # The gate goes by the files themselves, whatever their times say.
        ward, asked = self._session.files.look_at_ward(again=True), self._history.ask(at_gate=True, anew=True)

        def decide(state: Preparation) -> Decision:
            now = self._session.clock()
            missing = find_missing(state, work_out(state, now), now, self._session.find_news(ward), asked)
            return decide_read_aloud(state, missing, compute_ready_fingerprint(state), seen)

        return self._session.act(decide, policy=self._session.identity.read_policy(ward))

    def stand_down(self, reason: str) -> str:
        """End the preparation without going to the cot, with the reason. Nothing is deleted."""
        return self._session.act(lambda state: decide_stand_down(state, reason))

    @property
    def is_stood_down(self) -> bool:
        """Whether the preparation has ended without going to the cot."""
        return self._session.state.stood_down is not None
