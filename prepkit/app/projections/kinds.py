"""The kinds of projection: a preparation's cot label, its row of the audit, and who had which part in it.

Each kind names the files and folders whose code decides what it holds: change one, and its projections are built again.
"""

from datetime import UTC, datetime

from prepkit.app.eventlog.repository import StoredPreparation, read_event, read_stored_preparation
from prepkit.app.projections.projection import ProjectionKind, Unprojectable, build_projections
from prepkit.documents.audit import is_counted, make_audit_row, write_audit_row
from prepkit.documents.logbook import make_team_roles, write_team_roles
from prepkit.errors import StoreDamaged
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Started
from prepkit.preparation.listing import TextsUnreadableError, WorkedList
from prepkit.preparation.recompute import work_out_as_listed
from prepkit.store import Projection, Store


def make_label_key(cot: str) -> str:
    """A cot label as it is looked for: capitals or not, however many spaces."""
    return " ".join(cot.split()).casefold()


def make_time_key(at: datetime) -> str:
    """A moment so that the later one is the greater text."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds")


def _build_label(store: Store, prep: str) -> Projection | Unprojectable:
    """Found by its cot label, which its first record says for good: no other record is looked into."""
    try:
        records = store.read(prep)
        started = read_event(records[0]) if records else None
    except (StoreDamaged, RecordUnreadable) as error:
        return Unprojectable(f'The record of preparation "{prep}" cannot be read: {error}.', None)
    if started is None:  # the stream index names it, and somebody took its records away, or it never had any
        return Unprojectable(f'The record of preparation "{prep}" cannot be read: it is empty.', None)
    label = make_label_key(started.payload.cot) if isinstance(started.payload, Started) else ""
    return Projection(prep, records[-1].hash, label, make_time_key(started.stamp.at))


def _build_audit_row(store: Store, prep: str) -> Projection | Unprojectable:
    """Found by the day it was started; empty where it does not count."""
    try:
        stored = read_stored_preparation(store, prep)
    except StoreDamaged as error:
        return Unprojectable(str(error), None)
    day = f"{stored.state.started.at:%Y-%m-%d}"
    if not is_counted(stored.state, None, None):
        return Projection(prep, stored.last_hash, day, "")
    worked = _work_out_quietly(stored)
    if worked is None:
        return Unprojectable(f'The texts stored with preparation "{prep}" cannot be read: it is not counted.', day)
    return Projection(prep, stored.last_hash, day, write_audit_row(make_audit_row(stored.events, stored.state, worked)))


def _work_out_quietly(stored: StoredPreparation) -> WorkedList | None:
    try:
        return work_out_as_listed(stored.events)
    except TextsUnreadableError:
        return None


def _build_part(store: Store, prep: str) -> Projection | Unprojectable:
    try:
        stored = read_stored_preparation(store, prep)
    except StoreDamaged as error:
        return Unprojectable(str(error), None)
    team = make_team_roles(stored.events, stored.state)
    return Projection(prep, stored.last_hash, make_time_key(stored.state.started.at), write_team_roles(team))


_READING_SOURCES = (
    "attribution.py",
    "canonical.py",
    "preparation",
    "app/eventlog/repository.py",
    "app/projections/kinds.py",
)
_BUILDING_SOURCES = ("quantities", "scan", "kit", "rules", "wording", "list", *_READING_SOURCES)

COT_LABEL = ProjectionKind("label", _READING_SOURCES, _build_label)
"""By cot label: when it was started."""

AUDIT_ROW = ProjectionKind("case", ("documents/audit.py", "documents/bars.py", *_BUILDING_SOURCES), _build_audit_row)
"""By day; what a closed record adds to the audit, empty where it does not count."""

PART = ProjectionKind("part", ("documents/logbook.py", "documents/safe_text.py", *_BUILDING_SOURCES), _build_part)
"""By when it was started: who had which part in it."""

PROJECTION_KINDS: tuple[ProjectionKind, ...] = (COT_LABEL, AUDIT_ROW, PART)


def build_all_projections(store: Store, prep: str) -> None:
    """Build every projection of one preparation that has ended."""
    build_projections(store, prep, PROJECTION_KINDS)
