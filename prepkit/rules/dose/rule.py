"""The rule of a `dose` line, and what can be ordered for one.

Where nothing was ordered, the ward's first product is drawn up in the ward's way, from the first of its recipes whose
volume a stocked syringe measures. Where none does, or its label bars it, another product of the same substance stands
in for it, and the line says so. Another substance never does: the line is blocked, and names what can be ordered
instead. What was ordered is drawn up as it was ordered, or the line is blocked: nothing takes its place, no dilution is
ever invented, and nothing is rounded past what the ward allows.
"""

from collections.abc import Callable, Iterable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.text import write_amount
from prepkit.rules.dose.candidates import (
    BARRED,
    Candidate,
    Miss,
    StockedProduct,
    draw_fewest,
    draw_measured,
    find_advice,
    list_candidates,
    list_same,
    make_candidate,
    prepare_stocked,
)
from prepkit.rules.dose.course import Doses, prepare_doses
from prepkit.rules.dose.draw_up import DrawUp, add_entered_air, compute_reached, make_outcome
from prepkit.rules.dose.whole_containers import draw_nearest_whole, draw_whole, list_whole
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.rule import AlwaysRule, Order, Outcome, Rule, RuleContext


def draw_in_wards_way(candidate: Candidate) -> DrawUp | list[Miss]:
    """Draw up a dose that nobody ordered otherwise, in the way that the ward's stock says for the product."""
    match candidate.stocked.stock.containers:
        case "fewest":
            return draw_fewest(candidate)
        case "whole":
            return draw_nearest_whole(candidate) or draw_measured(candidate)
        case "measured":
            return draw_measured(candidate)


class DoseRule(Struct, frozen=True):
    """A medicine, with the products of it that the ward stocks."""

    line: DoseLine
    products: tuple[Product, ...]
    """All that the kit knows."""
    stocked: tuple[StockedProduct, ...]
    fixed: tuple[Outcome, ...] = ()
    draw: Callable[[Candidate], DrawUp | list[Miss]] = draw_in_wards_way
    """How a dose that nobody ordered is drawn up; whoever works out a great many keeps what was drawn up before."""

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the volume to draw up, the syringe, the containers to open; or why there is none."""
        return add_entered_air(self._draw_up(context), context.entered.get(self.line.id))

    def _draw_up(self, context: RuleContext) -> Outcome:
        order = context.orders.get(self.line.id)
        if order is not None:
            return self._work_out_ordered(context, order)
        if not self.stocked:
            return self._block_unstocked()
        misses: list[Miss] = []
        why: Finding | None = None
        first = self.stocked[0].product
        for candidate in list_candidates(list_same(self.stocked), context):
            if isinstance(candidate, Finding):
                return _block_undue(candidate)
            found = self.draw(candidate)
            if isinstance(found, DrawUp):
                instead_of = None if why is None else first
                return make_outcome(replace(found, instead_of=instead_of, why=why, advice=find_advice(candidate)))
            why = why or _find_nearest(found).reason
            misses += found
        return _block(misses, self._name_others(first))

    def _name_others(self, first: Product) -> tuple[str, ...]:
        """Name what the ward stocks of other substances: drawn up by an order that names it, and never without one."""
        return tuple(each.product.name for each in self.stocked if each.product.medicine != first.medicine)

    def _work_out_ordered(self, context: RuleContext, order: Order) -> Outcome:
        """Draw up what was ordered and nothing else."""
        stocked = next((each for each in self.stocked if each.product.id == order.product), None)
        if stocked is None:
            product = next((each for each in self.products if each.id == order.product), None)
            return _void(order, product, finding(Kind.NOT_STOCKED_ANY_MORE))
        had = context.baby.facts.get(self.line.earlier) if self.line.earlier else None
        if had is not None and order.after is not None and order.after != str(had):
            return _void(order, stocked.product, finding(Kind.GIVEN_SINCE))
        candidate = make_candidate(stocked, context, order)
        if isinstance(candidate, Finding):
            return _block_undue(candidate)
        found = _draw_ordered(candidate, order)
        return make_outcome(found) if isinstance(found, DrawUp) else _void(order, stocked.product, found)

    def _block_unstocked(self) -> Outcome:
        names = tuple(_find_product(name, self.products).name for name in self.line.products)
        return Outcome(blocked=finding(Kind.NOT_STOCKED, names=names), working=(finding(Kind.NOTHING_IN_STOCK),))


class UnstockedRule(Struct, frozen=True):
    """A medicine whose dose is known, and no ward file that says what it is drawn up from."""

    doses: Doses
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the dose that would be due; no volume."""
        due = self.doses.find_due(context)
        if isinstance(due, Finding):
            return _block_undue(due)
        return Outcome(blocked=finding(Kind.NO_WARD), due=due.mass, working=due.working)


def prepare_dose(line: DoseLine, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare a medicine's doses, and the strengths, syringes and containers of what the ward stocks of it."""
    if ward is not None:
        return DoseRule(line, kit.product, prepare_stocked(line, kit, ward))
    if line.dose is None and not line.band:
        return AlwaysRule(Outcome(blocked=finding(Kind.NO_WARD), working=(finding(Kind.DOSE_OF_PRODUCT),)))
    return UnstockedRule(prepare_doses(line, _find_product(line.products[0], kit.product), kit, _NO_WARD))


def _find_product(name: str, products: tuple[Product, ...]) -> Product:
    return next(product for product in products if product.id == name)


def _draw_ordered(candidate: Candidate, order: Order) -> DrawUp | Finding:
    if order.per_kg is not None and (reason := _find_unfit(candidate, order.per_kg)):
        return reason
    if order.whole is not None:
        found: DrawUp | Finding | list[Miss] = draw_whole(candidate, order.whole)
    else:
        found = draw_fewest(candidate) if order.containers == "fewest" else draw_measured(candidate)
    if isinstance(found, DrawUp):
        return replace(found, order=order, advice=find_advice(candidate))
    return found if isinstance(found, Finding) else _find_nearest(found).reason


def _find_unfit(candidate: Candidate, per_kg: Amount) -> Finding | None:
    """Find why a dose per kg may not be ordered: it goes by the label's range, which is for a first dose."""
    name, span = candidate.product.name, candidate.product.dose_range
    if span is None:
        return finding(Kind.NO_RANGE_ON_LABEL, product=name)
    if candidate.due.is_repeat:
        return finding(Kind.RANGE_OF_FIRST, per_kg=per_kg)
    if not span.least <= per_kg <= span.most:
        return finding(Kind.ORDER_OUTSIDE_RANGE, per_kg=per_kg, least=span.least, most=span.most)
    return None


def _void(order: Order, product: Product | None, reason: Finding) -> Outcome:
    """Block a line whose order does not fit this baby (any more); only a prescriber puts another in its place."""
    named = {"product": product.name if product else None, "container": product.container if product else ""}
    blocked = finding(Kind.ORDER_VOID, order=order, **named, reason=reason)
    return Outcome(blocked=blocked, working=(finding(Kind.NOT_REPLACED, reason=reason),))


def _block_undue(reason: Finding) -> Outcome:
    return Outcome(blocked=reason, working=(finding(Kind.NOT_DRAWN_UP, reason=reason),))


def _block(misses: list[Miss], others: tuple[str, ...]) -> Outcome:
    nearest = _find_nearest(misses)
    reasons = dict.fromkeys(miss.reason for miss in misses)
    return Outcome(
        blocked=finding(Kind.BY_ORDER_ALONE, reason=nearest.reason, names=others) if others else nearest.reason,
        due=nearest.due.mass,
        capped=nearest.due.capped,
        is_unmeasured=nearest.nearness > BARRED,
        working=(*nearest.due.working, *(finding(Kind.NOT_THIS_WAY, reason=reason) for reason in reasons)),
    )


def _find_nearest(misses: list[Miss]) -> Miss:
    return max(misses, key=lambda miss: miss.nearness)


_NO_WARD = make_amount(5, "%")
"""Without a ward file: how far a dose given before may lie from the one that was due and count as it (ours)."""


WANTS_REASON = "?"
"""Stands in an order that may be given before the least interval is over, until a senior says why."""


class OrderOption(Struct, frozen=True):
    """One thing that can be ordered, and that can be drawn up for this baby as the ward is stocked."""

    order: Order
    """As it would be ordered, by nobody yet."""
    found: Finding
    """Which way, the volume, the dose per kg that it reaches, what is opened and what is left."""

    @property
    def wants_reason(self) -> bool:
        """Whether only a senior orders it, with a reason."""
        return bool(self.order.past_interval)

    @property
    def id(self) -> str:
        """Canonical: "poractant-alfa" for the measured dose, "poractant-alfa 3 mL" for whole containers."""
        return write_order(self.order)


class OrderOptions(Struct, frozen=True):
    """What can be ordered, in the ward's order; and what might be looked for and is not among it, with why."""

    choices: tuple[OrderOption, ...]
    not_offered: tuple[Finding, ...]


def find_options(line: DoseLine, context: RuleContext) -> OrderOptions:
    """Find what can be ordered, whatever was, and why the rest cannot; the usual way of each product first."""
    if context.ward is None:
        return OrderOptions((), (finding(Kind.NOTHING_WITHOUT_WARD),))
    usual: list[OrderOption] = []
    more: list[OrderOption] = []
    misses: list[Finding] = []
    for stocked in prepare_stocked(line, context.kit, context.ward):
        # As if it were ordered: another medicine before it is no bar to an order that names it.
        by_name = Order(stocked.product.id, "")
        candidate = make_candidate(stocked, context, by_name)
        more += _list_drawn(stocked, context, [replace(by_name, is_rest=True)], None)
        if isinstance(candidate, Finding):
            misses.append(finding(Kind.NOTHING_OFFERED_OF, product=stocked.product.name, reason=candidate))
            if candidate.kind is Kind.TOO_EARLY:
                more += _list_drawn(stocked, context, [replace(by_name, past_interval=WANTS_REASON)], None)
            continue
        for option in _list_drawn(stocked, context, _list_orders(candidate), misses):
            (usual if option.order == by_name else more).append(option)
    # One reason may stand against several ways of a product.
    said = tuple(each for at, each in enumerate(misses) if each not in misses[:at])
    return OrderOptions((*usual, *more), said)


def _list_drawn(
    stocked: StockedProduct, context: RuleContext, orders: Iterable[Order], misses: list[Finding] | None
) -> Iterator[OrderOption]:
    """Those of some orders that can be drawn up; why the others cannot be goes to `misses`, where that is of use."""
    for order in orders:
        asked = make_candidate(stocked, context, order)
        found = asked if isinstance(asked, Finding) else _draw_ordered(asked, order)
        if isinstance(found, DrawUp):
            yield OrderOption(order, _describe(found))
        elif misses is not None:
            misses.append(_say_miss(order, stocked.product, found))


def _list_orders(candidate: Candidate) -> Iterator[Order]:
    """Every way to order a product: the stated dose to a mark, with a container less; other doses; whole containers."""
    name, span = candidate.product.id, candidate.product.dose_range
    yield Order(name, "")
    measured, fewest = draw_measured(candidate), draw_fewest(candidate)
    if isinstance(measured, DrawUp) and isinstance(fewest, DrawUp) and fewest.is_fewer:
        yield Order(name, "", "fewest")
    if span is not None and not candidate.due.is_repeat:
        for end in (span.least, span.most):
            if end != candidate.due.per_kg:
                yield Order(name, "", per_kg=end)
        for volume in list_whole(candidate):
            yield Order(name, "", "whole", volume)


def _describe(draw_up: DrawUp) -> Finding:
    return finding(Kind.OPTION, draw_up=replace(draw_up, order=None), reached=compute_reached(draw_up))


def _say_miss(order: Order, product: Product, reason: Finding) -> Finding:
    if order.whole is not None:
        return finding(Kind.NOT_OFFERED_WHOLE, product=product, volume=order.whole, reason=reason)
    return finding(Kind.NOT_OFFERED_MEASURED, reason=reason)


def write_order(order: Order) -> str:
    """Write what an order is for: its product, then what is not as usual: "poractant-alfa 100 mg/kg", "... fewest"."""
    way = "rest" if order.is_rest else "early" if order.past_interval else ""
    way = "fewest" if order.containers == "fewest" else way
    per_kg, whole = ("" if each is None else write_amount(each) for each in (order.per_kg, order.whole))
    return " ".join(filter(None, (order.product, per_kg, way, whole)))
