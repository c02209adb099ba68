"""The rule of a `dose` line: from a dose per kg to a volume at a syringe's mark. May import: `prepkit.rules`.

Where nothing was ordered, the ward's stock is walked in its order of preference, and for each product its recipes in
theirs; the first strength whose volume a stocked syringe measures wins. Where none does, the line is blocked and names
the nearest miss: no dilution is ever invented, and nothing is rounded past what the ward allows. What was ordered is
drawn up as it was ordered, or the line is blocked: nothing takes its place.
"""

from dataclasses import replace

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import Ward
from prepkit.quantities.show import show_amount
from prepkit.rules.case import Case, Order, Outcome
from prepkit.rules.course import find_due
from prepkit.rules.drawn import Drawn, show_drawn
from prepkit.rules.way import BARRED, Miss, Way, draw_measured, list_products, list_ways
from prepkit.rules.whole import draw_whole, name_whole


def compute_dose(line: DoseLine, case: Case) -> Outcome:
    """Find the volume to draw up, the syringe, the containers to open; or why there is none."""
    if case.ward is None:
        return _block_without_ward(line, list_products(case)[line.products[0]], case)
    order = case.orders.get(line.id)
    if order is not None:
        return _compute_ordered(line, case, case.ward, order)
    misses: list[Miss] = []
    for way in list_ways(line, case, case.ward):
        if isinstance(way, str):
            return _block_undue(way)
        found = draw_measured(way)
        if isinstance(found, Drawn):
            return show_drawn(line, case, found)
        misses += found
    return _block(misses) if misses else _block_unstocked(line, case)


def _compute_ordered(line: DoseLine, case: Case, ward: Ward, order: Order) -> Outcome:
    """Draw up what was ordered and nothing else."""
    for way in list_ways(line, case, ward):
        if isinstance(way, str):
            return _block_undue(way)
        if way.product.id == order.product:
            found = _draw_ordered(way, order)
            return _void(order, way.product, found) if isinstance(found, str) else show_drawn(line, case, found)
    product = list_products(case).get(order.product)
    return _void(order, product, "it is not in stock for this line any more")


def _draw_ordered(way: Way, order: Order) -> Drawn | str:
    found = draw_measured(way) if order.whole is None else draw_whole(way, order.whole)
    if isinstance(found, Drawn):
        return replace(found, ordered=_say_order(order, way.product))
    return found if isinstance(found, str) else _find_nearest(found).reason


def _say_order(order: Order, product: Product) -> str:
    """Say who ordered and which way: "ordered by RA: whole vials"."""
    return f"ordered by {order.by}: {name_whole(product) if order.whole is not None else 'measured'}"


def _void(order: Order, product: Product | None, reason: str) -> Outcome:
    """Block a line whose order does not fit this baby (any more); only a prescriber puts another in its place."""
    name = product.name if product else f'"{order.product}"'
    way = f"{name_whole(product) if product else 'whole'}, {show_amount(order.whole)}" if order.whole else "measured"
    return Outcome(
        blocked=f"ordered by {order.by}: {name}, {way}; {reason}: order again",
        working=(f"Nothing is drawn up, and nothing takes the place of what was ordered: {reason}.",),
    )


def _block_without_ward(line: DoseLine, product: Product, case: Case) -> Outcome:
    blocked = "no ward file: which strengths and syringes are in stock is not known"
    if line.dose is None and not line.band:
        return Outcome(blocked=blocked, working=("The dose is the stocked product's own.",))
    due = find_due(line, product, case)
    return _block_undue(due) if isinstance(due, str) else Outcome(blocked=blocked, dose=due.mass, working=due.working)


def _block_unstocked(line: DoseLine, case: Case) -> Outcome:
    products = list_products(case)
    names = " or ".join(products[name].name for name in line.products)
    return Outcome(blocked=f"the ward file stocks no {names}", working=("Nothing in stock to draw it up from.",))


def _block_undue(reason: str) -> Outcome:
    return Outcome(blocked=reason, working=(f"Nothing is drawn up: {reason}.",))


def _block(misses: list[Miss]) -> Outcome:
    nearest = _find_nearest(misses)
    reasons = dict.fromkeys(miss.reason for miss in misses)
    working = (*nearest.due.working, *(f"Not: {reason}." for reason in reasons))
    return Outcome(
        blocked=nearest.reason,
        dose=nearest.due.mass,
        capped=nearest.due.capped,
        is_unmeasured=nearest.nearness > BARRED,
        working=working,
    )


def _find_nearest(misses: list[Miss]) -> Miss:
    return max(misses, key=lambda miss: miss.nearness)
