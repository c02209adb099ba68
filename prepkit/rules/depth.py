"""The rule of a `depth` line: how far in, by a formula, a table, a fixed range or a measured length.

May import: `prepkit.rules`.
"""

from dataclasses import dataclass

from prepkit.kit.lines import DepthLine, DepthMethod
from prepkit.kit.ward import MeasuredLength
from prepkit.quantities.amount import Amount, add, convert, multiply, subtract
from prepkit.quantities.show import round_half_up, show_amount, show_range
from prepkit.rules.case import Case, Outcome, cite, cite_short, holds_for


@dataclass(frozen=True, slots=True)
class Depth:
    """What one method gives."""

    method: DepthMethod
    exact: Amount | None
    mark: Amount | None
    """Rounded half up to the line's step, or down where the length was measured and must not be passed."""
    low: Amount | None
    high: Amount | None
    show: str
    words: str
    measured: MeasuredLength | None = None
    """The ward's row, where the length was measured."""
    blocked: str = ""
    """Why the method serves but gives no mark."""


def compute_depth(line: DepthLine, case: Case) -> Outcome:
    """Find the mark by the first method that serves, with others beside it where they differ."""
    found = [depth for method in line.method if (depth := find_depth(line.id, method, line.step, case))]
    unused = tuple(words for method in line.method for words in caution_other_size(line.id, method, case))
    if not found:
        reason = f"no method covers {case.baby.words()}"
        return Outcome(blocked=reason, working=(f"None of its methods covers {case.baby.words()}.", *unused))
    # A length measured on the device in hand wins over every other method.
    first = next((depth for depth in found if depth.measured), found[0])
    if first.blocked:
        return Outcome(blocked=first.blocked, working=tuple(depth.words for depth in found))
    others = [depth for depth in found if depth is not first]
    apart = [depth for depth in others if _differs(first, depth, line.differ)]
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
        source=cite_depth(first, case),
    )


def find_depth(line: str, method: DepthMethod, step: Amount, case: Case) -> Depth | None:
    """Find what one method gives for this baby; None where it does not cover it."""
    tag = cite_short(case.kit, method.basis, method.source)
    if method.measured:
        return _find_measured(line, method, step, case)
    if method.low is not None and method.high is not None:
        show = show_range(method.low, method.high)
        return Depth(method, None, None, method.low, method.high, show, f"By {method.by}: {show}. {tag}")
    if method.per_kg is not None:
        return _find_formula(method, step, case, tag)
    band = next((band for band in method.band if holds_for(band, case.baby)), None)
    if band is None:
        return None
    words = f"By {method.by}: {band.words()} gives {show_amount(band.depth)}. {tag}"
    return Depth(method, band.depth, band.depth, None, None, show_amount(band.depth), words)


def caution_other_size(line: str, method: DepthMethod, case: Case) -> tuple[str, ...]:
    """Say that the ward measured a device, but not of the size laid out."""
    rows = _list_measured(line, case)
    if not method.measured or not rows or _choose_measured(line, method, case):
        return ()
    sizes = " and ".join(dict.fromkeys(f"size {row.size}" if row.size else "no size stated" for row in rows))
    laid_out = case.found[method.follows].show if method.follows else ""
    other = f"; what is laid out is {laid_out}" if laid_out else ""
    return (f"The ward's measured length is for {sizes}{other}: it is not used.",)


def _find_formula(method: DepthMethod, step: Amount, case: Case, tag: str) -> Depth | None:
    if method.per_kg is None:
        return None
    exact = multiply(method.per_kg, case.baby.weight, "cm")
    plus = f" + {show_amount(method.plus)}" if method.plus else ""
    exact = add(exact, method.plus) if method.plus else exact
    mark = Amount(round_half_up(exact.value, convert(step, "cm").value), exact.unit)
    sum_of_it = (
        f"{show_amount(method.per_kg)} \N{MULTIPLICATION SIGN} {case.baby.weight_g} g{plus} = {show_amount(exact)}"
    )
    words = f"By {method.by}: {sum_of_it}; to the nearest {show_amount(step)}: {show_amount(mark)}. {tag}"
    blocked = "" if mark.value > 0 else f"{show_amount(exact)} by {method.by} leaves no mark of {show_amount(step)}"
    return Depth(method, exact, mark, None, None, show_amount(mark), words, None, blocked)


def _list_measured(line: str, case: Case) -> tuple[MeasuredLength, ...]:
    return tuple(row for row in case.ward.measured if row.line == line) if case.ward else ()


def _choose_measured(line: str, method: DepthMethod, case: Case) -> MeasuredLength | None:
    """Choose the ward's row for the one size that is laid out; where the method follows no size, any row serves."""
    rows = _list_measured(line, case)
    if method.follows is None:
        return next(iter(rows), None)
    sizes = case.found[method.follows].sizes
    return next((row for row in rows if (row.size,) == sizes), None)


def _find_measured(line: str, method: DepthMethod, step: Amount, case: Case) -> Depth | None:
    measured = _choose_measured(line, method, case)
    if measured is None:
        return None
    exact = convert(subtract(measured.length, measured.clearance), "cm")
    marks = convert(step, "cm").value
    mark = Amount((exact.value // marks) * marks, exact.unit)
    size = f" (size {measured.size})" if measured.size else ""
    sum_of_it = (
        f"Measured on the ward's {measured.device}{size}: {show_amount(measured.length)} from port to opening,"
        f" less {show_amount(measured.clearance)} clearance = {show_amount(exact)};"
    )
    if mark.value <= 0:
        blocked = f"the ward's {measured.device}{size}: length less clearance leaves no mark"
        words = f"{sum_of_it} under the first mark, {show_amount(step)}. [local]"
        return Depth(method, exact, None, None, None, "", words, measured, blocked)
    words = f"{sum_of_it} down to a mark: {show_amount(mark)}. [local]"
    return Depth(method, exact, mark, None, None, show_amount(mark), words, measured)


def _differs(first: Depth, other: Depth, differ: Amount | None) -> bool:
    """Say whether two methods are further apart than allowed, by what they give before it is rounded to marks."""
    if differ is None or first.exact is None or other.exact is None:
        return False
    apart = abs(convert(first.exact, "cm").value - convert(other.exact, "cm").value)
    return apart > convert(differ, "cm").value


def cite_depth(first: Depth, case: Case) -> str:
    """Cite the method; for a length measured in the ward, by whom and when."""
    if first.measured:
        return f"local: measured by {first.measured.measured_by} on {first.measured.measured_on:%d %b %Y}"
    return cite(case.kit, first.method.basis, first.method.source)
