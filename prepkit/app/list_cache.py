"""The list of one preparation, cached for a few seconds and only for exactly the same facts and texts."""

from datetime import UTC, datetime, timedelta

from msgspec import Struct

from prepkit.kit.facts import DONE
from prepkit.preparation.lines.events import GivenValue, Listed, Ordered
from prepkit.preparation.listing import WorkedList, make_listed, work_out
from prepkit.preparation.state import Preparation

_STALE_AFTER = timedelta(seconds=5)


class _ListKey(Struct, frozen=True):
    """Everything a worked-out list depends on but the time."""

    started: datetime
    facts: tuple[tuple[str, str], ...]
    answers: tuple[tuple[str, str], ...]
    orders: tuple[Ordered, ...]
    entered: tuple[tuple[str, GivenValue], ...]
    confirmed: tuple[str, ...]
    disputed: bool
    kit_text: str
    ward_text: str | None


class ListCache:
    """The list of one preparation, worked out again where anything but the last few seconds is new."""

    def __init__(self) -> None:
        """Nothing is cached yet."""
        self._cached: tuple[_ListKey, datetime, WorkedList] | None = None
        self._listed: tuple[WorkedList, Listed] | None = None

    def work_out(self, state: Preparation, now: datetime) -> WorkedList:
        """The list as it is at this moment."""
        key = _make_key(state)
        at = now.astimezone(UTC)  # two times of one zone are an hour out of each other when the clocks go back
        if self._cached is not None and self._cached[0] == key and timedelta(0) <= at - self._cached[1] < _STALE_AFTER:
            return self._cached[2]
        worked = work_out(state, now)
        self._cached = (key, at, worked)
        return worked

    def make_listed(self, state: Preparation, now: datetime) -> Listed:
        """The event that records this list where time changed it; made once for the very list that is cached."""
        worked = self.work_out(state, now)
        if self._listed is None or self._listed[0] is not worked:
            self._listed = (worked, make_listed(worked, "time"))
        return self._listed[1]


def _make_key(state: Preparation) -> _ListKey:
    return _ListKey(
        started=state.started.at,
        facts=tuple(state.facts.items()),
        answers=(
            *((name, given.answer) for name, given in state.answers.items()),
            *((name, DONE) for name in state.said),
        ),
        orders=tuple(given.what for given in state.orders.values()),
        entered=tuple(state.entered.items()),
        confirmed=tuple(state.confirmations),
        disputed=state.disputed is not None,
        kit_text=state.kit_text,
        ward_text=state.ward_text,
    )
