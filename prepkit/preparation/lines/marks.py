"""What a new list does to the marks on lines: which ticks and set-asides count, and which are lost.

A mark counts while its line has the fingerprint it was made for. A list that is withheld takes nothing away: its marks
rest until lines come back, then each is held against its line. So do marks, batches and checks of a line that is
blocked only because a fact of the baby is wanted: with the fact the very same line may come back, and nobody took it
off the tray. A marked line that is missing from a list with lines loses its mark for good, even if it comes back the
same: in between, things may have left the tray.
"""

from collections.abc import Mapping
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from prepkit.preparation.check.events import Check
from prepkit.preparation.lines.events import Aside, LineSnapshot, Tick


class LostMark(Struct, frozen=True):
    """A mark that a newer list took away. It stays until somebody ticks the line or sets it aside again."""

    name: str
    old_show: str
    """What the line showed when the mark was made."""
    new_show: str
    """What it shows now; empty while it is gone."""
    fingerprint: str
    """Of the line as it is now; empty while it is gone."""
    at: datetime
    """When the newer list was worked out."""
    was_by: str
    """Whose mark it was."""
    was_set_aside: bool
    """Whether the mark was "set aside" rather than a tick."""
    gone: bool
    """Whether the line is not on the newest list: what was laid out for it may still be on the tray."""


class GroupCount(Struct, frozen=True):
    """How far one group of the list is."""

    group: str
    ticked: int
    set_aside: int
    total: int

    @property
    def left(self) -> int:
        """Lines neither ticked nor set aside."""
        return self.total - self.ticked - self.set_aside


class Marks(Struct, frozen=True):
    """Every mark on a list, and the changes that took marks away."""

    ticks: Mapping[str, Tick]
    set_asides: Mapping[str, Aside]
    changes: Mapping[str, LostMark]


def does_tick_count(tick: Tick, line: LineSnapshot | None) -> bool:
    """Say whether a tick counts for the line as it is now; None if the line is not on the list."""
    return line is not None and tick.fingerprint == line.fingerprint and not line.blocked


def does_aside_count(aside: Aside, line: LineSnapshot | None) -> bool:
    """Say whether "set aside" counts for the line as it is now; None if the line is not on the list."""
    return line is not None and aside.fingerprint == line.fingerprint and not line.essential


def is_kept(fingerprint: str, line: LineSnapshot | None) -> bool:
    """Say whether something made for this fingerprint is kept by a list: it is for the line as it is now, or rests."""
    return line is not None and (line.fingerprint == fingerprint or line.is_waiting)


def compute_marks(marks: Marks, lines: tuple[LineSnapshot, ...], at: datetime) -> Marks:
    """Compute which marks count or rest on the new lines; the others become changes, made at `at`.

    Only for a list that is not withheld: a withheld one takes no mark away.
    """
    new = {line.id: line for line in lines}
    rest = {line.id for line in lines if line.is_waiting}
    ticks = {id_: tick for id_, tick in marks.ticks.items() if id_ in rest or does_tick_count(tick, new.get(id_))}
    asides = {
        id_: aside for id_, aside in marks.set_asides.items() if id_ in rest or does_aside_count(aside, new.get(id_))
    }
    changes = {id_: _bring_up(change, new.get(id_), at) for id_, change in marks.changes.items()}
    for id_, tick in marks.ticks.items():
        if id_ not in ticks:
            changes[id_] = lose_mark(tick, new.get(id_), at)
    for id_, aside in marks.set_asides.items():
        if id_ not in asides:
            changes[id_] = lose_mark(aside, new.get(id_), at)
    return Marks(ticks, asides, changes)


def lose_mark(mark: Tick | Aside | Check, line: LineSnapshot | None, at: datetime) -> LostMark:
    """Say what became of a mark that does not count for the line as it is now; None if the line is not on the list."""
    return LostMark(
        name=mark.name if line is None else line.name,
        old_show=mark.show,
        new_show="" if line is None else line.show,
        fingerprint="" if line is None else line.fingerprint,
        at=at,
        was_by=mark.stamp.who,
        was_set_aside=isinstance(mark, Aside),
        gone=line is None,
    )


def _bring_up(change: LostMark, line: LineSnapshot | None, at: datetime) -> LostMark:
    """Bring an older change up to date with the new list; it keeps its time if the list changed nothing about it."""
    if line is None:
        return change if change.gone else replace(change, new_show="", fingerprint="", at=at, gone=True)
    if change.fingerprint == line.fingerprint:
        return replace(change, name=line.name)
    return replace(change, name=line.name, new_show=line.show, fingerprint=line.fingerprint, at=at, gone=False)
