"""The sorts of gist: what a preparation is called, and what it adds to the audit.

May import: every layer but the front ends.
"""

from prepkit.desk.gists import Left, Sort
from prepkit.desk.ledger import read_event
from prepkit.desk.whole import Kept, read_kept
from prepkit.documents.audit import is_counted, make_case
from prepkit.documents.case_text import write_case
from prepkit.errors import StoreDamaged
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Started
from prepkit.preparation.recompute import work_out_as_listed
from prepkit.preparation.worked import TextsUnreadableError, Worked
from prepkit.store import Gist, Store


def write_label(cot: str) -> str:
    """A cot label as it is looked for: capitals or not, however many spaces."""
    return " ".join(cot.split()).casefold()


def _make_label(store: Store, prep: str) -> Gist | Left:
    """Its first record says it for good; nothing else has to be read from them."""
    try:
        records = store.read(prep)
        started = read_event(records[0]).payload
    except (StoreDamaged, RecordUnreadable) as error:
        return Left(f'The record of preparation "{prep}" cannot be read: {error}.', None)
    label = write_label(started.cot) if isinstance(started, Started) else ""
    return Gist(prep, records[-1].hash, label, "")


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


_READING = ("preparation", "desk/ledger.py", "desk/whole.py", "desk/sorts.py")

LABEL = Sort("label", _READING, _make_label)
"""By cot label; nothing more is kept."""

CASE = Sort(
    "case",
    (
        "quantities",
        "scan",
        "kit",
        "rules",
        "list",
        "documents/audit.py",
        "documents/bars.py",
        "documents/case_text.py",
        *_READING,
    ),
    _make_case,
)
"""By day; what a closed record adds to the audit, empty where it does not count."""

SORTS: tuple[Sort, ...] = (LABEL, CASE)
