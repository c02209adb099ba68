"""Finished lines that have gone past their time; it cannot go ready until somebody sees to them.

Each check is a small function that gives one sentence a line.
"""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from math import ceil

from msgspec import Struct

from prepkit.preparation.batches.decide import list_lines_wanting_batches
from prepkit.preparation.lines.events import LineSnapshot
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.text import show_amount


class Stale(Struct, frozen=True):
    """One finished line that has gone past its time."""

    line: str
    name: str
    why: str
    """What came of it and what to do about it."""

    @property
    def words(self) -> str:
        """The same, beginning with the line's name."""
        return f"{self.name}: {self.why}"


def find_stale(state: Preparation, worked: WorkedList, now: datetime) -> tuple[str, ...]:
    """Find what is stale, a sentence each; nothing once the preparation has ended."""
    return tuple(stale.words for stale in list_stale(state, worked, now))


def list_stale(state: Preparation, worked: WorkedList, now: datetime) -> tuple[Stale, ...]:
    """List what is stale with its line: check by check, each in the order of the list."""
    if state.stood_down is not None:
        return ()
    ticked = [line for line in state.lines if state.is_ticked(line.id)]
    return tuple(stale for check in _CHECKS for stale in check(ticked, state, worked, now))


def _find_expired(
    ticked: list[LineSnapshot], state: Preparation, _worked: WorkedList, now: datetime
) -> Iterator[Stale]:
    """Find batches that went out of date since they were given."""
    for line in ticked:
        for held in state.find_in_hand(line.id):
            if held.expiry < now.date():
                why = f"out of date, batch {held.batch} was in date until {held.expiry}: take another one"
                yield Stale(line.id, line.name, why)


def _find_not_given(
    ticked: list[LineSnapshot], state: Preparation, worked: WorkedList, _now: datetime
) -> Iterator[Stale]:
    """Find lines that were ticked before the ward wanted batch and expiry."""
    wanting = set(list_lines_wanting_batches(worked))
    for line in ticked:
        if line.id in wanting and not state.find_in_hand(line.id):
            yield Stale(line.id, line.name, "give batch and expiry of what was used")


def _find_kept_too_long(
    ticked: list[LineSnapshot], state: Preparation, worked: WorkedList, now: datetime
) -> Iterator[Stale]:
    """Find syringes that were drawn up longer ago than the ward allows."""
    limit = worked.ward.model.drawn_up if worked.ward else None
    if limit is None:
        return
    for line in ticked:
        since = state.ticks[line.id].stamp.at
        if line.id in _list_drawn_up(worked) and _is_past(since, limit, now):
            why = f"drawn up at {since:%H:%M}, more than {show_amount(limit)} ago: draw it up afresh"
            yield Stale(line.id, line.name, why)


def _find_too_warm(
    ticked: list[LineSnapshot], state: Preparation, worked: WorkedList, now: datetime
) -> Iterator[Stale]:
    """Find medicines that have been out of the fridge too long, counted from when they were first in hand."""
    products = _list_products(worked)
    for line in ticked:
        limit = products.get(line.id)
        since = min([state.ticks[line.id].stamp.at, *(held.stamp.at for held in state.find_in_hand(line.id))])
        if limit is not None and _is_past(since, limit, now):
            why = f"out of the fridge since {since:%H:%M}, more than {show_amount(limit)}: take another one"
            yield Stale(line.id, line.name, why)


def _list_drawn_up(worked: WorkedList) -> frozenset[str]:
    lines = worked.tray.lines if worked.tray else ()
    return frozenset(line.id for line in lines if line.outcome.syringe is not None)


def _list_products(worked: WorkedList) -> dict[str, Amount]:
    """List how long each line's medicine may stand out of the fridge, where that is stated."""
    limits = {each.id: each.once_warm for each in worked.laid.product}
    lines = worked.tray.lines if worked.tray else ()
    return {
        line.id: limit
        for line in lines
        if line.outcome.product and (limit := limits.get(line.outcome.product)) is not None
    }


def _is_past(since: datetime, limit: Amount, now: datetime) -> bool:
    """Say whether more than the limit has passed; in UTC, since clocks change."""
    return now.astimezone(UTC) - since.astimezone(UTC) > timedelta(minutes=ceil(convert(limit, "min").value))


_CHECKS: tuple[Callable[[list[LineSnapshot], Preparation, WorkedList, datetime], Iterator[Stale]], ...] = (
    _find_expired,
    _find_not_given,
    _find_kept_too_long,
    _find_too_warm,
)
