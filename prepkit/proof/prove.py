"""Proving a kit: what its lines do over the whole domain, and where one is missing. May import: `prepkit.proof`."""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from fractions import Fraction
from itertools import groupby, pairwise
from typing import TypeVar

from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.lines import Band, DoseLine, Line
from prepkit.kit.spans import Edge, Span
from prepkit.kit.ward import Ward
from prepkit.proof.classes import Run, find_cuts, split
from prepkit.proof.notes import Note, NoteKind, Proof, say_days, say_grams
from prepkit.proof.walk import Point, Track, Walk
from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.show import show_amount, write_decimal
from prepkit.rules.approved import find_widening
from prepkit.rules.case import Outcome

Value = TypeVar("Value")

_GROUNDS = ("approval", "widening")


def prove(kit: Kit, ward: Ward | None, now: datetime) -> Proof:
    """Walk a kit through its whole domain with one ward file, at one moment."""
    walk = Walk(kit, ward, now)
    notes = [note for line in walk.kit.line for note in _prove_line(line, walk)]
    notes += [note for criterion in _list_criteria(walk) for note in _prove_criterion(criterion, walk)]
    notes += _find_unstocked(walk.kit, ward)
    babies = (walk.grams.last - walk.grams.first + 1) * (walk.days.last - walk.days.first + 1)
    name = ward.name if ward else "no ward file"
    return Proof(kit.id, kit.edition, name, walk.grams, walk.days, babies, walk.worked, tuple(_merge(notes)))


def _prove_line(line: Line, walk: Walk) -> Iterator[Note]:
    for track in walk.list_tracks(line):
        where = _say_track(track, walk)
        yield from _find_blocked(line, track, where)
        yield from _find_changes(line, track, where)
        if isinstance(line, DoseLine):
            yield from _find_rounding(line, track, where)
            yield from _find_steps(line, track, where)
            yield from _find_ceiling(line, track, where)
    yield from _find_unused_bands(line, walk)


def _say_track(track: Track, walk: Walk) -> str:
    days = "" if track.days == walk.days else say_days(track.days)
    return "; ".join(part for part in (track.situation.words, days) if part)


def _at(words: str, where: str) -> str:
    return f"{words} ({where})" if where else words


def _find_blocked(line: Line, track: Track, where: str) -> Iterator[Note]:
    for blocked, points in _group(track, lambda outcome: bool(outcome.blocked)):
        if blocked:
            run = Run(points[0].grams.first, points[-1].grams.last)
            words = f"{say_grams(run)}: {points[0].outcome.blocked}"
            yield Note(line.id, NoteKind.BLOCKED, _at(words, where), is_gap=True)


def _find_changes(line: Line, track: Track, where: str) -> Iterator[Note]:
    """Where the ground, the size, the syringe or what it is drawn up from changes."""
    said = [(points[0].grams.first, words) for words, points in _group(track, _say_ground) if words]
    if len(said) > 1 or (said and said[0][1].startswith(_GROUNDS)):
        words = ", ".join(f"from {first} g {words}" for first, words in said)
        yield Note(line.id, NoteKind.CHANGE, _at(words, where))


def _say_ground(outcome: Outcome) -> str:
    parts = [outcome.standing if outcome.standing.startswith(_GROUNDS) else "", " ".join(outcome.sizes)]
    if outcome.syringe is not None:
        parts.append(f"{show_amount(outcome.syringe.holds)} syringe")
    if outcome.recipe is not None:
        parts.append(f"{outcome.recipe.id} {show_amount(outcome.recipe.strength)}")
    return " ".join(part for part in parts if part)


def _find_rounding(line: Line, track: Track, where: str) -> Iterator[Note]:
    measured = [(_deviation(point.outcome), point) for point in track.points if point.outcome.amount is not None]
    if measured:
        worst, point = max(measured, key=lambda pair: abs(pair[0]))
        sign = "+" if worst > 0 else "\N{MINUS SIGN}" if worst < 0 else ""
        words = f"largest rounding {sign}{write_decimal(abs(worst) * 100, 2)} % at {point.grams.first} g"
        yield Note(line.id, NoteKind.ROUNDING, _at(words, where))


def _deviation(outcome: Outcome) -> Fraction:
    if outcome.amount is None or outcome.exact is None:
        return Fraction(0)
    return (outcome.amount.value - outcome.exact.value) / outcome.exact.value


def _find_steps(line: Line, track: Track, where: str) -> Iterator[Note]:
    """Where one more gram moves the volume by more than one mark of the syringe."""
    for one, two in pairwise(track.points):
        first, second = one.outcome, two.outcome
        if first.amount is None or second.amount is None or first.syringe is None or second.syringe is None:
            continue
        mark = max(convert(first.syringe.marks, "mL").value, convert(second.syringe.marks, "mL").value)
        if abs(second.amount.value - first.amount.value) > mark:
            before = f"{show_amount(first.amount)} at {one.grams.first} g"
            after = f"{show_amount(second.amount)} at {two.grams.first} g"
            yield Note(line.id, NoteKind.STEP, _at(f"{before}, {after}", where))


def _find_ceiling(line: Line, track: Track, where: str) -> Iterator[Note]:
    """Where the dose stops growing with the weight, but for where another band of doses begins."""
    begins = find_cuts([line.band]).grams if isinstance(line, DoseLine) else frozenset[int]()
    doses = [(point.grams.first, point.outcome.dose) for point in track.points if point.outcome.dose is not None]
    for (low, one), (high, two) in pairwise(doses):
        if high not in begins and convert(one, "mg").value / low != convert(two, "mg").value / high:
            yield Note(line.id, NoteKind.CEILING, _at(f"the ceiling of {show_amount(two)} bites from {high} g", where))
            return


def _find_unused_bands(line: Line, walk: Walk) -> Iterator[Note]:
    """Bands that no baby of the domain can meet."""
    for band in _walk_bands(line):
        weight = band.weight is None or any(met for _, met in _split_by(walk.grams, band.weight, _make_weight))
        gestation = band.gestation is None or any(met for _, met in _split_by(walk.days, band.gestation, Gestation))
        if not (weight and gestation):
            yield Note(line.id, NoteKind.UNUSED, f"no baby of the domain meets the band: {band.words()}")


def _split_by(domain: Run, span: Span[Edge], make: Callable[[int], Edge]) -> Iterator[tuple[Run, bool]]:
    """The runs of a domain between a span's edges, each with whether it lies in the span."""
    cuts = find_cuts([span])
    for run in split(domain, cuts.grams | cuts.days):
        yield run, span.contains(make(run.first))


def _make_weight(grams: int) -> Amount:
    return make_amount(grams, "g")


def _walk_bands(node: object) -> Iterator[Band]:
    if isinstance(node, Band):
        yield node
    for child in (
        node if isinstance(node, tuple) else (getattr(node, name) for name in getattr(type(node), "model_fields", {}))
    ):
        yield from _walk_bands(child)


def _list_criteria(walk: Walk) -> Iterator[Criterion]:
    """Each criterion that counts: the ward's own, and the kit's too where no approval lets the ward go further."""
    for criterion in walk.kit.criterion:
        own = walk.layer.criteria.get(criterion.id)
        if own is not None and isinstance(find_widening(walk.ward, own.id, walk.kit.id, walk.now.date()), str):
            yield own
        yield criterion


def _prove_criterion(criterion: Criterion, walk: Walk) -> Iterator[Note]:
    """Where a criterion that goes by weight or gestation cuts into the domain."""
    where = criterion.where
    if where is None or (where.weight is None and where.gestation is None):
        return
    out = []
    if where.weight is not None:
        out += [say_grams(run) for run, met in _split_by(walk.grams, where.weight, _make_weight) if not met]
    if where.gestation is not None:
        out += [say_days(run) for run, met in _split_by(walk.days, where.gestation, Gestation) if not met]
    if out:
        yield Note(criterion.id, NoteKind.CRITERION, f"{criterion.otherwise}: {', '.join(out)}")
    else:
        yield Note(criterion.id, NoteKind.UNUSED, "met by every baby of the domain: it can never fire")


def _find_unstocked(kit: Kit, ward: Ward | None) -> Iterator[Note]:
    stocked = {stock.product for stock in ward.stock} if ward else set()
    for product in kit.product:
        if product.id not in stocked:
            yield Note(product.id, NoteKind.UNUSED, "not in the ward's stock: its cautions can never fire")


def _group(track: Track, key: Callable[[Outcome], Value]) -> Iterator[tuple[Value, list[Point]]]:
    for value, points in groupby(track.points, lambda point: key(point.outcome)):
        yield value, list(points)


def _merge(notes: Iterable[Note]) -> Iterator[Note]:
    """Each note once; what is the same in several situations is said once."""
    yield from dict.fromkeys(notes)
