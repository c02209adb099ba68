"""Papers and exports of what the store keeps: preparations found by label or id, their records made.

May import: every layer but the front ends.
"""

from datetime import date, datetime

from msgspec import Struct

from prepkit.desk.gists import Tell, find_gists, keep_silent
from prepkit.desk.sorts import CASE, LABEL, PART, write_label
from prepkit.desk.whole import Kept, read_kept
from prepkit.documents.audit import Audit, make_audit
from prepkit.documents.case_text import read_case
from prepkit.documents.make_record import make_record
from prepkit.documents.mine import Part, find_part, read_shared
from prepkit.documents.record import RecordPaper
from prepkit.errors import StoreDamaged
from prepkit.list.lines import TrayList
from prepkit.preparation.recompute import recompute_lists, work_out_as_listed
from prepkit.preparation.streams import STAFF
from prepkit.preparation.worked import TextsUnreadableError, Worked
from prepkit.store import Gist, Store

MOST_FOUND = 20
"""Preparations that are named where a label has several."""


class Papers(Struct, frozen=True):
    """One preparation ready to be written in any format."""

    kept: Kept
    worked: Worked
    record: RecordPaper

    @property
    def tray(self) -> TrayList | None:
        """The list; None where it is withheld."""
        return None if self.record.withheld else self.worked.tray


def find_kept(store: Store, named: str) -> tuple[Kept, ...]:
    """Find preparations by their id, or else by their cot label, capitals or not; the oldest first.

    Cots are used again: of many with one label the last `MOST_FOUND` are read, the others are found by their id.

    Raises:
        StoreDamaged: where the only one there is cannot be read.
    """
    if named != STAFF and store.read(named, most=1):
        return (read_kept(store, named),)
    label = write_label(named)
    gists = sorted(find_gists(store, LABEL, label, label).gists, key=lambda gist: gist.body)
    found: list[Kept] = []
    unreadable: list[StoreDamaged] = []
    for gist in gists[-MOST_FOUND:]:
        try:
            found.append(read_kept(store, gist.prep))
        except StoreDamaged as error:
            unreadable.append(error)
    # The records have the last word: what is kept only says where to look.
    right = tuple(kept for kept in found if write_label(kept.state.cot) == label)
    if unreadable and not right:
        raise unreadable[0]
    return right


def make_papers(kept: Kept, now: datetime) -> Papers | str:
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
        last_hash=kept.last_hash,
        recomputed=_say_recomputed(kept),
    )
    return Papers(kept, worked, record)


def make_ward_audit(store: Store, first: date | None, last: date | None, tell: Tell = keep_silent) -> Audit:
    """The audit over the closed records that were started from the first day to the last; None: all there are.

    The first one over a store reads every record, and tells how far it is; what each adds is kept from then on.
    """
    days = (first.isoformat() if first else "", last.isoformat() if last else None)
    found = find_gists(store, CASE, *days, tell)
    cases, left = [], list(found.left)
    for gist in found.gists:
        try:
            cases += [read_case(gist.body)] if gist.body else []
        except ValueError:
            left.append(_say_no_gist(gist))
    return make_audit(cases, _say_days(first, last), tuple(left))


def list_parts(store: Store, who: str, tell: Tell = keep_silent) -> tuple[list[Part], tuple[str, ...]]:
    """What somebody did, the oldest first, and a sentence for each preparation that cannot be read."""
    found = find_gists(store, PART, tell=tell)
    parts, left = [], list(found.left)
    for gist in sorted(found.gists, key=lambda gist: gist.key):
        try:
            parts.append(find_part(who, read_shared(gist.body)))
        except ValueError:
            left.append(_say_no_gist(gist))
    return [part for part in parts if part is not None], tuple(left)


def _say_no_gist(gist: Gist) -> str:
    return f'What is kept of preparation "{gist.prep}" cannot be read: prepkit verify puts it right.'


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
