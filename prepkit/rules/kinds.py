"""What each kind of line is computed by, and how its outcome is compared with the kit's own.

A new kind of line needs a row in both tables here. What is not within the kit's own is wider: a larger dose, volume or
depth, a size the kit would not give, a setting outside its range, fewer laid out, a demand dropped.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from prepkit.kit.axes import GESTATIONS, Axis
from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DepthLine, Line, SizeLine
from prepkit.kit.reads import find_axes
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount, DimensionMismatchError
from prepkit.rules.depth import prepare_depth
from prepkit.rules.dose.rule import prepare_dose
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.rule import Outcome, Rule, RuleContext, block_missing
from prepkit.rules.setting import BandRule, prepare_amount, prepare_setting
from prepkit.rules.size import prepare_size
from prepkit.rules.supply import prepare_supply, prepare_trial

# The kind of a line chooses its rule; each rule takes its own kind of line, which a table cannot tell a type checker.
RULES: Mapping[str, Callable[[Any, Kit, Ward | None], Rule]] = {
    "dose": prepare_dose,
    "size": prepare_size,
    "depth": prepare_depth,
    "amount": prepare_amount,
    "setting": prepare_setting,
    "supply": prepare_supply,
    "trial": prepare_trial,
}


def prepare_rule(line: Line, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare what a line gives by its rule alone, for any baby."""
    return RULES[line.kind](line, kit, ward)


def apply_rule(line: Line, context: RuleContext) -> Outcome:
    """Find what a line gives by its rule alone, for one baby; `context.found` holds the lines it follows."""
    rule = prepare_rule(line, context.kit, context.ward)
    return work_out_known(line, find_axes(line, context.kit), rule, context)


def work_out_known(line: Line, axes: frozenset[Axis], rule: Rule, context: RuleContext) -> Outcome:
    """Work a line out where all that it goes by is known; else by the bands or methods that need nothing else.

    Raises nothing for want of a weight: a line that needs it is blocked, and names it.
    """
    missing = context.baby.find_missing(axes)
    if missing is None or (isinstance(rule, BandRule) and rule.is_settled(context.baby)):
        return rule.work_out(context)
    # A device's label is one condition; methods beside each other serve without each other, where what is missing is
    # not known to anybody. A weight that can still be given is waited for: another method would give another value.
    has_other = isinstance(line, SizeLine | DepthLine) and len(line.method) > 1 and not getattr(line, "label", False)
    if has_other and missing in GESTATIONS:
        outcome = rule.work_out(context)
        if not outcome.blocked:
            return outcome._replace(cautions=(finding(Kind.NOT_HELD_AGAINST, axis=missing), *outcome.cautions))
    return block_missing(missing)


def find_wider(line: Line, outcome: Outcome, kit_outcome: Outcome) -> tuple[Finding, ...]:
    """Find how an outcome allows more than another for the same baby; nothing where it does not.

    Args:
        line: the line, whose kind says what is compared.
        outcome: what the ward file gives.
        kit_outcome: what the kit gives by itself.

    """
    if outcome.blocked:
        return ()
    if kit_outcome.blocked:
        return (finding(Kind.KIT_BLOCKS, reason=kit_outcome.blocked),)
    if any(_COMPARISONS[line.kind](outcome, kit_outcome)):
        return (finding(Kind.KITS_IS, due=kit_outcome.due, show=kit_outcome.show),)
    return ()


def list_dropped(line: Line, own: Line) -> Iterator[Finding]:
    """List what the kit's own line asks for and the ward's in its place does not."""
    for demand in _DEMANDS:
        asked = getattr(own, demand, None)
        if asked and getattr(line, demand, None) != asked:
            yield finding(Kind.DEMAND_DROPPED, demand=demand)
    for name in getattr(own, "of", ()):
        if name not in getattr(line, "of", ()):
            yield finding(Kind.TRIED_LESS, name=name)
    if isinstance(own, SizeLine) and isinstance(line, SizeLine) and line.choose == "any" != own.choose:
        yield finding(Kind.SIZES_DROPPED)
    if isinstance(own, DepthLine) and isinstance(line, DepthLine) and _is_over(line.differ, own.differ):
        yield finding(Kind.METHODS_DROPPED)


def list_dropped_of_product(product: Product, own: Product) -> Iterator[Finding]:
    """List what the kit's own product warns of and the ward's does not."""
    most, own_most = (one.dose_range.most if one.dose_range else None for one in (product, own))
    if own_most is not None and _is_over(most, own_most):
        yield finding(Kind.LABEL_EXCEEDED, most=own_most)


_DEMANDS = ("essential", "label", "earlier", "also_below", "air")


def _is_over(one: Amount | None, other: Amount | None) -> bool:
    """Say whether an upper bound is above another; none is above any, and nothing is above none."""
    if other is None:
        return False
    try:
        return one is None or other < one
    except DimensionMismatchError:
        return True


def _find_high(outcome: Outcome) -> Amount | None:
    """Find the upper end; None for a floor, which has none, and where there is no amount."""
    return outcome.amount if outcome.low is None else outcome.high


def _compare_dose(outcome: Outcome, kit_outcome: Outcome) -> Iterator[bool]:
    yield _is_over(outcome.due, kit_outcome.due)
    yield _is_over(outcome.amount, kit_outcome.amount)


def _compare_high(outcome: Outcome, kit_outcome: Outcome) -> Iterator[bool]:
    yield _is_over(_find_high(outcome), _find_high(kit_outcome))


def _compare_setting(outcome: Outcome, kit_outcome: Outcome) -> Iterator[bool]:
    yield from _compare_high(outcome, kit_outcome)
    # Upside down: a lower end below the kit's lower end.
    yield _is_over(kit_outcome.low or kit_outcome.amount, outcome.low or outcome.amount)


def _compare_sizes(outcome: Outcome, kit_outcome: Outcome) -> Iterator[bool]:
    yield bool(kit_outcome.sizes) and not (outcome.sizes and set(outcome.sizes) <= set(kit_outcome.sizes))
    is_approved = any(ground.kind is Kind.ON_APPROVAL for ground in kit_outcome.standing)
    yield is_approved and outcome.standing != kit_outcome.standing


def _compare_supply(outcome: Outcome, kit_outcome: Outcome) -> Iterator[bool]:
    yield from _compare_sizes(outcome, kit_outcome)
    yield from _compare_high(outcome, kit_outcome)
    yield (outcome.how_many or 1) < (kit_outcome.how_many or 1)


def _compare_nothing(outcome: Outcome, kit_outcome: Outcome) -> Iterator[bool]:  # noqa: ARG001  (of the same form as the others)
    """Compare trials, which have no value of their own: what they are of is compared as a demand."""
    yield False


_COMPARISONS: Mapping[str, Callable[[Outcome, Outcome], Iterator[bool]]] = {
    "dose": _compare_dose,
    "size": _compare_sizes,
    "depth": _compare_high,
    "amount": _compare_high,
    "setting": _compare_setting,
    "supply": _compare_supply,
    "trial": _compare_nothing,
}
