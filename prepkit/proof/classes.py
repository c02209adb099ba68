"""Where anything can change: the edges of every span, and the runs of babies between them.

May import: `prepkit.kit`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import floor
from typing import Any

from prepkit.kit.spans import Span
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.gestation import Gestation


@dataclass(frozen=True, slots=True)
class Run:
    """Whole numbers from `first` to `last`, both belonging to it: grams, or days of gestation."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Cuts:
    """Where something may begin to be different."""

    grams: frozenset[int]
    days: frozenset[int]


def find_cuts(parts: Iterable[object]) -> Cuts:
    """The first grams and days after every edge of every span in these parts of a kit or a ward file."""
    grams: set[int] = set()
    days: set[int] = set()
    for span in (span for part in parts for span in _walk_spans(part)):
        for edge in (span.low, span.high):
            if isinstance(edge, Gestation):
                days |= {edge.days, edge.days + 1}
            elif isinstance(edge, Amount) and edge.unit.text in {"g", "kg"}:
                whole = floor(convert(edge, "g").value)
                grams |= {whole, whole + 1}
    return Cuts(frozenset(grams), frozenset(days))


def split(domain: Run, cuts: Iterable[int]) -> tuple[Run, ...]:
    """The runs of a domain between these cuts; together they are the whole domain, each number once."""
    starts = sorted({domain.first, *(cut for cut in cuts if domain.first < cut <= domain.last)})
    return tuple(Run(first, following - 1) for first, following in pairwise([*starts, domain.last + 1]))


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
    children: Iterable[object] = ()
    if isinstance(node, tuple):
        children = node
    elif isinstance(node, dict):
        children = node.values()
    else:
        children = [getattr(node, name) for name in getattr(type(node), "model_fields", ())]
    for child in children:
        yield from _walk_spans(child)
