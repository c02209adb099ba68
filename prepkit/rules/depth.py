"""The rule of a `depth` line: how far in, by a formula, a table, a fixed range or a measured length."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.axes import OF_DOSE, Axis
from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DepthLine, DepthMethod
from prepkit.kit.ward import MeasuredLength, Ward
from prepkit.quantities.amount import Amount, convert, make_amount, multiply, subtract
from prepkit.quantities.text import round_half_up
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.rule import Entry, Outcome, Rule, RuleContext, take_entered

_CM = make_amount(1, "cm").unit


class Depth(Struct, frozen=True):
    """What one method gives."""

    method: DepthMethod
    exact: Amount | None
    mark: Amount | None
    """Rounded half up to the line's step, or down where the length was measured and must not be passed."""
    low: Amount | None
    high: Amount | None
    working: Finding
    source: Citation | Finding
    """The method's citation; for a length measured in the ward, by whom and when."""
    measured: bool = False
    """Whether the length was measured in the ward."""
    blocked: Finding | None = None
    """Why the method serves but gives no mark."""

    @property
    def show(self) -> Finding | None:
        """Its mark or its range; None where it gives neither."""
        if self.mark is not None:
            return finding(Kind.AMOUNT, amount=self.mark)
        return finding(Kind.RANGE, low=self.low, high=self.high) if self.low is not None else None


class _Formula(Struct, frozen=True):
    """So much for each gram, and something to start from, rounded to the line's marks; lengths in cm."""

    method: DepthMethod
    axis: Axis
    """The weight that it is for each gram of."""
    rise: Fraction
    start: Fraction
    marks: Fraction
    step: Amount
    """The distance of the marks as it is stated."""
    cited: Citation

    def compute(self, baby: Baby) -> Depth | None:
        """Compute the exact length and its mark; None where the weight is not known."""
        weight_g = baby.measures[self.axis]
        if weight_g is None:
            return None
        exact = Amount(self.rise * weight_g + self.start, _CM)
        mark = Amount(round_half_up(exact.value, self.marks), _CM)
        working = finding(
            Kind.DEPTH_FORMULA,
            method=self.method,
            axis=baby.find_used(self.axis),
            weight_g=weight_g,
            exact=exact,
            step=self.step,
            mark=mark,
            cited=self.cited,
        )
        blocked = None
        if not mark.value:
            blocked = finding(Kind.NO_MARK_BY_FORMULA, exact=exact, by=self.method.by, step=self.step)
        return Depth(self.method, exact, mark, None, None, working, self.cited, blocked=blocked)


class PreparedDepthMethod(Struct, frozen=True):
    """One method of one line, ready for babies: what it gives by size, by formula or by band."""

    method: DepthMethod
    rows: tuple[tuple[MeasuredLength, Depth], ...]
    """The lengths that the ward measured for the line, where the method goes by them."""
    formula: _Formula | None
    table: tuple[tuple[Condition | None, Depth], ...]
    """What each band gives; of a fixed range the one depth, for every baby."""

    def find(self, context: RuleContext) -> Depth | None:
        """Find what it gives for this baby; None where it does not cover it."""
        if self.method.measured:
            return self._find_measured(context)
        if self.formula is not None:
            return self.formula.compute(context.baby)
        for condition, depth in self.table:
            if condition is None or condition.holds_for(context.baby):
                return depth
        return None

    def caution_other_size(self, context: RuleContext) -> tuple[Finding, ...]:
        """Caution that the ward measured a device, but not of the size laid out."""
        if not self.rows or self._find_measured(context):
            return ()
        sizes = tuple(dict.fromkeys(row.size for row, _ in self.rows))
        laid_out = context.found[self.method.follows].show if self.method.follows else None
        return (finding(Kind.MEASURED_OTHER_SIZE, sizes=sizes, laid_out=laid_out),)

    def _find_measured(self, context: RuleContext) -> Depth | None:
        """Find the ward's row for the one size that is laid out; where the method follows no size, any row serves."""
        if self.method.follows is None:
            return self.rows[0][1] if self.rows else None
        sizes = context.found[self.method.follows].sizes
        return next((depth for row, depth in self.rows if (row.size,) == sizes), None)


class DepthRule(Struct, frozen=True):
    """How far something goes in, by the methods of one line."""

    line: DepthLine
    methods: tuple[PreparedDepthMethod, ...]
    fixed: tuple[Outcome, ...] = ()
    """What a range that is the same for every baby gives, with nothing measured beside it."""

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the mark by the first method that serves, with others beside it where they differ.

        Within a range one mark is chosen: it is entered with the tick.
        """
        if self.fixed:
            return take_entered(self.fixed[0], self.line.id, context)
        found = [depth for prepared in self.methods if (depth := prepared.find(context))]
        unused = tuple(each for prepared in self.methods for each in prepared.caution_other_size(context))
        if not found:
            size = context.baby.size
            working = (finding(Kind.NO_METHOD_HOLDS, size=size), *unused)
            return Outcome(blocked=finding(Kind.NO_METHOD, size=size), working=working)
        return take_entered(self.choose(found, unused), self.line.id, context)

    def choose(self, found: Sequence[Depth], unused: tuple[Finding, ...] = ()) -> Outcome:
        """Choose the mark among what the methods give."""
        # A length measured on the device in hand wins over every other method.
        first = next((depth for depth in found if depth.measured), found[0])
        if first.blocked:
            return Outcome(blocked=first.blocked, working=tuple(depth.working for depth in found))
        others = [depth for depth in found if depth is not first]
        apart = [depth for depth in others if _differs(first, depth, self.line.differ)]
        return Outcome(
            exact=first.exact,
            amount=first.mark,
            low=first.low,
            high=first.high,
            enters=None
            if first.low is None or first.high is None
            else Entry("mark", first.low, first.high, self.line.step),
            show=first.show,
            details=tuple(finding(Kind.DEPTH_BY, by=depth.method.by, show=depth.show) for depth in apart),
            working=tuple(depth.working for depth in (first, *others)),
            cautions=(
                *(finding(Kind.METHOD_DIFFERS, by=depth.method.by, show=depth.show) for depth in apart),
                *unused,
            ),
            basis=first.method.basis,
            source=(first.source,),
        )


def prepare_depth(line: DepthLine, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare the methods of a depth line."""
    methods = tuple(prepare_depth_method(line.id, method, line.step, kit, ward) for method in line.method)
    rule = DepthRule(line, methods)
    serving = [prepared for prepared in methods if prepared.rows or prepared.formula or prepared.table]
    if len(serving) == 1 and serving[0].table and serving[0].table[0][0] is None:
        return replace(rule, fixed=(rule.choose([serving[0].table[0][1]]),))
    return rule


def prepare_depth_method(
    line: str, method: DepthMethod, step: Amount, kit: Kit, ward: Ward | None
) -> PreparedDepthMethod:
    """Prepare one method: the ward's measured lengths, a fixed range, a formula or bands."""
    cited = cite(kit, method.basis, method.source)
    if method.measured:
        rows = [row for row in ward.measured if row.line == line] if ward else []
        return PreparedDepthMethod(method, tuple((row, _read_off(row, method, step)) for row in rows), None, ())
    if method.low is not None and method.high is not None:
        working = finding(Kind.DEPTH_STATED, by=method.by, low=method.low, high=method.high, cited=cited)
        depth = Depth(method, None, None, method.low, method.high, working, cited)
        return PreparedDepthMethod(method, (), None, ((None, depth),))
    if method.per_kg is not None:
        return PreparedDepthMethod(method, (), _prepare_formula(method, method.per_kg, step, cited), ())
    return PreparedDepthMethod(method, (), None, tuple(_prepare_table(method, cited)))


def _prepare_table(method: DepthMethod, cited: Citation) -> Iterator[tuple[Condition | None, Depth]]:
    for band in method.band:
        condition = prepare_condition(band)
        working = finding(Kind.DEPTH_BY_BAND, by=method.by, where=band, depth=band.depth, cited=cited)
        yield condition, Depth(method, band.depth, band.depth, None, None, working, cited)


def _prepare_formula(method: DepthMethod, per_kg: Amount, step: Amount, cited: Citation) -> _Formula:
    rise = multiply(per_kg, make_amount(1, "g"), _CM).value
    start = convert(method.plus, _CM).value if method.plus else Fraction(0)
    return _Formula(method, OF_DOSE[method.weight or "now"], rise, start, convert(step, _CM).value, step, cited)


def _read_off(measured: MeasuredLength, method: DepthMethod, step: Amount) -> Depth:
    """Read the mark off a length that the ward measured, less the clearance that it set."""
    exact = convert(subtract(measured.length, measured.clearance), "cm")
    marks = convert(step, "cm").value
    mark = Amount((exact.value // marks) * marks, exact.unit)
    found = mark if mark.value > 0 else None
    working = finding(Kind.DEPTH_MEASURED, measured=measured, exact=exact, step=step, mark=found)
    blocked = None if found else finding(Kind.NO_MARK_MEASURED, device=measured.device, size=measured.size)
    source = finding(Kind.MEASURED_BY, measured=measured)
    return Depth(method, exact, found, None, None, working, source, measured=True, blocked=blocked)


def _differs(first: Depth, other: Depth, differ: Amount | None) -> bool:
    """Say whether two methods are further apart than allowed, by what they give before it is rounded to marks."""
    if differ is None or first.exact is None or other.exact is None:
        return False
    apart = abs(convert(first.exact, "cm").value - convert(other.exact, "cm").value)
    return apart > convert(differ, "cm").value
