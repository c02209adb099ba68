"""What one track of a dose shows: steps, ceilings, which syringe and which product serve, shares, containers."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import groupby, pairwise
from typing import TypeVar

from prepkit.kit.ward import SyringeStock
from prepkit.proof.domain import Run, join
from prepkit.proof.findings import (
    ContainersTaken,
    DoseCapped,
    MarkHeldBelow,
    MarkPastCourse,
    ProofFinding,
    ShareOfDue,
    StandsIn,
    StepOverMark,
    SyringeAgain,
)
from prepkit.proof.walk import Point, Track, join_grams
from prepkit.quantities.amount import convert
from prepkit.rules.dose.draw_up import DrawUp
from prepkit.rules.findings import Finding, Kind
from prepkit.rules.rule import Outcome

Value = TypeVar("Value")


def find_on_dose(track: Track) -> Iterator[ProofFinding]:
    """Everything that one track of a dose shows and that of another line does not."""
    yield from _find_steps(track)
    yield from _find_ceiling(track)
    yield from _find_held(track)
    yield from _find_over_course(track)
    yield from find_spans(track)
    yield from _find_stands_in(track)
    yield from _find_shares(track)
    yield from _find_containers(track)


def _find_steps(track: Track) -> Iterator[ProofFinding]:
    """Where one more gram moves the volume by more than a mark of either syringe."""
    steps = [step for one, two in pairwise(track.points) if (step := _find_step(one, two))]
    at = {step.after[1].first: step for step in steps}
    for run in join(step.after[1] for step in steps):
        yield StepOverMark(at[run.first].before, at[run.last].after, run.first != run.last)


def _find_step(before: Point, after: Point) -> StepOverMark | None:
    one, two = before.outcome, after.outcome
    if one.amount is None or two.amount is None or one.syringe is None or two.syringe is None:
        return None
    if before.grams is None or after.grams is None:
        return None
    mark = max(convert(one.syringe.marks, "mL").value, convert(two.syringe.marks, "mL").value)
    if abs(two.amount.value - one.amount.value) <= mark:
        return None
    return StepOverMark((one.amount, before.grams), (two.amount, after.grams), is_run=False)


def _find_ceiling(track: Track) -> Iterator[ProofFinding]:
    """Where the most in one dose takes the place of the dose per kg."""
    for capped, points in _group(track, lambda point: point.outcome.capped):
        if capped is not None:
            runs = join_grams(points)
            yield DoseCapped(capped, Run(runs[0].axis, runs[0].first, runs[-1].last))


def _find_held(track: Track) -> Iterator[ProofFinding]:
    """Where the nearest mark would be more than may be given, so that the mark below it is taken."""
    held = [point for point in track.points if point.outcome.is_held]
    if held:
        yield MarkHeldBelow(join_grams(held))


def _find_over_course(track: Track) -> Iterator[ProofFinding]:
    """Where the mark below is too far off, so that the nearest brings the course a little over its total."""
    found = [(total, point) for point in track.points if (total := point.outcome.over_course) is not None]
    if found:
        most, at = max(found, key=lambda pair: pair[0].value)
        yield MarkPastCourse(join_grams(point for _, point in found), most, join_grams([at])[0])


def find_spans(track: Track) -> Iterator[ProofFinding]:
    """Where a syringe serves a second span of the volumes of one strength: each is to serve one, whatever the weight.

    Whole containers go to no mark, and into whatever holds them.
    """
    drawn: dict[object, list[tuple[Fraction, SyringeStock, Point]]] = {}
    for point in track.points:
        found = point.outcome
        if found.syringe is not None and found.exact is not None and not found.is_whole and not found.blocked:
            strength = (found.product, found.recipe.id if found.recipe else "")
            drawn.setdefault(strength, []).append((found.exact.value, found.syringe, point))
    for rows in drawn.values():
        spans = [(syringe, [*span]) for syringe, span in groupby(sorted(rows, key=_get_volume), key=lambda row: row[1])]
        for syringe in dict.fromkeys(syringe for syringe, _ in spans):
            again = [row[2] for each, span in spans if each == syringe for row in span]
            first = next(len(span) for each, span in spans if each == syringe)
            if again[first:]:
                yield SyringeAgain(syringe.holds, syringe.marks, join_grams(again[first:]))


def _get_volume(row: tuple[Fraction, SyringeStock, Point]) -> Fraction:
    return row[0]


def _find_stands_in(track: Track) -> Iterator[ProofFinding]:
    """Where another product of the substance stands in, once for each kind of reason."""
    found: dict[tuple[str, str, Kind | None], list[tuple[Point, Finding | None]]] = {}
    for point in track.points:
        outcome = point.outcome
        if outcome.stands_in and not outcome.blocked:
            reason = _find_in(outcome, Kind.NOT_THIS_WAY, "reason")
            why = reason if isinstance(reason, Finding) else None
            found.setdefault((outcome.product, outcome.stands_in, _find_kind(why)), []).append((point, why))
    for (product, instead_of, kind), rows in found.items():
        yield StandsIn(product, instead_of, join_grams(point for point, _ in rows), rows[0][1], kind)


def _find_kind(reason: object) -> Kind | None:
    """The kind of a reason; of a strength that does not serve, of why it does not."""
    if not isinstance(reason, Finding):
        return None
    return _find_kind(reason["reason"]) if reason.kind is Kind.STRENGTH_MISSES else reason.kind


def _find_shares(track: Track) -> Iterator[ProofFinding]:
    """Where the row says what share of the dose that is due the mark holds: too little of it, or a good deal more."""
    found = [
        (percent, point)
        for point in track.points
        if isinstance(percent := _find_in(point.outcome, Kind.SHARE_OF_DUE, "percent"), Fraction)
    ]
    for is_less in (True, False):
        rows = [row for row in found if (row[0] < 100) is is_less]  # noqa: PLR2004  (all of it, in %)
        if rows:
            percent, at = max(rows, key=lambda row: abs(row[0] - 100))
            yield ShareOfDue(is_less, join_grams(point for _, point in rows), percent, join_grams([at])[0])


def _find_containers(track: Track) -> Iterator[ProofFinding]:
    """Where containers decide on the dose: whole ones, or one less."""
    whole = [point for point in track.points if point.outcome.is_whole]
    fewer = [point for point in track.points if _is_fewer(point.outcome)]
    yield from (
        ContainersTaken(is_whole, join_grams(rows)) for is_whole, rows in ((True, whole), (False, fewer)) if rows
    )


def _is_fewer(outcome: Outcome) -> bool:
    draw_up = _find_in(outcome, Kind.DRAWN_UP, "draw_up")
    return isinstance(draw_up, DrawUp) and draw_up.is_fewer


def _find_in(outcome: Outcome, kind: Kind, name: str) -> object:
    """One value of the first finding of a kind among an outcome's details and working; None where there is none."""
    return next((each[name] for each in (*outcome.details, *outcome.working) if each.kind is kind), None)


def _group(track: Track, key: Callable[[Point], Value]) -> Iterator[tuple[Value, list[Point]]]:
    for value, points in groupby(track.points, key):
        yield value, list(points)
