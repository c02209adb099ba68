"""The rules of `supply` and `trial` lines: how many to lay out, which, and what to try."""

from collections.abc import Mapping, Sequence
from itertools import product
from math import prod
from operator import is_

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit
from prepkit.kit.lines import Band, CountBand, SupplyLine, TrialLine
from prepkit.kit.ward import Ward
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.depth import Depth, PreparedDepthMethod, prepare_depth_method
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.rule import AlwaysRule, Outcome, Rule, RuleContext
from prepkit.rules.size import SizeChoice, block_waiting, prepare_choices

_FEW = 16


class _Count(Struct, frozen=True):
    """How many for one band, with what is said of it."""

    condition: Condition
    count: int
    working: Finding


class _Size(Struct, frozen=True):
    """Which size for one band, with what is said of it."""

    choice: SizeChoice
    working: Finding


class SupplyRule(Struct, frozen=True):
    """A thing to lay out whose number, size or length hangs on the baby."""

    line: SupplyLine
    counts: tuple[_Count, ...]
    sizes: tuple[_Size, ...]
    length: PreparedDepthMethod | None
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, context: RuleContext) -> Outcome:
        """Find how many, of which size, how far in."""
        line = self.line
        count = next((each for each in self.counts if each.condition.holds_for(context.baby)), None)
        size = next((each for each in self.sizes if each.choice.fits(context)), None)
        depth = self.length.find(context) if self.length else None
        if line.size and size is None and (waiting := block_waiting((line.size,), context)):
            return waiting
        wanted = {"count": (line.count, count), "size": (line.size, size), "length": (line.length, depth)}
        for name, (stated, found) in wanted.items():
            if stated and found is None:
                return self._block(name, context)
        if depth and depth.blocked:
            return Outcome(blocked=depth.blocked, working=(depth.working,))
        return self._lay_out(context, count, size, depth)

    def _block(self, name: str, context: RuleContext) -> Outcome:
        size = context.baby.size
        working = (finding(Kind.NONE_GIVEN, what=name, size=size), *self._caution_other_size(context))
        return Outcome(blocked=finding(Kind.NONE_STATED, what=name, size=size), working=working)

    def _lay_out(self, context: RuleContext, count: _Count | None, size: _Size | None, depth: Depth | None) -> Outcome:
        length = (finding(Kind.SUPPLY_LENGTH, working=depth.working),) if depth else ()
        return Outcome(
            exact=depth.exact if depth else None,
            amount=depth.mark if depth else None,
            low=depth.low if depth else None,
            high=depth.high if depth else None,
            sizes=size.choice.band.size if size else (),
            how_many=count.count if count else None,
            show=_show(self.line, count, size, depth),
            working=(*(each.working for each in (count, size) if each), *length),
            basis=depth.method.basis if depth else None,
            source=(depth.source,) if depth else (),
            cautions=self._caution_other_size(context),
        )

    def _caution_other_size(self, context: RuleContext) -> tuple[Finding, ...]:
        return self.length.caution_other_size(context) if self.length else ()


def prepare_supply(line: SupplyLine, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare the bands of a supply's number and size, and its length; most supplies have none of them."""
    if not (line.count or line.size or line.length):
        working = finding(Kind.LAID_OUT, cited=cite(kit, line.basis, line.source))
        return AlwaysRule(Outcome(show=_show(line, None, None, None), working=(working,)))
    length = prepare_depth_method(line.id, line.length, line.step, kit, ward) if line.length and line.step else None
    counts = tuple(_prepare_count(line, band, kit) for band in line.count)
    sizes = (
        tuple(_prepare_size(line, line.size.by, choice, kit) for choice in prepare_choices(line.size))
        if line.size
        else ()
    )
    return SupplyRule(line, counts, sizes, length)


def _prepare_count(line: SupplyLine, band: CountBand, kit: Kit) -> _Count:
    working = finding(Kind.COUNTED, count=band.count, where=band, cited=_cite(line, band, kit))
    return _Count(prepare_condition(band), band.count, working)


def _prepare_size(line: SupplyLine, by: str, choice: SizeChoice, kit: Kit) -> _Size:
    band = choice.band
    return _Size(choice, finding(Kind.SUPPLY_SIZE, by=by, band=band, cited=_cite(line, band, kit)))


def _show(line: SupplyLine, count: _Count | None, size: _Size | None, depth: Depth | None) -> Finding | None:
    many, sizes = count.count if count else None, size.choice.band.size if size else ()
    if not (line.says or sizes or depth or (many and many > 1)):
        return None
    return finding(Kind.SUPPLY, count=many, what=line.says, sizes=sizes, length=depth.show if depth else None)


def _cite(line: SupplyLine, band: Band, kit: Kit) -> Citation:
    basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
    return cite(kit, basis, source)


class TrialRule(Struct, frozen=True):
    """Something to try before the cot, for what other lines give."""

    followed: tuple[tuple[str, str], ...]
    """Name and id of each line that it is of."""
    working: Finding
    tried: tuple[tuple[tuple[Outcome, ...], Outcome], ...] = ()
    """What it gives for outcomes of those lines that are fixed."""

    @property
    def fixed(self) -> tuple[Outcome, ...]:
        """What it gives for fixed outcomes."""
        return tuple(outcome for _, outcome in self.tried)

    def work_out(self, context: RuleContext) -> Outcome:
        """Find what to try, with the values it is tried for: a tick states them, and falls with them."""
        given = [context.found[line] for _, line in self.followed]
        for known, outcome in self.tried:
            if all(map(is_, known, given)):
                return outcome
        return self._try_out(given)

    def prepare_for(self, fixed: Mapping[str, Sequence[Outcome]]) -> "TrialRule":
        """Prepare it for what the lines that it is of may give as it stands; for more than a few it is not worth it."""
        given = [fixed[line] for _, line in self.followed]
        known = product(*given) if prod(map(len, given)) <= _FEW else ()
        return replace(self, tried=tuple((outcomes, self._try_out(outcomes)) for outcomes in known))

    def _try_out(self, given: Sequence[Outcome]) -> Outcome:
        followed = [(name, outcome) for (name, _), outcome in zip(self.followed, given, strict=True)]
        waiting = [name for name, outcome in followed if outcome.blocked]
        if waiting:
            return Outcome(blocked=finding(Kind.WAITS, names=tuple(waiting)), working=(self.working,))
        shown = [(name, outcome.show) for name, outcome in followed if outcome.show]
        values = tuple(show for _, show in shown)
        # All that it hangs on: the same 3.6 mL of another product, or in another syringe, is another trial.
        tried = tuple((outcome.standing, outcome.show, outcome.details) for outcome in given)
        return Outcome(
            show=finding(Kind.TRIED_VALUES, values=values) if values else None,
            standing=(finding(Kind.TRIED, values=tried),),
            working=(self.working, *(finding(Kind.TRIED_ON, name=name, show=show) for name, show in shown)),
        )


def prepare_trial(line: TrialLine, kit: Kit, ward: Ward | None) -> Rule:  # noqa: ARG001  (of the same form as the others)
    """Prepare what to try before the cot."""
    names = {row.id: row.name for row in kit.line}
    working = finding(Kind.TRY_NOW, cited=cite(kit, line.basis, line.source))
    if not line.of:
        return AlwaysRule(Outcome(working=(working,)))
    return TrialRule(tuple((names[name], name) for name in line.of), working)
