"""The rule of a `depth` line: how far in, by a formula, a table, a fixed range or a measured length."""

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from prepkit.kit.kit import Kit
from prepkit.kit.lines import DepthLine, DepthMethod
from prepkit.kit.ward import MeasuredLength, Ward
from prepkit.quantities.amount import Amount, convert, make_amount, multiply, subtract
from prepkit.quantities.text import round_half_up, show_amount, show_range
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.rule import AlwaysRule, Outcome, Rule, RuleContext, cite, cite_short

_TIMES = "\N{MULTIPLICATION SIGN}"
_CM = make_amount(1, "cm").unit


class Depth(Struct, frozen=True):
    """What one method gives."""

    method: DepthMethod
    exact: Amount | None
    mark: Amount | None
    """Rounded half up to the line's step, or down where the length was measured and must not be passed."""
    low: Amount | None
    high: Amount | None
    show: str
    words: str
    source: str
    """The method's citation; for a length measured in the ward, by whom and when."""
    measured: bool = False
    """Whether the length was measured in the ward."""
    blocked: str = ""
    """Why the method serves but gives no mark."""


class _Formula(Struct, frozen=True):
    """So much for each gram, and something to start from, rounded to the line's marks; lengths in cm."""

    method: DepthMethod
    rise: Fraction
    start: Fraction
    step: Fraction
    shown_step: str
    before: str
    """The words before the weight in grams ..."""
    after: str
    """... and those after it, as far as the exact length."""
    tag: str
    source: str

    def compute(self, weight_g: int) -> Depth:
        """Compute the exact length and its mark."""
        exact = Amount(self.rise * weight_g + self.start, _CM)
        mark = Amount(round_half_up(exact.value, self.step), _CM)
        said, show = show_amount(exact), show_amount(mark)
        words = f"{self.before}{weight_g} g{self.after}{said}; to the nearest {self.shown_step}: {show}. {self.tag}"
        blocked = "" if mark.value else f"{said} by {self.method.by} leaves no mark of {self.shown_step}"
        return Depth(self.method, exact, mark, None, None, show, words, self.source, blocked=blocked)


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
            return self.formula.compute(context.baby.weight_g)
        for condition, depth in self.table:
            if condition is None or condition.holds_for(context.baby):
                return depth
        return None

    def caution_other_size(self, context: RuleContext) -> tuple[str, ...]:
        """Say that the ward measured a device, but not of the size laid out."""
        if not self.rows or self._find_measured(context):
            return ()
        named = (f"size {row.size}" if row.size else "no size stated" for row, _ in self.rows)
        sizes = " and ".join(dict.fromkeys(named))
        laid_out = context.found[self.method.follows].show if self.method.follows else ""
        other = f"; what is laid out is {laid_out}" if laid_out else ""
        return (f"The ward's measured length is for {sizes}{other}: it is not used.",)

    def _find_measured(self, context: RuleContext) -> Depth | None:
        """Find the ward's row for the one size that is laid out; where the method follows no size, any row serves."""
        if self.method.follows is None:
            return self.rows[0][1] if self.rows else None
        sizes = context.found[self.method.follows].sizes
        return next((depth for row, depth in self.rows if (row.size,) == sizes), None)


class DepthRule(Struct, frozen=True):
    """How far something goes in, by the methods of one line."""

    methods: tuple[PreparedDepthMethod, ...]
    differ: Amount | None
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the mark by the first method that serves, with others beside it where they differ."""
        found = [depth for prepared in self.methods if (depth := prepared.find(context))]
        unused = tuple(words for prepared in self.methods for words in prepared.caution_other_size(context))
        if not found:
            facts = context.baby.words()
            reason = f"no method covers {facts}"
            return Outcome(blocked=reason, working=(f"None of its methods covers {facts}.", *unused))
        return self.choose(found, unused)

    def choose(self, found: Sequence[Depth], unused: tuple[str, ...] = ()) -> Outcome:
        """Choose the mark among what the methods give."""
        # A length measured on the device in hand wins over every other method.
        first = next((depth for depth in found if depth.measured), found[0])
        if first.blocked:
            return Outcome(blocked=first.blocked, working=tuple(depth.words for depth in found))
        others = [depth for depth in found if depth is not first]
        apart = [depth for depth in others if _differs(first, depth, self.differ)]
        return Outcome(
            exact=first.exact,
            amount=first.mark,
            low=first.low,
            high=first.high,
            show=first.show,
            details=tuple(f"{depth.show} by {depth.method.by}" for depth in apart),
            working=tuple(depth.words for depth in (first, *others)),
            cautions=(
                *(f"By {depth.method.by} it is {depth.show}: the methods differ." for depth in apart),
                *unused,
            ),
            basis=first.method.basis,
            source=first.source,
        )


def prepare_depth(line: DepthLine, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare the methods of a depth line; a fixed range with nothing measured beside it is the same for every baby."""
    methods = tuple(prepare_depth_method(line.id, method, line.step, kit, ward) for method in line.method)
    rule = DepthRule(methods, line.differ)
    serving = [prepared for prepared in methods if prepared.rows or prepared.formula or prepared.table]
    if len(serving) == 1 and serving[0].table and serving[0].table[0][0] is None:
        return AlwaysRule(rule.choose([serving[0].table[0][1]]))
    return rule


def prepare_depth_method(
    line: str, method: DepthMethod, step: Amount, kit: Kit, ward: Ward | None
) -> PreparedDepthMethod:
    """Prepare one method: the ward's measured lengths, a fixed range, a formula or bands."""
    tag, source = cite_short(kit, method.basis, method.source), cite(kit, method.basis, method.source)
    if method.measured:
        rows = [row for row in ward.measured if row.line == line] if ward else []
        return PreparedDepthMethod(method, tuple((row, _read_off(row, method, step)) for row in rows), None, ())
    if method.low is not None and method.high is not None:
        show = show_range(method.low, method.high)
        words = f"By {method.by}: {show}. {tag}"
        return PreparedDepthMethod(
            method, (), None, ((None, Depth(method, None, None, method.low, method.high, show, words, source)),)
        )
    if method.per_kg is not None:
        return PreparedDepthMethod(method, (), _prepare_formula(method, method.per_kg, step, tag, source), ())
    return PreparedDepthMethod(method, (), None, tuple(_prepare_table(method, tag, source)))


def _prepare_table(method: DepthMethod, tag: str, source: str) -> list[tuple[Condition | None, Depth]]:
    table: list[tuple[Condition | None, Depth]] = []
    for band in method.band:
        condition, show = prepare_condition(band), show_amount(band.depth)
        words = f"By {method.by}: {condition.words} gives {show}. {tag}"
        table.append((condition, Depth(method, band.depth, band.depth, None, None, show, words, source)))
    return table


def _prepare_formula(method: DepthMethod, per_kg: Amount, step: Amount, tag: str, source: str) -> _Formula:
    plus = f" + {show_amount(method.plus)}" if method.plus else ""
    rise = multiply(per_kg, make_amount(1, "g"), _CM).value
    start = convert(method.plus, _CM).value if method.plus else Fraction(0)
    before = f"By {method.by}: {show_amount(per_kg)} {_TIMES} "
    marks = convert(step, _CM).value
    return _Formula(method, rise, start, marks, show_amount(step), before, f"{plus} = ", tag, source)


def _read_off(measured: MeasuredLength, method: DepthMethod, step: Amount) -> Depth:
    """Read the mark off a length that the ward measured, less the clearance that it set."""
    exact = convert(subtract(measured.length, measured.clearance), "cm")
    marks = convert(step, "cm").value
    mark = Amount((exact.value // marks) * marks, exact.unit)
    size = f" (size {measured.size})" if measured.size else ""
    source = f"local: measured by {measured.measured_by} on {measured.measured_on:%d %b %Y}"
    sum_of_it = (
        f"Measured on the ward's {measured.device}{size}: {show_amount(measured.length)} from port to opening,"
        f" less {show_amount(measured.clearance)} clearance = {show_amount(exact)};"
    )
    if mark.value <= 0:
        blocked = f"the ward's {measured.device}{size}: length less clearance leaves no mark"
        words = f"{sum_of_it} under the first mark, {show_amount(step)}. [local]"
        return Depth(method, exact, None, None, None, "", words, source, measured=True, blocked=blocked)
    words = f"{sum_of_it} down to a mark: {show_amount(mark)}. [local]"
    return Depth(method, exact, mark, None, None, show_amount(mark), words, source, measured=True)


def _differs(first: Depth, other: Depth, differ: Amount | None) -> bool:
    """Say whether two methods are further apart than allowed, by what they give before it is rounded to marks."""
    if differ is None or first.exact is None or other.exact is None:
        return False
    apart = abs(convert(first.exact, "cm").value - convert(other.exact, "cm").value)
    return apart > convert(differ, "cm").value
