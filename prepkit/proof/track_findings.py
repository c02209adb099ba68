"""What one track shows: where a line is blocked, what changes, what rounding does; of a dose what it shows beside."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from msgspec.structs import replace

from prepkit.kit.baby import Age, Baby, BabySize
from prepkit.kit.lines import DoseLine, Line, SizeLine
from prepkit.proof.dose_findings import find_on_dose
from prepkit.proof.findings import BlockedRuns, Ground, GroundChanges, LargestRounding, ProofFinding, SyringeAgain
from prepkit.proof.notes import TrackFinding
from prepkit.proof.walk import Point, Track, join_grams
from prepkit.quantities.amount import convert
from prepkit.quantities.text import round_half_up
from prepkit.rules.findings import Finding, Kind
from prepkit.rules.rule import Outcome

# The largest rounding is told to two decimals: those that are the same so are one.
_TOLD = Fraction(1, 100)
_NO_GROUND = Ground()
_APPROVED = frozenset({Kind.ON_APPROVAL, Kind.ON_WIDENING})


def find_on_track(line: Line, track: Track) -> Iterator[TrackFinding]:
    """Everything that one track shows but its rounding, of which only the largest is said."""
    yield from _find_blocked(track)
    yield from _find_changes(line, track)
    if isinstance(line, DoseLine):
        for found in find_on_dose(track):
            yield _see(found, track, is_gap=isinstance(found, SyringeAgain))


def _see(finding: ProofFinding, track: Track, *, is_gap: bool = False) -> TrackFinding:
    return TrackFinding(finding, track.situation.told, track.days, is_gap)


def _find_blocked(track: Track) -> Iterator[TrackFinding]:
    """Where it is blocked: the runs of weights at once, with the reason at the first of them."""
    found: dict[tuple[bool, bool], list[Point]] = {}
    for point in track.points:
        if point.outcome.blocked:
            found.setdefault((point.outcome.is_unmeasured, point.is_suitable), []).append(point)
    for (is_unmeasured, is_gap), points in found.items():
        if reason := points[0].outcome.blocked:
            runs = join_grams(points)
            # The reason speaks of one baby; what is the same for another gestation is not said again.
            blocked = BlockedRuns(is_unmeasured, runs, reason, _forget_baby(reason), not is_gap)
            yield _see(blocked, track, is_gap=is_gap)


def _forget_baby(value: object) -> object:
    if isinstance(value, Finding):
        return Finding(value.kind, {name: _forget_baby(each) for name, each in value.values.items()})
    if isinstance(value, tuple):
        return tuple(map(_forget_baby, value))
    return None if isinstance(value, Baby | BabySize | Age) else value


def _find_changes(line: Line, track: Track) -> Iterator[TrackFinding]:
    """Where the ground, the size, the syringe or what it is drawn up from changes, wherever there is one."""
    there = [(point.start, ground) for point in track.points if (ground := _find_ground(line, point.outcome))]
    grounds = tuple((next(pairs)[0], ground) for ground, pairs in groupby(there, lambda pair: pair[1]))
    if grounds:
        yield _see(GroundChanges(grounds), track)


def _find_ground(line: Line, outcome: Outcome) -> Ground | None:
    if outcome.blocked:
        return None
    is_size = isinstance(line, SizeLine)
    show, sizes = (outcome.show, ()) if is_size else (None, outcome.sizes)
    ground = Ground(outcome.standing, _is_approved(outcome), show, sizes)
    if isinstance(line, DoseLine) and outcome.syringe is not None and outcome.recipe is not None:
        recipe, stands_in = outcome.recipe, outcome.product if outcome.stands_in else ""
        return replace(
            ground,
            syringe=outcome.syringe.holds,
            syringes=outcome.syringes,
            stands_in=stands_in,
            recipe=recipe.id,
            strength=recipe.strength,
        )
    return ground if ground != _NO_GROUND else None


def _is_approved(outcome: Outcome) -> bool:
    return any(ground.kind in _APPROVED for ground in outcome.standing)


def find_rounding(tracks: list[Track]) -> Iterator[TrackFinding]:
    """The largest rounding of each situation: of a dose in percent, of a length in cm."""
    worst: dict[object, list[tuple[Fraction, LargestRounding, Track]]] = {}
    for track in tracks:
        # The least weight of those that are alike is told, which comes first.
        ends = [end for point in track.points for end in point.list_ends()]
        found = [(deviation, at) for at, outcome in ends if (deviation := _find_deviation(outcome)) is not None]
        if found:
            (size, unit), at = max(found, key=lambda pair: abs(pair[0][0]))
            told = round_half_up(abs(size), _TOLD)
            rounding = LargestRounding((size > 0) - (size < 0), told, unit, at)
            worst.setdefault(track.situation.told, []).append((abs(size), rounding, track))
    for found_here in worst.values():
        most = max(size for size, _, _ in found_here)
        yield from (_see(rounding, track) for size, rounding, track in found_here if size == most)


def _find_deviation(outcome: Outcome) -> tuple[Fraction, str] | None:
    """What rounding to a mark adds, and its unit; None where nothing is rounded."""
    if outcome.amount is None or outcome.exact is None or outcome.blocked:
        return None
    apart = outcome.amount.value - convert(outcome.exact, outcome.amount.unit).value
    if outcome.due is not None:
        return apart / outcome.exact.value * 100, "%"
    return (apart, outcome.amount.unit.text) if apart else None
