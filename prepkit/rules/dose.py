"""The rule of a `dose` line: from a dose per kg to a volume at a syringe's mark. May import: `prepkit.rules`.

The ward's stock is walked in its order of preference, and for each product its recipes in theirs; the first strength
whose volume a stocked syringe measures wins. Where none does, the line is blocked and names the nearest miss: no
dilution is ever invented, and nothing is rounded past what the ward allows.
"""

from dataclasses import dataclass
from fractions import Fraction

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Recipe, Stock, Ward
from prepkit.quantities.amount import Amount, add, convert, divide, make_amount
from prepkit.quantities.show import show_amount
from prepkit.rules.case import Case, Dilution, Outcome
from prepkit.rules.course import Due, find_due
from prepkit.rules.drawn import PLACES, Drawn, show_drawn
from prepkit.rules.syringe import Measured, Unmeasurable, measure
from prepkit.rules.vials import choose_vials

_NOTHING = make_amount(0, "mL")
_BARRED = Fraction(-1)
"""The nearness of what the label does not allow, whatever measures it."""


@dataclass(frozen=True, slots=True)
class _Way:
    """A product in stock, and the dose of it that is due."""

    line: DoseLine
    ward: Ward
    stock: Stock
    product: Product
    due: Due


@dataclass(frozen=True, slots=True)
class _Miss:
    """One strength that does not serve, why, and how near it came (under 1)."""

    due: Due
    reason: str
    nearness: Fraction


def compute_dose(line: DoseLine, case: Case) -> Outcome:
    """Find the volume to draw up, the syringe, the containers to open; or why there is none."""
    products = list_products(case)
    if case.ward is None:
        return _block_without_ward(line, products[line.products[0]], case)
    stocks = [stock for stock in case.ward.stock if stock.product in line.products]
    if not stocks:
        names = " or ".join(products[name].name for name in line.products)
        return Outcome(blocked=f"the ward file stocks no {names}", working=("Nothing in stock to draw it up from.",))
    misses: list[_Miss] = []
    for stock in stocks:
        product = products[stock.product]
        due = find_due(line, product, case)
        # What is not due of the ward's first choice is not given as its second choice either.
        if isinstance(due, str):
            return _block_undue(due)
        if product.weight is not None and not product.weight.contains(case.baby.weight):
            label = f"{product.name}: its label is for {product.weight.words()}"
            misses.append(_Miss(due, label, _BARRED))
            continue
        found = _try_stock(_Way(line, case.ward, stock, product, due))
        if isinstance(found, Drawn):
            return show_drawn(line, case, found)
        misses += found
    return _block(misses)


def list_products(case: Case) -> dict[str, Product]:
    """List the products by id: the kit's, and over them the ward's own."""
    own = case.ward.product if case.ward else ()
    return {product.id: product for product in (*case.kit.product, *own)}


def _block_without_ward(line: DoseLine, product: Product, case: Case) -> Outcome:
    blocked = "no ward file: which strengths and syringes are in stock is not known"
    if line.dose is None:
        return Outcome(blocked=blocked, working=("The dose is the stocked product's own.",))
    due = find_due(line, product, case)
    return _block_undue(due) if isinstance(due, str) else Outcome(blocked=blocked, dose=due.mass, working=due.working)


def _block_undue(reason: str) -> Outcome:
    return Outcome(blocked=reason, working=(f"Nothing is drawn up: {reason}.",))


def _block(misses: list[_Miss]) -> Outcome:
    nearest = max(misses, key=lambda miss: miss.nearness)
    reasons = dict.fromkeys(miss.reason for miss in misses)
    working = (*nearest.due.working, *(f"Not: {reason}." for reason in reasons))
    return Outcome(
        blocked=nearest.reason,
        dose=nearest.due.mass,
        capped=nearest.due.capped,
        is_unmeasured=nearest.nearness > _BARRED,
        working=working,
    )


def _try_stock(way: _Way) -> Drawn | list[_Miss]:
    recipes = {recipe.id: recipe for recipe in way.ward.recipe}
    misses = []
    for name in way.stock.use:
        found = _try_strength(way, None if name == UNDILUTED else recipes[name])
        if isinstance(found, Drawn):
            return found
        misses.append(found)
    return misses


def _try_strength(way: _Way, recipe: Recipe | None) -> Drawn | _Miss:
    """Measure the dose from one strength: a recipe's, or the product's own."""
    dilution = _describe(way.product, recipe)
    exact = divide(way.due.mass, dilution.strength, "mL")
    strength = f"{way.product.name} {show_amount(dilution.strength)}"
    made = add(recipe.take, recipe.add) if recipe else None
    if made is not None and made < exact:
        reason = f"{strength}: {show_amount(exact, PLACES)} is more than the {show_amount(made)} its recipe makes"
        return _Miss(way.due, reason, convert(made, exact.unit).value / exact.value)
    found = _measure(way, dilution, exact, made)
    if not isinstance(found, Measured):
        return _Miss(way.due, f"{strength}: {found.reason}", found.nearness)
    least = way.product.least_volume
    smaller = min(exact, found.volume)
    if recipe is None and least is not None and smaller < least:
        reason = f"{strength}: {show_amount(smaller, PLACES)} is under the {show_amount(least)} that its label allows"
        return _Miss(way.due, reason, smaller.value / convert(least, smaller.unit).value)
    vials, left = choose_vials(recipe.take if recipe else found.volume, way.stock.holds)
    return Drawn(way.product, way.due, dilution, exact, found, _find_air(way), vials, None if recipe else left)


def _measure(way: _Way, dilution: Dilution, exact: Amount, made: Amount | None) -> Measured | Unmeasurable:
    most = divide(way.due.ceiling, dilution.strength, "mL") if way.due.ceiling else None
    bounds = [bound for bound in (most, made) if bound is not None]
    syringes = [syringe for syringe in way.ward.syringe if syringe.route == way.line.route]
    return measure(exact, _find_air(way), syringes, way.ward.deviation, min(bounds, default=None))


def _find_air(way: _Way) -> Amount:
    return way.ward.air if way.line.air and way.ward.air else _NOTHING


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
