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
    where: Where
    """The condition as it is stated."""

    @property
    def is_stated(self) -> bool:
        """Whether there is any condition; without one it holds for any baby."""
        return bool(self.where.weight or self.where.gestation or self.where.facts)

    def holds_for(self, baby: Baby) -> bool:
        """Say whether every condition is met by this baby."""
        return (
            self.first_g <= baby.weight_g <= self.last_g
            and self.first_day <= baby.gestation.days <= self.last_day
            and (not self.facts or all(_meets(test, baby.facts[fact]) for fact, test in self.facts))
        )


def prepare_condition(where: Where) -> Condition:
    """Prepare the condition of a band or a criterion: of its weight, gestation and facts, and nothing else of it."""
    ends = (*_find_ends(where.weight, _count_grams), *_find_ends(where.gestation, _count_days))
    plain = Where(weight=where.weight, gestation=where.gestation, facts=where.facts)
    return Condition(*ends, tuple(where.facts.items()), plain)


def prepare_spans(weight: WeightSpan | None, gestation: GestationSpan | None) -> Condition:
    """Prepare a condition of a weight and a gestation alone."""
    return prepare_condition(Where(weight=weight, gestation=gestation))


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


ANY_BABY = prepare_spans(None, None)
