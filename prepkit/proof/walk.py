"""Walks a kit's domain: every line at every gram and day where it may differ."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.layer import Layer, find_followed, lay_over
from prepkit.kit.lines import DepthLine, DoseLine, Line, SupplyLine
from prepkit.kit.ward import Ward
from prepkit.list.compute import prepare_lines
from prepkit.proof.domain import Cuts, Run, Situation, find_cuts, find_formula_cuts, find_run, list_situations, split
from prepkit.quantities.gestation import Gestation
from prepkit.rules.approvals import find_widening
from prepkit.rules.condition import prepare_condition
from prepkit.rules.findings import Finding
from prepkit.rules.rule import Outcome, RuleContext


class Point(Struct, frozen=True):
    """A line worked out for one run of weights: at its first gram and at its last."""

    grams: Run
    outcome: Outcome
    last: Outcome
    is_suitable: bool
    """Whether no criterion that goes by weight or gestation rules these babies out."""


class Track(Struct, frozen=True):
    """A line along all weights, in one situation, for one run of gestations."""

    situation: Situation
    days: Run
    points: tuple[Point, ...]


class Walk:
    """One kit and one ward file, walked line by line."""

    def __init__(self, kit: Kit, ward: Ward | None, now: datetime) -> None:
        """Take the domain from the kit; `now` decides approvals and what may be given again."""
        self.layer = lay_over(kit, ward)
        self.kit = self.layer.kit
        self.ward = ward
        self.now = now
        self.criteria = tuple(_list_criteria(self.layer, ward, now))
        self.grams = find_run(kit.domain.weight)
        self.days = find_run(kit.domain.gestation)
        self._worked_out: dict[tuple[object, ...], Outcome] = {}
        self._lines = {line.id: line for line in self.kit.line}
        self._prepared = prepare_lines(self.kit, ward)
        deciding = [row.where for row in self.criteria if row.where and row.otherwise == "not suitable"]
        # Other facts stand at a default here, which is no reason to count a blocked line as no gap.
        self._deciding = [replace(where, facts={}) for where in deciding]
        self._suitable = [prepare_condition(where) for where in self._deciding]

    @property
    def worked(self) -> int:
        """How many times a line was worked out so far."""
        return len(self._worked_out)

    def list_situations(self, line: Line) -> tuple[Situation, ...]:
        """The facts that matter to a line, or to one that it follows."""
        return list_situations(self._list_deciding(line), self.kit, self.ward, self.now)

    def list_tracks(self, line: Line) -> Iterator[Track]:
        """The line along all weights, for each run of gestations and each situation that matters to it."""
        lines = (*self._list_before(line), line)
        cuts = self.find_cuts(line)
        is_by_gram = any(isinstance(each, DoseLine) for each in lines)
        every = range(self.grams.first, self.grams.last + 1)
        grams = tuple(Run(g, g) for g in every) if is_by_gram else split(self.grams, cuts.grams)
        for situation in self.list_situations(line):
            for days in split(self.days, cuts.days):
                yield Track(situation, days, tuple(self._find_point(lines, run, days, situation) for run in grams))

    def find_cuts(self, line: Line) -> Cuts:
        """Where a line, one that it follows, an approval of either, or a criterion may begin to be different."""
        lines = self._list_deciding(line)
        names = {each.id for each in lines}
        parts: list[object] = [*lines, *self._deciding]
        if self.ward is not None:
            parts += [approval for approval in self.ward.approval if approval.line in names]
        cuts = find_cuts(parts)
        marks = (find_formula_cuts(each, self.grams) for each in lines if isinstance(each, DepthLine | SupplyLine))
        return Cuts(cuts.grams.union(*marks), cuts.days)

    def list_babies(self, line: Line) -> Iterator[Baby]:
        """One baby for all that have the same line, as far as its bands go."""
        cuts = self.find_cuts(line)
        for situation in self.list_situations(line):
            for days in split(self.days, cuts.days):
                for grams in split(self.grams, cuts.grams):
                    yield make_baby(grams.first, days.first, situation)

    def work_out(self, line: Line, baby: Baby) -> Outcome:
        """One line for one baby."""
        return self._work_out((*self._list_before(line), line), baby)[line.id]

    def make_context(self, line: Line, baby: Baby) -> RuleContext:
        """What the line's rule is given for one baby, the lines before it worked out."""
        return RuleContext(
            self.kit, self.ward, baby, self.now, self._work_out(self._list_before(line), baby), layer=self.layer
        )

    def _list_deciding(self, line: Line) -> tuple[Line, ...]:
        """The line, those that it follows, and the kit's own of each in whose place the ward file's stands."""
        lines = (line, *self._list_before(line))
        own = (self.layer.lines.get(each.id) for each in lines)
        return (*lines, *(each for each in own if each is not None))

    def _find_point(self, lines: Sequence[Line], grams: Run, days: Run, situation: Situation) -> Point:
        baby = make_baby(grams.first, days.first, situation)
        first = last = self._work_out(lines, baby)[lines[-1].id]
        if grams.last != grams.first:
            last = self._work_out(lines, make_baby(grams.last, days.last, situation))[lines[-1].id]
        return Point(grams, first, last, all(each.holds_for(baby) for each in self._suitable))

    def _work_out(self, lines: Sequence[Line], baby: Baby) -> dict[str, Outcome]:
        found: dict[str, Outcome] = {}
        context = RuleContext(self.kit, self.ward, baby, self.now, found, layer=self.layer)
        for each in lines:
            found[each.id] = self._recall(each, context)
        return found

    def _recall(self, line: Line, context: RuleContext) -> Outcome:
        """A line worked out once for the same baby; the key holds every fact, so that none can answer for another."""
        baby = context.baby
        key = (line.id, baby.weight_g, baby.gestation.days, tuple(baby.facts.items()))
        if key not in self._worked_out:
            self._worked_out[key] = self._prepared[line.id].work_out(context)
        return self._worked_out[key]

    def _list_before(self, line: Line) -> list[Line]:
        """The lines that this one follows, and those that they follow, in the kit's order."""
        own = self.layer.lines.get(line.id, line)
        needed = {*find_followed(line), *find_followed(own)}
        for name in tuple(needed):
            needed |= {each.id for each in self._list_before(self._lines[name])}
        return [each for each in self.kit.line if each.id in needed]


def make_baby(grams: int, days: int, situation: Situation) -> Baby:
    """A baby of the domain in one situation, its facts given and none assumed."""
    return Baby(grams, Gestation(days), "unknown", situation.facts, ())


def _list_criteria(layer: Layer, ward: Ward | None, now: datetime) -> Iterator[Criterion]:
    """Each criterion that counts: the ward's own, and the kit's too where no approval lets the ward go further."""
    for criterion in layer.kit.criterion:
        own = layer.criteria.get(criterion.id)
        if own is not None and isinstance(find_widening(ward, own.id, layer.kit.id, now.date()), Finding):
            yield own
        yield criterion
