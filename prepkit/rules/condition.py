"""Conditions ready for babies: the whole grams, days and minutes that a span holds.

A weight is whole grams, a gestation whole days and an age whole minutes, so that a span of any is a first and a last
whole number, whatever its edges are and whether they belong to it.
"""

from fractions import Fraction
from math import ceil, floor
from typing import Any

from msgspec import Struct

from prepkit.kit.axes import Axis
from prepkit.kit.baby import Baby
from prepkit.kit.spans import AmountSpan, AxisSpans, Span, Where
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.gestation import Gestation

_NO_END = 2**62


class Ends(Struct, frozen=True):
    """The first and the last whole number that hold, of one weight or one gestation: grams or days."""

    axis: Axis
    first: int
    last: int


class Condition(Struct, frozen=True):
    """For which babies something holds."""

    ends: tuple[Ends, ...]
    age: Ends | None
    facts: tuple[tuple[str, AmountSpan | str], ...]
    where: Where
    """The condition as it is stated."""

    def holds_for(self, baby: Baby) -> bool:
        """Say whether every condition is known to be met by this baby, at every age that it may have."""
        measures = baby.measures
        for each in self.ends:
            value = measures[each.axis]
            if value is None or not each.first <= value <= each.last:
                return False
        if self.age is not None and not (self.age.first <= baby.age.least_min and baby.age.most_min <= self.age.last):
            return False
        return not self.facts or all(_meets(test, baby.facts[fact]) for fact, test in self.facts)

    def may_hold_for(self, baby: Baby) -> bool:
        """Say whether nothing known about this baby speaks against it."""
        measures = baby.measures
        for each in self.ends:
            value = measures[each.axis]
            if value is not None and not each.first <= value <= each.last:
                return False
        if self.age is not None and (self.age.last < baby.age.least_min or baby.age.most_min < self.age.first):
            return False
        return all(baby.facts[fact] is None or _meets(test, baby.facts[fact]) for fact, test in self.facts)


def prepare_condition(spans: AxisSpans) -> Condition:
    """Prepare the condition of a band, a criterion, a label, an approval or a domain, and nothing else of it."""
    facts = spans.facts if isinstance(spans, Where) else {}
    found = {axis: Ends(axis, *_find_ends(span)) for axis, span in spans.list_spans()}
    stated: dict[str, Any] = {str(axis): span for axis, span in spans.list_spans()}
    plain = Where(**stated, facts=facts)
    age = found.pop(Axis.AGE, None)
    return Condition(tuple(found.values()), age, tuple(facts.items()), plain)


def _find_ends(span: Span[Any]) -> tuple[int, int]:
    """Find the first and the last whole number in a span."""
    first, last = 0, _NO_END
    if span.at_least is not None:
        first = ceil(_count(span.at_least))
    if span.above is not None:
        first = floor(_count(span.above)) + 1
    if span.at_most is not None:
        last = floor(_count(span.at_most))
    if span.below is not None:
        last = ceil(_count(span.below)) - 1
    return first, last


def _count(edge: Amount | Gestation) -> Fraction:
    """An edge in grams, in days of gestation or in minutes of age."""
    if isinstance(edge, Gestation):
        return Fraction(edge.days)
    return convert(edge, "g" if edge.unit.text in {"g", "kg"} else "min").value


def _meets(test: AmountSpan | str, value: object) -> bool:
    if isinstance(test, str):
        return test == value
    return isinstance(value, Amount) and test.contains(value)


ANY_BABY = prepare_condition(Where())
