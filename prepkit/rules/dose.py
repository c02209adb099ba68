"""The rule of a `dose` line: from a dose per kg to a volume at a syringe's mark. May import: `prepkit.rules`.

Where nothing was ordered, the ward's stock is walked in its order of preference, and for each product its recipes in
theirs; the first strength whose volume a stocked syringe measures wins. Where none does, the line is blocked and names
the nearest miss: no dilution is ever invented, and nothing is rounded past what the ward allows. What was ordered is
drawn up as it was ordered, or the line is blocked: nothing takes its place.
"""

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import Ward
from prepkit.quantities.show import show_amount
from prepkit.rules.case import AlwaysRule, Case, Order, Outcome, Rule
from prepkit.rules.course import Doses, prepare_doses
from prepkit.rules.drawn import Drawn, show_drawn
from prepkit.rules.way import BARRED, Miss, Stocked, Way, draw_measured, list_ways, prepare_stocked
from prepkit.rules.whole import draw_whole, name_whole

_NO_WARD = "no ward file: which strengths and syringes are in stock is not known"


class DoseRule(Struct, frozen=True):
    """A medicine, with the products of it that the ward stocks."""

    line: DoseLine
    products: tuple[Product, ...]
    """All that the kit knows."""
    stocked: tuple[Stocked, ...]
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, case: Case) -> Outcome:
        """Find the volume to draw up, the syringe, the containers to open; or why there is none."""
        order = case.orders.get(self.line.id)
        if order is not None:
            return self._work_out_ordered(case, order)
        misses: list[Miss] = []
        for way in list_ways(self.stocked, case):
            if isinstance(way, str):
                return _block_undue(way)
            found = draw_measured(way)
            if isinstance(found, Drawn):
                return show_drawn(case, found)
            misses += found
        return _block(misses) if misses else self._block_unstocked()

    def _work_out_ordered(self, case: Case, order: Order) -> Outcome:
        """Draw up what was ordered and nothing else."""
        for way in list_ways(self.stocked, case):
            if isinstance(way, str):
                return _block_undue(way)
            if way.product.id == order.product:
                found = _draw_ordered(way, order)
                return _void(order, way.product, found) if isinstance(found, str) else show_drawn(case, found)
        product = next((each for each in self.products if each.id == order.product), None)
        return _void(order, product, "it is not in stock for this line any more")

    def _block_unstocked(self) -> Outcome:
        names = " or ".join(_find_product(name, self.products).name for name in self.line.products)
        return Outcome(blocked=f"the ward file stocks no {names}", working=("Nothing in stock to draw it up from.",))


class UnstockedRule(Struct, frozen=True):
    """A medicine whose dose is known, and no ward file that says what it is drawn up from."""

    doses: Doses
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, case: Case) -> Outcome:
        """Find the dose that would be due; no volume."""
        due = self.doses.find_due(case)
        if isinstance(due, str):
            return _block_undue(due)
        return Outcome(blocked=_NO_WARD, dose=due.mass, working=due.working)


def prepare_dose(line: DoseLine, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare a medicine's doses, and the strengths, syringes and containers of what the ward stocks of it."""
    if ward is not None:
        return DoseRule(line, kit.product, prepare_stocked(line, kit, ward))
    if line.dose is None and not line.band:
        return AlwaysRule(Outcome(blocked=_NO_WARD, working=("The dose is the stocked product's own.",)))
    return UnstockedRule(prepare_doses(line, _find_product(line.products[0], kit.product), kit))


def _find_product(name: str, products: tuple[Product, ...]) -> Product:
    return next(product for product in products if product.id == name)


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
