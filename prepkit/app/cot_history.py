"""What other preparations gave under the cot label of an open one, while nobody said whether it is the same baby."""

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from prepkit.app.session import PreparationSession
from prepkit.kit.reads import find_doses_fact
from prepkit.view.doses import ask_same_baby

if TYPE_CHECKING:
    from prepkit.app.given_before import GivenBefore

_LOOKED_FOR = timedelta(minutes=1)
"""For how long a screen goes by what was found; the gate to the cot looks again."""


class CotHistory:
    """Looks in the store for one open preparation, and remembers for a moment what it found."""

    def __init__(self, session: PreparationSession) -> None:
        """Nothing is looked for yet."""
        self._session = session
        self._found: tuple[datetime, GivenBefore | None] | None = None

    def find(self, *, anew: bool = False) -> "GivenBefore | None":
        """What was given, and the fact that would hold it; None where there is nothing to ask.

        Args:
            anew: whether to look in the store again, whatever was found a moment ago.
        """
        session, now = self._session, self._session.clock()
        worked = session.work_out()
        fact = find_doses_fact(worked.laid)
        if fact is None or fact in session.state.facts or session.state.cot_record.is_away:
            return None
        if anew or self._found is None or not timedelta(0) <= now - self._found[0] < _LOOKED_FOR:
            # Reports load every document (140 ms): only where a list is open and nobody said what was given before.
            from prepkit.app.given_before import find_given_before  # noqa: PLC0415

            self._found = now, find_given_before(session.store, session.prep, session.state, worked, now)
        return self._found[1]

    def ask(self, *, anew: bool = False) -> str:
        """The same as a question; empty where there is nothing to ask."""
        found = self.find(anew=anew)
        return ask_same_baby(found.doses, self._session.state.cot, self._session.clock()) if found else ""
