"""The words of every other kind of line: sizes, depths, settings and amounts, supplies and trials."""

from collections.abc import Callable, Mapping, Sequence

from prepkit.kit.axes import WORDS as AXIS_WORDS
from prepkit.kit.axes import Axis
from prepkit.kit.baby import BabySize
from prepkit.kit.lines import DepthMethod, SizeBand
from prepkit.kit.spans import Where
from prepkit.kit.ward import Approval, MeasuredLength
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import show_amount, show_range
from prepkit.rules.findings import Citation, Kind
from prepkit.wording.baby import say_weights
from prepkit.wording.things import TIMES, join_sizes, say_ground_and_review, say_route, say_size, show_day, tag


def _show_sizes(sizes: Sequence[str], is_every: bool, is_number: bool, below: str) -> str:  # noqa: FBT001  (called by name)
    shown = f"{'size ' if is_number else ''}{join_sizes(sizes, 'and' if is_every else 'or')}"
    return f"{shown} + {below}" if below else shown


def _show_supply(count: int | None, what: str | None, sizes: Sequence[str], length: str | None) -> str:
    many = f"{count} {TIMES}" if count and (count > 1 or sizes) else ""
    depth = f"to {length}" if length else ""
    return " ".join(part for part in (many, what or "", join_sizes(sizes), depth) if part)


def _say_outside(label: str, size: BabySize, has_ward: bool) -> str:  # noqa: FBT001  (called by name)
    outside = f"{say_weights(size.birth_weight_g, size.weight_now_g)} is outside every label: {label}"
    if not has_ward:
        return f"{outside}; no ward file, so no approval on file"
    return f"{outside}, and the ward has no approval on file for {say_size(size)}"


def _say_within(what: str, least: Amount, most: Amount) -> str:
    return f"chosen within {show_range(least, most)}" if what == "mark" else "entered here: not set on this ward"


def _say_differing(sizes: Mapping[str, Sequence[str]]) -> str:
    words = ", ".join(f"{join_sizes(each)} by {by}" for by, each in sizes.items())
    return f"The methods differ: {words}."


def _say_band(by: str, band: SizeBand, cited: Citation) -> str:
    return f"y {by}: {band.when_size or band.words()} gives {join_sizes(band.size)}. {tag(cited)}"


def _say_approved(approval: Approval) -> str:
    return (
        f"Ward approval: size {approval.size} for {approval.where.words()}: {say_ground_and_review(approval)}. [local]"
    )


def _say_other_size(sizes: Sequence[str | None], laid_out: str | None) -> str:
    named = " and ".join(f"size {size}" if size else "no size stated" for size in sizes)
    other = f"; what is laid out is {laid_out}" if laid_out else ""
    return f"The ward's measured length is for {named}{other}: it is not used."


def _say_formula(
    method: DepthMethod, axis: Axis, weight_g: int, exact: Amount, step: Amount, mark: Amount, cited: Citation
) -> str:
    per_kg = show_amount(method.per_kg) if method.per_kg else ""
    plus = f" + {show_amount(method.plus)}" if method.plus else ""
    return (
        f"By {method.by}: {per_kg} {TIMES} {weight_g} g ({AXIS_WORDS[axis]}){plus} = {show_amount(exact)};"
        f" to the nearest {show_amount(step)}: {show_amount(mark)}. {tag(cited)}"
    )


def _name_device(device: str, size: str | None) -> str:
    return f"{device} (size {size})" if size else device


def _say_measured(measured: MeasuredLength, exact: Amount, step: Amount, mark: Amount | None) -> str:
    found = f"down to a mark: {show_amount(mark)}" if mark else f"under the first mark, {show_amount(step)}"
    return (
        f"Measured on the ward's {_name_device(measured.device, measured.size)}: {show_amount(measured.length)} from"
        f" port to opening, less {show_amount(measured.clearance)} clearance = {show_amount(exact)}; {found}. [local]"
    )


def _say_for(where: Where) -> str:
    return f"For {where.words()}: " if where.is_stated else ""


def _say_copied(where: Where, value: Amount, label: str, is_assumed: bool, cited: Citation) -> str:  # noqa: FBT001  (called by name)
    assumed = " (default, not confirmed)" if is_assumed else ""
    return f"{_say_for(where)}{show_amount(value)}, the same as {label}{assumed}. {tag(cited)}"


def _say_tried(values: Sequence[tuple[Sequence[str], str | None, Sequence[str]]]) -> str:
    """Write all that a trial hangs on."""
    rows = (("; ".join(filter(None, standing)), show, *details) for standing, show, details in values)
    return "; ".join([", ".join(part for part in row if part) for row in rows])


WORDS: Mapping[Kind, Callable[..., str]] = {
    # What is shown
    Kind.AMOUNT: show_amount,
    Kind.RANGE: show_range,
    Kind.FLOOR: lambda low: f"{show_amount(low)} or more",
    Kind.SIZES: _show_sizes,
    Kind.NO_AMOUNT: lambda: "no amount",
    # Sizes
    Kind.NO_SIZE: lambda size: f"no size is stated for {say_size(size)}",
    Kind.FACT_MISSING: lambda axis: f"the {AXIS_WORDS[axis]} is not known: enter it first",
    Kind.FACT_WANTED: lambda axis: f"It goes by the {AXIS_WORDS[axis]}, which is not known.",
    Kind.NOT_HELD_AGAINST: lambda axis: f"Not held against the {AXIS_WORDS[axis]}, which is not known.",
    Kind.IF_BORN_TODAY: lambda: "if born today",
    Kind.BY_WEIGHT_NOW: lambda: "by the weight now: the birth weight is not known",
    Kind.WAITS: lambda names: f"waits for what is blocked: {', '.join(names)}",
    Kind.SIZE_FOLLOWS: lambda names: f"Its size follows from: {', '.join(names)}.",
    Kind.NO_BAND: lambda size: f"None of its bands holds {say_size(size)}.",
    Kind.SIZES_DIFFER: _say_differing,
    Kind.OFF_LABEL: lambda: "Outside its label: a ward's own approval, or do not use.",
    Kind.OFF_LABEL_DETAIL: lambda: "outside its label, on ward approval",
    Kind.OFF_LABEL_ALLOWED: lambda reference: f"Outside its label: used on the ward's approval {reference}.",
    Kind.SIZES_BY_BAND: lambda by, band, cited: f"B{_say_band(by, band, cited)}",
    Kind.SIZE_BELOW: lambda below, first: (
        f"The size below is laid out too: {below}." if below else f"No smaller size than {first} is listed."
    ),
    Kind.LABEL: lambda bands: "; ".join(f"size {join_sizes(sizes)} is for {where.words()}" for sizes, where in bands),
    Kind.APPROVED_SIZE: _say_approved,
    # Depths
    Kind.NO_METHOD: lambda size: f"no method covers {say_size(size)}",
    Kind.NO_METHOD_HOLDS: lambda size: f"None of its methods covers {say_size(size)}.",
    Kind.NO_MARK_BY_FORMULA: lambda exact, by, step: (
        f"{show_amount(exact)} by {by} leaves no mark of {show_amount(step)}"
    ),
    Kind.NO_MARK_MEASURED: lambda device, size: (
        f"the ward's {_name_device(device, size)}: length less clearance leaves no mark"
    ),
    Kind.DEPTH_FORMULA: _say_formula,
    Kind.DEPTH_STATED: lambda by, low, high, cited: f"By {by}: {show_range(low, high)}. {tag(cited)}",
    Kind.DEPTH_BY_BAND: lambda by, where, depth, cited: (
        f"By {by}: {where.words()} gives {show_amount(depth)}. {tag(cited)}"
    ),
    Kind.DEPTH_MEASURED: _say_measured,
    Kind.MEASURED_BY: lambda measured: f"local: measured by {measured.measured_by} on {show_day(measured.measured_on)}",
    # Settings and amounts
    Kind.NOT_SET: lambda: "not set on this ward",
    Kind.ENTERED: lambda amount, by: f"{show_amount(amount)}: entered with the tick by {by}.",
    Kind.ENTERED_WITHIN: _say_within,
    Kind.ENTER_WITH_TICK: lambda: "The ward file sets no value: it is entered when the line is ticked. [local]",
    Kind.AS_IT_IS: lambda: "as it is now",
    Kind.NOTHING_STATED: lambda size: f"nothing is stated for {say_size(size)}",
    Kind.NO_SYRINGE_MEASURES: lambda route, low, high: f"no {route} syringe in stock measures {show_range(low, high)}",
    Kind.ASSUMED: lambda label: f"{label} is the default, not confirmed: the baby may be on another.",
    Kind.LOOK_AND_ENTER: lambda label: f"Look at what the baby is on, and enter it under {label}.",
    Kind.NO_WARD_FOR_SYRINGE: lambda: "No ward file: which syringe to use is not known.",
    Kind.SYRINGE_OF_ROUTE: lambda holds, route: f"{show_amount(holds)} {route} syringe",
    Kind.VALUE_UNKNOWN: lambda where, label, cited: f"{_say_for(where)}{label} is not known. {tag(cited)}",
    Kind.VALUE_COPIED: _say_copied,
    Kind.SMALLEST_SYRINGE: lambda holds, route: (
        f"Syringe: {show_amount(holds)} {route}, the smallest in stock that measures it. [local]"
    ),
    Kind.ROUTE_AND_CONNECTOR: say_route,
    # Supplies and trials
    Kind.NONE_STATED: lambda what, size: f"no {what} is stated for {say_size(size)}",
    Kind.NONE_GIVEN: lambda what, size: f"Nothing gives a {what} for {say_size(size)}.",
    Kind.COUNTED: lambda count, where, cited: (
        f"Count: {count}{f' ({where.words()})' if where.is_stated else ''}. {tag(cited)}"
    ),
    Kind.SUPPLY_SIZE: lambda by, band, cited: f"Size b{_say_band(by, band, cited)}",
    Kind.LAID_OUT: lambda cited: f"Lay it out. {tag(cited)}",
    Kind.TRY_NOW: lambda cited: f"Do it now. {tag(cited)}",
}
NESTED: Mapping[Kind, Callable[..., str]] = {
    Kind.SUPPLY: _show_supply,
    Kind.TRIED_VALUES: lambda values: f"{' and '.join(values)}",
    Kind.OUTSIDE_LABELS: _say_outside,
    Kind.LABEL_CITED: lambda label, cited: f"Label: {label}. {tag(cited)}",
    Kind.DEPTH_BY: lambda by, show: f"{show or ''} by {by}",
    Kind.METHOD_DIFFERS: lambda by, show: f"By {by} it is {show or ''}: the methods differ.",
    Kind.MEASURED_OTHER_SIZE: _say_other_size,
    Kind.VALUE_STATED: lambda where, show, cited: f"{_say_for(where)}{show}. {tag(cited)}",
    Kind.SUPPLY_LENGTH: lambda working: f"Length. {working}",
    Kind.TRIED_ON: lambda name, show: f"{name}: {show}",
    Kind.TRIED: _say_tried,
}
"""Made of other findings: each is given the words of those among its values."""
