"""What a newly worked out list does to the marks made on the one before.

A mark stands while its line has the fingerprint the mark was made for. A list that is withheld takes nothing away: its
marks rest and count for nothing until lines come back, and then each is held against its line. A line that was marked
and is missing from a list with lines loses its mark for good, even if it comes back the same: between the two lists,
things may have left the tray. May import: this layer's events and marks, msgspec and the standard library.
"""

from collections.abc import Mapping
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from prepkit.preparation.events import LineStamp
from prepkit.preparation.marks import Aside, Change, Held, Tick


class Marks(Struct, frozen=True):
    """Every mark on a list, and the changes that took marks away."""

    ticks: Mapping[str, Tick]
    set_asides: Mapping[str, Aside]
    changes: Mapping[str, Change]


def does_tick_stand(tick: Tick, line: LineStamp | None) -> bool:
    """Say whether a tick counts for the line as it is now (None: the line is not on the list)."""
    return line is not None and tick.fingerprint == line.fingerprint and not line.blocked


def does_aside_stand(aside: Aside, line: LineStamp | None) -> bool:
    """Say whether "set aside" counts for the line as it is now (None: the line is not on the list)."""
    return line is not None and aside.fingerprint == line.fingerprint and not line.essential


def compute_marks(marks: Marks, lines: tuple[LineStamp, ...], at: datetime) -> Marks:
    """Compute which marks stand on the new lines; those that do not become changes, made at `at`.

    `lines` are those of a list that is not withheld: for a withheld one nothing is to be computed.
    """
    new = {line.id: line for line in lines}
    ticks = {id_: tick for id_, tick in marks.ticks.items() if does_tick_stand(tick, new.get(id_))}
    asides = {id_: aside for id_, aside in marks.set_asides.items() if does_aside_stand(aside, new.get(id_))}
    changes = {id_: _bring_up(change, new.get(id_), at) for id_, change in marks.changes.items()}
    for id_, tick in marks.ticks.items():
        if id_ not in ticks:
            changes[id_] = _make_change(tick, new.get(id_), at)
    for id_, aside in marks.set_asides.items():
        if id_ not in asides:
            changes[id_] = _make_change(aside, new.get(id_), at)
    return Marks(ticks, asides, changes)


def keep_in_hand(
    in_hand: Mapping[str, tuple[Held, ...]], lines: tuple[LineStamp, ...]
) -> Mapping[str, tuple[Held, ...]]:
    """Keep what is in hand for lines that are still what they were; as with ticks, the rest has to be given again."""
    now = {line.id: line.fingerprint for line in lines}
    kept = {id_: tuple(each for each in held if each.fingerprint == now.get(id_)) for id_, held in in_hand.items()}
    return {id_: held for id_, held in kept.items() if held}


def _make_change(mark: Tick | Aside, line: LineStamp | None, at: datetime) -> Change:
    return Change(
        name=mark.name if line is None else line.name,
        old_show=mark.show,
        new_show="" if line is None else line.show,
        at=at,
        was_by=mark.stamp.who,
        was_set_aside=isinstance(mark, Aside),
        gone=line is None,
    )


def _bring_up(change: Change, line: LineStamp | None, at: datetime) -> Change:
    """Bring an older change up to the new list; it keeps its time where the list says nothing new about it."""
    if line is None:
        return change if change.gone else replace(change, new_show="", at=at, gone=True)
    if not change.gone and change.new_show == line.show:
        return replace(change, name=line.name)
    return replace(change, name=line.name, new_show=line.show, at=at, gone=False)
