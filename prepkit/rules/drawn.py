"""A dose as it is drawn up, in words: amounts, details, working, cautions. May import: `prepkit.rules`."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, divide
from prepkit.quantities.show import show_amount, show_range, write_decimal
from prepkit.rules.case import Case, Dilution, Outcome, Prescribed, VialCount, cite, cite_short, say_route
from prepkit.rules.course import Due
from prepkit.rules.syringe import HeldBy, Measured, find_iso_tolerance
from prepkit.rules.vials import show_vials

PLACES = 4
_USUAL_DEVIATION = 5
_HELD: Mapping[HeldBy, str] = {"most": "the most", "course": "the course has left"}
_TIMES = "\N{MULTIPLICATION SIGN}"


@dataclass(frozen=True, slots=True)
class Drawn:
    """One way to draw a dose up that a syringe measures."""

    product: Product
    due: Due
    dilution: Dilution
    exact: Amount
    measured: Measured
    air: Amount
    """What stays behind the dose in the syringe; may be nothing."""
    vials: tuple[VialCount, ...]
    left: Amount | None
    """What is discarded of the containers; None where a recipe takes from them."""
    holds: tuple[Amount, ...]
    """The containers in stock."""
    is_whole: bool = False
    """Whether it is whole containers and nothing measured off."""
    ordered: str = ""
    """Who ordered it and which way, in words; empty where nothing was ordered."""


def show_drawn(line: DoseLine, case: Case, drawn: Drawn) -> Outcome:
    """Give the line's finished outcome."""
    reached = compute_reached(drawn, case)
    return Outcome(
        dose=drawn.due.mass,
        exact=drawn.exact,
        amount=drawn.measured.volume,
        syringe=drawn.measured.syringe,
        air=drawn.air if drawn.air.value else None,
        recipe=drawn.dilution,
        product=drawn.product.id,
        capped=drawn.due.capped,
        is_held=bool(drawn.measured.held_by),
        over_course=_find_over_course(drawn, reached),
        vials=drawn.vials,
        discard=drawn.left,
        show=show_amount(drawn.measured.volume),
        details=_list_details(line, drawn, reached),
        working=(*_explain_order(drawn), *drawn.due.working, *_explain(line, case, drawn, reached)),
        cautions=_list_cautions(line, case, drawn, reached),
        basis=drawn.due.basis,
        source=cite(case.kit, drawn.due.basis, drawn.due.source),
        prescribed=_prescribe(line, drawn),
    )


def _prescribe(line: DoseLine, drawn: Drawn) -> Prescribed:
    """Write the order for somebody who works the dose out again: nothing in it is made from the weight."""
    mosts = {show_amount(most) for most in (line.most, drawn.product.most) if most is not None}
    strength = f"{drawn.product.name} {show_amount(drawn.product.strength)}"
    words = (
        _prescribe_dose(drawn),
        *(f"No single dose is more than {most}" for most in sorted(mosts)),
        f"{strength} on the {drawn.product.container}",
        *((f"Made up: {drawn.dilution.words.partition(' [')[0]}",) if drawn.dilution.make else ()),
    )
    return Prescribed(words, drawn.holds, drawn.product.container)


def _prescribe_dose(drawn: Drawn) -> str:
    span = drawn.product.dose_range
    if drawn.is_whole and span:
        whole = f"whole {drawn.product.container}s, {show_amount(drawn.measured.volume)}"
        return f"Ordered: {whole}. Is that within {show_range(span.least, span.most)}?"
    which = "Repeat dose" if drawn.due.is_repeat else "Dose"
    return f"{which}: {show_amount(drawn.due.per_kg)}"


def compute_reached(drawn: Drawn, case: Case) -> Amount:
    """Compute what the mark gives per kg, in the dose's own unit."""
    volume, mass = drawn.measured.volume, drawn.due.mass
    reached = Amount(volume.value / drawn.exact.value * mass.value, mass.unit)
    return divide(reached, case.baby.weight, drawn.due.per_kg.unit)


def _list_details(line: DoseLine, drawn: Drawn, reached: Amount) -> tuple[str, ...]:
    air = f" + {show_amount(drawn.air)} air" if drawn.air.value else ""
    discard = (f"discard {show_amount(drawn.left)}",) if drawn.left is not None and drawn.left.value else ()
    return (
        f"{show_amount(drawn.due.mass)}, reaches {show_amount(reached, 1)}",
        *((drawn.ordered,) if drawn.ordered else ()),
        f"{drawn.product.name} {show_amount(drawn.dilution.strength)}",
        *((drawn.dilution.make,) if drawn.dilution.make else ()),
        f"{show_amount(drawn.measured.syringe.holds)} syringe{air}",
        line.route,
        f"open {show_vials(drawn.vials)} {drawn.product.container}",
        *discard,
    )


def _explain(line: DoseLine, case: Case, drawn: Drawn, reached: Amount) -> tuple[str, ...]:
    volume, dose, strength = drawn.measured.volume, drawn.due.mass, drawn.dilution.strength
    tag = cite_short(case.kit, drawn.product.basis, drawn.product.source)
    volume_sum = f"Volume: {show_amount(dose)} ÷ {show_amount(strength)} = {show_amount(drawn.exact, PLACES)}."
    sum_of_it = f"{show_amount(volume)} {_TIMES} {show_amount(strength)} ÷ {case.baby.weight_g} g"
    sentences = (
        f"Strength: {drawn.dilution.words}. {tag}",
        "" if drawn.is_whole else volume_sum,
        _explain_mark(drawn.measured),
        f"Reached: {sum_of_it} = {show_amount(reached, 2)}.",
        "" if line.route == "enteral" else _explain_tolerance(drawn.measured),
        say_route(line.route),
        f"Open {show_vials(drawn.vials)}: {_explain_left(drawn)} [local].",
    )
    return tuple(sentence for sentence in sentences if sentence)


def _explain_order(drawn: Drawn) -> tuple[str, ...]:
    return (f"{drawn.ordered[0].upper()}{drawn.ordered[1:]}, {drawn.product.name}.",) if drawn.ordered else ()


def _explain_left(drawn: Drawn) -> str:
    if drawn.is_whole:
        return "all of it is given, nothing is discarded"
    left = "holds enough" if drawn.left is None else f"leaves {show_amount(drawn.left)} to discard"
    return f"{left}, the least waste from the sizes in stock"


def _explain_mark(measured: Measured) -> str:
    syringe = f"{show_amount(measured.syringe.holds)}, marks every {show_amount(measured.syringe.marks)} [local]"
    held = f", down, since the nearest mark would be more than {_HELD[measured.held_by]}" if measured.held_by else ""
    return (
        f"Syringe: {syringe}: draw up to {show_amount(measured.volume)} ({_show_deviation(measured.deviation)}{held})."
    )


def _show_deviation(deviation: Fraction) -> str:
    if deviation == 0:
        return "exactly on a mark"
    sign = "+" if deviation > 0 else "\N{MINUS SIGN}"
    return f"{sign}{write_decimal(abs(deviation) * 100, 1)} % from exact"


def _explain_tolerance(measured: Measured) -> str:
    found = find_iso_tolerance(measured.syringe.holds, measured.volume)
    if found is None:
        return f"How far a {show_amount(measured.syringe.holds)} syringe itself may be out is not recorded here."
    percent = write_decimal(found.percent, 1)
    return f"The syringe itself may be {percent} % out at this volume [{found.basis}: ISO 7886-1 2017]."


def _caution_range(drawn: Drawn, reached: Amount) -> tuple[str, ...]:
    """Say where the mark carries a first dose past the range of the product's label, as rounding half up may."""
    span = drawn.product.dose_range
    if span is None or drawn.due.is_repeat or not span.most < reached:
        return ()
    most = show_amount(span.most)
    return (f"The mark gives {_show_over(reached, span.most)}: a little over the {most} of the label's range.",)


def _find_over_course(drawn: Drawn, reached: Amount) -> Amount | None:
    """Find what the course comes to per kg where the mark carries it past its total; None where it does not."""
    course = drawn.due.course
    total = add(course.given, reached) if course else None
    return total if course and total and course.most_in_all < total else None


def _caution_course(drawn: Drawn, reached: Amount) -> tuple[str, ...]:
    course, total = drawn.due.course, _find_over_course(drawn, reached)
    if course is None or total is None:
        return ()
    over, most = _show_over(total, course.most_in_all), show_amount(course.most_in_all)
    return (f"The mark brings the course to {over}: a little over the {most} in all.",)


def _show_over(amount: Amount, limit: Amount) -> str:
    """Show what is over a limit to as few places as say so: at most 4."""
    shown = [show_amount(amount, places) for places in range(1, PLACES + 1)]
    return next((words for words in shown if words != show_amount(limit)), shown[-1])


def _caution_deviation(drawn: Drawn) -> tuple[str, ...]:
    """Say where the ward lets the mark stray further than is usual for high-risk medicines (5 %, from memory)."""
    percent = abs(drawn.measured.deviation) * 100
    return (f"The mark is {write_decimal(percent, 1)} % from exact.",) if percent > _USUAL_DEVIATION else ()


def _list_cautions(line: DoseLine, case: Case, drawn: Drawn, reached: Amount) -> tuple[str, ...]:
    cautions = [*_caution_range(drawn, reached), *_caution_course(drawn, reached), *_caution_deviation(drawn)]
    cautions += drawn.product.handling
    if line.air and (case.ward is None or case.ward.air is None):
        cautions.append("The ward file sets no volume of air behind the dose: ask what the unit uses.")
    if line.route != "intravenous":
        cautions.append("Not for injection: its own syringe, labelled with its route.")
    return tuple(cautions)
