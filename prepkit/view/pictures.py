"""Which pictures stand beside a line: the syringe, the containers, the ruler, the weight on the device's range."""

from decimal import Decimal
from fractions import Fraction
from functools import partial
from math import ceil, floor

from prepkit.kit.axes import WEIGHTS
from prepkit.kit.lines import SizeLine
from prepkit.kit.spans import WeightSpan
from prepkit.list.lines import ListLine
from prepkit.pictures.drawing import draw_progress
from prepkit.pictures.number_line import Stretch, draw_centiles, draw_weight
from prepkit.pictures.tray import draw_ruler, draw_syringe, draw_vials
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.units import Dimension
from prepkit.rules.growth import Sex, compute_centile_weight
from prepkit.view.models import Picture

# How many SDs from the median a centile lies: quantiles of the normal distribution.
_CENTILES = {
    "P3": Decimal("-1.8808"),
    "P10": Decimal("-1.2816"),
    "P50": Decimal(0),
    "P90": Decimal("1.2816"),
    "P97": Decimal("1.8808"),
}
_MOST_G, _LEAST_G = 10_000, 300
_NOTHING = Fraction(0)


def list_pictures(line: ListLine, worked: WorkedList) -> tuple[Picture, ...]:
    """The pictures of one line; none for a line that is blocked: it has no number to match."""
    if line.outcome.blocked:
        return ()
    return (*_draw_measured(line), *_draw_depth(line), *_draw_device(line, worked))


def draw_weight_for_age(worked: WorkedList) -> tuple[Picture, ...]:
    """The weight at birth between the centiles of its gestation; nothing where there is no reference, or no weight."""
    size = worked.baby.size if worked.baby else None
    if worked.baby is None or size is None or size.birth_gestation is None or size.birth_weight_g is None:
        return ()
    days, sex = size.birth_gestation.days, Sex(worked.baby.sex)
    points = {
        name: found for name, z in _CENTILES.items() if (found := compute_centile_weight(days, sex, z)) is not None
    }
    return (partial(draw_centiles, size.birth_weight_g, points),) if points else ()


def draw_groups(state: Preparation, worked: WorkedList) -> tuple[Picture, ...]:
    """How far each group of the list is; nothing where there is no list."""
    names = {group.id: group.name for group in worked.kit.model.group}
    groups = [(names.get(each.group, each.group), each.ticked + each.set_aside, each.total) for each in state.groups]
    return (partial(draw_progress, groups),) if groups else ()


def _draw_measured(line: ListLine) -> tuple[Picture, ...]:
    volume = line.outcome.amount or line.outcome.high
    if line.outcome.syringe is None or volume is None:
        return ()
    holds, marks, volume_ml = (_ml(each) for each in (line.outcome.syringe.holds, line.outcome.syringe.marks, volume))
    air = _ml(line.outcome.air) if line.outcome.air else _NOTHING
    # All of the containers is drawn up to no mark, and in two syringes to none that could be shown here.
    is_at_mark = line.outcome.syringes == 1 and not (line.outcome.is_whole and volume_ml % marks)
    syringe = (partial(draw_syringe, holds, marks, volume_ml, air),) if is_at_mark else ()
    if not line.outcome.vials or line.outcome.recipe is None:
        return syringe
    opened = [(_ml(vial.size), vial.count) for vial in line.outcome.vials]
    # A recipe takes its own volume from the containers; the rest of what it makes is no waste of theirs.
    used = volume_ml if line.outcome.discard is not None or line.outcome.is_whole else None
    return syringe if used is None else (*syringe, partial(draw_vials, opened, used))


def _draw_depth(line: ListLine) -> tuple[Picture, ...]:
    low, high = line.outcome.low or line.outcome.amount, line.outcome.high or line.outcome.amount
    if low is None or high is None or low.dimension is not Dimension.LENGTH:
        return ()
    return (partial(draw_ruler, convert(low, "cm").value, convert(high, "cm").value),)


def _draw_device(line: ListLine, worked: WorkedList) -> tuple[Picture, ...]:
    """The weight that a device goes by, on the range of its label and of the ward's approvals."""
    own = next((each for each in worked.laid.line if each.id == line.id), None)
    if worked.baby is None or not isinstance(own, SizeLine) or not own.label:
        return ()
    axis = next((each for each in WEIGHTS if each in line.declared.reads), None)
    grams = worked.baby.measures[axis] if axis else None
    if axis is None or grams is None:
        return ()
    rows = worked.ward.model.approval if worked.ward else ()
    approved = [(f"ward approval, size {row.size}", row.where) for row in rows if row.line == line.id]
    labels = [(f"label, size {' or '.join(band.size)}", band) for method in own.method for band in method.band]
    spans = [(name, dict(where.list_spans()).get(axis)) for name, where in (*labels, *approved)]
    stretches = tuple(_stretch(name, span) for name, span in spans if isinstance(span, WeightSpan))
    return (partial(draw_weight, grams, stretches),) if stretches else ()


def _stretch(name: str, span: WeightSpan) -> Stretch:
    """The whole grams of a span: what lies above or below an edge begins a gram further in."""
    low = _LEAST_G
    if span.at_least is not None:
        low = ceil(convert(span.at_least, "g").value)
    elif span.above is not None:
        low = floor(convert(span.above, "g").value) + 1
    high = _MOST_G
    if span.at_most is not None:
        high = floor(convert(span.at_most, "g").value)
    elif span.below is not None:
        high = ceil(convert(span.below, "g").value) - 1
    return Stretch(name, low, high)


def _ml(amount: Amount) -> Fraction:
    return convert(amount, "mL").value
