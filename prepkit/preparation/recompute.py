"""A stored list worked out again from the texts and facts stored with it.

It has to come out with the same values, whatever kits and ward file are on the machine today, and whatever our
sentences say by now.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from msgspec import Struct

from prepkit.attribution import Attribution
from prepkit.preparation.events import Event
from prepkit.preparation.evolve import evolve
from prepkit.preparation.lines.events import LineSnapshot, Listed, are_lines_other
from prepkit.preparation.listing import TextsUnreadableError, WorkedList, make_listed, work_out
from prepkit.preparation.state import Preparation

_SLACK = timedelta(seconds=10)
"""A list is worked out a little before or after the moment its event is stamped with; where the review date of an
approval or the interval of a dose falls between the two, the list is that of the one side or of the other."""


class RecomputedList(Struct, frozen=True):
    """One stored list, worked out again."""

    seq: int
    stamp: Attribution
    wrong: str
    """What differs, in words; empty where every line came out the same."""


def recompute_lists(events: Iterable[Event]) -> Iterator[RecomputedList]:
    """Work out every list of one record again, in order. Raises `RecordUnreadable` as `fold` does.

    Lines are compared by what they are, and a withheld list by the kind of its reason: never by words.
    """
    state: Preparation | None = None
    for event in events:
        if isinstance(event.payload, Listed) and state is not None:
            yield RecomputedList(event.seq, event.stamp, _compare(state, event.payload, event.stamp.at))
        state = evolve(state, event)


def work_out_as_listed(events: Iterable[Event]) -> WorkedList | None:
    """Work out what a record holds now, for the moment of its last list; None if it has no list.

    Raises:
        TextsUnreadableError: where the stored kit or ward text has problems.
    """
    state: Preparation | None = None
    last: tuple[Preparation, Listed, datetime] | None = None
    for event in events:
        if isinstance(event.payload, Listed) and state is not None:
            last = (state, event.payload, event.stamp.at)
        state = evolve(state, event)
    if last is None or state is None:
        return None
    before, listed, at = last
    found = (moment for moment in _list_moments(at) if _same(work_out(before, moment), listed))
    return work_out(state, next(found, at))


def _compare(state: Preparation, stored: Listed, at: datetime) -> str:
    try:
        found = [work_out(state, moment) for moment in _list_moments(at)]
    except TextsUnreadableError as error:
        return f"the kit's or the ward's text stored with it cannot be read: {error.problems[0].headline()}"
    if any(_same(worked, stored) for worked in found):
        return ""
    return _say_difference(stored, make_listed(found[0], stored.because))


def _list_moments(at: datetime) -> tuple[datetime, ...]:
    return at, at - _SLACK, at + _SLACK


def _same(worked: WorkedList, stored: Listed) -> bool:
    return worked.why == stored.why and not are_lines_other(make_listed(worked, stored.because).lines, stored.lines)


def _say_difference(stored: Listed, found: Listed) -> str:
    if stored.withheld or found.withheld:
        return f"the store has {_say_list(stored)}, worked out again there is {_say_list(found)}"
    old, new = {line.id: line for line in stored.lines}, {line.id: line for line in found.lines}
    for id_ in (*old, *(each for each in new if each not in old)):
        was, now = old.get(id_), new.get(id_)
        if was is None or now is None or was.compared != now.compared:
            return f'line "{id_}": the store has {_say_line(was)}, worked out again {_say_line(now)}'
    return "the lines stand in another order"


def _say_list(listed: Listed) -> str:
    return f'no list ("{listed.withheld}")' if listed.withheld else f"a list of {len(listed.lines)} lines"


def _say_line(line: LineSnapshot | None) -> str:
    if line is None:
        return "no such line"
    shown = f"blocked ({line.blocked})" if line.blocked else line.show or "no amount"
    return f'"{line.name}: {shown}" (fingerprint {line.fingerprint[:12]})'
