"""Walking a kit's domain: every line at every gram and day where it may differ.

May import: `prepkit.list` and below.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DepthLine, DepthMethod, DoseLine, Line, SizeLine, SizeMethod, SupplyLine, TrialLine
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_line
from prepkit.proof.classes import Run, find_cuts, find_run, split
from prepkit.proof.situations import Situation, list_situations
from prepkit.quantities.gestation import Gestation
from prepkit.rules.case import Case, Outcome


@dataclass(frozen=True, slots=True)
class Point:
    """A line worked out for one weight run."""

    grams: Run
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Track:
    """A line along all weights, in one situation, for one run of gestations."""

    situation: Situation
    days: Run
    points: tuple[Point, ...]


class Walk:
    """One kit and one ward file, walked line by line."""

    def __init__(self, kit: Kit, ward: Ward | None, now: datetime) -> None:
        """Take the domain from the kit; `now` decides approvals and what may be given again."""
        self.kit = kit
        self.ward = ward
        self.now = now
        self.grams = find_run(kit.domain.weight)
        self.days = find_run(kit.domain.gestation)
        self._worked_out: dict[tuple[object, ...], Outcome] = {}
        self._lines = {line.id: line for line in kit.line}

    @property
    def worked(self) -> int:
        """How many times a line was worked out so far."""
        return len(self._worked_out)

    def list_tracks(self, line: Line) -> Iterator[Track]:
        """The line along all weights, for each run of gestations and each situation that matters to it."""
        before = self._list_before(line)
        parts: list[object] = [line, *before]
        if self.ward is not None:
            parts += [
                approval for approval in self.ward.approval if approval.line in {part.id for part in (line, *before)}
            ]
        cuts = find_cuts(parts)
        every = range(self.grams.first, self.grams.last + 1)
        by_gram = any(isinstance(each, DoseLine) for each in (line, *before))
        grams = tuple(Run(g, g) for g in every) if by_gram else split(self.grams, cuts.grams)
        for situation in list_situations(line, self.kit, self.now):
            for days in split(self.days, cuts.days):
                points = tuple(
                    Point(run, self._work_out(line, before, run.first, days.first, situation)) for run in grams
                )
                yield Track(situation, days, points)

    def _work_out(self, line: Line, before: list[Line], grams: int, days: int, situation: Situation) -> Outcome:
        baby = Baby(grams, Gestation(days), "unknown", situation.facts, ())
        found: dict[str, Outcome] = {}
        case = Case(self.kit, self.ward, baby, self.now, found)
        for each in (*before, line):
            found[each.id] = self._recall(each, case)
        return found[line.id]

    def _recall(self, line: Line, case: Case) -> Outcome:
        """A line worked out once for the same baby; the key holds every fact, so that none can answer for another."""
        baby = case.baby
        key = (line.id, baby.weight_g, baby.gestation.days, tuple(baby.facts.items()))
        if key not in self._worked_out:
            self._worked_out[key] = compute_line(line, case)
        return self._worked_out[key]

    def _list_before(self, line: Line) -> list[Line]:
        """The lines that this one follows, and those that they follow, in the kit's order."""
        needed = set(_find_followed(line))
        for name in tuple(needed):
            needed |= {each.id for each in self._list_before(self._lines[name])}
        return [each for each in self.kit.line if each.id in needed]


def _find_followed(line: Line) -> tuple[str, ...]:
    if isinstance(line, TrialLine):
        return line.of
    methods: tuple[SizeMethod | DepthMethod | None, ...] = ()
    if isinstance(line, SizeLine | DepthLine):
        methods = line.method
    elif isinstance(line, SupplyLine):
        methods = (line.size, line.length)
    return tuple(method.follows for method in methods if method and method.follows)
