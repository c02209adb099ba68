"""Whether what a ward file changed allows more than the kit's own, in phrases that hold the kit's own value.

What is not within the kit's own is more: a larger dose, volume or depth, a size the kit would not give, a setting
outside its range, fewer laid out, a demand dropped. May import: `prepkit.kit`, `prepkit.quantities`, `prepkit.rules`.
"""

from collections.abc import Callable, Iterator, Mapping

from prepkit.kit.kit import Product
from prepkit.kit.lines import DepthLine, Line, SizeLine
from prepkit.quantities.amount import Amount, DimensionMismatchError
from prepkit.quantities.show import show_amount
from prepkit.rules.case import Outcome


def find_wider(line: Line, outcome: Outcome, kept: Outcome) -> tuple[str, ...]:
    """Find how an outcome allows more than another for the same baby, a phrase each; nothing where it does not.

    Args:
        line: the line, whose kind says what is compared.
        outcome: what the ward file gives.
        kept: what the kit gives by itself.

    """
    if outcome.blocked:
        return ()
    if kept.blocked:
        return (f"the kit blocks it: {kept.blocked}",)
    if any(_RULES[line.kind](outcome, kept)):
        dose = f"{show_amount(kept.dose)}, " if kept.dose is not None else ""
        return (f"the kit's is {dose}{kept.show or 'as it comes'}",)
    return ()


def list_dropped(line: Line, own: Line) -> Iterator[str]:
    """List what the kit's own line asks for and the ward's in its place does not."""
    for key, words in _DEMANDS.items():
        asked = getattr(own, key, None)
        if asked and getattr(line, key, None) != asked:
            yield words
    for name in getattr(own, "of", ()):
        if name not in getattr(line, "of", ()):
            yield f'the kit\'s is of "{name}" too'
    if isinstance(own, SizeLine) and isinstance(line, SizeLine) and line.choose == "any" != own.choose:
        yield "the kit lays out each size that fits"
    if isinstance(own, DepthLine) and isinstance(line, DepthLine) and _is_over(line.differ, own.differ):
        yield "the kit shows other methods beside the first"


def list_dropped_of_product(product: Product, own: Product) -> Iterator[str]:
    """List what the kit's own product warns of and the ward's does not."""
    most, own_most = (one.dose_range.most if one.dose_range else None for one in (product, own))
    if own_most is not None and _is_over(most, own_most):
        yield f"the kit's label ends at {show_amount(own_most)}"


_DEMANDS = {
    "essential": "the kit's line is essential",
    "label": "the kit's line stands on its label",
    "earlier": "the kit's line counts earlier doses",
    "also_below": "the kit lays out the size below too",
    "air": "the kit leaves air behind the dose",
}


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


def _compare_dose(outcome: Outcome, kept: Outcome) -> Iterator[bool]:
    yield _is_over(outcome.dose, kept.dose)
    yield _is_over(outcome.amount, kept.amount)


def _compare_high(outcome: Outcome, kept: Outcome) -> Iterator[bool]:
    yield _is_over(_find_high(outcome), _find_high(kept))


def _compare_setting(outcome: Outcome, kept: Outcome) -> Iterator[bool]:
    yield from _compare_high(outcome, kept)
    # Upside down: a lower end below the kit's lower end.
    yield _is_over(kept.low or kept.amount, outcome.low or outcome.amount)


def _compare_sizes(outcome: Outcome, kept: Outcome) -> Iterator[bool]:
    yield bool(kept.sizes) and not (outcome.sizes and set(outcome.sizes) <= set(kept.sizes))
    yield kept.standing.startswith("approval") and outcome.standing != kept.standing


def _compare_supply(outcome: Outcome, kept: Outcome) -> Iterator[bool]:
    yield from _compare_sizes(outcome, kept)
    yield from _compare_high(outcome, kept)
    yield (outcome.how_many or 1) < (kept.how_many or 1)


def _compare_nothing(outcome: Outcome, kept: Outcome) -> Iterator[bool]:  # noqa: ARG001  (of the same form as the others)
    """Compare trials, which have no value of their own: what they are of is compared as a demand."""
    yield False


_RULES: Mapping[str, Callable[[Outcome, Outcome], Iterator[bool]]] = {
    "dose": _compare_dose,
    "size": _compare_sizes,
    "depth": _compare_high,
    "amount": _compare_high,
    "setting": _compare_setting,
    "supply": _compare_supply,
    "trial": _compare_nothing,
}
