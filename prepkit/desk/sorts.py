"""The sorts of gist: what a preparation is called, what it adds to the audit, who had which part in it.

May import: every layer but the front ends.
"""

from datetime import UTC, datetime

from prepkit.desk.gists import Left, Sort
from prepkit.desk.ledger import read_event
from prepkit.desk.whole import Kept, read_kept
from prepkit.documents.audit import is_counted, make_case
from prepkit.documents.case_text import write_case
from prepkit.documents.mine import make_shared, write_shared
from prepkit.errors import StoreDamaged
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Started
from prepkit.preparation.recompute import work_out_as_listed
from prepkit.preparation.worked import TextsUnreadableError, Worked
from prepkit.store import Gist, Store


def write_label(cot: str) -> str:
    """A cot label as it is looked for: capitals or not, however many spaces."""
    return " ".join(cot.split()).casefold()


def write_started(at: datetime) -> str:
    """A moment so that the later one is the greater text."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds")


def _make_label(store: Store, prep: str) -> Gist | Left:
    """Its first record says it for good; nothing else has to be read from them."""
    try:
        records = store.read(prep)
        started = read_event(records[0]) if records else None
    except (StoreDamaged, RecordUnreadable) as error:
        return Left(f'The record of preparation "{prep}" cannot be read: {error}.', None)
    if started is None:  # a head of which somebody took the records away, or that never had any
        return Left(f'The record of preparation "{prep}" cannot be read: it is empty.', None)
    label = write_label(started.payload.cot) if isinstance(started.payload, Started) else ""
    return Gist(prep, records[-1].hash, label, write_started(started.stamp.at))


def _make_case(store: Store, prep: str) -> Gist | Left:
    """By the day it was started; empty where it does not count."""
    try:
        kept = read_kept(store, prep)
    except StoreDamaged as error:
        return Left(str(error), None)
    day = f"{kept.state.started.at:%Y-%m-%d}"
    if not is_counted(kept.state, None, None):
        return Gist(prep, kept.last_hash, day, "")
    worked = _work_out_quietly(kept)
    if worked is None:
        return Left(f'The texts stored with preparation "{prep}" cannot be read: it is not counted.', day)
    return Gist(prep, kept.last_hash, day, write_case(make_case(kept.events, kept.state, worked)))


def _work_out_quietly(kept: Kept) -> Worked | None:
    try:
        return work_out_as_listed(kept.events)
    except TextsUnreadableError:
        return None


def _make_part(store: Store, prep: str) -> Gist | Left:
    try:
        kept = read_kept(store, prep)
    except StoreDamaged as error:
        return Left(str(error), None)
    shared = make_shared(kept.events, kept.state)
    return Gist(prep, kept.last_hash, write_started(kept.state.started.at), write_shared(shared))


_READING = ("preparation", "desk/ledger.py", "desk/whole.py", "desk/sorts.py")
_MAKING = ("quantities", "scan", "kit", "rules", "list", *_READING)

LABEL = Sort("label", _READING, _make_label)
"""By cot label: when it was started."""

CASE = Sort("case", ("documents/audit.py", "documents/bars.py", "documents/case_text.py", *_MAKING), _make_case)
"""By day; what a closed record adds to the audit, empty where it does not count."""

PART = Sort("part", ("documents/mine.py", "documents/safe.py", "documents/wrap.py", *_MAKING), _make_part)
"""By when it was started: who had which part in it."""

SORTS: tuple[Sort, ...] = (LABEL, CASE, PART)
