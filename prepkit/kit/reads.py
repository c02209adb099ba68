"""Which weight, which gestation and whether the age a line goes by: its bands, its dose, the labels of its products.

What a line follows is not among them: it is blocked where that is.
"""

from collections.abc import Iterable, Iterator

from prepkit.kit.axes import OF_DOSE, Axis
from prepkit.kit.fields import list_inside
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DepthMethod, DoseLine, Line
from prepkit.kit.spans import AxisSpans


def find_axes(line: Line, kit: Kit) -> frozenset[Axis]:
    """The axes that a line goes by; what a label only advises takes nothing away, and is not among them."""
    named = line.products if isinstance(line, DoseLine) else ()
    return list_axes((line, *(each.where for each in kit.product if each.id in named and each.where is not None)))


def list_axes(parts: Iterable[object]) -> frozenset[Axis]:
    """The axes that stand anywhere in these parts of a kit or a ward file."""
    return frozenset(axis for part in parts for axis in _walk(part))


def _walk(node: object) -> Iterator[Axis]:
    if isinstance(node, AxisSpans):
        yield from (axis for axis, _ in node.list_spans())
    weight = node.weight if isinstance(node, DoseLine | DepthMethod) else None
    if weight is not None:
        yield OF_DOSE[weight]
    for child in list_inside(node):
        yield from _walk(child)


def find_doses_fact(kit: Kit) -> str | None:
    """Find the fact of the doses given before that a line of the kit goes by; None where none does."""
    return next((line.earlier for line in kit.line if isinstance(line, DoseLine) and line.earlier), None)
