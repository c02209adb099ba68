"""Checks of spans: bands of one table, and a kit's domain.

Bands leave no gap, do not overlap, and hold every shared edge exactly once. The domain has both its edges, in whole
grams and days, because the proof walks all of it.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from prepkit.kit.baby import LEAST_GESTATION, LEAST_WEIGHT_G, MOST_GESTATION, MOST_WEIGHT_G
from prepkit.kit.kit import Domain
from prepkit.kit.lines import Band
from prepkit.kit.problems import Mistake
from prepkit.kit.spans import Span
from prepkit.quantities.amount import Amount, convert

Path = tuple[str | int, ...]


def check_bands(bands: Sequence[Band], path: Path, *, overlaps: bool = False, gaps: bool = False) -> Iterator[Mistake]:
    """What is wrong with bands that go by weight alone or by gestation alone; others are left to the proof.

    Args:
        bands: in the order of the file.
        path: where the bands stand in the file.
        overlaps: whether bands may lie over each other (every size that fits is laid out).
        gaps: whether there may be room between them (a device's label).
    """
    for axis in ("weight", "gestation"):
        spans = [(at, getattr(band, axis)) for at, band in enumerate(bands) if _goes_by(band, axis)]
        if len(spans) == len(bands):
            for (_, one), (at, two) in pairwise(spans):
                yield from _check_pair(one, two, (*path, at, axis), overlaps=overlaps, gaps=gaps)


def _goes_by(band: Band, axis: str) -> bool:
    other = "gestation" if axis == "weight" else "weight"
    return getattr(band, axis) is not None and getattr(band, other) is None and not band.facts


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


_LEAST, _MOST = f"{LEAST_WEIGHT_G} g", f"{MOST_WEIGHT_G} g"


def check_domain(domain: Domain) -> Iterator[Mistake]:
    """What is wrong with the weights and gestations that a kit is for."""
    yield from _check_span("weight", domain.weight, [_count_grams(edge) for edge in _list_edges(domain.weight)])
    yield from _check_span("gestation", domain.gestation, [edge.days for edge in _list_edges(domain.gestation)])


def _check_span(key: str, span: Span[Any], edges: list[int | None]) -> Iterator[Mistake]:
    path = ("domain", key)
    least, most = (_LEAST, _MOST) if key == "weight" else (str(LEAST_GESTATION), str(MOST_GESTATION))
    ends = (LEAST_WEIGHT_G, MOST_WEIGHT_G) if key == "weight" else (LEAST_GESTATION.days, MOST_GESTATION.days)
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
