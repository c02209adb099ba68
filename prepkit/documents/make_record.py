"""Make the printed record from one preparation's events."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from prepkit.attribution import Attribution
from prepkit.documents.record import (
    Pack,
    PreparationRecord,
    RecordCheck,
    RecordFingerprint,
    RecordFollowUp,
    RecordGroup,
    RecordLine,
    RecordReason,
)
from prepkit.documents.record_baby import list_facts, say_baby, say_confirmed, say_facts_read
from prepkit.documents.safe_text import PRACTICE
from prepkit.documents.timeline import make_timeline, say_readings, say_when
from prepkit.kit.facts import DONE
from prepkit.kit.kit import Kit
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint
from prepkit.preparation.bedside.afterwards import find_record_missing
from prepkit.preparation.bedside.record import BedsideRecord, FollowUpDue
from prepkit.preparation.bedside.results import say_results
from prepkit.preparation.check.events import Check
from prepkit.preparation.check.required import list_checked_lines
from prepkit.preparation.events import Event
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.rules.criteria import Reason
from prepkit.rules.findings import Kind
from prepkit.wording.say import say, say_all, say_by_word, say_joined

_UNTOLD = frozenset({Kind.LAID_OUT, Kind.TRY_NOW})
"""How the working of a line begins that has nothing worked out in it."""


def make_record(
    prep: str,
    events: Sequence[Event],
    state: Preparation,
    worked: WorkedList,
    now: datetime,
    *,
    last_hash: str,
    recomputed: str,
) -> PreparationRecord:
    """Make the record as it stands.

    Args:
        prep: the preparation's id.
        events: its whole record.
        state: the events folded.
        worked: its list, worked out as it was last stored.
        now: printed on it.
        last_hash: the hash of its last event in the store: kept on paper, it shows a later change of the store.
        recomputed: a sentence on whether the list came out the same again.

    Raises:
        ValueError: while a second check is under way: no amount is shown to anybody then.
    """
    if state.check is not None:
        raise ValueError(f"{say_stamp(state.check.stamp)} began the second check: no amount is shown before it ends")
    kit, tray, record = worked.laid, None if state.withheld else worked.tray, state.cot_record
    return PreparationRecord(
        practice=PRACTICE if state.practice else "",
        prep=prep,
        cot=state.cot,
        baby=say_baby(worked.baby, state),
        kit=kit.name,
        edition=state.kit_edition,
        ward=f"{worked.ward.model.name}, edition {worked.ward.model.edition}" if worked.ward else "no ward file",
        standing=_say_standing(state),
        is_closed=record.closed is not None,
        day=f"{state.started.at:%Y-%m-%d}",
        printed=f"{now:%d %b %Y %H:%M}",
        facts=list_facts(events, state, worked),
        verdict=tray.verdict if tray else "",
        reasons=tuple(_show_reason(reason, state, kit) for reason in tray.reasons) if tray else (),
        agreed=_say_agreed(state, tray),
        confirmed=say_confirmed(state),
        withheld=state.withheld,
        groups=_list_groups(state, worked, tray) if tray else (),
        checked=_say_checked(state, worked),
        timeline=make_timeline(events, state, kit),
        results=say_results(state, worked),
        follow_ups=tuple(_show_due(key, due, state, kit) for key, due in record.dues.items()),
        outcome=_say_outcome(record),
        complications="" if record.complications is None else "; ".join(record.complications) or "none",
        missing=_list_missing(state, kit),
        signatures=tuple(_say(stamp, state) for stamp in record.signed.values()),
        addenda=tuple(f"{_say(each.stamp, state)}: {each.text}" for each in record.addenda),
        prints=_list_fingerprints(worked, last_hash),
        recomputed=recomputed,
        unverified=_say_unverified(events),
    )


def _say_outcome(record: BedsideRecord) -> str:
    return " · ".join(filter(None, (record.outcome.outcome, record.outcome.note))) if record.outcome else ""


def _list_missing(state: Preparation, kit: Kit) -> tuple[str, ...]:
    """What the record still needs; of one that has ended, nothing."""
    if state.cot_record.closed or state.stood_down:
        return ()
    return tuple(gap.words for gap in find_record_missing(state, kit))


def find_packs(state: Preparation) -> Mapping[str, tuple[Pack, ...]]:
    """What was in hand for each line, by line: the one place where batch and expiry come into the record."""
    return {
        line.id: tuple(
            Pack(held.gtin, held.batch, held.expiry.isoformat(), held.serial, scanned=held.scanned)
            for held in state.find_in_hand(line.id)
        )
        for line in state.lines
    }


def _say(stamp: Attribution, state: Preparation) -> str:
    return say_when(stamp.who, stamp.at, state.started.at).words()


def _say_standing(state: Preparation) -> str:
    if state.cot_record.closed is not None:
        return f"Closed by {_say(state.cot_record.closed, state)}"
    if state.stood_down is not None:
        return f"Stood down by {_say(state.stood_down.stamp, state)}: {state.stood_down.reason}"
    return "Not closed yet"


def _show_reason(reason: Reason, state: Preparation, kit: Kit) -> RecordReason:
    is_asked = any(row.id == reason.criterion and row.where is None for row in kit.criterion)
    given = state.answers.get(reason.criterion) if is_asked else None
    stamp = given.stamp if given else state.said.get(reason.criterion) if is_asked else None
    said = say_when(stamp.who, stamp.at, state.started.at) if stamp else None
    answer = given.answer if given else DONE if stamp else ""
    return RecordReason(reason.criterion, say(reason.text), reason.verdict, answer, said, say(reason.source))


def _say_agreed(state: Preparation, tray: TrayList | None) -> str:
    senior = state.senior
    if senior is None or tray is None or not state.is_senior_agreed(compute_suitability_fingerprint(tray)):
        return ""
    return f"{senior.senior} agreed, entered by {_say(senior.stamp, state)}: {senior.note}"


def _list_groups(state: Preparation, worked: WorkedList, tray: TrayList) -> tuple[RecordGroup, ...]:
    packs = find_packs(state)
    groups = (
        RecordGroup(
            group.id,
            group.name,
            tuple(
                _show_line(line, state, say_all(tray.list_remarks(line)), packs.get(line.id, ()))
                for line in tray.lines
                if line.group == group.id
            ),
        )
        for group in worked.kit.model.group
    )
    return tuple(group for group in groups if group.lines)


def _show_line(line: ListLine, state: Preparation, remarks: tuple[str, ...], packs: tuple[Pack, ...]) -> RecordLine:
    sign, mark, stamp, reason = _find_mark(line, state)
    check = state.checks.get(line.id)
    found = state.find_line(line.id)
    stands = check is not None and found is not None and check.fingerprint == found.fingerprint
    return RecordLine(
        id=line.id,
        name=line.name,
        show=say(line.outcome.show),
        remarks=remarks,
        details=say_by_word(line.outcome.details),
        sign=sign,
        mark=mark,
        said=say_when(stamp.who, stamp.at, state.started.at) if stamp else None,
        reason=reason,
        check=_show_check(check, state) if check and stands else None,
        packs=packs,
        working=say_all(line.outcome.working),
        parts=say_all(line.parts),
        how=say_all(line.how),
        cautions=say_all(line.cautions),
        source=say_joined(line.source),
        is_told=bool(line.outcome.working) and line.outcome.working[0].kind not in _UNTOLD,
    )


def _find_mark(line: ListLine, state: Preparation) -> tuple[str, str, Attribution | None, str]:
    if state.is_ticked(line.id):
        tick = state.ticks[line.id]
        return "✓", "ticked", tick.stamp, ""
    if state.is_set_aside(line.id):
        aside = state.set_asides[line.id]
        return "–", "not needed", aside.stamp, aside.reason
    if line.outcome.blocked:
        return "✗", "blocked", None, say(line.outcome.blocked)
    if line.id in state.changes:
        return "↻", "changed since it was marked", None, ""
    return "○", "not ticked", None, ""


def _show_check(check: Check, state: Preparation) -> RecordCheck:
    day, settled = state.started.at, check.settled
    return RecordCheck(
        said=say_when(check.stamp.who, check.stamp.at, day),
        value=check.value,
        vials=check.vials,
        agrees=check.agrees,
        settled=settled.reason if settled else "",
        settled_by=say_when(settled.stamp.who, settled.stamp.at, day) if settled else None,
    )


def _say_checked(state: Preparation, worked: WorkedList) -> str:
    lines = list_checked_lines(state, worked) if not state.withheld else ()
    if not lines:
        return ""
    done = [state.checks[line.id] for line in lines if state.is_checked(line.id)]
    people = " and ".join(dict.fromkeys(check.stamp.who for check in done))
    read = say_facts_read(state) if state.is_baby_checked else ""
    return f"Checked blind{f' by {people}' if people else ''}: {len(done)} of {len(lines)} lines.{read}"


def _show_due(key: str, due: FollowUpDue, state: Preparation, kit: Kit) -> RecordFollowUp:
    if due.missed:
        return RecordFollowUp(key, due.name, f"not done: {due.missed}")
    said = say_readings(state, kit.procedure, key, due.asks)
    when = say_when("", due.at, state.started.at).clock
    if not state.cot_record.is_made(key):
        return RecordFollowUp(key, due.name, " · ".join((*said, f"due {when}, not complete")))
    last = max((state.cot_record.readings[key, ask].stamp for ask in due.asks), key=lambda stamp: stamp.at)
    return RecordFollowUp(key, due.name, f"{' · '.join(said)} ({_say(last, state)}, due {when})")


def _list_fingerprints(worked: WorkedList, last_hash: str) -> tuple[RecordFingerprint, ...]:
    ward = (RecordFingerprint("ward file", worked.ward.sha256),) if worked.ward else ()
    return (RecordFingerprint("kit", worked.kit.sha256), *ward, RecordFingerprint("last event", last_hash))


def _say_unverified(events: Sequence[Event]) -> str:
    """Whose initials nobody proved by a PIN."""
    people = dict.fromkeys(each.stamp.who for each in events if not each.stamp.verified)
    return f"Initials not verified by PIN: {', '.join(people)}." if people else ""
