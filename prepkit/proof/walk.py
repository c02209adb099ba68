"""Walks a kit's domain: every line along the weight and the gestation that it goes by, wherever it may differ."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import product

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.axes import GESTATIONS, WEIGHTS, Axis
from prepkit.kit.baby import Age, Baby, make_newborn
from prepkit.kit.facts import FactValue
from prepkit.kit.kit import Criterion, Kit
from prepkit.kit.layer import Layer, lay_over
from prepkit.kit.lines import DoseLine, Line, TrialLine
from prepkit.kit.ward import Ward
from prepkit.list.compute import PreparedLine, prepare_lines
from prepkit.proof.deciding import Reads, find_deciding
from prepkit.proof.domain import Run, find_domain, join
from prepkit.proof.draw_ups import DrawUps
from prepkit.proof.situations import Situation, add_ages, add_beside, list_situations
from prepkit.rules.approvals import find_widening
from prepkit.rules.dose.rule import DoseRule, find_options
from prepkit.rules.findings import Finding
from prepkit.rules.rule import Order, Outcome, RuleContext


class Point(Struct, frozen=True):
    """A line worked out for one run of weights: at its first gram and at its last."""

    grams: Run | None
    """None for a line that goes by no weight."""
    outcome: Outcome
    last: Outcome
    is_suitable: bool
    """Whether no criterion, as far as it goes by what the line is walked along, rules these babies out."""

    @property
    def start(self) -> Run | None:
        """The first gram."""
        return self.grams.start if self.grams else None

    def list_ends(self) -> Iterator[tuple[Run | None, Outcome]]:
        """The first gram with its outcome, and the last where that is another one."""
        yield self.start, self.outcome
        if self.grams is not None and self.last is not self.outcome:
            yield self.grams.end, self.last


class Track(Struct, frozen=True):
    """A line along all weights, in one situation, for one run of gestations."""

    situation: Situation
    days: Run | None
    """None for a line that goes by no gestation."""
    points: tuple[Point, ...]


def join_grams(points: Iterable[Point]) -> tuple[Run, ...]:
    """The runs of weights of these points; none where the line goes by no weight."""
    return join(point.grams for point in points if point.grams is not None)


class Walk:
    """One kit and one ward file, walked line by line."""

    def __init__(self, kit: Kit, ward: Ward | None, now: datetime) -> None:
        """Take the domain from the kit; `now` decides approvals and what may be given again."""
        self.layer = lay_over(kit, ward)
        self.kit = self.layer.kit
        self.ward = ward
        self.now = now
        self.criteria = tuple(_list_criteria(self.layer, ward, now))
        deciding = [row.where for row in self.criteria if row.where and row.otherwise == "not suitable"]
        self._deciding = {line.id: find_deciding(line, self.layer, ward, deciding) for line in self.kit.line}
        self._prepared = {name: _keep_draw_ups(line) for name, line in prepare_lines(self.kit, ward).items()}
        self._worked_out: dict[tuple[object, ...], Outcome] = {}
        # What a line does not go by is the same for all.
        self._grams, self._days = (_find_first(self.kit, which) for which in (WEIGHTS, GESTATIONS))

    @property
    def worked(self) -> int:
        """How many times a line was worked out so far."""
        return len(self._worked_out)

    def find_domain(self, axis: Axis) -> Run:
        """The domain along one weight or gestation."""
        return find_domain(self.kit, axis)

    def get_reads(self, line: Line) -> Reads:
        """What decides on a line."""
        return self._deciding[line.id].reads

    def list_situations(self, line: Line) -> tuple[Situation, ...]:
        """What matters to a line, or to one that it follows, beside what it is walked along."""
        deciding = self._deciding[line.id]
        situations = add_ages(list_situations(deciding.lines, self.kit, self.ward, self.now), deciding.ages)
        return add_beside(situations, deciding.ends)

    def list_tracks(self, line: Line) -> Iterator[Track]:
        """The line along all weights, for each run of gestations and each situation that matters to it."""
        deciding, grams = self._deciding[line.id], self._deciding[line.id].grams
        if isinstance(line, DoseLine):
            grams = tuple(Run(run.axis, g, g) for run in grams if run for g in range(run.first, run.last + 1))
        for situation in self.list_situations(line):
            for days in deciding.days:
                found = (self._find_point(line, run, days, situation) for run in grams)
                points = tuple(point for point in found if point is not None)
                if points:
                    yield Track(situation, days, points)

    def list_babies(self, line: Line) -> Iterator[Baby]:
        """One baby for all that have the same line, as far as its bands go."""
        deciding = self._deciding[line.id]
        for situation, days, grams in product(self.list_situations(line), deciding.days, deciding.grams):
            baby = self._make_baby(deciding.reads, grams, days, situation)
            if baby is not None:
                yield baby

    def make_first(self, line: Line, facts: Mapping[str, FactValue | None]) -> Baby:
        """The first baby of the line's domain, some facts as given here."""
        situation, deciding = self.list_situations(line)[0], self._deciding[line.id]
        given = replace(situation, facts={**situation.facts, **facts})
        baby = self._make_baby(deciding.reads, deciding.grams[0], deciding.days[0], given)
        if baby is None:
            raise AssertionError("in the first situation weights and gestations at birth and now are the same")
        return baby

    def work_out(self, line: Line, baby: Baby) -> Outcome:
        """One line for one baby."""
        return self._work_out((*self._deciding[line.id].before, line), baby)[line.id]

    def try_out(self, line: TrialLine) -> Outcome:
        """A trial where nothing that it is of is blocked: what it gives by itself, the ward's changes judged."""
        found = {each.id: Outcome() for each in self._deciding[line.id].before}
        context = RuleContext(self.kit, self.ward, self.make_first(line, {}), self.now, found, layer=self.layer)
        return self._prepared[line.id].work_out(context)

    def make_context(self, line: Line, baby: Baby) -> RuleContext:
        """What the line's rule is given for one baby, the lines before it worked out."""
        before = self._work_out(self._deciding[line.id].before, baby)
        return RuleContext(self.kit, self.ward, baby, self.now, before, layer=self.layer)

    def list_ordered(self, line: DoseLine, track: Track, point: Point) -> Iterator[tuple[Order, Outcome]]:
        """Everything that can be ordered at a point of a dose's track, and what the line then gives."""
        baby = self._make_baby(self._deciding[line.id].reads, point.grams, track.days, track.situation)
        if baby is None:
            raise AssertionError("a point is of a baby")
        context = self.make_context(line, baby)
        for option in find_options(line, context).choices:
            ordered = replace(context, orders={line.id: option.order})
            yield option.order, self._prepared[line.id].work_out(ordered)

    def _find_point(self, line: Line, grams: Run | None, days: Run | None, situation: Situation) -> Point | None:
        """What a line gives in one run; None where no baby can be so."""
        deciding = self._deciding[line.id]
        lines = (*deciding.before, line)
        baby = self._make_baby(deciding.reads, grams, days, situation)
        if baby is None:
            return None
        first = last = self._work_out(lines, baby)[line.id]
        if grams is not None and grams.last != grams.first:
            at_end = self._make_baby(deciding.reads, grams.end, days, situation)
            last = self._work_out(lines, at_end)[line.id] if at_end else first
        return Point(grams, first, last, all(each.holds_for(baby) for each in deciding.suitable))

    def _make_baby(self, reads: Reads, along: Run | None, day: Run | None, situation: Situation) -> Baby | None:
        """The first baby of a run in one situation, nothing assumed; None where no baby has both weights, or days."""
        grams, days = along.first if along else self._grams, day.first if day else self._days
        told = situation.told
        age = None if told.age is None else Age(told.age, told.age)
        if not told.beside:
            return make_newborn(grams, days, situation.facts, age)
        at: dict[Axis | None, int] = {reads.weight: grams, reads.gestation: days}
        for each in told.beside:
            at[each.axis] = each.value or (grams if each.axis in WEIGHTS else days)
        greater = at.get(Axis.GREATER_WEIGHT, grams)
        birth_g = at.get(Axis.BIRTH_WEIGHT, greater if Axis.GREATER_WEIGHT in at else grams)
        now_g = at.get(Axis.WEIGHT_NOW, greater if Axis.GREATER_WEIGHT in at else birth_g)
        days_at_birth = at.get(Axis.BIRTH_GESTATION, days)
        today = at.get(Axis.GESTATION_TODAY, days_at_birth)
        if today < days_at_birth or (Axis.GREATER_WEIGHT in at and max(birth_g, now_g) != greater):
            return None
        return make_newborn(birth_g, days_at_birth, situation.facts, age, now_g=now_g, days_today=today)

    def _work_out(self, lines: Sequence[Line], baby: Baby) -> dict[str, Outcome]:
        found: dict[str, Outcome] = {}
        context = RuleContext(self.kit, self.ward, baby, self.now, found, layer=self.layer)
        for each in lines:
            found[each.id] = self._recall(each, context)
        return found

    def _recall(self, line: Line, context: RuleContext) -> Outcome:
        """A line worked out once for all babies that are the same in everything that decides on it."""
        reads, baby = self._deciding[line.id].reads, context.baby
        measured = tuple([baby.measures[axis] for axis in reads.axes])
        age = baby.age if reads.has_age else None
        key = (line.id, measured, age, tuple([baby.facts[name] for name in reads.facts]))
        if key not in self._worked_out:
            self._worked_out[key] = self._prepared[line.id].work_out(context)
        return self._worked_out[key]


def _find_first(kit: Kit, which: Sequence[Axis]) -> int:
    """The first number of the domain's first weight, or of its first gestation."""
    return find_domain(kit, next((axis for axis in which if kit.domain.find_span(axis)), which[0])).first


def _keep_draw_ups(line: PreparedLine) -> PreparedLine:
    """The line, a medicine with its draw-ups kept."""
    return replace(line, rule=replace(line.rule, draw=DrawUps().draw)) if isinstance(line.rule, DoseRule) else line


def _list_criteria(layer: Layer, ward: Ward | None, now: datetime) -> Iterator[Criterion]:
    """Each criterion that counts: the ward's own, and the kit's too where no approval lets the ward go further."""
    for criterion in layer.kit.criterion:
        own = layer.criteria.get(criterion.id)
        if own is not None and isinstance(find_widening(ward, own.id, layer.kit.id, now.date()), Finding):
            yield own
        yield criterion
