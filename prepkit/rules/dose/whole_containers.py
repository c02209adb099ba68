"""Whole containers: first doses of nothing but unopened vials, where the product's label gives a range.

A whole-vial dose is drawn up undiluted and to the last mark: it is never rounded, and never past the range or a
ceiling.
"""

from collections.abc import Sequence
from fractions import Fraction

from msgspec.structs import replace

from prepkit.kit.kit import DoseRange, Product
from prepkit.kit.ward import UNDILUTED
from prepkit.quantities.amount import Amount, convert, divide, make_amount, multiply
from prepkit.quantities.text import choose_mass_unit, show_amount, show_range
from prepkit.rules.dose.candidates import Candidate, find_barred
from prepkit.rules.dose.course import DueDose
from prepkit.rules.dose.draw_up import PLACES, DrawUp
from prepkit.rules.dose.syringe import Measured, measure
from prepkit.rules.dose.vials import choose_vials
from prepkit.rules.rule import cite, cite_short

# More containers are not opened for one dose; it keeps a ward file with absurdly small ones from endless sums.
_MOST_OPENED = 20
_EXACTLY = make_amount(0, "%")


def list_whole(candidate: Candidate) -> tuple[Amount, ...]:
    """The volumes of whole containers in stock whose dose lies in the label's range, smallest first, in mL.

    None where the label gives no range, or where the dose that is due is not a first one.
    """
    span = candidate.product.dose_range
    if span is None or candidate.due.is_repeat or find_barred(candidate):
        return ()
    least, most = (_find_volume(candidate, end) for end in (span.least, span.most))
    sums = _list_sums([convert(size, "mL").value for size in candidate.stocked.stock.holds], most)
    return tuple(make_amount(volume, "mL") for volume in sums if volume >= least)


def _find_volume(candidate: Candidate, per_kg: Amount) -> Fraction:
    mass = multiply(per_kg, candidate.context.baby.weight, "mg")
    return divide(mass, candidate.product.strength, "mL").value


def _list_sums(sizes: Sequence[Fraction], most: Fraction) -> list[Fraction]:
    """Every volume up to `most` that whole containers make, smallest first."""
    found: set[Fraction] = set()
    last = {Fraction(0)}
    for _ in range(_MOST_OPENED):
        last = {volume + size for volume in last for size in sizes if volume + size <= most} - found
        found |= last
    return sorted(found)


def draw_whole(candidate: Candidate, volume: Amount) -> DrawUp | str:
    """Draw up whole containers, exactly; or the reason why that is not to be done for this baby.

    Args:
        candidate: the product and the dose of it that is due.
        volume: what the containers hold together, in mL.

    """
    span = candidate.product.dose_range
    if reason := find_barred(candidate) or _find_no_first(candidate):
        return reason
    if span is None:
        return f"the label of {candidate.product.name} states no range for a first dose"
    vials, left = choose_vials(volume, candidate.stocked.stock.holds)
    if left.value:
        return f"the {candidate.product.container}s in stock do not make {show_amount(volume)}"
    due = _make_due(candidate, volume, span)
    if reason := _find_over(candidate, due, volume, span):
        return reason
    found = measure(volume, candidate.stocked.air, candidate.stocked.stocked_syringes, _EXACTLY)
    if not isinstance(found, Measured):
        air = f" with {show_amount(candidate.stocked.air)} of air" if candidate.stocked.air.value else ""
        return f"no {candidate.stocked.line.route} syringe in stock measures exactly {show_amount(volume)}{air}"
    stocked = candidate.stocked
    return DrawUp(
        stocked.line,
        due,
        stocked.undiluted,
        volume,
        found,
        stocked.air,
        vials,
        left,
        stocked.stock.holds,
        is_whole=True,
    )


def _find_no_first(candidate: Candidate) -> str:
    if candidate.due.is_repeat:
        return f"a repeat dose is due, and {name_whole(candidate.product)} are for a first dose"
    if UNDILUTED not in candidate.stocked.stock.use:
        return f"the ward file does not use {candidate.product.name} undiluted"
    return ""


def name_whole(product: Product) -> str:
    """Name whole containers: "whole vials"."""
    return f"whole {product.container}s"


def _make_due(candidate: Candidate, volume: Amount, span: DoseRange) -> DueDose:
    """The dose that the containers hold, with the sums that make it; its basis is the label's range."""
    mass = choose_mass_unit(multiply(volume, candidate.product.strength, "mg"))
    reached = divide(mass, candidate.context.baby.weight, span.most.unit)
    product = candidate.product
    return replace(
        candidate.due,
        per_kg=reached,
        shown_per_kg=show_amount(reached),
        mass=mass,
        working=(*_explain(candidate, volume, mass, span), *_explain_ceilings(candidate)),
        basis=product.basis,
        source=cite(candidate.context.kit, product.basis, product.source),
    )


def _explain(candidate: Candidate, volume: Amount, mass: Amount, span: DoseRange) -> tuple[str, ...]:
    product = candidate.product
    dose = f"{show_amount(volume)} \N{MULTIPLICATION SIGN} {show_amount(product.strength)} = {show_amount(mass)}"
    tag = cite_short(candidate.context.kit, product.basis, product.source)
    return f"Dose: {dose}.", f"The label's range for a first dose: {show_range(span.least, span.most)}. {tag}"


def _explain_ceilings(candidate: Candidate) -> tuple[str, ...]:
    stated = [(based.most, based) for based in (candidate.stocked.line, candidate.product) if based.most is not None]
    return tuple(
        f"No single dose is more than {show_amount(most)}."
        f" {cite_short(candidate.context.kit, based.basis, based.source)}"
        for most, based in stated
    )


def _find_over(candidate: Candidate, due: DueDose, volume: Amount, span: DoseRange) -> str:
    """Say where the dose lies outside the range, over a ceiling, or under the label's least volume."""
    reached = f"{show_amount(volume)} = {show_amount(due.per_kg, PLACES)}"
    if not span.least <= due.per_kg <= span.most:
        return f"{reached}, outside {show_range(span.least, span.most)} for a first dose"
    if due.most is not None and due.most < due.mass:
        mass = show_amount(due.mass, PLACES)
        return f"{show_amount(volume)} = {mass}, more than the {show_amount(due.most)} in one dose"
    repeat = candidate.product.repeat
    if repeat is not None and repeat.most_in_all < due.per_kg:
        return f"{reached}, past {show_amount(repeat.most_in_all)} in all"
    least = candidate.product.least_volume
    if least is not None and volume < least:
        return f"{show_amount(volume)} is under the {show_amount(least)} that its label allows"
    return ""
