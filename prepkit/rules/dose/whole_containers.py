"""Whole containers: first doses of nothing but unopened vials, where the product's label gives a range.

A whole-vial dose is drawn up undiluted and to the last mark: it is never rounded, and never past the range or a
ceiling.
"""

from collections.abc import Sequence
from fractions import Fraction

from msgspec.structs import replace

from prepkit.kit.kit import DoseRange
from prepkit.kit.ward import UNDILUTED
from prepkit.quantities.amount import Amount, convert, divide, make_amount, multiply
from prepkit.quantities.text import choose_mass_unit
from prepkit.rules.dose.candidates import Candidate, find_barred
from prepkit.rules.dose.draw_up import LEAST_SHARE, DrawUp
from prepkit.rules.dose.syringe import Measured
from prepkit.rules.dose.vials import choose_vials
from prepkit.rules.findings import Finding, Kind, cite, finding

# More containers are not opened for one dose; it keeps a ward file with absurdly small ones from endless sums.
_MOST_OPENED = 20


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
    mass = multiply(per_kg, candidate.due.weight, "mg")
    return divide(mass, candidate.product.strength, "mL").value


def _list_sums(sizes: Sequence[Fraction], most: Fraction) -> list[Fraction]:
    """Every volume up to `most` that whole containers make, smallest first."""
    found: set[Fraction] = set()
    last = {Fraction(0)}
    for _ in range(_MOST_OPENED):
        last = {volume + size for volume in last for size in sizes if volume + size <= most} - found
        found |= last
    return sorted(found)


def draw_nearest_whole(candidate: Candidate) -> DrawUp | None:
    """Draw up the whole containers nearest to what is due, within the label's range; None where none come near enough.

    What holds less than is told on the row otherwise is drawn up by an order alone.
    """
    due = convert(candidate.due.mass, "mg").value

    def miss(volume: Amount) -> Fraction:
        return abs(multiply(volume, candidate.product.strength, "mg").value - due)

    enough = [each for each in list_whole(candidate) if miss(each) * 100 <= due * (100 - LEAST_SHARE)]
    for volume in sorted(enough, key=miss):
        found = draw_whole(candidate, volume)
        if isinstance(found, DrawUp):
            return found
    return None


def draw_whole(candidate: Candidate, volume: Amount) -> DrawUp | Finding:
    """Draw up whole containers, exactly; or the reason why that is not to be done for this baby.

    Args:
        candidate: the product and the dose of it that is due.
        volume: what the containers hold together, in mL.

    """
    span = candidate.product.dose_range
    if reason := find_barred(candidate) or _find_no_first(candidate):
        return reason
    if span is None:
        return finding(Kind.NO_RANGE_ON_LABEL, product=candidate.product.name)
    vials, left = choose_vials(volume, candidate.stocked.stock.holds)
    if left.value:
        return finding(Kind.CONTAINERS_DO_NOT_MAKE, container=candidate.product.container, volume=volume)
    mass = multiply(volume, candidate.product.strength, "mg")
    if reason := _find_over(candidate, mass, volume, span):
        return reason
    due = replace(candidate.due, working=_explain(candidate, volume, mass, span))
    stocked = candidate.stocked
    found = stocked.syringes.hold(volume)
    if not isinstance(found, Measured):
        return found.reason
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
        stocked.tell_over,
        is_whole=True,
    )


def _find_no_first(candidate: Candidate) -> Finding | None:
    if candidate.due.is_repeat:
        return finding(Kind.REPEAT_IS_DUE, container=candidate.product.container)
    if UNDILUTED not in candidate.stocked.stock.use:
        return finding(Kind.NOT_USED_UNDILUTED, product=candidate.product.name)
    return None


def _explain(candidate: Candidate, volume: Amount, mass: Amount, span: DoseRange) -> tuple[Finding, ...]:
    """The sums that make the dose that the containers hold, beside the one that is due."""
    product = candidate.product
    held = choose_mass_unit(mass)
    return (
        *candidate.due.working,
        finding(Kind.WHOLE_DOSE_SUM, volume=volume, strength=product.strength, mass=held),
        finding(Kind.LABEL_RANGE, span=span, cited=cite(candidate.context.kit, product.basis, product.source)),
        *_explain_ceilings(candidate),
    )


def _explain_ceilings(candidate: Candidate) -> tuple[Finding, ...]:
    stated = [(based.most, based) for based in (candidate.stocked.line, candidate.product) if based.most is not None]
    kit = candidate.context.kit
    return tuple(
        finding(Kind.CEILING_STATED, most=most, cited=cite(kit, based.basis, based.source)) for most, based in stated
    )


def _find_over(candidate: Candidate, mass: Amount, volume: Amount, span: DoseRange) -> Finding | None:
    """Find where the dose lies outside the range, over a ceiling, or under the label's least volume."""
    per_kg, most = divide(mass, candidate.due.weight, span.most.unit), candidate.due.most
    if not span.least <= per_kg <= span.most:
        return finding(Kind.OUTSIDE_RANGE, volume=volume, per_kg=per_kg, least=span.least, most=span.most)
    if most is not None and most < mass:
        return finding(Kind.OVER_SINGLE_DOSE, volume=volume, mass=choose_mass_unit(mass), most=most)
    repeat = candidate.product.repeat
    if repeat is not None and repeat.most_in_all < per_kg:
        return finding(Kind.OVER_COURSE, volume=volume, per_kg=per_kg, most=repeat.most_in_all)
    least = candidate.product.least_volume
    if least is not None and volume < least:
        return finding(Kind.WHOLE_UNDER_LABEL, volume=volume, least=least)
    return None
