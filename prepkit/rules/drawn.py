"""A dose as it is drawn up, in words: amounts, details, working, cautions. May import: `prepkit.rules`."""

from collections.abc import Mapping

from msgspec import Struct

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add
from prepkit.quantities.show import show_amount, show_range, write_decimal
from prepkit.rules.case import Case, Dilution, Outcome, Prescribed, VialCount, say_route
from prepkit.rules.course import Due
from prepkit.rules.strength import Strength
from prepkit.rules.syringe import HeldBy, Measured
from prepkit.rules.vials import show_vials

PLACES = 4
_USUAL_DEVIATION = 5
_HELD: Mapping[HeldBy, str] = {"most": "the most", "course": "the course has left"}
_TIMES = "\N{MULTIPLICATION SIGN}"


class Drawn(Struct, frozen=True):
    """One way to draw a dose up that a syringe measures."""

    line: DoseLine
    due: Due
    strength: Strength
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

    @property
    def product(self) -> Product:
        """The product that it is drawn up from."""
        return self.strength.product

    @property
    def dilution(self) -> Dilution:
        """The strength, and how it is made."""
        return self.strength.dilution


class _Said(Struct, frozen=True):
    """What several sentences say alike of one dose."""

    volume: str
    mass: str
    vials: str
    left: str
    """What is discarded; empty where a recipe takes from the containers."""


def show_drawn(case: Case, drawn: Drawn) -> Outcome:
    """Give the line's finished outcome."""
    reached = compute_reached(drawn, case)
    said = _say(drawn)
    over_course = _find_over_course(drawn, reached)
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
        over_course=over_course,
        vials=drawn.vials,
        discard=drawn.left,
        show=said.volume,
        details=_list_details(drawn, said, reached),
        working=(*_explain_order(drawn), *drawn.due.working, *_explain(case, drawn, said, reached)),
        cautions=_list_cautions(drawn, reached, over_course),
        basis=drawn.due.basis,
        source=drawn.due.source,
        prescribed=_prescribe(drawn),
    )


def _say(drawn: Drawn) -> _Said:
    left = show_amount(drawn.left) if drawn.left is not None else ""
    volume, mass = show_amount(drawn.measured.volume), show_amount(drawn.due.mass)
    return _Said(volume, mass, show_vials(drawn.vials), left)


def _prescribe(drawn: Drawn) -> Prescribed:
    """Write the order for somebody who works the dose out again: nothing in it is made from the weight."""
    words = (_prescribe_dose(drawn), *drawn.strength.prescribed)
    return Prescribed(words, drawn.holds, drawn.product.container)


def _prescribe_dose(drawn: Drawn) -> str:
    span = drawn.product.dose_range
    if drawn.is_whole and span:
        whole = f"whole {drawn.product.container}s, {show_amount(drawn.measured.volume)}"
        return f"Ordered: {whole}. Is that within {show_range(span.least, span.most)}?"
    which = "Repeat dose" if drawn.due.is_repeat else "Dose"
    return f"{which}: {drawn.due.shown_per_kg}"


def compute_reached(drawn: Drawn, case: Case) -> Amount:
    """Compute what the mark gives per kg, in the dose's own unit."""
    return drawn.strength.compute_reached(drawn.measured.volume, case.baby.weight_g, drawn.due.per_kg.unit)


def _list_details(drawn: Drawn, said: _Said, reached: Amount) -> tuple[str, ...]:
    discard = (f"discard {said.left}",) if drawn.left is not None and drawn.left.value else ()
    return (
        f"{said.mass}, reaches {show_amount(reached, 1)}",
        *((drawn.ordered,) if drawn.ordered else ()),
        drawn.strength.name,
        *((drawn.dilution.make,) if drawn.dilution.make else ()),
        f"{drawn.measured.scale.shown} syringe{drawn.strength.air}",
        drawn.line.route,
        f"open {said.vials} {drawn.product.container}",
        *discard,
    )


def _explain(case: Case, drawn: Drawn, said: _Said, reached: Amount) -> tuple[str, ...]:
    strength, route = drawn.strength.shown, drawn.line.route
    volume_sum = f"Volume: {said.mass} ÷ {strength} = {show_amount(drawn.exact, PLACES)}."
    sum_of_it = f"{said.volume} {_TIMES} {strength} ÷ {case.baby.weight_g} g"
    return (
        drawn.strength.working,
        *(() if drawn.is_whole else (volume_sum,)),
        _explain_mark(drawn.measured, said.volume),
        f"Reached: {sum_of_it} = {show_amount(reached, 2)}.",
        *(() if route == "enteral" else (_explain_tolerance(drawn.measured),)),
        say_route(route),
        f"Open {said.vials}: {_explain_left(drawn, said)} [local].",
    )


def _explain_order(drawn: Drawn) -> tuple[str, ...]:
    return (f"{drawn.ordered[0].upper()}{drawn.ordered[1:]}, {drawn.product.name}.",) if drawn.ordered else ()


def _explain_left(drawn: Drawn, said: _Said) -> str:
    if drawn.is_whole:
        return "all of it is given, nothing is discarded"
    left = f"leaves {said.left} to discard" if said.left else "holds enough"
    return f"{left}, the least waste from the sizes in stock"


def _explain_mark(measured: Measured, volume: str) -> str:
    syringe = f"{measured.scale.shown}, marks every {measured.scale.shown_marks} [local]"
    held = f", down, since the nearest mark would be more than {_HELD[measured.held_by]}" if measured.held_by else ""
    return f"Syringe: {syringe}: draw up to {volume} ({_show_deviation(measured)}{held})."


def _show_deviation(measured: Measured) -> str:
    if not measured.percent:
        return "exactly on a mark"
    sign = "+" if measured.is_above else "\N{MINUS SIGN}"
    return f"{sign}{write_decimal(measured.percent, 1)} % from exact"


def _explain_tolerance(measured: Measured) -> str:
    found = measured.scale.find_tolerance(measured.volume)
    if found is None:
        return f"How far a {measured.scale.shown} syringe itself may be out is not recorded here."
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


def _caution_course(drawn: Drawn, total: Amount | None) -> tuple[str, ...]:
    course = drawn.due.course
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
    percent = drawn.measured.percent
    return (f"The mark is {write_decimal(percent, 1)} % from exact.",) if percent > _USUAL_DEVIATION else ()


def _list_cautions(drawn: Drawn, reached: Amount, over_course: Amount | None) -> tuple[str, ...]:
    return (
        *_caution_range(drawn, reached),
        *_caution_course(drawn, over_course),
        *_caution_deviation(drawn),
        *drawn.strength.cautions,
    )
