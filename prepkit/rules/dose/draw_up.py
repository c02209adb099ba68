"""A dose as it is drawn up, and its wording: amounts, details, working, cautions."""

from collections.abc import Mapping

from msgspec import Struct

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add
from prepkit.quantities.text import show_amount, show_range, write_decimal
from prepkit.rules.dose.course import DueDose
from prepkit.rules.dose.strength import Strength
from prepkit.rules.dose.syringe import HeldBy, Measured
from prepkit.rules.dose.vials import show_vials
from prepkit.rules.rule import Dilution, Outcome, Prescribed, RuleContext, VialCount, say_route

PLACES = 4
_USUAL_DEVIATION = 5
_HELD: Mapping[HeldBy, str] = {"most": "the most", "course": "the course has left"}
_TIMES = "\N{MULTIPLICATION SIGN}"


class DrawUp(Struct, frozen=True):
    """One way to draw a dose up that a syringe measures."""

    line: DoseLine
    due: DueDose
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


def show_draw_up(context: RuleContext, draw_up: DrawUp) -> Outcome:
    """Give the line's finished outcome."""
    reached = compute_reached(draw_up, context)
    said = _say(draw_up)
    over_course = _find_over_course(draw_up, reached)
    return Outcome(
        dose=draw_up.due.mass,
        exact=draw_up.exact,
        amount=draw_up.measured.volume,
        syringe=draw_up.measured.syringe,
        air=draw_up.air if draw_up.air.value else None,
        recipe=draw_up.dilution,
        product=draw_up.product.id,
        capped=draw_up.due.capped,
        is_held=bool(draw_up.measured.held_by),
        over_course=over_course,
        vials=draw_up.vials,
        discard=draw_up.left,
        show=said.volume,
        details=_list_details(draw_up, said, reached),
        working=(*_explain_order(draw_up), *draw_up.due.working, *_explain(context, draw_up, said, reached)),
        cautions=_list_cautions(draw_up, reached, over_course),
        basis=draw_up.due.basis,
        source=draw_up.due.source,
        prescribed=_prescribe(draw_up),
    )


def _say(draw_up: DrawUp) -> _Said:
    left = show_amount(draw_up.left) if draw_up.left is not None else ""
    volume, mass = show_amount(draw_up.measured.volume), show_amount(draw_up.due.mass)
    return _Said(volume, mass, show_vials(draw_up.vials), left)


def _prescribe(draw_up: DrawUp) -> Prescribed:
    """Write the order for somebody who works the dose out again: nothing in it is made from the weight."""
    words = (_prescribe_dose(draw_up), *draw_up.strength.prescribed)
    return Prescribed(words, draw_up.holds, draw_up.product.container)


def _prescribe_dose(draw_up: DrawUp) -> str:
    span = draw_up.product.dose_range
    if draw_up.is_whole and span:
        whole = f"whole {draw_up.product.container}s, {show_amount(draw_up.measured.volume)}"
        return f"Ordered: {whole}. Is that within {show_range(span.least, span.most)}?"
    which = "Repeat dose" if draw_up.due.is_repeat else "Dose"
    return f"{which}: {draw_up.due.shown_per_kg}"


def compute_reached(draw_up: DrawUp, context: RuleContext) -> Amount:
    """Compute what the mark gives per kg, in the dose's own unit."""
    return draw_up.strength.compute_reached(draw_up.measured.volume, context.baby.weight_g, draw_up.due.per_kg.unit)


def _list_details(draw_up: DrawUp, said: _Said, reached: Amount) -> tuple[str, ...]:
    discard = (f"discard {said.left}",) if draw_up.left is not None and draw_up.left.value else ()
    return (
        f"{said.mass}, reaches {show_amount(reached, 1)}",
        *((draw_up.ordered,) if draw_up.ordered else ()),
        draw_up.strength.name,
        *((draw_up.dilution.make,) if draw_up.dilution.make else ()),
        f"{draw_up.measured.scale.shown} syringe{draw_up.strength.air}",
        draw_up.line.route,
        f"open {said.vials} {draw_up.product.container}",
        *discard,
    )


def _explain(context: RuleContext, draw_up: DrawUp, said: _Said, reached: Amount) -> tuple[str, ...]:
    strength, route = draw_up.strength.shown, draw_up.line.route
    volume_sum = f"Volume: {said.mass} ÷ {strength} = {show_amount(draw_up.exact, PLACES)}."
    sum_of_it = f"{said.volume} {_TIMES} {strength} ÷ {context.baby.weight_g} g"
    return (
        draw_up.strength.working,
        *(() if draw_up.is_whole else (volume_sum,)),
        _explain_mark(draw_up.measured, said.volume),
        f"Reached: {sum_of_it} = {show_amount(reached, 2)}.",
        *(() if route == "enteral" else (_explain_tolerance(draw_up.measured),)),
        say_route(route),
        f"Open {said.vials}: {_explain_left(draw_up, said)} [local].",
    )


def _explain_order(draw_up: DrawUp) -> tuple[str, ...]:
    return (f"{draw_up.ordered[0].upper()}{draw_up.ordered[1:]}, {draw_up.product.name}.",) if draw_up.ordered else ()


def _explain_left(draw_up: DrawUp, said: _Said) -> str:
    if draw_up.is_whole:
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


def _caution_range(draw_up: DrawUp, reached: Amount) -> tuple[str, ...]:
    """Say where the mark carries a first dose past the range of the product's label, as rounding half up may."""
    span = draw_up.product.dose_range
    if span is None or draw_up.due.is_repeat or not span.most < reached:
        return ()
    most = show_amount(span.most)
    return (f"The mark gives {_show_over(reached, span.most)}: a little over the {most} of the label's range.",)


def _find_over_course(draw_up: DrawUp, reached: Amount) -> Amount | None:
    """Find what the course comes to per kg where the mark carries it past its total; None where it does not."""
    course = draw_up.due.course
    total = add(course.given, reached) if course else None
    return total if course and total and course.most_in_all < total else None


def _caution_course(draw_up: DrawUp, total: Amount | None) -> tuple[str, ...]:
    course = draw_up.due.course
    if course is None or total is None:
        return ()
    over, most = _show_over(total, course.most_in_all), show_amount(course.most_in_all)
    return (f"The mark brings the course to {over}: a little over the {most} in all.",)


def _show_over(amount: Amount, limit: Amount) -> str:
    """Show what is over a limit to as few places as say so: at most 4."""
    shown = [show_amount(amount, places) for places in range(1, PLACES + 1)]
    return next((words for words in shown if words != show_amount(limit)), shown[-1])


def _caution_deviation(draw_up: DrawUp) -> tuple[str, ...]:
    """Say where the ward lets the mark stray further than is usual for high-risk medicines (5 %, from memory)."""
    percent = draw_up.measured.percent
    return (f"The mark is {write_decimal(percent, 1)} % from exact.",) if percent > _USUAL_DEVIATION else ()


def _list_cautions(draw_up: DrawUp, reached: Amount, over_course: Amount | None) -> tuple[str, ...]:
    return (
        *_caution_range(draw_up, reached),
        *_caution_course(draw_up, over_course),
        *_caution_deviation(draw_up),
        *draw_up.strength.cautions,
    )
