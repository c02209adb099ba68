"""A dose as it is drawn up, in words: amounts, details, working, cautions. May import: `prepkit.rules`."""

from dataclasses import dataclass
from fractions import Fraction

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, divide
from prepkit.quantities.show import show_amount, write_decimal
from prepkit.rules.case import Case, Dilution, Outcome, VialCount, cite, cite_short
from prepkit.rules.course import Due
from prepkit.rules.syringe import Measured, find_iso_tolerance
from prepkit.rules.vials import show_vials

PLACES = 4
_USUAL_DEVIATION = 5
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


def show_drawn(line: DoseLine, case: Case, drawn: Drawn) -> Outcome:
    """Give the line's finished outcome."""
    based = line if line.dose else drawn.product
    reached = _compute_reached(drawn, case)
    return Outcome(
        dose=drawn.due.mass,
        exact=drawn.exact,
        amount=drawn.measured.volume,
        syringe=drawn.measured.syringe,
        air=drawn.air if drawn.air.value else None,
        recipe=drawn.dilution,
        product=drawn.product.id,
        capped=drawn.due.capped,
        is_held=drawn.measured.is_held,
        vials=drawn.vials,
        discard=drawn.left,
        show=show_amount(drawn.measured.volume),
        details=_list_details(line, drawn, reached),
        working=(*drawn.due.working, *_explain(line, case, drawn, reached)),
        cautions=(*_caution_range(drawn, reached), *_list_cautions(line, case, drawn)),
        basis=based.basis,
        source=cite(case.kit, based.basis, based.source),
    )


def _compute_reached(drawn: Drawn, case: Case) -> Amount:
    """Compute what the mark gives per kg, in the dose's own unit."""
    volume, mass = drawn.measured.volume, drawn.due.mass
    reached = Amount(volume.value / drawn.exact.value * mass.value, mass.unit)
    return divide(reached, case.baby.weight, drawn.due.per_kg.unit)


def _list_details(line: DoseLine, drawn: Drawn, reached: Amount) -> tuple[str, ...]:
    air = f" + {show_amount(drawn.air)} air" if drawn.air.value else ""
    discard = (f"discard {show_amount(drawn.left)}",) if drawn.left is not None and drawn.left.value else ()
    return (
        f"{show_amount(drawn.due.mass)}, reaches {show_amount(reached, 1)}",
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
    left = "holds enough" if drawn.left is None else f"leaves {show_amount(drawn.left)} to discard"
    sum_of_it = f"{show_amount(volume)} {_TIMES} {show_amount(strength)} ÷ {case.baby.weight_g} g"
    sentences = (
        f"Strength: {drawn.dilution.words}. {tag}",
        f"Volume: {show_amount(dose)} ÷ {show_amount(strength)} = {show_amount(drawn.exact, PLACES)}.",
        _explain_mark(drawn.measured),
        f"Reached: {sum_of_it} = {show_amount(reached, 2)}.",
        "" if line.route == "enteral" else _explain_tolerance(drawn.measured),
        f"Open {show_vials(drawn.vials)}: {left}, the least waste from the sizes in stock [local].",
    )
    return tuple(sentence for sentence in sentences if sentence)


def _explain_mark(measured: Measured) -> str:
    syringe = f"{show_amount(measured.syringe.holds)}, marks every {show_amount(measured.syringe.marks)} [local]"
    held = ", down, since the nearest mark would be more than the most" if measured.is_held else ""
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
    return (
        f"The mark gives {show_amount(reached, 1)}: a little over the {show_amount(span.most)} of the label's range.",
    )


def _caution_deviation(drawn: Drawn) -> tuple[str, ...]:
    """Say where the ward lets the mark stray further than is usual for high-risk medicines (5 %, from memory)."""
    percent = abs(drawn.measured.deviation) * 100
    return (f"The mark is {write_decimal(percent, 1)} % from exact.",) if percent > _USUAL_DEVIATION else ()


def _caution_own_product(case: Case, product: Product) -> tuple[str, ...]:
    """Say where the ward file's own product stands over the kit's, with the kit's values beside it."""
    kept = next((each for each in case.kit.product if each.id == product.id), None)
    if kept is None or kept == product:
        return ()
    dose = f", {show_amount(kept.dose)}" if kept.dose else ""
    return (f"The ward file changed this product. The kit's own: {kept.name} {show_amount(kept.strength)}{dose}.",)


def _list_cautions(line: DoseLine, case: Case, drawn: Drawn) -> tuple[str, ...]:
    cautions = [*_caution_deviation(drawn), *_caution_own_product(case, drawn.product), *drawn.product.handling]
    if line.air and (case.ward is None or case.ward.air is None):
        cautions.append("The ward file sets no volume of air behind the dose: ask what the unit uses.")
    if line.route != "intravenous":
        cautions.append("Not for injection: its own syringe, labelled with its route.")
    return tuple(cautions)
