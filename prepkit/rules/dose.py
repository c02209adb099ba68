"""The rule of a `dose` line: from a dose per kg to a volume at a syringe's mark. May import: `prepkit.rules`.

The ward's stock is walked in its order of preference, and for each product its recipes in theirs; the first strength whose
volume a stocked syringe measures wins. Where none does, the line is blocked and names the nearest miss: no dilution is
ever invented, and nothing is rounded past what the ward allows.
"""

from dataclasses import dataclass
from fractions import Fraction

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Stock, Ward
from prepkit.quantities.amount import Amount, add, convert, divide, make_amount
from prepkit.quantities.show import show_amount, write_decimal
from prepkit.rules.case import Case, Dilution, Outcome, VialCount, cite, cite_short
from prepkit.rules.course import Due, find_due
from prepkit.rules.syringe import Measured, compute_iso_tolerance, measure
from prepkit.rules.vials import choose_vials, show_vials

_PLACES = 4
_NOTHING = make_amount(0, "mL")


@dataclass(frozen=True, slots=True)
class _Draw:
    """One way to draw the dose up that a syringe measures."""

    stock: Stock
    product: Product
    due: Due
    dilution: Dilution
    exact: Amount
    measured: Measured


@dataclass(frozen=True, slots=True)
class _Miss:
    """One way that does not serve, and why."""

    due: Due | None
    reason: str


def compute_dose(line: DoseLine, case: Case) -> Outcome:
    """The volume to draw up, the syringe, the containers to open; or why there is none."""
    if case.ward is None:
        return _block_without_ward(line, case)
    products = list_products(case)
    stocks = [stock for stock in case.ward.stock if stock.product in line.products]
    if not stocks:
        names = " or ".join(products[name].name for name in line.products)
        return Outcome(blocked=f"the ward file stocks no {names}", working=("Nothing in stock to draw it up from.",))
    misses: list[_Miss] = []
    for stock in stocks:
        found = _try_stock(line, case, case.ward, stock, products[stock.product])
        if isinstance(found, _Draw):
            return _finish(line, case, found)
        misses += found
    return _block(misses)


def list_products(case: Case) -> dict[str, Product]:
    """Products by id: the kit's, and over them the ward's own."""
    own = case.ward.product if case.ward else ()
    return {product.id: product for product in (*case.kit.product, *own)}


def _block_without_ward(line: DoseLine, case: Case) -> Outcome:
    blocked = "no ward file: which strengths and syringes are in stock is not known"
    if line.dose is None:
        return Outcome(blocked=blocked, working=("The dose is the stocked product's own.",))
    product = list_products(case)[line.products[0]]
    due = find_due(line, product, case)
    if isinstance(due, str):
        return Outcome(blocked=due)
    return Outcome(blocked=blocked, dose=due.mass, working=due.working)


def _block(misses: list[_Miss]) -> Outcome:
    due = next((miss.due for miss in misses if miss.due), None)
    working = due.working if due else ()
    reasons = tuple(dict.fromkeys(miss.reason for miss in misses))
    return Outcome(blocked=reasons[0], dose=due.mass if due else None, working=(*working, *(f"Not: {reason}." for reason in reasons)))


def _try_stock(line: DoseLine, case: Case, ward: Ward, stock: Stock, product: Product) -> _Draw | list[_Miss]:
    due = find_due(line, product, case)
    if isinstance(due, str):
        return [_Miss(None, due)]
    misses = []
    for name in stock.use:
        found = _try_dilution(line, ward, stock, product, due, _find_dilution(name, product, ward))
        if isinstance(found, _Draw):
            return found
        misses.append(found)
    # The nearest miss is the last one in the ward's order: the strength made for the smallest doses.
    return misses[::-1]


def _find_dilution(name: str, product: Product, ward: Ward) -> Dilution:
    if name == UNDILUTED:
        return Dilution(UNDILUTED, product.strength, f"{product.name} {show_amount(product.strength)}, undiluted")
    recipe = next(recipe for recipe in ward.recipe if recipe.id == name)
    total = add(recipe.take, recipe.add)
    words = (
        f"{show_amount(recipe.take)} of {show_amount(product.strength)} + {show_amount(recipe.add)} {recipe.diluent}"
        f" = {show_amount(total)} of {show_amount(recipe.gives)} [{recipe.basis}: {recipe.source}]"
    )
    return Dilution(recipe.id, recipe.gives, words)


def _try_dilution(line: DoseLine, ward: Ward, stock: Stock, product: Product, due: Due, dilution: Dilution) -> _Draw | _Miss:
    exact = divide(due.mass, dilution.strength, "mL")
    strength = f"{product.name} {show_amount(dilution.strength)}"
    if dilution.id == UNDILUTED and product.least_volume and exact < product.least_volume:
        return _Miss(due, f"{strength}: {show_amount(exact, _PLACES)} is under the {show_amount(product.least_volume)} its label allows")
    made = _measure_recipe(ward, dilution)
    if made is not None and made < exact:
        return _Miss(due, f"{strength}: {show_amount(exact, _PLACES)} is more than the recipe makes")
    air = ward.air if line.air and ward.air else _NOTHING
    ceiling = divide(due.ceiling, dilution.strength, "mL") if due.ceiling else None
    syringes = [syringe for syringe in ward.syringe if syringe.route == line.route]
    found = measure(exact, air, syringes, ward.deviation, ceiling)
    if isinstance(found, Measured):
        return _Draw(stock, product, due, dilution, exact, found)
    return _Miss(due, f"{strength}: {found.reason}")


def _measure_recipe(ward: Ward, dilution: Dilution) -> Amount | None:
    recipe = next((recipe for recipe in ward.recipe if recipe.id == dilution.id), None)
    return add(recipe.take, recipe.add) if recipe else None


def _finish(line: DoseLine, case: Case, draw: _Draw) -> Outcome:
    volume = draw.measured.volume
    needed = _find_needed(case, draw)
    vials, left = choose_vials(needed, draw.stock.holds)
    reached = Amount(volume.value / draw.exact.value * draw.due.mass.value, draw.due.mass.unit)
    per_kg = Amount(convert(reached, "mg").value / convert(case.baby.weight, "kg").value, make_amount(1, "mg/kg").unit)
    is_diluted = draw.dilution.id != UNDILUTED
    return Outcome(
        dose=draw.due.mass,
        exact=draw.exact,
        amount=volume,
        syringe=draw.measured.syringe,
        recipe=draw.dilution,
        vials=vials,
        discard=None if is_diluted else left,
        show=show_amount(volume),
        details=_list_details(line, case, draw, convert(per_kg, draw.due.per_kg.unit), vials, left),
        working=(*draw.due.working, *_explain(line, case, draw, convert(per_kg, draw.due.per_kg.unit), vials, left)),
        cautions=_list_cautions(line, case, draw),
        basis=line.basis if line.dose else draw.product.basis,
        source=cite(case.kit, line.basis, line.source) if line.dose else cite(case.kit, draw.product.basis, draw.product.source),
    )


def _find_needed(case: Case, draw: _Draw) -> Amount:
    """What comes out of the containers: the dose itself, or what its recipe takes."""
    ward = case.ward
    recipe = next((recipe for recipe in ward.recipe if recipe.id == draw.dilution.id), None) if ward else None
    return recipe.take if recipe else draw.measured.volume


def _list_details(line: DoseLine, case: Case, draw: _Draw, reached: Amount, vials: tuple[VialCount, ...], left: Amount) -> tuple[str, ...]:
    air = case.ward.air if case.ward and line.air else None
    syringe = f"{show_amount(draw.measured.syringe.holds)} {line.route} syringe"
    opened = f"open {show_vials(vials)} {draw.product.container}"
    discard = f", discard {show_amount(left)}" if draw.dilution.id == UNDILUTED else ""
    return (
        f"{show_amount(draw.due.mass)}, reaches {show_amount(reached, 1)}",
        f"{draw.product.name} {show_amount(draw.dilution.strength)}",
        f"{syringe}, {show_amount(air)} air behind" if air and air.value else syringe,
        opened + discard,
    )


def _explain(line: DoseLine, case: Case, draw: _Draw, reached: Amount, vials: tuple[VialCount, ...], left: Amount) -> tuple[str, ...]:
    volume, syringe = draw.measured.volume, draw.measured.syringe
    dose, strength = draw.due.mass, draw.dilution.strength
    sentences = [
        f"Strength: {draw.dilution.words}. {cite_short(case.kit, draw.product.basis, draw.product.source)}",
        f"Volume: {show_amount(dose)} ÷ {show_amount(strength)} = {show_amount(draw.exact, _PLACES)}.",
        f"Syringe: {show_amount(syringe.holds)}, marks every {show_amount(syringe.marks)} [local]: draw up to {show_amount(volume)}"
        f" ({_show_deviation(draw.measured.deviation)}).",
        f"Reached: {show_amount(volume)} × {show_amount(strength)} ÷ {case.baby.weight_g} g = {show_amount(reached, 2)}.",
    ]
    if line.route != "enteral":
        tolerance = compute_iso_tolerance(syringe.holds, volume)
        sentences.append(f"The syringe itself may be {write_decimal(tolerance, 1)} % out at this volume [published: ISO 7886-1 2017].")
    verb = "holds enough" if draw.dilution.id != UNDILUTED else f"leaves {show_amount(left)} to discard"
    sentences.append(f"Open {show_vials(vials)}: {verb}, the least waste from the sizes in stock [local].")
    return tuple(sentences)


def _show_deviation(deviation: Fraction) -> str:
    if deviation == 0:
        return "exactly on a mark"
    sign = "+" if deviation > 0 else "\N{MINUS SIGN}"
    return f"{sign}{write_decimal(abs(deviation) * 100, 1)} % from exact"


def _list_cautions(line: DoseLine, case: Case, draw: _Draw) -> tuple[str, ...]:
    cautions = list(draw.product.handling)
    if line.air and (case.ward is None or case.ward.air is None):
        cautions.append("The ward file sets no volume of air behind the dose: ask what the unit uses.")
    if line.route != "intravenous":
        cautions.append("Not for injection: its own syringe, labelled with its route.")
    return tuple(cautions)


