"""Checks of spans: bands of one table, and a kit's domain.

Bands leave no gap, do not overlap, and hold every shared edge exactly once. The domain has a span for all that lines go
by, each with both its edges, in whole grams and days, because the proof walks all of it.
"""

from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise
from typing import Any

from prepkit.kit.axes import GESTATIONS, WEIGHTS, WORDS, Axis
from prepkit.kit.facts import LEAST_GESTATION, LEAST_WEIGHT_G, MOST_GESTATION, MOST_WEIGHT_G
from prepkit.kit.kit import Domain, Kit
from prepkit.kit.lines import Band
from prepkit.kit.problems import Mistake
from prepkit.kit.spans import Span
from prepkit.quantities.amount import Amount, convert

Path = tuple[str | int, ...]


def check_bands(bands: Sequence[Band], path: Path, *, overlaps: bool = False, gaps: bool = False) -> Iterator[Mistake]:
    """What is wrong with bands that go by one weight alone or by one gestation alone; others are left to the proof.

    Args:
        bands: in the order of the file.
        path: where the bands stand in the file.
        overlaps: whether bands may lie over each other (every size that fits is laid out).
        gaps: whether there may be room between them (a device's label).
    """
    for axis in (*WEIGHTS, *GESTATIONS):
        spans = [(at, getattr(band, axis)) for at, band in enumerate(bands) if _goes_by(band, axis)]
        if len(spans) == len(bands):
            for (_, one), (at, two) in pairwise(spans):
                yield from _check_pair(one, two, (*path, at, str(axis)), overlaps=overlaps, gaps=gaps)


def _goes_by(band: Band, axis: Axis) -> bool:
    return [each for each, _ in band.list_spans()] == [axis] and not band.facts


def _check_pair(one: Span[Any], two: Span[Any], path: Path, *, overlaps: bool, gaps: bool) -> Iterator[Mistake]:
    said = f"{one.words()}, then {two.words()}"
    if one.high is None or two.low is None:
        if not overlaps:
            yield Mistake(
                path, f"bands out of order or without an edge between them ({said})", "order bands from low to high"
            )
    elif one.high == two.low:
        if one.at_most is not None and two.at_least is not None and not overlaps:
            yield Mistake(path, f"two bands both hold their shared edge ({said})", "use below or above on one side")
        if one.below is not None and two.above is not None and not gaps:
            yield Mistake(path, f"neither band holds the shared edge ({said})", "use at_most or at_least on one side")
    elif one.high < two.low and not gaps:
        yield Mistake(path, f"there is a gap between two bands ({said})", "let one begin where the other ends")
    elif two.low < one.high and not overlaps:
        yield Mistake(path, f"two bands overlap, or are out of order ({said})", "order bands from low to high")


def check_axes(axes: Collection[Axis], kit: Kit, path: Path) -> Iterator[Mistake]:
    """What is wrong with the axes that a line goes by: one weight and one gestation, within the kit's domain."""
    for which in (WEIGHTS, GESTATIONS):
        named = [WORDS[axis] for axis in which if axis in axes]
        if len(named) > 1:
            yield Mistake(path, f"goes by {' and by '.join(named)}", "let one line go by one of them")
    for axis in Axis:
        if axis in axes and axis is not Axis.AGE and kit.domain.find_span(axis) is None:
            wrong = f"goes by the {axis.replace('_', ' ')}, of which [domain] has no span"
            yield Mistake(path, wrong, f"write in [domain] from which to which: {axis} = {{ ... }}")


def check_domain(domain: Domain) -> Iterator[Mistake]:
    """What is wrong with the weights and gestations that a kit is for."""
    spans = dict(domain.list_spans())
    for axis in (Axis.GREATER_WEIGHT, Axis.AGE):
        if axis in spans:
            hint = "the domain is one of weights and gestations"
            yield Mistake(("domain", str(axis)), "stands in conditions only", hint)
    for which, word in ((WEIGHTS[:2], "weight"), (GESTATIONS, "gestation")):
        if not any(axis in spans for axis in which):
            hint = f"write {' or '.join(which)}, each with a lower edge and an upper one"
            yield Mistake(("domain",), f"the domain has no {word}", hint)
        for axis in which:
            if axis in spans:
                yield from _check_span(axis, spans[axis])


def _check_span(axis: Axis, span: Span[Any]) -> Iterator[Mistake]:
    path, key = ("domain", str(axis)), WORDS[axis]
    is_weight = axis in WEIGHTS
    edges = [_count_grams(edge) if is_weight else edge.days for edge in _list_edges(span)]
    least, most = (f"{LEAST_WEIGHT_G} g", f"{MOST_WEIGHT_G} g") if is_weight else (LEAST_GESTATION, MOST_GESTATION)
    ends = (LEAST_WEIGHT_G, MOST_WEIGHT_G) if is_weight else (LEAST_GESTATION.days, MOST_GESTATION.days)
    if len(edges) == 1:
        yield Mistake(path, f"the domain's {key} has one edge ({span.words()})", "give a lower edge and an upper one")
    elif None in edges:
        yield Mistake(path, f"the domain's edges are whole grams ({span.words()})", "babies are weighed in whole grams")
    elif any(edge is not None and not ends[0] <= edge <= ends[1] for edge in edges):
        wrong = f"the domain goes beyond what may be typed as a {key}, {least} to {most} ({span.words()})"
        yield Mistake(path, wrong, "look at the numbers and their units")
    elif edges[0] is not None and edges[1] is not None and not _holds_one(span, edges[0], edges[1]):
        yield Mistake(path, f"the domain holds no baby ({span.words()})")


def _list_edges(span: Span[Any]) -> list[Any]:
    return [edge for edge in (span.low, span.high) if edge is not None]


def _count_grams(edge: Amount) -> int | None:
    grams = convert(edge, "g").value
    return int(grams) if grams.denominator == 1 else None


def _holds_one(span: Span[Any], low: int, high: int) -> bool:
    return low + (span.above is not None) <= high - (span.below is not None)
