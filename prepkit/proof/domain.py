"""A kit's domain, axis by axis, cut into what can differ: runs of grams and days between edges."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from math import floor
from typing import Any, TypeVar

from msgspec import Struct

from prepkit.kit.axes import OF_DOSE, WEIGHTS, Axis
from prepkit.kit.facts import LEAST_GESTATION, LEAST_WEIGHT_G, MOST_GESTATION, MOST_WEIGHT_G
from prepkit.kit.fields import list_inside
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DepthLine, DepthMethod, SupplyLine
from prepkit.kit.spans import AxisSpans
from prepkit.quantities.amount import convert, make_amount, multiply
from prepkit.rules.condition import Ends, prepare_condition

Node = TypeVar("Node")


class Run(Struct, frozen=True):
    """Whole numbers of one axis from `first` to `last`, both belonging to it: grams, or days of gestation."""

    axis: Axis
    first: int
    last: int

    @property
    def start(self) -> "Run":
        """Its first number alone."""
        return Run(self.axis, self.first, self.first)

    @property
    def end(self) -> "Run":
        """Its last number alone."""
        return Run(self.axis, self.last, self.last)


def find_domain(kit: Kit, axis: Axis) -> Run:
    """A kit's domain along one weight or gestation; all that may be typed where the kit states none of it."""
    span = kit.domain.find_span(axis)
    if span is not None:
        stated: dict[str, Any] = {str(axis): span}
        (ends,) = prepare_condition(AxisSpans(**stated)).ends
        return Run(axis, ends.first, ends.last)
    if axis in WEIGHTS:
        return Run(axis, LEAST_WEIGHT_G, MOST_WEIGHT_G)
    return Run(axis, LEAST_GESTATION.days, MOST_GESTATION.days)


def find_cuts(parts: Iterable[object]) -> defaultdict[Axis, set[int]]:
    """Along each axis the first number on the further side of every edge in these parts of a kit or a ward file.

    Grams, days of gestation, minutes of age.
    """
    cuts: defaultdict[Axis, set[int]] = defaultdict(set)
    for spans in (spans for part in parts for spans in walk_nodes(part, AxisSpans)):
        for axis, ends in find_ends(spans).items():
            span = getattr(spans, axis)
            cuts[axis] |= {ends.first} if span.low is not None else set()
            cuts[axis] |= {ends.last + 1} if span.high is not None else set()
    return cuts


def find_ends(spans: AxisSpans) -> Mapping[Axis, Ends]:
    """The first and the last whole number of each span."""
    condition = prepare_condition(spans)
    return {ends.axis: ends for ends in (*condition.ends, condition.age) if ends is not None}


def find_formula_cuts(line: DepthLine | SupplyLine, domain: Run) -> frozenset[int]:
    """Along one weight the first grams at which a length by formula has another mark, or is too far off another method.

    A length by formula is a + b x weight: it goes through each half mark, and through each length at which it differs
    from another method by as much as the line allows, at one weight.
    """
    step = line.step
    methods = line.method if isinstance(line, DepthLine) else (line.length,) if line.length else ()
    lengths = [_find_length(method, domain.axis) for method in methods]
    formulas = [each for each in lengths if each[0]]
    if step is None or not formulas:
        return frozenset()
    mark, cuts = convert(step, "cm").value, set()
    for rise, start in formulas:
        low, high = (floor((start + rise * grams) / mark) for grams in (domain.first, domain.last))
        cuts |= {floor((mark * (2 * at + 1) / 2 - start) / rise) for at in range(low - 1, high + 1)}
    if isinstance(line, DepthLine) and line.differ is not None:
        fixed = [convert(band.depth, "cm").value for method in methods for band in method.band]
        others = [*lengths, *((Fraction(0), depth) for depth in fixed)]
        cuts |= set(_find_crossings(formulas, others, convert(line.differ, "cm").value))
    return frozenset(grams + more for grams in cuts for more in (0, 1))


def _find_length(method: DepthMethod, axis: Axis) -> tuple[Fraction, Fraction]:
    """What a formula by this weight adds for each gram, and what it starts from, in cm; nothing for another method."""
    if method.per_kg is None or method.weight is None or OF_DOSE[method.weight] is not axis:
        return Fraction(0), Fraction(0)
    rise = multiply(method.per_kg, make_amount(1, "g"), "cm").value
    return rise, convert(method.plus, "cm").value if method.plus else Fraction(0)


def _find_crossings(
    formulas: Iterable[tuple[Fraction, Fraction]], others: Sequence[tuple[Fraction, Fraction]], differ: Fraction
) -> Iterator[int]:
    for rise, start in formulas:
        for other_rise, other_start in others:
            if rise != other_rise:
                apart = (other_start - start) / (rise - other_rise)
                reach = differ / abs(rise - other_rise)
                yield from (floor(apart - reach), floor(apart + reach))


def split(domain: Run, cuts: Iterable[int]) -> tuple[Run, ...]:
    """The runs of a domain between these cuts; together they are the whole domain, each number once."""
    starts = sorted({domain.first, *(cut for cut in cuts if domain.first < cut <= domain.last)})
    return tuple(Run(domain.axis, first, following - 1) for first, following in pairwise([*starts, domain.last + 1]))


def join(runs: Iterable[Run]) -> tuple[Run, ...]:
    """The fewest runs of one axis that hold the same numbers."""
    joined: list[Run] = []
    for run in sorted(runs, key=lambda run: (run.first, run.last)):
        if joined and run.first <= joined[-1].last + 1:
            joined[-1] = Run(run.axis, joined[-1].first, max(run.last, joined[-1].last))
        else:
            joined.append(run)
    return tuple(joined)


def walk_nodes(node: object, kind: type[Node]) -> Iterator[Node]:
    """Every part of one kind that stands in a part of a kit or a ward file, itself included."""
    if isinstance(node, kind):
        yield node
    for child in list_inside(node):
        yield from walk_nodes(child, kind)
