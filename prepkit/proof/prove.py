"""Proves a kit: what its lines and criteria do over the whole domain, and where a line is missing."""

import gc
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.spans import AmountSpan, Span, Where
from prepkit.kit.ward import Ward
from prepkit.proof.domain import (
    Run,
    Told,
    find_cuts,
    find_earlier,
    find_first_product,
    find_last_given,
    join,
    list_values,
    split,
)
from prepkit.proof.findings import CourseFull, CriterionCuts, GroundChanges, Never, UnmetFact, Unused
from prepkit.proof.notes import Note, Proof, WalkedLine, merge_findings
from prepkit.proof.track_findings import find_on_track, find_rounding
from prepkit.proof.unused import find_unstocked, find_unused
from prepkit.proof.walk import Track, Walk, make_baby
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation


def prove_criterion(criterion: Criterion, walk: Walk) -> Iterator[Note]:
    """Where a criterion that goes by facts cuts in; or that every baby of the domain meets it, or none."""
    where = criterion.where
    if where is None:
        return
    met_grams, grams = _part(walk.grams, where.weight)
    met_days, days = _part(walk.days, where.gestation)
    facts = [_part_fact(name, test, where, walk.kit) for name, test in where.facts.items()]
    unmet = tuple(each for _, each in facts if each is not None)
    if not (met_grams and met_days and all(is_met for is_met, _ in facts)):
        yield Note(criterion.id, Unused(Never.CRITERION_MET, criterion.otherwise))
    elif grams or days or unmet:
        yield Note(criterion.id, CriterionCuts(criterion.otherwise, grams, days, unmet))
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


def _part(domain: Run, span: Span[Any] | None) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
    """The runs of a domain that lie in a span, and those that do not; without one they all do."""
    if span is None:
        return (domain,), ()
    cuts = find_cuts([span])
    is_weight = isinstance(span.low if span.low is not None else span.high, Amount)
    met: list[Run] = []
    out: list[Run] = []
    for run in split(domain, cuts.grams | cuts.days):
        is_met = span.contains(make_amount(run.first, "g") if is_weight else Gestation(run.first))
        (met if is_met else out).append(run)
    return join(met), join(out)


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
        tracks = list(walk.list_tracks(line))
        situations = tuple(dict.fromkeys(track.situation.told for track in tracks))
        notes += _prove_line(line, tracks, situations, walk)
        lines.append(WalkedLine(line.id, line.name, line.kind, situations))
        used |= {point.outcome.product for track in tracks for point in track.points}
    notes += [note for criterion in walk.criteria for note in prove_criterion(criterion, walk)]
    notes += find_unstocked(walk.kit, ward, used)
    babies = (walk.grams.last - walk.grams.first + 1) * (walk.days.last - walk.days.first + 1)
    return Proof(
        kit=kit.id,
        edition=kit.edition,
        ward=ward,
        today=now.date(),
        grams=walk.grams,
        days=walk.days,
        babies=babies,
        lists=walk.worked,
        lines=tuple(lines),
        criteria=tuple(criterion.id for criterion in walk.kit.criterion),
        notes=tuple(note for at, note in enumerate(notes) if note not in notes[:at]),
    )


def _prove_line(line: Line, tracks: list[Track], situations: tuple[Told, ...], walk: Walk) -> Iterator[Note]:
    seen = [each for track in tracks for each in find_on_track(line, track)]
    notes = merge_findings(line.id, [*seen, *find_rounding(tracks)], situations, walk.days)
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
    last = find_last_given(found) if found else None
    if line.earlier is None or found is None or found.repeat is None or last is None:
        return
    total = found.repeat.most_in_all
    if last.value <= 0:
        yield Note(line.id, CourseFull(total, None))
        return
    more = Amount(last.value + make_amount("0.000001", last.unit.text).value, last.unit)
    room, none = (_is_barred(line, given, walk) for given in (last, more))
    if none and not room:
        yield Note(line.id, CourseFull(total, last))


def _is_barred(line: DoseLine, given: Amount, walk: Walk) -> bool:
    """Whether no dose is due after this much at the domain's first gram and day."""
    found = find_first_product(line, walk.kit, walk.ward)
    situation = walk.list_situations(line)[0]
    baby = make_baby(walk.grams.first, walk.days.first, situation)
    facts = {**baby.facts, **(find_earlier(line, found, given, walk.now) if found else {})}
    outcome = walk.work_out(line, type(baby)(baby.weight_g, baby.gestation, baby.sex, facts, ()))
    return bool(outcome.blocked) and outcome.due is None
