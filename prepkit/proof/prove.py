"""Proves a kit: what its lines and criteria do over the whole domain, and where a line is missing."""

import gc
from collections.abc import Iterator
from datetime import datetime

from msgspec.structs import replace

from prepkit.kit.axes import Axis
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.lines import DoseLine, Line, TrialLine
from prepkit.kit.spans import AmountSpan, Span, Where
from prepkit.kit.ward import Ward
from prepkit.proof.domain import Run, find_ends, split
from prepkit.proof.dose_checks import find_wrong_doses
from prepkit.proof.findings import BlockedRuns, CourseFull, CriterionCuts, GroundChanges, Never, UnmetFact, Unused
from prepkit.proof.notes import Note, NotWalked, Proof, WalkedLine, merge_findings
from prepkit.proof.situations import Told, find_earlier, find_first_product, find_last_given, list_values
from prepkit.proof.track_findings import find_on_track, find_rounding
from prepkit.proof.unused import find_unstocked, find_unused
from prepkit.proof.walk import Track, Walk
from prepkit.quantities.amount import Amount, make_amount
from prepkit.rules.findings import Kind, finding


def prove_criterion(criterion: Criterion, walk: Walk) -> Iterator[Note]:
    """Where a criterion that goes by facts cuts in; or that every baby of the domain meets it, or none."""
    where = criterion.where
    if where is None:
        return
    ends = find_ends(where)
    parts = [
        _part(walk.find_domain(axis), each.first, each.last) for axis, each in ends.items() if axis is not Axis.AGE
    ]
    facts = [_part_fact(name, test, where, walk.kit) for name, test in where.facts.items()]
    runs = tuple(out for _, out in parts if out)
    unmet = tuple(each for _, each in facts if each is not None)
    # Ages have no end on either side: some meet it, and some do not.
    unmet += (UnmetFact(Axis.AGE, where.age),) if where.age else ()
    if not all(is_met for is_met, _ in (*parts, *facts)):
        yield Note(criterion.id, Unused(Never.CRITERION_MET, criterion.otherwise))
    elif runs or unmet:
        yield Note(criterion.id, CriterionCuts(criterion.otherwise, runs, unmet))
    else:
        yield Note(criterion.id, Unused(Never.CRITERION_UNMET))


def _part_fact(name: str, test: AmountSpan | str, where: Where, kit: Kit) -> tuple[bool, UnmetFact | None]:
    """Whether some value of a fact meets its test, and what those are that do not."""
    fact = next(fact for fact in kit.fact if fact.id == name)
    values = list_values(fact, where)
    if isinstance(test, Span):
        met = [isinstance(value, Amount) and test.contains(value) for value in values]
        return any(met), None if all(met) else UnmetFact(name, test)
    out = tuple(str(value) for value in values if value != test)
    return test in values, UnmetFact(name, None, out) if out else None


def _part(domain: Run, first: int, last: int) -> tuple[bool, tuple[Run, ...]]:
    """Whether some of a domain lies between two numbers, both belonging to it; and the runs that do not."""
    runs = split(domain, (first, last + 1))
    out = tuple(run for run in runs if not first <= run.first <= last)
    return len(out) < len(runs), out


def prove(kit: Kit, ward: Ward | None, now: datetime) -> Proof:
    """Walk a kit through its whole domain with one ward file, at one moment."""
    # All that is worked out is kept and has no circles: the collector, which looks at it again and again, would take a
    # third of the time.
    is_collecting = gc.isenabled()
    gc.disable()
    try:
        return _prove(kit, ward, now)
    finally:
        if is_collecting:
            gc.enable()


def _prove(kit: Kit, ward: Ward | None, now: datetime) -> Proof:
    walk = Walk(kit, ward, now)
    notes: list[Note] = []
    lines: list[WalkedLine] = []
    used: set[str] = set()
    for line in walk.kit.line:
        if isinstance(line, TrialLine):
            notes += list(_copy_blocked(line, notes, walk))
            lines.append(WalkedLine(line.id, line.name, line.kind, ()))
            continue
        tracks = list(walk.list_tracks(line))
        situations = tuple(dict.fromkeys(track.situation.told for track in tracks))
        notes += _prove_line(line, tracks, situations, walk)
        lines.append(WalkedLine(line.id, line.name, line.kind, situations))
        used |= {point.outcome.product for track in tracks for point in track.points}
    notes += [note for criterion in walk.criteria for note in prove_criterion(criterion, walk)]
    notes += find_unstocked(walk.kit, ward, used)
    reads = [walk.get_reads(line) for line in walk.kit.line if not isinstance(line, TrialLine)]
    walked = {axis for each in reads for axis in (each.weight, each.gestation)}
    return Proof(
        kit=kit.id,
        edition=kit.edition,
        ward=ward,
        today=now.date(),
        domain=tuple(walk.find_domain(axis) for axis in Axis if axis in walked),
        lists=walk.worked,
        lines=tuple(lines),
        criteria=tuple(criterion.id for criterion in walk.kit.criterion),
        notes=tuple(note for at, note in enumerate(notes) if note not in notes[:at]),
        not_walked=tuple(_list_not_walked(walk, has_beside=any(row.beside for row in reads))),
    )


def _list_not_walked(walk: Walk, *, has_beside: bool) -> Iterator[NotWalked]:
    can_order = walk.ward is not None and any(isinstance(line, DoseLine) for line in walk.kit.line)
    left = {NotWalked.BETWEEN_ENDS: has_beside, NotWalked.ORDERS: can_order}
    yield from (each for each in NotWalked if left.get(each, True))


def _copy_blocked(line: TrialLine, notes: list[Note], walk: Walk) -> Iterator[Note]:
    """What a trial waits for: it is blocked wherever a line is that it is of, and where the ward may not change it."""
    names = {each.id: each.name for each in walk.kit.line}
    for note in notes:
        if note.about in line.of and isinstance(note.finding, BlockedRuns):
            waits = finding(Kind.WAITS, names=(names[note.about],))
            copied = replace(note.finding, is_unmeasured=False, reason=waits, shared=waits)
            yield Note(line.id, copied, note.where, note.is_gap)
    if own := walk.try_out(line).blocked:
        blocked = BlockedRuns(is_unmeasured=False, runs=(), reason=own, shared=own, is_ruled_out=False)
        yield Note(line.id, blocked, is_gap=True)


def _prove_line(line: Line, tracks: list[Track], situations: tuple[Told, ...], walk: Walk) -> Iterator[Note]:
    seen = [each for track in tracks for each in find_on_track(line, track)]
    if isinstance(line, DoseLine):
        seen += [each for track in tracks for each in find_wrong_doses(line, track, walk)]
    gestation = walk.get_reads(line).gestation
    days = walk.find_domain(gestation) if gestation else None
    notes = merge_findings(line.id, [*seen, *find_rounding(tracks)], situations, days)
    changes = [note.finding for note in notes if isinstance(note.finding, GroundChanges)]
    # One size, for every baby on the same ground, is no change.
    is_plain = len(changes) == 1 and not isinstance(line, DoseLine) and not changes[0].is_told_alone
    yield from (note for note in notes if note.finding not in changes or not is_plain)
    if isinstance(line, DoseLine):
        yield from _find_course_end(line, walk)
    yield from find_unused(line, tracks, walk)


def _find_course_end(line: DoseLine, walk: Walk) -> Iterator[Note]:
    """Where the course's total leaves no room for a further dose: worked out on both sides of it."""
    found = find_first_product(line, walk.kit, walk.ward)
    last = find_last_given(line, found) if found else None
    if line.earlier is None or found is None or found.repeat is None or last is None:
        return
    total, most_doses = found.repeat.most_in_all, found.repeat.most_doses
    if last.value <= 0:
        yield Note(line.id, CourseFull(total, None, most_doses))
        return
    more = Amount(last.value + make_amount("0.000001", last.unit.text).value, last.unit)
    room, none = (_is_barred(line, given, walk) for given in (last, more))
    if none and not room:
        yield Note(line.id, CourseFull(total, last, most_doses))


def _is_barred(line: DoseLine, given: Amount, walk: Walk) -> bool:
    """Whether no dose is due after this much at the domain's first gram and day."""
    found = find_first_product(line, walk.kit, walk.ward)
    outcome = walk.work_out(line, walk.make_first(line, find_earlier(line, found, given, walk.now) if found else {}))
    return bool(outcome.blocked) and outcome.due is None
