"""A dose as it is drawn up, and what is found of it: amounts, details, working, cautions."""

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, convert, make_amount, multiply
from prepkit.quantities.text import choose_mass_unit
from prepkit.rules.dose.course import DueDose
from prepkit.rules.dose.strength import Strength
from prepkit.rules.dose.syringe import Measured
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.rule import Dilution, EnteredValue, Entry, Order, Outcome, Prescribed, VialCount
from prepkit.rules.syringe_parts import list_syringe_parts

USUAL_DEVIATION = 5
"""In %, a line of our own: a mark further from exact is cautioned about. No source was found that states one."""


_MOST_AIR = make_amount(5, "mL")
"""A guard against slips of the finger, no clinical limit."""

LEAST_SHARE = 90
"""In % of what is due: below it the row says so. An audit of poractant doses drew the line there (Boix 2019, doi
10.1055/s-0038-1675645)."""


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
    tell_over: Fraction
    """By how many % it may pass what is due before the row says so."""
    is_whole: bool = False
    """Whether it is whole containers and nothing measured off."""
    is_fewer: bool = False
    """Whether one container less is opened than the nearest mark would take."""
    order: Order | None = None
    """What was ordered; None where nothing was."""
    advice: tuple[Finding, ...] = ()
    """What the product's label says of its own limits, where the baby lies outside them."""
    instead_of: Product | None = None
    """The ward's first product, which could not be drawn up; None where this is it ..."""
    why: Finding | None = None
    """... and why that one could not."""

    @property
    def in_syringe(self) -> Amount:
        """The mass that the volume holds, in mg, or microgram under 1 mg."""
        return choose_mass_unit(multiply(self.measured.volume, self.dilution.strength, "mg"))

    @property
    def product(self) -> Product:
        """The product that it is drawn up from."""
        return self.strength.product

    @property
    def dilution(self) -> Dilution:
        """The strength, and how it is made."""
        return self.strength.dilution


def _compute_share(draw_up: DrawUp) -> Fraction:
    """Compute what the mark holds, in % of what is due."""
    due = draw_up.due.mass
    return convert(draw_up.in_syringe, due.unit).value * 100 / due.value


def make_outcome(draw_up: DrawUp) -> Outcome:
    """Make the line's finished outcome."""
    reached = compute_reached(draw_up)
    over_course = _find_over_course(draw_up, reached)
    volume, cited = draw_up.measured.volume, draw_up.due.cited
    named = () if draw_up.order is None else (finding(Kind.ORDER_NAMED, order=draw_up.order, product=draw_up.product),)
    instead = () if draw_up.why is None else (finding(Kind.NOT_THIS_WAY, reason=draw_up.why),)
    beside = tuple(each for each in (draw_up.strength.mixing, draw_up.strength.clearing) if each)
    explained = finding(Kind.DRAWN_UP, draw_up=draw_up, reached=reached)
    return Outcome(
        due=draw_up.due.mass,
        in_syringe=draw_up.in_syringe,
        weight=draw_up.due.weight,
        axis=draw_up.due.axis,
        exact=draw_up.exact,
        amount=volume,
        syringe=draw_up.measured.syringe,
        syringes=draw_up.measured.count,
        is_whole=draw_up.is_whole,
        air=draw_up.air if draw_up.air.value else None,
        recipe=draw_up.dilution,
        enters=_ask_air(draw_up) if draw_up.strength.lacks_air else None,
        product=draw_up.product.id,
        standing=(finding(Kind.AFTER_DOSES, number=draw_up.due.course.number),) if draw_up.due.course else (),
        stands_in=draw_up.instead_of.id if draw_up.instead_of else "",
        capped=draw_up.due.capped,
        is_held=bool(draw_up.measured.held_by),
        over_course=over_course,
        vials=draw_up.vials,
        discard=draw_up.left,
        show=finding(Kind.AMOUNT, amount=volume),
        details=tuple(_list_details(draw_up, reached)),
        working=(*named, *instead, *draw_up.due.working, *beside, explained),
        parts=(*draw_up.strength.parts, *_list_syringe_parts(draw_up)),
        how=draw_up.strength.how,
        cautions=tuple(_list_cautions(draw_up, reached, over_course)),
        basis=cited.basis,
        source=(cited,),
        prescribed=_prescribe(draw_up),
    )


def _ask_air(draw_up: DrawUp) -> Entry:
    """Ask for the air that the ward never set: no more than the syringe holds behind the dose."""
    measured = draw_up.measured
    room = Amount(convert(measured.syringe.holds, "mL").value * measured.count - measured.volume.value, _MOST_AIR.unit)
    return Entry("air", make_amount(0, "mL"), min(room, _MOST_AIR))


def add_entered_air(found: Outcome, entered: EnteredValue | None) -> Outcome:
    """Add the air that was entered with the tick of a dose, where the ward never set it."""
    value = found.enters.take(entered) if found.enters else None
    if value is None:
        return found
    air = value.amount if value.amount.value else None
    held = next(each for each in found.details if each.kind is Kind.SYRINGE_AND_AIR)
    with_air = finding(Kind.SYRINGE_AND_AIR, count=held["count"], holds=held["holds"], air=air)
    return found._replace(
        air=air,
        entered=value,
        details=tuple(with_air if each is held else each for each in found.details),
        working=(*found.working, finding(Kind.ENTERED_AIR, air=value.amount, by=value.by)),
        cautions=tuple(
            each for each in found.cautions if not (isinstance(each, Finding) and each.kind is Kind.NO_AIR_STATED)
        ),
    )


def _prescribe(draw_up: DrawUp) -> Prescribed:
    """Give the order for somebody who works the dose out again: nothing in it is made from the weight."""
    product, due = draw_up.product, draw_up.due
    if draw_up.is_whole and product.dose_range:
        dose = finding(Kind.WHOLE_ORDERED, product=product, volume=draw_up.measured.volume)
    else:
        dose = finding(Kind.DOSE_PRESCRIBED, is_repeat=due.is_repeat, per_kg=due.per_kg, axis=due.axis)
    return Prescribed((dose, *draw_up.strength.prescribed), draw_up.holds, product.container)


def compute_reached(draw_up: DrawUp) -> Amount:
    """Compute what the mark gives per kg, in the dose's own unit."""
    return draw_up.strength.compute_reached(draw_up.measured.volume, draw_up.due.weight_g, draw_up.due.per_kg.unit)


def _list_syringe_parts(draw_up: DrawUp) -> tuple[Finding, ...]:
    return list_syringe_parts(draw_up.measured.syringe, draw_up.measured.count, draw_up.product.label_class)


def _list_details(draw_up: DrawUp, reached: Amount) -> Iterator[Finding]:
    strength = draw_up.strength
    if draw_up.due.is_after_unknown:
        yield finding(Kind.AFTER_UNKNOWN)
    if draw_up.instead_of is not None:
        yield finding(Kind.STANDS_IN, product=draw_up.product, instead_of=draw_up.instead_of)
    yield finding(Kind.IN_SYRINGE, mass=draw_up.in_syringe, reached=reached, due=draw_up.due.mass_per_kg)
    share = _compute_share(draw_up)
    if share < LEAST_SHARE or share > 100 + draw_up.tell_over:
        yield finding(Kind.SHARE_OF_DUE, percent=share)
    if draw_up.order is not None:
        yield finding(Kind.ORDERED, order=draw_up.order, container=draw_up.product.container)
    yield strength.name
    if strength.making:
        yield strength.making
    measured = draw_up.measured
    yield finding(Kind.SYRINGE_AND_AIR, count=measured.count, holds=measured.syringe.holds, air=strength.air)
    yield finding(Kind.ROUTE, route=draw_up.line.route)
    yield finding(Kind.OPEN, vials=draw_up.vials, container=draw_up.product.container)
    if draw_up.left is not None and draw_up.left.value:
        yield finding(Kind.DISCARD, left=draw_up.left)


def _find_over_course(draw_up: DrawUp, reached: Amount) -> Amount | None:
    """Find what the course comes to per kg where the mark carries it past its total; None where it does not."""
    course = draw_up.due.course
    total = add(course.given, reached) if course else None
    return total if course and total and course.most_in_all < total else None


def _list_cautions(draw_up: DrawUp, reached: Amount, over_course: Amount | None) -> Iterator[Finding]:
    """List what was found that can hurt, then what the product's label says of its own limits."""
    span, course = draw_up.product.dose_range, draw_up.due.course
    # Rounding half up may carry a first dose past the range of the product's label.
    if span is not None and course is None and span.most < reached:
        yield finding(Kind.OVER_LABEL_RANGE, reached=reached, most=span.most)
    if course is not None and over_course is not None:
        yield finding(Kind.MARK_PAST_COURSE, total=over_course, most=course.most_in_all)
    if draw_up.measured.percent > USUAL_DEVIATION:
        yield finding(Kind.DEVIATION, percent=draw_up.measured.percent)
    made = draw_up.dilution.made
    if made is not None:
        times = convert(made, "mL").value / convert(draw_up.measured.volume, "mL").value
        yield finding(Kind.REMAINDER, made=made, times=times)
    yield from draw_up.strength.cautions
    yield from draw_up.advice
