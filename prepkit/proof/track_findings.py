"""What one track shows: where a line is blocked, what changes, what rounding does, where a ceiling bites."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import groupby, pairwise
from typing import TypeVar

from prepkit.kit.lines import DoseLine, Line, SizeLine, TrialLine
from prepkit.proof.domain import Run, join
from prepkit.proof.notes import NoteKind, TrackFinding, say_grams
from prepkit.proof.walk import Point, Track, make_baby
from prepkit.quantities.amount import convert
from prepkit.quantities.text import show_amount, write_decimal
from prepkit.rules.rule import Outcome
from prepkit.rules.size import join_sizes

Value = TypeVar("Value")
_MOST_RUNS = 4


def find_on_track(line: Line, track: Track) -> Iterator[TrackFinding]:
    """Everything that one track shows but its rounding, of which only the largest is said."""
    yield from _find_blocked(track)
    yield from _find_changes(line, track)
    if isinstance(line, DoseLine):
        yield from _find_steps(track)
        yield from _find_ceiling(track)
        yield from _find_held(track)
        yield from _find_over_course(track)


def _see(kind: NoteKind, words: str, track: Track, key: str = "", *, is_gap: bool = False) -> TrackFinding:
    return TrackFinding(kind, words, track.situation.words, track.days, is_gap, key)


def _find_blocked(track: Track) -> Iterator[TrackFinding]:
    """Where it is blocked: the runs of weights at once, with the reason at the first of them."""
    found: dict[tuple[bool, bool], list[Point]] = {}
    for point in track.points:
        if point.outcome.blocked:
            found.setdefault((point.outcome.is_unmeasured, point.is_suitable), []).append(point)
    for (is_unmeasured, is_gap), points in found.items():
        runs, reason = join(point.grams for point in points), points[0].outcome.blocked
        weights = sum(run.last - run.first + 1 for run in runs)
        count = f", {weights} weights in all; at {points[0].grams.first} g" if len(runs) > 1 else ""
        about = "" if is_gap else " [the criteria rule these babies out]"
        baby = make_baby(points[0].grams.first, track.days.first, track.situation)
        where = ", ".join(say_grams(run) for run in runs)
        # The reason speaks of one baby; what is the same for another gestation is not said again.
        key = f"{where}: {reason.replace(baby.words(), '')}"
        kind = NoteKind.UNMEASURED if is_unmeasured else NoteKind.BLOCKED
        yield _see(kind, f"{where}{count}: {reason}{about}", track, key, is_gap=is_gap)


def _find_changes(line: Line, track: Track) -> Iterator[TrackFinding]:
    """Where the ground, the size, the syringe or what it is drawn up from changes, wherever there is one."""
    there = [(point.grams.first, words) for point in track.points if (words := _say_ground(line, point.outcome))]
    said = [(next(pairs)[0], words) for words, pairs in groupby(there, lambda pair: pair[1])]
    if said:
        yield _see(NoteKind.CHANGE, "; ".join(f"from {grams} g {words}" for grams, words in said), track)


def _say_ground(line: Line, outcome: Outcome) -> str:
    if outcome.blocked or isinstance(line, TrialLine):
        return ""
    parts = [outcome.standing, outcome.show if isinstance(line, SizeLine) else join_sizes(outcome.sizes)]
    if isinstance(line, DoseLine) and outcome.syringe is not None and outcome.recipe is not None:
        parts.append(f"{show_amount(outcome.syringe.holds)} syringe")
        parts.append(f"{outcome.recipe.id} {show_amount(outcome.recipe.strength)}")
    return ", ".join(part for part in parts if part)


def find_rounding(tracks: list[Track]) -> Iterator[TrackFinding]:
    """The largest rounding of each situation: of a dose in percent, of a length in cm."""
    worst: dict[str, list[tuple[Fraction, str, Track]]] = {}
    for track in tracks:
        ends = [(point.grams.first, point.outcome) for point in track.points]
        ends += [(point.grams.last, point.last) for point in track.points if point.last is not point.outcome]
        found = [(deviation, grams) for grams, outcome in ends if (deviation := _find_deviation(outcome)) is not None]
        if found:
            deviation, grams = max(found, key=lambda pair: (abs(pair[0][0]), -pair[1]))
            words = f"{_say_deviation(*deviation)} at {grams} g"
            worst.setdefault(track.situation.words, []).append((abs(deviation[0]), words, track))
    for found_here in worst.values():
        most = max(size for size, _, _ in found_here)
        yield from (_see(NoteKind.ROUNDING, words, track) for size, words, track in found_here if size == most)


def _find_deviation(outcome: Outcome) -> tuple[Fraction, str] | None:
    """What rounding to a mark adds, and its unit; None where nothing is rounded."""
    if outcome.amount is None or outcome.exact is None or outcome.blocked:
        return None
    apart = outcome.amount.value - convert(outcome.exact, outcome.amount.unit).value
    if outcome.dose is not None:
        return apart / outcome.exact.value * 100, "%"
    return (apart, outcome.amount.unit.text) if apart else None


def _say_deviation(size: Fraction, unit: str) -> str:
    sign = "+" if size > 0 else "\N{MINUS SIGN}" if size < 0 else ""
    return f"{sign}{write_decimal(abs(size), 2)} {unit}"


def _find_steps(track: Track) -> Iterator[TrackFinding]:
    """Where one more gram moves the volume by more than a mark of either syringe."""
    steps = [(one, two) for one, two in pairwise(track.points) if _is_step(one.outcome, two.outcome)]
    at = {two.grams.first: (one, two) for one, two in steps}
    for run in join(Run(grams, grams) for grams in at):
        one, two = at[run.first][0], at[run.last][1]
        if run.first == run.last:
            words = f"{_say_volume(one)}, {_say_volume(two)}"
        else:
            words = f"at every gram from {_say_volume(one)} to {_say_volume(two)}"
        yield _see(NoteKind.STEP, words, track)


def _is_step(one: Outcome, two: Outcome) -> bool:
    if one.amount is None or two.amount is None or one.syringe is None or two.syringe is None:
        return False
    mark = max(convert(one.syringe.marks, "mL").value, convert(two.syringe.marks, "mL").value)
    return abs(two.amount.value - one.amount.value) > mark


def _say_volume(point: Point) -> str:
    return f"{show_amount(point.outcome.amount)} at {point.grams.first} g" if point.outcome.amount else ""


def _find_ceiling(track: Track) -> Iterator[TrackFinding]:
    """Where the most in one dose takes the place of the dose per kg."""
    for capped, points in _group(track, lambda point: point.outcome.capped):
        if capped is not None:
            words = f"the most in one dose, {show_amount(capped)}, bites at {say_grams(_span(points))}"
            yield _see(NoteKind.CEILING, words, track)


def _find_held(track: Track) -> Iterator[TrackFinding]:
    """Where the nearest mark would be more than may be given, so that the mark below it is taken."""
    held = [point.grams for point in track.points if point.outcome.is_held]
    if held:
        words = f"rounding up would pass what may be given: the mark below is taken at {_say_places(held)}"
        yield _see(NoteKind.CEILING, words, track)


def _find_over_course(track: Track) -> Iterator[TrackFinding]:
    """Where the mark below is too far off, so that the nearest brings the course a little over its total."""
    found = [(total, point.grams) for point in track.points if (total := point.outcome.over_course) is not None]
    if found:
        most, at = max(found, key=lambda pair: (pair[0].value, -pair[1].first))
        words = f"the mark brings the course a little over its total at {_say_places([grams for _, grams in found])}"
        yield _see(NoteKind.CAUTION, f"{words}; the most, {show_amount(most, 2)}, at {say_grams(at)}", track)


def _say_places(grams: list[Run]) -> str:
    runs = join(grams)
    more = f" and {len(runs) - _MOST_RUNS} more runs" if len(runs) > _MOST_RUNS else ""
    return f"{len(grams)} weights ({', '.join(say_grams(run) for run in runs[:_MOST_RUNS])}{more})"


def _group(track: Track, key: Callable[[Point], Value]) -> Iterator[tuple[Value, list[Point]]]:
    for value, points in groupby(track.points, key):
        yield value, list(points)


def _span(points: list[Point]) -> Run:
    return Run(points[0].grams.first, points[-1].grams.last)
