"""Proves a kit: what its lines and criteria do over the whole domain, and where a line is missing."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from msgspec import Struct

from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.spans import Span, Where
from prepkit.kit.ward import Ward
from prepkit.proof.domain import (
    Run,
    find_cuts,
    find_earlier,
    find_first_product,
    find_last_given,
    join,
    list_values,
    split,
)
from prepkit.proof.notes import Note, NoteKind, Proof, WalkedLine, merge_findings, say_days, say_grams
from prepkit.proof.track_findings import find_on_track, find_rounding
from prepkit.proof.unused import find_unstocked, find_unused
from prepkit.proof.walk import Track, Walk, make_baby
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import show_amount


class _Condition(Struct, frozen=True):
    """One condition of a criterion over the whole domain."""

    can_meet: bool
    fails: str
    """For which babies it is not met, in words; empty where for none."""


def prove_criterion(criterion: Criterion, walk: Walk) -> Iterator[Note]:
    """Where a criterion that goes by facts cuts in; or that every baby of the domain meets it, or none."""
    if criterion.where is None:
        return
    conditions = list(_list_conditions(criterion.where, walk))
    out = [condition.fails for condition in conditions if condition.fails]
    if not all(condition.can_meet for condition in conditions):
        words = f"met by no baby of the domain: {criterion.otherwise} for every one"
        yield Note(criterion.id, NoteKind.UNUSED, words)
    elif out:
        yield Note(criterion.id, NoteKind.CRITERION, f"{criterion.otherwise}: {', or '.join(out)}")
    else:
        yield Note(criterion.id, NoteKind.UNUSED, "met by every baby of the domain: it can never fire")


def _list_conditions(where: Where, walk: Walk) -> Iterator[_Condition]:
    if where.weight is not None:
        met, out = _part(walk.grams, where.weight)
        yield _Condition(bool(met), ", ".join(say_grams(run) for run in out))
    if where.gestation is not None:
        met, out = _part(walk.days, where.gestation)
        yield _Condition(bool(met), ", ".join(say_days(run) for run in out))
    for name, test in where.facts.items():
        yield _look_at_fact(name, test, where, walk.kit)


def _look_at_fact(name: str, test: object, where: Where, kit: Kit) -> _Condition:
    fact = next(fact for fact in kit.fact if fact.id == name)
    label = name.replace("_", " ")
    values = list_values(fact, where)
    if isinstance(test, Span):
        met = [isinstance(value, Amount) and test.contains(value) for value in values]
        return _Condition(any(met), "" if all(met) else f"{label} not {test.words()}")
    out = [str(value) for value in values if value != test]
    return _Condition(test in values, f"{label} {' or '.join(out)}" if out else "")


def _part(domain: Run, span: Span[Any]) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
    """The runs of a domain that lie in a span, and those that do not."""
    cuts = find_cuts([span])
    is_weight = isinstance(span.low if span.low is not None else span.high, Amount)
    met: list[Run] = []
    out: list[Run] = []
    for run in split(domain, cuts.grams | cuts.days):
        is_met = span.contains(make_amount(run.first, "g") if is_weight else Gestation(run.first))
        (met if is_met else out).append(run)
    return join(met), join(out)


# A change of ground along the weights, or a ground that has a review date.
_GROUNDS_THAT_END = ("; from", "approval", "widening")


def prove(kit: Kit, ward: Ward | None, now: datetime) -> Proof:
    """Walk a kit through its whole domain with one ward file, at one moment."""
    walk = Walk(kit, ward, now)
    notes: list[Note] = []
    lines: list[WalkedLine] = []
    used: set[str] = set()
    for line in walk.kit.line:
        tracks = list(walk.list_tracks(line))
        situations = tuple(dict.fromkeys(track.situation.words for track in tracks))
        notes += _prove_line(line, tracks, situations, walk)
        lines.append(WalkedLine(line.id, line.name, line.kind, situations))
        used |= {point.outcome.product for track in tracks for point in track.points}
    notes += [note for criterion in walk.criteria for note in prove_criterion(criterion, walk)]
    notes += find_unstocked(walk.kit, ward, used)
    babies = (walk.grams.last - walk.grams.first + 1) * (walk.days.last - walk.days.first + 1)
    return Proof(
        kit=kit.id,
        edition=kit.edition,
        ward=f"{ward.name}, edition {ward.edition}" if ward else "no ward file",
        today=now.date(),
        grams=walk.grams,
        days=walk.days,
        babies=babies,
        lists=walk.worked,
        lines=tuple(lines),
        criteria=tuple(criterion.id for criterion in walk.kit.criterion),
        notes=tuple(dict.fromkeys(notes)),
    )


def _prove_line(line: Line, tracks: list[Track], situations: tuple[str, ...], walk: Walk) -> Iterator[Note]:
    seen = [each for track in tracks for each in find_on_track(line, track)]
    notes = merge_findings(line.id, [*seen, *find_rounding(tracks)], situations, walk.days)
    changes = [note for note in notes if note.kind is NoteKind.CHANGE]
    is_plain = len(changes) == 1 and not any(words in changes[0].words for words in _GROUNDS_THAT_END)
    # One size, for every baby on the same ground, is no change.
    yield from (note for note in notes if note not in changes or isinstance(line, DoseLine) or not is_plain)
    if isinstance(line, DoseLine):
        yield from _find_course_end(line, walk)
    yield from find_unused(line, tracks, walk)


def _find_course_end(line: DoseLine, walk: Walk) -> Iterator[Note]:
    """Where the course's total leaves no room for a further dose: worked out on both sides of it."""
    found = find_first_product(line, walk.kit, walk.ward)
    last = find_last_given(found) if found else None
    if line.earlier is None or found is None or found.repeat is None or last is None:
        return
    total = f"the course's total, {show_amount(found.repeat.most_in_all)},"
    if last.value <= 0:
        yield Note(line.id, NoteKind.CEILING, f"{total} leaves no room for any further dose")
        return
    more = Amount(last.value + make_amount("0.000001", last.unit.text).value, last.unit)
    room, none = (_is_barred(line, given, walk) for given in (last, more))
    if none and not room:
        words = f"{total} bites: no further dose once more than {show_amount(last)} was given"
        yield Note(line.id, NoteKind.CEILING, words)


def _is_barred(line: DoseLine, given: Amount, walk: Walk) -> bool:
    """Whether no dose is due after this much at the domain's first gram and day."""
    found = find_first_product(line, walk.kit, walk.ward)
    situation = walk.list_situations(line)[0]
    baby = make_baby(walk.grams.first, walk.days.first, situation)
    facts = {**baby.facts, **(find_earlier(line, found, given, walk.now) if found else {})}
    outcome = walk.work_out(line, type(baby)(baby.weight_g, baby.gestation, baby.sex, facts, ()))
    return bool(outcome.blocked) and outcome.dose is None
