"""Reports on what the store holds: the record of one preparation, the ward's audit, one person's own list.

A preparation is found by its id or its cot label. Nothing is written here: `prepkit.documents` does that.
"""

from datetime import date, datetime

from msgspec import Struct

from prepkit.app.eventlog.repository import StoredPreparation, read_stored_preparation
from prepkit.app.projections.kinds import AUDIT_ROW, COT_LABEL, PART, make_label_key
from prepkit.app.projections.projection import TellProgress, find_projections, tell_nobody
from prepkit.documents.audit import Audit, make_audit, read_audit_row
from prepkit.documents.logbook import Part, find_part, read_team_roles
from prepkit.documents.make_record import make_record
from prepkit.documents.record import PreparationRecord
from prepkit.errors import StoreDamaged
from prepkit.list.lines import TrayList
from prepkit.people import STAFF_STREAM
from prepkit.preparation.listing import TextsUnreadableError, WorkedList
from prepkit.preparation.recompute import recompute_lists, work_out_as_listed
from prepkit.store import Projection, Store

MOST_FOUND = 20
"""Preparations that are named where a label has several."""


class RecordExport(Struct, frozen=True):
    """One preparation ready to be written in any format."""

    stored: StoredPreparation
    worked: WorkedList
    record: PreparationRecord

    @property
    def tray(self) -> TrayList | None:
        """The list; None where it is withheld."""
        return None if self.record.withheld else self.worked.tray


def find_stored_preparations(store: Store, named: str) -> tuple[StoredPreparation, ...]:
    """Find preparations by their id, or else by their cot label, capitals or not; the oldest first.

    Cots are used again: of many with one label the last `MOST_FOUND` are read, the others are found by their id.

    Raises:
        StoreDamaged: where the only one there is cannot be read.
    """
    if named != STAFF_STREAM and store.read(named, most=1):
        return (read_stored_preparation(store, named),)
    label = make_label_key(named)
    projections = sorted(
        find_projections(store, COT_LABEL, label, label).projections, key=lambda projection: projection.body
    )
    found: list[StoredPreparation] = []
    unreadable: list[StoreDamaged] = []
    for projection in projections[-MOST_FOUND:]:
        try:
            found.append(read_stored_preparation(store, projection.prep))
        except StoreDamaged as error:
            unreadable.append(error)
    # The records have the last word: a projection only says where to look.
    right = tuple(stored for stored in found if make_label_key(stored.state.cot) == label)
    if unreadable and not right:
        raise unreadable[0]
    return right


def make_record_export(stored: StoredPreparation, now: datetime) -> RecordExport | str:
    """Make one preparation's record; a refusal in words where none may be shown or none can be made."""
    if stored.state.check is not None:
        who = stored.state.check.stamp.who
        return f"{who} is checking it blind: nothing of the list is shown to anybody until the check ends."
    try:
        worked = work_out_as_listed(stored.events)
    except TextsUnreadableError as error:
        return f"The kit's or the ward's text stored with it cannot be read: {error}"
    if worked is None:
        return "It has no list and nothing to print."
    record = make_record(
        stored.prep,
        stored.events,
        stored.state,
        worked,
        now,
        last_hash=stored.last_hash,
        recomputed=_say_recomputed(stored),
    )
    return RecordExport(stored, worked, record)


def make_ward_audit(store: Store, first: date | None, last: date | None, tell: TellProgress = tell_nobody) -> Audit:
    """The audit over the closed records that were started from the first day to the last; None: all there are.

    The first one over a store reads every record, and tells how far it is; what each adds is stored from then on.
    """
    days = (first.isoformat() if first else "", last.isoformat() if last else None)
    found = find_projections(store, AUDIT_ROW, *days, tell)
    cases, unreadable = [], list(found.unprojectable)
    for projection in found.projections:
        try:
            cases += [read_audit_row(projection.body)] if projection.body else []
        except ValueError:
            unreadable.append(_say_unreadable_projection(projection))
    return make_audit(cases, _say_days(first, last), tuple(unreadable))


def list_parts(store: Store, who: str, tell: TellProgress = tell_nobody) -> tuple[list[Part], tuple[str, ...]]:
    """What somebody did, the oldest first, and a sentence for each preparation that cannot be read."""
    found = find_projections(store, PART, tell=tell)
    parts, unreadable = [], list(found.unprojectable)
    for projection in sorted(found.projections, key=lambda projection: projection.key):
        try:
            parts.append(find_part(who, read_team_roles(projection.body)))
        except ValueError:
            unreadable.append(_say_unreadable_projection(projection))
    return [part for part in parts if part is not None], tuple(unreadable)


def _say_unreadable_projection(projection: Projection) -> str:
    return f'What is kept of preparation "{projection.prep}" cannot be read: prepkit verify puts it right.'


def _say_days(first: date | None, last: date | None) -> str:
    if first is None and last is None:
        return "all days"
    return f"{f'from {first}' if first else 'up'} {f'to {last}' if last else 'on'}"


def _say_recomputed(stored: StoredPreparation) -> str:
    lists = list(recompute_lists(stored.events))
    wrong = next((each for each in lists if each.wrong), None)
    if wrong is not None:
        return f"NOT AS STORED: the list of event {wrong.seq} differs when it is worked out again: {wrong.wrong}."
    return f"All {len(lists)} lists came out the same again from the texts stored with them."
