"""Checks of a kit's domain: the proof walks every gram and every day of it. May import: `prepkit.kit`."""

from collections.abc import Iterator
from typing import Any

from prepkit.kit.baby import LEAST_GESTATION, LEAST_WEIGHT_G, MOST_GESTATION, MOST_WEIGHT_G
from prepkit.kit.finding import Finding
from prepkit.kit.kit import Domain
from prepkit.kit.spans import Span
from prepkit.quantities.amount import Amount, convert

_LEAST, _MOST = f"{LEAST_WEIGHT_G} g", f"{MOST_WEIGHT_G} g"


def check_domain(domain: Domain) -> Iterator[Finding]:
    """What is wrong with the weights and gestations that a kit is for."""
    yield from _check_span("weight", domain.weight, [_count_grams(edge) for edge in _list_edges(domain.weight)])
    yield from _check_span("gestation", domain.gestation, [edge.days for edge in _list_edges(domain.gestation)])


def _check_span(key: str, span: Span[Any], edges: list[int | None]) -> Iterator[Finding]:
    path = ("domain", key)
    least, most = (_LEAST, _MOST) if key == "weight" else (str(LEAST_GESTATION), str(MOST_GESTATION))
    ends = (LEAST_WEIGHT_G, MOST_WEIGHT_G) if key == "weight" else (LEAST_GESTATION.days, MOST_GESTATION.days)
    if len(edges) == 1:
        yield Finding(path, f"the domain's {key} has one edge ({span.words()})", "give a lower edge and an upper one")
    elif None in edges:
        yield Finding(path, f"the domain's edges are whole grams ({span.words()})", "babies are weighed in whole grams")
    elif any(edge is not None and not ends[0] <= edge <= ends[1] for edge in edges):
        wrong = f"the domain goes beyond what may be typed as a {key}, {least} to {most} ({span.words()})"
        yield Finding(path, wrong, "look at the numbers and their units")
    elif edges[0] is not None and edges[1] is not None and not _holds_one(span, edges[0], edges[1]):
        yield Finding(path, f"the domain holds no baby ({span.words()})")


def _list_edges(span: Span[Any]) -> list[Any]:
    return [edge for edge in (span.low, span.high) if edge is not None]


def _count_grams(edge: Amount) -> int | None:
    grams = convert(edge, "g").value
    return int(grams) if grams.denominator == 1 else None


def _holds_one(span: Span[Any], low: int, high: int) -> bool:
    return low + (span.above is not None) <= high - (span.below is not None)
