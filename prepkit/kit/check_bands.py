"""Checks on tables of bands: no gap, no overlap, every shared edge in exactly one band. May import: `prepkit.kit`."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from prepkit.kit.finding import Finding
from prepkit.kit.lines import Band
from prepkit.kit.spans import Span

Path = tuple[str | int, ...]


def check_bands(bands: Sequence[Band], path: Path, *, overlaps: bool = False, gaps: bool = False) -> Iterator[Finding]:
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


def _check_pair(one: Span[Any], two: Span[Any], path: Path, *, overlaps: bool, gaps: bool) -> Iterator[Finding]:
    said = f"{one.words()}, then {two.words()}"
    if one.high is None or two.low is None:
        if not overlaps:
            yield Finding(
                path, f"bands out of order or without an edge between them ({said})", "order bands from low to high"
            )
    elif one.high == two.low:
        if one.at_most is not None and two.at_least is not None and not overlaps:
            yield Finding(path, f"two bands both hold their shared edge ({said})", "use below or above on one side")
        if one.below is not None and two.above is not None and not gaps:
            yield Finding(path, f"neither band holds the shared edge ({said})", "use at_most or at_least on one side")
    elif one.high < two.low and not gaps:
        yield Finding(path, f"there is a gap between two bands ({said})", "let one begin where the other ends")
    elif two.low < one.high and not overlaps:
        yield Finding(path, f"two bands overlap, or are out of order ({said})", "order bands from low to high")
