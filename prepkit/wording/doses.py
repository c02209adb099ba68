"""The words of doses: why none is due or drawn up, what is ordered, which dose it is and why."""

from collections.abc import Callable, Mapping

from prepkit.kit.axes import WORDS as AXIS_WORDS
from prepkit.kit.kit import DoseRange
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import show_amount, show_range, write_decimal
from prepkit.rules.dose.bars import Course
from prepkit.rules.findings import Citation, Kind
from prepkit.rules.rule import Order
from prepkit.wording.things import TIMES, say_basis, say_made_up, say_size, say_whole, tag, tell

PLACES = 4


def show_over(amount: Amount, limit: Amount) -> str:
    """Show what is over a limit to as few places as say so: at most 4."""
    shown = [show_amount(amount, places) for places in range(1, PLACES + 1)]
    return next((words for words in shown if words != show_amount(limit)), shown[-1])


def _say_course(course: Course, total: Amount, cited: Citation) -> str:
    so_far = f"with this dose {show_over(total, course.most_in_all)} of {show_amount(course.most_in_all)} in all"
    return f"{show_amount(course.given, 1)} was given before; {so_far}. {tag(cited)}"


def say_way(order: Order, container: str) -> str:
    """Say what of an order is not as usual: its dose, one container less, whole containers; else "measured"."""
    if order.past_interval:
        return f"before the least interval is over, because {order.past_interval}"
    if order.is_rest:
        return "the rest of the last dose"
    dose = f"{show_amount(order.per_kg)}, " if order.per_kg is not None else ""
    if order.containers == "fewest":
        return f"{dose}one {container} less"
    return f"{dose}{'measured' if order.whole is None else say_whole(container)}"


def say_ordered(order: Order, product: str | None, container: str) -> str:
    """Say what was ordered: the product's name, the way, the volume of whole containers.

    `product` is None where neither the kit nor the ward file has it any more: only then is it called by its id.
    """
    volume = f", {show_amount(order.whole)}" if order.whole is not None else ""
    name = product or f'"{order.product}"'
    return f"{name}, {say_way(order, container or 'container')}{volume}"


def _say_void(order: Order, product: str | None, container: str, reason: str) -> str:
    return f"ordered by {order.by}: {say_ordered(order, product, container)}; {reason}: order again"


def _say_given(
    due: Amount | None,
    in_syringe: Amount | None,
    given: Amount,
    strength: Amount,
    mass: Amount,
    weight: Amount,
    per_kg: Amount,
) -> str:
    prepared = ((due, "due"), (in_syringe, "in the syringe"))
    before = "".join(f"{show_amount(amount, 2)} {word}, " for amount, word in prepared if amount is not None)
    volume = f"{show_amount(given)} {TIMES} {show_amount(strength)}"
    return f"{before}{show_amount(mass, 2)} given ({volume}), which is {show_amount(per_kg, 1)} ({show_amount(weight)})"


def _say_outside(volume: Amount, per_kg: Amount, least: Amount, most: Amount) -> str:
    return f"{show_amount(volume)} = {show_amount(per_kg, PLACES)}, outside {show_range(least, most)} for a first dose"


def _say_range(span: DoseRange, cited: Citation) -> str:
    return f"The label's range for a first dose: {show_range(span.least, span.most)}. {tag(cited)}"


WORDS: Mapping[Kind, Callable[..., str]] = {
    # Why none is due
    Kind.OTHER_BEFORE: lambda dose, product: (
        f"the dose before was of another medicine ({dose.words()}): {product} after it only by an order that names it"
    ),
    Kind.COURSE_IS_FULL: lambda number, most, product: (
        f"{number} dose{'s' if number > 1 else ''} of {product} given: its label allows {most} in all"
    ),
    Kind.NO_REST: lambda product: f"the last dose of {product} was not given in part, or its rest is not for this ward",
    Kind.NO_DOSE_BAND: lambda size: f"none of its bands of doses holds {say_size(size)}",
    Kind.NO_DOSE_STATED: lambda product: f"no dose of {product} is stated",
    Kind.NO_REPEAT_STATED: lambda doses, product: (
        f"given before: {doses.words()}; no repeat dose of {product} is stated"
    ),
    Kind.MORE_THAN_COURSE: lambda given, most, product: (
        f"{show_amount(given)} is recorded as given before, more than the {show_amount(most)} of a whole course of"
        f" {product}: look at the amount"
    ),
    Kind.PAST_COURSE: lambda given, dose, total, most: (
        f"{show_amount(given)} given and {show_amount(dose)} more is {show_amount(total)}:"
        f" past {show_amount(most)} in all"
    ),
    Kind.LAST_DOSE_AHEAD: lambda last, now: (
        f"the last dose is recorded at {tell(last, now)}, which has not been yet by this clock ({now:%H:%M}):"
        " look at its time"
    ),
    Kind.TOO_EARLY: lambda due_at, last, interval, now: (
        f"may be given from {tell(due_at, now)}: {show_amount(interval)} after the last dose at {tell(last, now)}"
    ),
    # Why none is drawn up
    Kind.NO_WARD: lambda: "no ward file: which strengths and syringes are in stock is not known",
    Kind.NOT_STOCKED: lambda names: f"the ward file stocks no {' or '.join(names)}",
    Kind.BARRED_BY_LABEL: lambda product, where: f"{product}: its label is for {where.words()}",
    Kind.MORE_THAN_RECIPE: lambda exact, made: (
        f"{show_amount(exact, PLACES)} is more than the {show_amount(made)} its recipe makes"
    ),
    Kind.UNDER_LABEL_VOLUME: lambda volume, least: (
        f"{show_amount(volume, PLACES)} is under the {show_amount(least)} that its label allows"
    ),
    Kind.WHOLE_UNDER_LABEL: lambda volume, least: (
        f"{show_amount(volume)} is under the {show_amount(least)} that its label allows"
    ),
    Kind.NO_SYRINGE_STOCKED: lambda: "no syringe for this route in stock",
    Kind.SYRINGE_TOO_SMALL: lambda volume, holds: f"{show_amount(volume)} does not fit a {show_amount(holds)} syringe",
    Kind.UNDER_SYRINGE_LEAST: lambda volume, least, holds: (
        f"{show_amount(volume, PLACES)} is under the {show_amount(least)} that a {show_amount(holds)} syringe measures"
    ),
    Kind.ROUNDS_TOO_FAR: lambda exact, holds, percent: (
        f"rounding {show_amount(exact, PLACES)} to the marks of a {show_amount(holds)} syringe"
        f" moves the dose by {write_decimal(percent, 1)} %"
    ),
    Kind.NO_RANGE_ON_LABEL: lambda product: f"the label of {product} states no range for a first dose",
    Kind.RANGE_OF_FIRST: lambda per_kg: (
        f"a repeat dose is due, and an order of {show_amount(per_kg)} is for a first dose"
    ),
    Kind.ORDER_OUTSIDE_RANGE: lambda per_kg, least, most: (
        f"{show_amount(per_kg)} is outside the {show_range(least, most)} that the label allows for a first dose"
    ),
    Kind.CONTAINERS_DO_NOT_MAKE: lambda container, volume: (
        f"the {container}s in stock do not make {show_amount(volume)}"
    ),
    Kind.REPEAT_IS_DUE: lambda container: f"a repeat dose is due, and {say_whole(container)} are for a first dose",
    Kind.NOT_USED_UNDILUTED: lambda product: f"the ward file does not use {product} undiluted",
    Kind.OUTSIDE_RANGE: _say_outside,
    Kind.OVER_SINGLE_DOSE: lambda volume, mass, most: (
        f"{show_amount(volume)} = {show_amount(mass, PLACES)}, more than the {show_amount(most)} in one dose"
    ),
    Kind.OVER_COURSE: lambda volume, per_kg, most: (
        f"{show_amount(volume)} = {show_amount(per_kg, PLACES)}, past {show_amount(most)} in all"
    ),
    Kind.GIVEN_SINCE: lambda: "the doses given before have changed since",
    Kind.AFTER_DOSES: lambda number: f"after {number} dose{'s' if number > 1 else ''}",
    Kind.NOT_STOCKED_ANY_MORE: lambda: "it is not in stock for this line any more",
    # What is ordered, and what can be
    Kind.ORDERED: lambda order, container: f"ordered by {order.by}: {say_way(order, container)}",
    Kind.NOTHING_WITHOUT_WARD: lambda: "Nothing can be ordered without a ward file: what is in stock is not known.",
    # What the order says to somebody who works the dose out again
    Kind.WHOLE_ORDERED: lambda product, volume: (
        f"Ordered: {say_whole(product.container)}, {show_amount(volume)}."
        f" Is that within {show_range(product.dose_range.least, product.dose_range.most)}?"
    ),
    Kind.DOSE_PRESCRIBED: lambda is_repeat, per_kg, axis: (
        f"{'Repeat dose' if is_repeat else 'Dose'}: {show_amount(per_kg)} of {AXIS_WORDS[axis]}"
    ),
    Kind.PRODUCT_PRESCRIBED: lambda product: (
        f"{product.name} {show_amount(product.strength)} on the {product.container}"
    ),
    Kind.MADE_UP: lambda dilution: f"Made up: {say_made_up(dilution)}",
    # Working
    Kind.COURSE_SO_FAR: _say_course,
    Kind.DOSE_SUM: lambda is_repeat, where, per_kg, axis, weight_g, mass, cited: (
        f"{'Repeat dose' if is_repeat else 'Dose'}{f' for {where.words()}' if where.is_stated else ''}:"
        f" {show_amount(per_kg)} {TIMES} {weight_g} g ({AXIS_WORDS[axis]}) = {show_amount(mass)}. {tag(cited)}"
    ),
    Kind.CEILING: lambda mass, cited: (
        f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}. {tag(cited)}"
    ),
    Kind.WHOLE_DOSE_SUM: lambda volume, strength, mass: (
        f"Whole containers: {show_amount(volume)} {TIMES} {show_amount(strength)} = {show_amount(mass)}."
    ),
    Kind.LABEL_RANGE: _say_range,
    Kind.CEILING_STATED: lambda most, cited: f"No single dose is more than {show_amount(most)}. {tag(cited)}",
    Kind.NOTHING_IN_STOCK: lambda: "Nothing in stock to draw it up from.",
    Kind.DOSE_OF_PRODUCT: lambda: "The dose is the stocked product's own.",
    # Afterwards
    Kind.SHARE_RECOVERED: lambda given, recovered, share: (
        f"Share recovered: {show_amount(recovered)} ÷ {show_amount(given)} given = {show_amount(share, 1)} of the dose."
    ),
    Kind.OVER_WARD_LINE: lambda line, source, then: f"Over the ward's {show_amount(line)} ({source}): {then}",
    Kind.REPEAT_FROM: lambda product, due_at, interval, last, cited: (
        f"A repeat of {product}: from {tell(due_at, last)} at the earliest, {show_amount(interval)} after {last:%H:%M}."
        f" [{say_basis(cited.basis)}]"
    ),
    Kind.GIVEN_PER_KG: _say_given,
}
NESTED: Mapping[Kind, Callable[..., str]] = {
    Kind.STRENGTH_MISSES: lambda strength, reason: f"{strength}: {reason}",
    Kind.ORDER_VOID: _say_void,
    Kind.NOTHING_OFFERED_OF: lambda product, reason: f"Nothing of {product}: {reason}.",
    Kind.NO_REPEAT: lambda product, reason: f"No repeat of {product}: {reason}.",
    Kind.BY_ORDER_ALONE: lambda reason, names: f"{reason}; {' or '.join(names)} only by an order that names it",
    Kind.NOT_OFFERED_MEASURED: lambda reason: f"Not measured: {reason}.",
    Kind.NOT_OFFERED_WHOLE: lambda product, volume, reason: (
        f"Not {say_whole(product.container)} of {product.name}, {show_amount(volume)}: {reason}."
    ),
    Kind.NOT_DRAWN_UP: lambda reason: f"Nothing is drawn up: {reason}.",
    Kind.NOT_REPLACED: lambda reason: (
        f"Nothing is drawn up, and nothing takes the place of what was ordered: {reason}."
    ),
    Kind.NOT_THIS_WAY: lambda reason: f"Not: {reason}.",
}
"""Made of other findings: each is given the words of those among its values."""
