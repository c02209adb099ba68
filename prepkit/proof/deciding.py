"""What decides on each line of a kit: what it reads, where that may begin to be different, who is ruled out anyway.

A line is decided by its bands and the labels of its products, by its approvals, by the lines that it follows and, where
the ward file replaces any of these, by the kit's own.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.axes import GESTATIONS, WEIGHTS, Axis
from prepkit.kit.layer import Layer, find_followed
from prepkit.kit.lines import DepthLine, DoseLine, Line, SupplyLine
from prepkit.kit.reads import find_axes, list_axes
from prepkit.kit.spans import Where
from prepkit.kit.ward import Ward
from prepkit.proof.domain import Run, find_cuts, find_domain, find_formula_cuts, split
from prepkit.proof.situations import find_facts
from prepkit.rules.condition import Condition, prepare_condition


class Reads(Struct, frozen=True):
    """The weights, gestations and facts that decide on a line, and whether the age does."""

    weight: Axis | None
    """The one that it is walked along ..."""
    gestation: Axis | None
    beside: tuple[Axis, ...]
    """... and those that decide beside them."""
    has_age: bool
    facts: tuple[str, ...]

    @property
    def axes(self) -> tuple[Axis, ...]:
        """Every weight and gestation."""
        return tuple(axis for axis in (self.weight, self.gestation, *self.beside) if axis is not None)


class Deciding(Struct, frozen=True):
    """All that decides on one line."""

    before: tuple[Line, ...]
    """The lines that it follows, and those that they follow, in the kit's order."""
    lines: tuple[Line, ...]
    """It and those, and the kit's own of each in whose place the ward file's stands."""
    reads: Reads
    grams: tuple[Run | None, ...]
    """The runs of weights in which it is one line, as far as bands and marks go; of a dose each gram may be another.
    None where it goes by no weight."""
    days: tuple[Run | None, ...]
    ages: frozenset[int]
    """In minutes, the first on the further side of each edge."""
    ends: Mapping[Axis, tuple[int, ...]]
    """Of what decides beside its weight and its gestation, the ends of the runs."""
    suitable: tuple[Condition, ...]
    """The criteria that rule babies out, as far as they go by what the line reads."""


def find_deciding(line: Line, layer: Layer, ward: Ward | None, criteria: Sequence[Where]) -> Deciding:
    """Find all that decides on one line.

    Args:
        line: a line of the layered kit.
        layer: the kit with the ward file laid over it.
        ward: for its approvals.
        criteria: those that rule babies out.
    """
    before = tuple(_list_before(line, layer))
    both = (line, *before)
    own = (layer.lines.get(each.id) for each in both)
    lines = (*both, *(each for each in own if each is not None))
    parts = tuple(_list_parts(lines, layer, ward))
    reads = _find_reads(line, lines, parts, layer)
    wheres = [_restrict(where, reads) for where in criteria]
    cuts = find_cuts((*parts, *wheres))
    for axis in WEIGHTS:
        marked = (each for each in lines if isinstance(each, DepthLine | SupplyLine))
        cuts[axis] |= {cut for each in marked for cut in find_formula_cuts(each, find_domain(layer.kit, axis))}
    ends = {axis: _list_ends(find_domain(layer.kit, axis), cuts[axis]) for axis in reads.beside}
    for axis, each in ends.items():
        # The two are of no baby on one side of where they are the same.
        along = reads.weight if axis in WEIGHTS else reads.gestation
        cuts[along or axis] |= {end + more for end in each for more in (0, 1)}
    grams, days = (_split(axis, cuts, layer) for axis in (reads.weight, reads.gestation))
    suitable = tuple(prepare_condition(where) for where in wheres)
    return Deciding(before, lines, reads, grams, days, frozenset(cuts[Axis.AGE]), ends, suitable)


def _list_before(line: Line, layer: Layer) -> Iterator[Line]:
    lines = {each.id: each for each in layer.kit.line}
    needed = {*find_followed(line), *find_followed(layer.lines.get(line.id, line))}
    for name in tuple(needed):
        needed |= {each.id for each in _list_before(lines[name], layer)}
    return (each for each in layer.kit.line if each.id in needed)


def _list_parts(lines: Sequence[Line], layer: Layer, ward: Ward | None) -> Iterator[object]:
    """List the lines, their approvals, and whom the labels of their products are for, the ward's and the kit's own.

    What a label only advises decides on no amount.
    """
    names = {each.id for each in lines}
    products = {name for each in lines if isinstance(each, DoseLine) for name in each.products}
    yield from lines
    yield from (row for row in (ward.approval if ward else ()) if row.line in names)
    yield from (row.where for kit in (layer.kit, layer.own) for row in kit.product if row.id in products and row.where)


def _find_reads(line: Line, lines: Sequence[Line], parts: Sequence[object], layer: Layer) -> Reads:
    own, every = find_axes(line, layer.kit), list_axes(parts)
    weight, gestation = (
        next((axis for axes in (own, every) for axis in which if axis in axes), None) for which in (WEIGHTS, GESTATIONS)
    )
    beside = tuple(axis for axis in (*WEIGHTS, *GESTATIONS) if axis in every - {weight, gestation})
    facts = sorted({name for each in lines for name in find_facts(each)})
    return Reads(weight, gestation, beside, Axis.AGE in every, tuple(facts))


def _restrict(where: Where, reads: Reads) -> Where:
    """Leave of a condition what goes by what a line reads.

    Other facts stand at a default, and other weights at any: no reason to count a blocked line as no gap.
    """
    kept = {*reads.axes, *((Axis.AGE,) if reads.has_age else ())}
    return replace(where, facts={}, **{str(axis): None for axis in Axis if axis not in kept})


def _split(axis: Axis | None, cuts: defaultdict[Axis, set[int]], layer: Layer) -> tuple[Run | None, ...]:
    return (None,) if axis is None else split(find_domain(layer.kit, axis), cuts[axis])


def _list_ends(domain: Run, cuts: set[int]) -> tuple[int, ...]:
    return tuple(sorted({end for run in split(domain, cuts) for end in (run.first, run.last)}))
