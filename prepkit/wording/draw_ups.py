"""The words of a dose as it is drawn up: details, working, cautions, and what can be ordered instead."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from prepkit.kit.kit import Product
from prepkit.kit.ward import UNDILUTED
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.text import show_amount, write_decimal, write_rounded
from prepkit.rules.dose.draw_up import DrawUp
from prepkit.rules.dose.syringe import HeldBy, Measured
from prepkit.rules.findings import Kind
from prepkit.rules.rule import Order
from prepkit.wording.doses import PLACES, say_way, show_over
from prepkit.wording.things import (
    CLASS_COLOURS,
    TIMES,
    say_basis,
    say_dilution,
    say_route,
    say_whole,
    show_day,
    show_vials,
    tag,
)

NOT_FOR_GIVING = "made-up stock, not for giving as it is"

_SYRINGES = MappingProxyType(
    {"intravenous": "luer syringe", "enteral": "enteral syringe", "tracheal": "syringe, tracheal"}
)
_HELD: Mapping[HeldBy, str] = {"most": "the most", "range": "the label's range", "course": "the course has left"}


def _explain(draw_up: DrawUp, reached: Amount) -> tuple[str, ...]:
    strength, route = show_amount(draw_up.dilution.strength), draw_up.line.route
    volume, mass = show_amount(draw_up.measured.volume), show_amount(draw_up.due.mass)
    volume_sum = f"Volume: {mass} ÷ {strength} = {show_amount(draw_up.exact, PLACES)}."
    return (
        f"Strength: {say_dilution(draw_up.dilution)}. {tag(draw_up.strength.cited)}",
        *(() if draw_up.is_whole else (volume_sum,)),
        _explain_mark(draw_up, volume),
        f"In the syringe: {volume} {TIMES} {strength} = {show_amount(draw_up.in_syringe, PLACES)}.",
        f"{show_amount(draw_up.in_syringe, PLACES)} ÷ {draw_up.due.weight_g} g = {show_amount(reached, 2)}.",
        *(() if route == "enteral" else (_explain_tolerance(draw_up.measured),)),
        say_route(route),
        f"Open {show_vials(draw_up.vials)}: {_explain_left(draw_up)} [local].",
    )


def _explain_left(draw_up: DrawUp) -> str:
    if draw_up.is_whole:
        return "all of it is given, nothing is discarded"
    left = "holds enough" if draw_up.left is None else f"leaves {show_amount(draw_up.left)} to discard"
    return f"{left}, the least waste from the sizes in stock"


def _explain_mark(draw_up: DrawUp, volume: str) -> str:
    measured = draw_up.measured
    holds = f"{f'{measured.count} {TIMES} ' if measured.count > 1 else ''}{show_amount(measured.syringe.holds)}"
    if draw_up.is_whole:
        return f"Syringe: {holds} [local]: all of {show_vials(draw_up.vials)} is {volume}; no mark is needed."
    syringe = f"{holds}, marks every {show_amount(measured.syringe.marks)} [local]"
    held = f", down, since the nearest mark would be more than {_HELD[measured.held_by]}" if measured.held_by else ""
    fewer = f", so that one {draw_up.product.container} less is opened" if draw_up.is_fewer else ""
    return f"Syringe: {syringe}: draw up to {volume} ({_show_deviation(measured)}{held}{fewer})."


def _show_deviation(measured: Measured) -> str:
    if not measured.percent:
        return "exactly on a mark"
    sign = "+" if measured.is_above else "\N{MINUS SIGN}"
    return f"{sign}{write_decimal(measured.percent, 1)} % from exact"


def _explain_tolerance(measured: Measured) -> str:
    found = measured.scale.find_tolerance(measured.volume)
    if found is None:
        return f"How far a {show_amount(measured.syringe.holds)} syringe itself may be out is not recorded here."
    percent = write_decimal(found.percent, 1)
    return f"The syringe itself may be {percent} % out at this volume [{say_basis(found.basis)}: ISO 7886-1 1993]."


def _say_option(draw_up: DrawUp, reached: Amount) -> str:
    product, volume, opened = draw_up.product, draw_up.measured.volume, show_vials(draw_up.vials)
    if draw_up.is_whole:
        which, of, left = say_whole(product.container), "", ", nothing discarded"
    else:
        way = f"one {product.container} less" if draw_up.is_fewer else "measured"
        which = f"repeat dose, {way}" if draw_up.due.is_repeat else f"{show_amount(draw_up.due.per_kg)}, {way}"
        of = "" if draw_up.dilution.id == UNDILUTED else f" of {show_amount(draw_up.dilution.strength)}"
        left = f", discard {show_amount(draw_up.left)}" if draw_up.left is not None and draw_up.left.value else ""
    return f"{product.name}, {which}: {show_amount(volume)}{of} = {show_amount(reached, 1)}; open {opened}{left}"


def _name_order(order: Order, product: Product) -> str:
    return f"Ordered by {order.by}: {say_way(order, product.container)}, {product.name}."


def _prescribe_mosts(mosts: tuple[Amount, ...]) -> tuple[str, ...]:
    return tuple(f"No single dose is more than {most}" for most in sorted({show_amount(most) for most in mosts}))


def _say_held(mass: Amount, reached: Amount) -> str:
    return f"{show_amount(mass, 2)}, {write_rounded(reached.value)} {reached.unit.text}"


def _round_due(reached: Amount, due: Amount) -> str:
    return write_rounded(convert(due, reached.unit).value)


def _say_by_word(mass: Amount, reached: Amount, due: Amount) -> tuple[str, ...]:
    return f"in the syringe {_say_held(mass, reached)}", f"due {_round_due(reached, due)} {reached.unit.text}"


def _many(count: int) -> str:
    return f"{count} {TIMES} " if count > 1 else ""


def _say_label(count: int, route: str, label_class: str | None) -> str:
    """Say what has to stand on the label, beside the medicine: the class with its colour, or what it is not for."""
    coloured = f", {label_class} ({CLASS_COLOURS[label_class]})" if label_class else ""
    barred = "" if route == "intravenous" else ', "not for injection"'
    return f"{_many(count)}syringe label{coloured}{barred}"


def _say_not_for_injection(route: str) -> str:
    """Of the two, only an enteral syringe has a connector that fits no line."""
    fits = ": nothing but its label keeps this syringe from a line" if route == "tracheal" else ""
    return f"Not for injection{fits}."


BY_WORD: Mapping[Kind, Callable[..., tuple[str, ...]]] = {Kind.IN_SYRINGE: _say_by_word}
"""Of what a paper says in several details, each of which stands without the other."""
STEPS: Mapping[Kind, Callable[..., tuple[str, ...]]] = {
    Kind.DRAWN_UP: _explain,
    Kind.MOSTS_PRESCRIBED: _prescribe_mosts,
}
WORDS: Mapping[Kind, Callable[..., str]] = {
    # Details
    Kind.AFTER_UNKNOWN: lambda: "! a dose before is not known in full: a senior says what is due",
    Kind.IN_SYRINGE: lambda mass, reached, due: f"{_say_held(mass, reached)} (due {_round_due(reached, due)})",
    Kind.SHARE_OF_DUE: lambda percent: f"{write_rounded(percent)} % of what is due",
    Kind.STRENGTH: lambda product, strength: f"{product} {show_amount(strength)}",
    Kind.MAKE_FIRST: lambda take, strength, add, diluent: (
        f"first make {show_amount(take)} of {show_amount(strength)} + {show_amount(add)} {diluent}"
    ),
    Kind.MIX_IN: lambda syringe, add, diluent, opened, needle: (
        f"Make it up in a {show_amount(syringe.holds)} syringe, with {show_amount(add)} from {show_vials(opened)} of"
        f" {diluent.name} and a needle of {needle.gauge}. [local]"
    ),
    Kind.REMAINDER: lambda made, times: (
        f"The {show_amount(made)} made up holds about {write_decimal(times, 0)} times this dose."
    ),
    Kind.SYRINGE_AND_AIR: lambda count, holds, air: (
        f"{f'{count} {TIMES} ' if count > 1 else ''}{show_amount(holds)} syringe"
        f"{f' + {show_amount(air)} air' if air else ''}{' each' if air and count > 1 else ''}"
    ),
    Kind.STANDS_IN: lambda product, instead_of: (
        f"! {product.name} {show_amount(product.strength)} in the place of {instead_of.name}"
        f" {show_amount(instead_of.strength)}, which cannot be drawn up for this baby"
    ),
    Kind.ROUTE: lambda route: route,
    Kind.OPEN: lambda vials, container: f"open {show_vials(vials)} {container}",
    Kind.DISCARD: lambda left: f"discard {show_amount(left)}",
    # Cautions
    Kind.OVER_LABEL_RANGE: lambda reached, most: (
        f"The mark gives {show_over(reached, most)}: a little over the {show_amount(most)} of the label's range."
    ),
    Kind.MARK_PAST_COURSE: lambda total, most: (
        f"The mark brings the course to {show_over(total, most)}: a little over the {show_amount(most)} in all."
    ),
    Kind.DEVIATION: lambda percent: f"The mark is {write_decimal(percent, 1)} % from exact.",
    Kind.LABEL_ADVICE: lambda text, cited: f"{text} {tag(cited)}",
    Kind.EARLIER_UNKNOWN: lambda doses: (
        f"What was given before is not known in full ({doses.words()}): a senior says what is due."
    ),
    Kind.CLEARS: lambda dead_volume, air: (
        f"Air behind the dose: the catheter as cut holds {show_amount(dead_volume.volume)} with its connector, so"
        f" {show_amount(air)}. [local: measured by {dead_volume.measured_by} on {show_day(dead_volume.measured_on)}]"
    ),
    Kind.ENTERED_AIR: lambda air, by: f"Air behind the dose, {show_amount(air)}: entered with the tick by {by}.",
    Kind.NO_AIR_STATED: lambda: (
        "Air behind the dose is not set on this ward: without any, some of the dose stays in the catheter."
    ),
    Kind.NOT_FOR_INJECTION: _say_not_for_injection,
    # What to do
    Kind.ASK_FOR_AIR: lambda: "Ask how much air the unit leaves behind the dose, and enter it with the tick.",
    Kind.LABEL_REMAINDER: lambda: f'Label what is left "{NOT_FOR_GIVING}", and discard it before the cot.',
    # What is laid out with it
    Kind.PART_SYRINGE: lambda count, holds, route: f"{_many(count)}{show_amount(holds)} {_SYRINGES[route]}",
    Kind.PART_LABEL: _say_label,
    Kind.PART_CAP: lambda count: f"{_many(count)}cap for the syringe",
    Kind.PART_MIXING: lambda holds: f"{show_amount(holds)} syringe to make it up in",
    Kind.PART_DILUENT: lambda name, opened: f"{name}, {show_vials(opened)}",
    Kind.PART_NEEDLE: lambda gauge: f"needle, {gauge}",
    Kind.PART_STOCK_LABEL: lambda: f'label for what is left, "{NOT_FOR_GIVING}"',
    # What was ordered, and what can be
    Kind.ORDER_NAMED: _name_order,
    Kind.OPTION: _say_option,
}
