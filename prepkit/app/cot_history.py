"""What other preparations gave under the cot label of an open one, until somebody said whether it is the same baby."""

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from msgspec.structs import replace

from prepkit.app.session import PreparationSession
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.reads import find_doses_fact
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
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

    def find(self, *, at_gate: bool = False, anew: bool = False) -> "GivenBefore | None":
        """What was given and not asked about yet, and the fact that would hold it; None where there is nothing to ask.

        Args:
            at_gate: whether to look, once somebody said what was given before, for what others gave since.
            anew: whether to look in the store again, whatever was found a moment ago.
        """
        session, now = self._session, self._session.clock()
        worked = session.work_out()
        fact = find_doses_fact(worked.laid)
        if fact is None or session.state.cot_record.is_away:
            return None
        is_wanted = at_gate or fact not in session.state.facts
        is_old = self._found is None or not timedelta(0) <= now - self._found[0] < _LOOKED_FOR
        if anew or (is_wanted and is_old):
            # Reports load every document (140 ms): a list goes without them once somebody said what was given before.
            from prepkit.app.given_before import find_given_before  # noqa: PLC0415

            self._found = now, find_given_before(session.store, session.prep, session.state, worked, now)
        return leave_unasked(self._found[1], session.state, worked) if self._found and self._found[1] else None

    def ask(self, *, at_gate: bool = False, anew: bool = False) -> str:
        """The same as a question; empty where there is nothing to ask."""
        session, found = self._session, self.find(at_gate=at_gate, anew=anew)
        if found is None:
            return ""
        return ask_same_baby(found.doses, session.state.cot, session.clock(), is_more=found.fact in session.state.facts)


def leave_unasked(found: "GivenBefore", state: Preparation, worked: WorkedList) -> "GivenBefore | None":
    """Leave what was not asked about yet and does not stand among the doses given before; None where nothing is left.

    A dose is the one that was given at its moment, whatever was read of it since.
    """
    had = worked.baby.facts.get(found.fact) if worked.baby else None
    known = {name_moment(dose) for dose in had.doses} if isinstance(had, EarlierDoses) else set()
    left = tuple(dose for dose in found.doses.doses if name_moment(dose) not in known | state.doses_asked)
    return replace(found, doses=EarlierDoses(left)) if left else None


def name_moment(dose: EarlierDose) -> str:
    """When a dose was given, in UTC to the minute; empty where nobody knows."""
    return dose.at.astimezone(UTC).isoformat(timespec="minutes") if dose.at else ""
