"""Papers and exports of what the store keeps: preparations found by label or id, their records made.

May import: every layer but the front ends.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from prepkit.desk.ledger import read_events
from prepkit.documents.audit import Audit, is_counted, make_audit, make_case
from prepkit.documents.make_record import make_record
from prepkit.documents.record import RecordPaper
from prepkit.errors import StoreDamaged
from prepkit.list.lines import TrayList
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Event
from prepkit.preparation.evolve import fold
from prepkit.preparation.recompute import recompute_lists, work_out_as_listed
from prepkit.preparation.state import Preparation
from prepkit.preparation.streams import STAFF
from prepkit.preparation.worked import TextsUnreadableError, Worked
from prepkit.store import Store


@dataclass(frozen=True, slots=True)
class Kept:
    """One preparation as the store keeps it."""

    prep: str
    events: tuple[Event, ...]
    state: Preparation

    def words(self) -> str:
        """Which one it is, in a line."""
        practice = " · practice" if self.state.practice else ""
        ended = "closed" if self.state.cot_record.closed else "stood down" if self.state.stood_down else "in progress"
        started = f"{self.state.started.at:%Y-%m-%d %H:%M}"
        return f"{self.prep}  {self.state.cot} · {self.state.kit_name} · started {started} · {ended}{practice}"


@dataclass(frozen=True, slots=True)
class Papers:
    """One preparation ready to be written in any format."""

    kept: Kept
    worked: Worked
    record: RecordPaper

    @property
    def tray(self) -> TrayList | None:
        """The list; None where it is withheld."""
        return None if self.record.withheld else self.worked.tray


def list_ids(store: Store) -> tuple[str, ...]:
    """The id of every preparation, closed ones too, the oldest first."""
    return tuple(prep for prep in store.read_open(frozenset()) if prep != STAFF)


def read_kept(store: Store, prep: str) -> Kept:
    """Read one preparation whole.

    Raises:
        StoreDamaged: where its record cannot be taken for true.
    """
    events = read_events(store, prep)
    try:
        return Kept(prep, events, fold(events))
    except RecordUnreadable as error:
        raise StoreDamaged(f'The record of preparation "{prep}" cannot be read: {error}.') from error


def read_all_kept(store: Store) -> Iterator[Kept | str]:
    """Every preparation, the oldest first; a sentence in the place of one whose record cannot be read."""
    for prep in list_ids(store):
        try:
            yield read_kept(store, prep)
        except StoreDamaged as error:
            yield str(error)


def find_kept(store: Store, named: str) -> tuple[Kept, ...]:
    """Find preparations by their id, or else by their cot label, capitals or not."""
    if named in list_ids(store):
        return (read_kept(store, named),)
    label = " ".join(named.split()).casefold()
    return tuple(kept for kept in read_all_kept(store) if isinstance(kept, Kept) and kept.state.cot.casefold() == label)


def make_papers(store: Store, kept: Kept, now: datetime) -> Papers | str:
    """Make one preparation's record; a refusal in words where none may be shown or none can be made."""
    if kept.state.check is not None:
        who = kept.state.check.stamp.who
        return f"{who} is checking it blind: nothing of the list is shown to anybody until the check ends."
    try:
        worked = work_out_as_listed(kept.events)
    except TextsUnreadableError as error:
        return f"The kit's or the ward's text stored with it cannot be read: {error}"
    if worked is None:
        return "It has no list and nothing to print."
    record = make_record(
        kept.prep,
        kept.events,
        kept.state,
        worked,
        now,
        last_hash=store.read(kept.prep)[-1].hash,
        recomputed=_say_recomputed(kept),
    )
    return Papers(kept, worked, record)


def make_ward_audit(store: Store, first: date | None, last: date | None) -> Audit:
    """The audit over the closed records that were started from the first day to the last; None: all there are."""
    cases, left_out = [], []
    for kept in read_all_kept(store):
        if isinstance(kept, str):
            left_out.append(kept)
        elif is_counted(kept.state, first, last):
            worked = _work_out_quietly(kept)
            if isinstance(worked, str):
                left_out.append(worked)
            else:
                cases.append(make_case(kept.events, kept.state, worked))
    return make_audit(cases, _say_days(first, last), tuple(left_out))


def _work_out_quietly(kept: Kept) -> Worked | str:
    try:
        worked = work_out_as_listed(kept.events)
    except TextsUnreadableError:
        worked = None
    return worked or f'The texts stored with preparation "{kept.prep}" cannot be read: it is not counted.'


def _say_days(first: date | None, last: date | None) -> str:
    if first is None and last is None:
        return "all days"
    return f"{f'from {first}' if first else 'up'} {f'to {last}' if last else 'on'}"


def _say_recomputed(kept: Kept) -> str:
    lists = list(recompute_lists(kept.events))
    wrong = next((each for each in lists if each.wrong), None)
    if wrong is not None:
        return f"NOT AS STORED: the list of event {wrong.seq} differs when it is worked out again: {wrong.wrong}."
    return f"All {len(lists)} lists came out again to the letter from the texts stored with them."
