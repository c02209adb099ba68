"""The products in stock that a dose may be drawn up from: strength, syringe, containers."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Stock, Ward
from prepkit.quantities.amount import Amount, convert, make_amount, multiply
from prepkit.rules.condition import ANY_BABY, Condition, prepare_condition
from prepkit.rules.dose.course import Doses, DueDose, prepare_doses
from prepkit.rules.dose.draw_up import DrawUp
from prepkit.rules.dose.strength import Strength, find_air, prepare_strength
from prepkit.rules.dose.syringe import Measured, RoundingLimits, Syringes, prepare_syringes
from prepkit.rules.dose.vials import Containers, prepare_containers
from prepkit.rules.findings import Finding, Kind, cite, finding
from prepkit.rules.rule import Order, RuleContext

_NOTHING = make_amount(0, "mL")
BARRED = Fraction(-1)
"""The nearness of what the label does not allow, whatever measures it."""


class StockedProduct(Struct, frozen=True):
    """A product in stock for one line: its doses, its strengths in the ward's order, and what measures them."""

    line: DoseLine
    stock: Stock
    product: Product
    doses: Doses
    label: Condition
    """The babies that the product's label allows; any where it names none."""
    undiluted: Strength
    strengths: tuple[Strength, ...]
    air: Amount
    """What stays behind the dose in the syringe; may be nothing."""
    syringes: Syringes
    containers: Containers
    advice: tuple[tuple[Condition | None, bool, Finding], ...]
    """What its label says of its own limits: of whom it need not be said, whether of repeats alone, and what."""
    is_never_over: bool
    """Whether the ward never rounds past the label's range for a first dose, nor past a dose without one."""
    tell_over: Fraction
    """By how many % a dose may pass what is due before its row says so."""


class Candidate(Struct, frozen=True):
    """A product in stock, and the dose of it that is due."""

    stocked: StockedProduct
    context: RuleContext
    due: DueDose

    @property
    def product(self) -> Product:
        """The product."""
        return self.stocked.product


class Miss(Struct, frozen=True):
    """One strength that does not serve, why, and how near it came (under 1)."""

    due: DueDose
    reason: Finding
    nearness: Fraction


def prepare_stocked(line: DoseLine, kit: Kit, ward: Ward) -> tuple[StockedProduct, ...]:
    """Prepare the stocked products of a line, in the ward's order."""
    products = {product.id: product for product in kit.product}
    return tuple(
        _prepare_product(line, products[stock.product], stock, kit, ward)
        for stock in ward.stock
        if stock.product in line.products
    )


def _prepare_product(line: DoseLine, product: Product, stock: Stock, kit: Kit, ward: Ward) -> StockedProduct:
    recipes = {recipe.id: recipe for recipe in ward.recipe}
    doses = prepare_doses(line, product, kit, ward.deviation)
    uses = (None if name == UNDILUTED else recipes[name] for name in stock.use)
    strengths = (prepare_strength(doses, use, kit, ward) for use in uses)
    air = find_air(line, kit, ward) or _NOTHING
    syringes = tuple(syringe for syringe in ward.syringe if syringe.route == line.route)
    return StockedProduct(
        line=line,
        stock=stock,
        product=product,
        doses=doses,
        label=prepare_condition(product.where) if product.where else ANY_BABY,
        undiluted=prepare_strength(doses, None, kit, ward),
        strengths=tuple(strengths),
        air=air,
        syringes=prepare_syringes(syringes, air, ward.deviation),
        containers=prepare_containers(stock.holds),
        advice=tuple(_list_advice(product, kit)),
        is_never_over=ward.round == "not over",
        tell_over=convert(ward.tell_over, "%").value,
    )


def _list_advice(product: Product, kit: Kit) -> Iterator[tuple[Condition | None, bool, Finding]]:
    for each in product.advice:
        spoken = finding(Kind.LABEL_ADVICE, text=each.text, cited=cite(kit, each.basis, each.source))
        yield prepare_condition(each.where) if each.where else None, each.of == "repeats", spoken


def find_advice(candidate: Candidate) -> tuple[Finding, ...]:
    """What the product's label says of its own limits and has to be said of this baby."""
    baby, is_repeat = candidate.context.baby, candidate.due.is_repeat
    return tuple(
        spoken
        for condition, is_of_repeats, spoken in candidate.stocked.advice
        if (is_repeat or not is_of_repeats) and not (condition is not None and condition.holds_for(baby))
    )


def list_candidates(stocked: Sequence[StockedProduct], context: RuleContext) -> Iterator[Candidate | Finding]:
    """The stocked products of a line, each with the dose that is due.

    A reason why nothing is due ends it: what is not due of one product is not given as the next either.
    """
    for each in stocked:
        found = make_candidate(each, context)
        yield found
        if isinstance(found, Finding):
            return


def make_candidate(stocked: StockedProduct, context: RuleContext, order: Order | None = None) -> Candidate | Finding:
    """A stocked product with the dose that is due, as it was ordered where it was; or why none is due."""
    due = stocked.doses.find_due(context, order)
    return due if isinstance(due, Finding) else Candidate(stocked, context, due)


def list_same(stocked: Sequence[StockedProduct]) -> tuple[StockedProduct, ...]:
    """The ward's first product of a line, and those of the same substance that may stand in for it."""
    return tuple(each for each in stocked if each.product.medicine == stocked[0].product.medicine)


def find_barred(candidate: Candidate) -> Finding | None:
    """Find where the product's label does not allow it for this baby; None where it does."""
    label = candidate.stocked.label
    if label.holds_for(candidate.context.baby):
        return None
    return finding(Kind.BARRED_BY_LABEL, product=candidate.product.name, where=label.where)


def draw_fewest(candidate: Candidate) -> DrawUp | list[Miss]:
    """Draw up as measured; with one container less where the mark that they fill stays within the ward's deviation."""
    found = draw_measured(candidate)
    if not isinstance(found, DrawUp) or found.left is None:
        return found
    stocked, opened = candidate.stocked, sum(vial.count for vial in found.vials)
    fuller = stocked.containers.find_most(opened - 1) if opened > 1 else None
    measured = stocked.syringes.measure_down(found.exact, fuller) if fuller is not None else None
    least = candidate.product.least_volume
    if measured is None or found.measured.volume <= measured.volume or (least is not None and measured.volume < least):
        return found
    vials, left = stocked.containers.choose(measured.volume)
    # The least that is discarded comes before the fewest that are opened.
    is_fewer = sum(vial.count for vial in vials) < opened
    return replace(found, measured=measured, vials=vials, left=left, is_fewer=True) if is_fewer else found


def draw_measured(candidate: Candidate) -> DrawUp | list[Miss]:
    """Draw up the dose from the first of the ward's strengths that a syringe measures; or why none serves.

    One that a syringe surely measures goes before one that happens to lie near a mark: they do not take turns as a
    weight grows.
    """
    if barred := find_barred(candidate):
        return [Miss(candidate.due, barred, BARRED)]
    misses: list[Miss] = []
    by_chance: DrawUp | None = None
    for strength in candidate.stocked.strengths:
        found = _try_strength(candidate, strength)
        if isinstance(found, Miss):
            misses.append(found)
        elif found.measured.is_sure:
            return found
        else:
            by_chance = by_chance or found
    return by_chance or misses


def _try_strength(candidate: Candidate, strength: Strength) -> DrawUp | Miss:
    """Measure the dose from one strength: a recipe's, or the product's own."""
    stocked, recipe, made = candidate.stocked, strength.recipe, strength.dilution.made
    exact = strength.compute_volume(candidate.due.mass)
    if made is not None and made < exact:
        short = finding(Kind.MORE_THAN_RECIPE, exact=exact, made=made)
        return _miss(candidate, strength, short, convert(made, exact.unit).value / exact.value)
    found = stocked.syringes.measure(exact, _find_limits(candidate, strength))
    if not isinstance(found, Measured):
        return _miss(candidate, strength, found.reason, found.nearness)
    least = candidate.product.least_volume
    if recipe is None and least is not None and (smaller := min(exact, found.volume)) < least:
        under = finding(Kind.UNDER_LABEL_VOLUME, volume=smaller, least=least)
        return _miss(candidate, strength, under, smaller.value / convert(least, smaller.unit).value)
    vials, left = stocked.containers.choose(recipe.take if recipe else found.volume)
    discard = None if recipe else left
    holds, tell_over = stocked.stock.holds, stocked.tell_over
    return DrawUp(stocked.line, candidate.due, strength, exact, found, stocked.air, vials, discard, holds, tell_over)


def _miss(candidate: Candidate, strength: Strength, reason: Finding, nearness: Fraction) -> Miss:
    named = finding(Kind.STRENGTH_MISSES, strength=strength.name, reason=reason)
    return Miss(candidate.due, named, nearness)


def _find_limits(candidate: Candidate, strength: Strength) -> RoundingLimits:
    """Find how far up the volume may be rounded: by the most in one dose, the recipe, the label's range, the course."""
    course, weight = candidate.due.course, candidate.due.weight
    over = left = None
    if candidate.stocked.is_never_over:
        # The range is of first doses. Where there is none, the label allows the stated dose and no other.
        span = candidate.product.dose_range if course is None else None
        most = span.most if span is not None else candidate.due.per_kg
        over = strength.compute_volume(multiply(most, weight, "mg"))
    if course is not None:
        left = strength.compute_volume(multiply(course.left, weight, "mg"))
    return RoundingLimits(strength.limits.most, range=over, left=left)
