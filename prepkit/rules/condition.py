"""Conditions ready for babies: the whole grams and whole days that a span holds.

A weight is whole grams and a gestation whole days, so that a span of either is a first and a last whole number,
whatever its edges are and whether they belong to it.
"""

from collections.abc import Callable
from fractions import Fraction
from math import ceil, floor
from typing import Any

from msgspec import Struct

from prepkit.kit.baby import Baby
from prepkit.kit.spans import AmountSpan, GestationSpan, Span, WeightSpan, Where
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.gestation import Gestation

_NO_END = 2**62


class Condition(Struct, frozen=True):
    """For which babies something holds."""

    first_g: int
    last_g: int
    first_day: int
    last_day: int
    facts: tuple[tuple[str, AmountSpan | str], ...]
    words: str
    """The condition in words; "any baby" where there is none."""

    def holds_for(self, baby: Baby) -> bool:
        """Say whether every condition is met by this baby."""
        return (
            self.first_g <= baby.weight_g <= self.last_g
            and self.first_day <= baby.gestation.days <= self.last_day
            and (not self.facts or all(_meets(test, baby.facts[fact]) for fact, test in self.facts))
        )


ANY_BABY = Condition(0, _NO_END, 0, _NO_END, (), "any baby")


def prepare_condition(where: Where) -> Condition:
    """Prepare the condition of a band or a criterion."""
    return _prepare(where.weight, where.gestation, tuple(where.facts.items()), where.words())


def prepare_spans(weight: WeightSpan | None, gestation: GestationSpan | None) -> Condition:
    """Prepare a condition of a weight and a gestation alone."""
    words = [span.words() for span in (weight, gestation) if span is not None]
    return _prepare(weight, gestation, (), ", ".join(words) or "any baby")


def _prepare(
    weight: WeightSpan | None,
    gestation: GestationSpan | None,
    facts: tuple[tuple[str, AmountSpan | str], ...],
    words: str,
) -> Condition:
    return Condition(*_find_ends(weight, _count_grams), *_find_ends(gestation, _count_days), facts, words)


def _find_ends(span: Span[Any] | None, count: Callable[[Any], Fraction]) -> tuple[int, int]:
    """Find the first and the last whole number in a span."""
    first, last = 0, _NO_END
    if span is None:
        return first, last
    if span.at_least is not None:
        first = ceil(count(span.at_least))
    if span.above is not None:
        first = floor(count(span.above)) + 1
    if span.at_most is not None:
        last = floor(count(span.at_most))
    if span.below is not None:
        last = ceil(count(span.below)) - 1
    return first, last


def _count_grams(edge: Amount) -> Fraction:
    return convert(edge, "g").value


def _count_days(edge: Gestation) -> Fraction:
    return Fraction(edge.days)


def _meets(test: AmountSpan | str, value: object) -> bool:
    if isinstance(test, str):
        return test == value
    return isinstance(value, Amount) and test.contains(value)
