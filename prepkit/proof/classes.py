"""Where anything can change: the edges of every span, and the runs of babies between them.

May import: `prepkit.kit`.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor
from typing import Any

from msgspec import Struct

from prepkit.kit.fields import list_inside
from prepkit.kit.lines import DepthLine, DepthMethod, SupplyLine
from prepkit.kit.spans import Span
from prepkit.quantities.amount import Amount, convert, make_amount, multiply
from prepkit.quantities.gestation import Gestation


class Run(Struct, frozen=True):
    """Whole numbers from `first` to `last`, both belonging to it: grams, or days of gestation."""

    first: int
    last: int


class Cuts(Struct, frozen=True):
    """Where something may begin to be different."""

    grams: frozenset[int]
    days: frozenset[int]


def find_cuts(parts: Iterable[object]) -> Cuts:
    """The first gram or day on the further side of every edge of every span in these parts of a kit or a ward file."""
    grams: set[int] = set()
    days: set[int] = set()
    for span in (span for part in parts for span in _walk_spans(part)):
        for edge, is_own in ((span.at_least, True), (span.above, False), (span.at_most, False), (span.below, True)):
            if isinstance(edge, Gestation):
                days.add(edge.days + (not is_own))
            elif isinstance(edge, Amount) and edge.unit.text in {"g", "kg"}:
                value = convert(edge, "g").value
                grams.add(ceil(value) if is_own else floor(value) + 1)
    return Cuts(frozenset(grams), frozenset(days))


def find_formula_cuts(line: DepthLine | SupplyLine, domain: Run) -> frozenset[int]:
    """The first grams at which a length by formula has another mark, or comes too near or too far of another method.

    A length by formula is a + b x weight: it goes through each half mark, and through each length at which it differs
    from another method by as much as the line allows, at one weight.
    """
    step = line.step
    methods = line.method if isinstance(line, DepthLine) else (line.length,) if line.length else ()
    lengths = [_find_length(method) for method in methods]
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


def _find_length(method: DepthMethod) -> tuple[Fraction, Fraction]:
    """What a formula adds for each gram, and what it starts from, in cm; nothing for another method."""
    if method.per_kg is None:
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
    return tuple(Run(first, following - 1) for first, following in pairwise([*starts, domain.last + 1]))


def join(runs: Iterable[Run]) -> tuple[Run, ...]:
    """The fewest runs that hold the same numbers."""
    joined: list[Run] = []
    for run in sorted(runs, key=lambda run: (run.first, run.last)):
        if joined and run.first <= joined[-1].last + 1:
            joined[-1] = Run(joined[-1].first, max(run.last, joined[-1].last))
        else:
            joined.append(run)
    return tuple(joined)


def find_run(span: Span[Any]) -> Run:
    """The whole numbers in a span that has both edges: grams of body weight, or days of gestation.

    Raises:
        ValueError: where an edge is missing.
    """
    if span.low is None or span.high is None:
        raise ValueError("a domain has both edges")
    low, high = _number(span.low), _number(span.high)
    return Run(low + (span.above is not None), high - (span.below is not None))


def _number(edge: Amount | Gestation) -> int:
    return edge.days if isinstance(edge, Gestation) else int(convert(edge, "g").value)


def _walk_spans(node: object) -> Iterator[Span[Any]]:
    if isinstance(node, Span):
        yield node
        return
    for child in list_inside(node):
        yield from _walk_spans(child)
