"""Drawing the dose that is due up from one product in stock: which strength, which syringe, which containers.

May import: `prepkit.rules`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Recipe, Stock, SyringeStock, Ward
from prepkit.quantities.amount import Amount, add, convert, divide, make_amount, multiply
from prepkit.quantities.show import show_amount
from prepkit.rules.case import Case, Dilution
from prepkit.rules.course import Due, find_due
from prepkit.rules.drawn import PLACES, Drawn
from prepkit.rules.syringe import Limits, Measured, Unmeasurable, measure
from prepkit.rules.vials import choose_vials

_NOTHING = make_amount(0, "mL")
BARRED = Fraction(-1)
"""The nearness of what the label does not allow, whatever measures it."""


@dataclass(frozen=True, slots=True)
class Way:
    """A product in stock, and the dose of it that is due."""

    line: DoseLine
    case: Case
    ward: Ward
    stock: Stock
    product: Product
    due: Due

    @property
    def air(self) -> Amount:
        """What stays behind the dose in the syringe; may be nothing."""
        return self.ward.air if self.line.air and self.ward.air else _NOTHING

    @property
    def syringes(self) -> list[SyringeStock]:
        """The syringes in stock for the line's route."""
        return [syringe for syringe in self.ward.syringe if syringe.route == self.line.route]


@dataclass(frozen=True, slots=True)
class Miss:
    """One strength that does not serve, why, and how near it came (under 1)."""

    due: Due
    reason: str
    nearness: Fraction


def list_ways(line: DoseLine, case: Case, ward: Ward) -> Iterator[Way | str]:
    """The stocked products of a line in the ward's order, each with the dose that is due.

    A reason why nothing is due ends it: what is not due of one product is not given as the next either.
    """
    products = list_products(case)
    for stock in ward.stock:
        if stock.product not in line.products:
            continue
        product = products[stock.product]
        due = find_due(line, product, case)
        if isinstance(due, str):
            yield due
            return
        yield Way(line, case, ward, stock, product, due)


def list_products(case: Case) -> dict[str, Product]:
    """List the products by id; the ward's own are laid over the kit's already."""
    return {product.id: product for product in case.kit.product}


def find_barred(way: Way) -> str:
    """Say where the product's label does not allow it for this weight; empty where it does."""
    span = way.product.weight
    if span is None or span.contains(way.case.baby.weight):
        return ""
    return f"{way.product.name}: its label is for {span.words()}"


def draw_measured(way: Way) -> Drawn | list[Miss]:
    """Draw up the dose from the first of the ward's strengths that a syringe measures; or why none serves."""
    if barred := find_barred(way):
        return [Miss(way.due, barred, BARRED)]
    recipes = {recipe.id: recipe for recipe in way.ward.recipe}
    misses = []
    for name in way.stock.use:
        found = _try_strength(way, None if name == UNDILUTED else recipes[name])
        if isinstance(found, Drawn):
            return found
        misses.append(found)
    return misses


def _try_strength(way: Way, recipe: Recipe | None) -> Drawn | Miss:
    """Measure the dose from one strength: a recipe's, or the product's own."""
    dilution = _describe(way.product, recipe)
    exact = divide(way.due.mass, dilution.strength, "mL")
    strength = f"{way.product.name} {show_amount(dilution.strength)}"
    made = add(recipe.take, recipe.add) if recipe else None
    if made is not None and made < exact:
        reason = f"{strength}: {show_amount(exact, PLACES)} is more than the {show_amount(made)} its recipe makes"
        return Miss(way.due, reason, convert(made, exact.unit).value / exact.value)
    found = _measure(way, dilution, exact, made)
    if not isinstance(found, Measured):
        return Miss(way.due, f"{strength}: {found.reason}", found.nearness)
    least = way.product.least_volume
    smaller = min(exact, found.volume)
    if recipe is None and least is not None and smaller < least:
        reason = f"{strength}: {show_amount(smaller, PLACES)} is under the {show_amount(least)} that its label allows"
        return Miss(way.due, reason, smaller.value / convert(least, smaller.unit).value)
    vials, left = choose_vials(recipe.take if recipe else found.volume, way.stock.holds)
    discard = None if recipe else left
    return Drawn(way.product, way.due, dilution, exact, found, way.air, vials, discard, way.stock.holds)


def _measure(way: Way, dilution: Dilution, exact: Amount, made: Amount | None) -> Measured | Unmeasurable:
    most = divide(way.due.most, dilution.strength, "mL") if way.due.most else None
    bounds = [bound for bound in (most, made) if bound is not None]
    limits = Limits(min(bounds, default=None), _find_left(way, dilution))
    return measure(exact, way.air, way.syringes, way.ward.deviation, limits)


def _find_left(way: Way, dilution: Dilution) -> Amount | None:
    """Find what the course has left for this baby as a volume; None for a first dose."""
    course = way.due.course
    if course is None:
        return None
    return divide(multiply(course.left, way.case.baby.weight, "mg"), dilution.strength, "mL")


def describe_undiluted(product: Product) -> Dilution:
    """Describe the product as it is."""
    return _describe(product, None)


def _describe(product: Product, recipe: Recipe | None) -> Dilution:
    if recipe is None:
        return Dilution(UNDILUTED, product.strength, f"{product.name} {show_amount(product.strength)}, undiluted")
    total = add(recipe.take, recipe.add)
    words = (
        f"{show_amount(recipe.take)} of {product.name} {show_amount(product.strength)}"
        f" + {show_amount(recipe.add)} {recipe.diluent} = {show_amount(total)} of {show_amount(recipe.gives)}"
        f" [{recipe.basis}: {recipe.source}]"
    )
    make = (
        f"first make {show_amount(recipe.take)} of {show_amount(product.strength)}"
        f" + {show_amount(recipe.add)} {recipe.diluent}"
    )
    return Dilution(recipe.id, recipe.gives, words, make)
