"""The rule of a `dose` line, and what can be ordered for one.

Where nothing was ordered, the ward's stock is walked in its order of preference, and for each product its recipes in
theirs; the first strength whose volume a stocked syringe measures wins. Where none does, the line is blocked and names
the nearest miss: no dilution is ever invented, and nothing is rounded past what the ward allows. What was ordered is
drawn up as it was ordered, or the line is blocked: nothing takes its place. What can be ordered is the measured dose of
each product, and whole containers.
"""

from collections.abc import Callable

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import write_decimal
from prepkit.rules.dose.candidates import (
    BARRED,
    Candidate,
    Miss,
    StockedProduct,
    draw_measured,
    list_candidates,
    prepare_stocked,
)
from prepkit.rules.dose.course import Doses, prepare_doses
from prepkit.rules.dose.draw_up import DrawUp, compute_reached, make_outcome
from prepkit.rules.dose.whole_containers import draw_whole, list_whole
from prepkit.rules.findings import Finding, Kind, finding
from prepkit.rules.rule import AlwaysRule, Order, Outcome, Rule, RuleContext


class DoseRule(Struct, frozen=True):
    """A medicine, with the products of it that the ward stocks."""

    line: DoseLine
    products: tuple[Product, ...]
    """All that the kit knows."""
    stocked: tuple[StockedProduct, ...]
    fixed: tuple[Outcome, ...] = ()
    draw: Callable[[Candidate], DrawUp | list[Miss]] = draw_measured
    """How a measured dose is drawn up; whoever works out a great many keeps what was drawn up before."""

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the volume to draw up, the syringe, the containers to open; or why there is none."""
        order = context.orders.get(self.line.id)
        if order is not None:
            return self._work_out_ordered(context, order)
        misses: list[Miss] = []
        for candidate in list_candidates(self.stocked, context):
            if isinstance(candidate, Finding):
                return _block_undue(candidate)
            found = self.draw(candidate)
            if isinstance(found, DrawUp):
                return make_outcome(found)
            misses += found
        return _block(misses) if misses else self._block_unstocked()

    def _work_out_ordered(self, context: RuleContext, order: Order) -> Outcome:
        """Draw up what was ordered and nothing else."""
        for candidate in list_candidates(self.stocked, context):
            if isinstance(candidate, Finding):
                return _block_undue(candidate)
            if candidate.product.id == order.product:
                found = _draw_ordered(candidate, order)
                if isinstance(found, DrawUp):
                    return make_outcome(found)
                return _void(order, candidate.product, found)
        product = next((each for each in self.products if each.id == order.product), None)
        return _void(order, product, finding(Kind.NOT_STOCKED_ANY_MORE))

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
        return Outcome(blocked=finding(Kind.NO_WARD), dose=due.mass, working=due.working)


def prepare_dose(line: DoseLine, kit: Kit, ward: Ward | None) -> Rule:
    """Prepare a medicine's doses, and the strengths, syringes and containers of what the ward stocks of it."""
    if ward is not None:
        return DoseRule(line, kit.product, prepare_stocked(line, kit, ward))
    if line.dose is None and not line.band:
        return AlwaysRule(Outcome(blocked=finding(Kind.NO_WARD), working=(finding(Kind.DOSE_OF_PRODUCT),)))
    return UnstockedRule(prepare_doses(line, _find_product(line.products[0], kit.product), kit))


def _find_product(name: str, products: tuple[Product, ...]) -> Product:
    return next(product for product in products if product.id == name)


def _draw_ordered(candidate: Candidate, order: Order) -> DrawUp | Finding:
    found = draw_measured(candidate) if order.whole is None else draw_whole(candidate, order.whole)
    if isinstance(found, DrawUp):
        return replace(found, order=order)
    return found if isinstance(found, Finding) else _find_nearest(found).reason


def _void(order: Order, product: Product | None, reason: Finding) -> Outcome:
    """Block a line whose order does not fit this baby (any more); only a prescriber puts another in its place."""
    named = {"product": product.name if product else None, "container": product.container if product else ""}
    blocked = finding(Kind.ORDER_VOID, order=order, **named, reason=reason)
    return Outcome(blocked=blocked, working=(finding(Kind.NOT_REPLACED, reason=reason),))


def _block_undue(reason: Finding) -> Outcome:
    return Outcome(blocked=reason, working=(finding(Kind.NOT_DRAWN_UP, reason=reason),))


def _block(misses: list[Miss]) -> Outcome:
    nearest = _find_nearest(misses)
    reasons = dict.fromkeys(miss.reason for miss in misses)
    return Outcome(
        blocked=nearest.reason,
        dose=nearest.due.mass,
        capped=nearest.due.capped,
        is_unmeasured=nearest.nearness > BARRED,
        working=(*nearest.due.working, *(finding(Kind.NOT_THIS_WAY, reason=reason) for reason in reasons)),
    )


def _find_nearest(misses: list[Miss]) -> Miss:
    return max(misses, key=lambda miss: miss.nearness)


class OrderOption(Struct, frozen=True):
    """One thing that can be ordered, and that can be drawn up for this baby as the ward is stocked."""

    id: str
    """Canonical: "poractant-alfa" for the measured dose, "poractant-alfa 3 mL" for whole containers."""
    product: str
    whole: Amount | None
    """The volume of the whole containers, in mL; None for the measured dose."""
    found: Finding
    """Which way, the volume, the dose per kg that it reaches, what is opened and what is left."""


class OrderOptions(Struct, frozen=True):
    """What can be ordered, in the ward's order; and what might be looked for and is not among it, with why."""

    choices: tuple[OrderOption, ...]
    not_offered: tuple[Finding, ...]


def list_options(line: DoseLine, context: RuleContext) -> tuple[OrderOption, ...]:
    """List what can be ordered, whatever was. The first measured one is what is used where nothing was ordered."""
    return find_options(line, context).choices


def find_options(line: DoseLine, context: RuleContext) -> OrderOptions:
    """Find what can be ordered, and why the rest cannot."""
    if context.ward is None:
        return OrderOptions((), (finding(Kind.NOTHING_WITHOUT_WARD),))
    measured: list[OrderOption] = []
    whole: list[OrderOption] = []
    misses: list[Finding] = []
    for candidate in list_candidates(prepare_stocked(line, context.kit, context.ward), context):
        if isinstance(candidate, Finding):
            misses.append(finding(Kind.NOTHING_MORE_OFFERED, reason=candidate))
            break
        draw_up = draw_measured(candidate)
        if isinstance(draw_up, DrawUp):
            measured.append(_make_option(candidate, draw_up, None))
        else:
            reasons = dict.fromkeys(miss.reason for miss in draw_up)
            misses += (finding(Kind.NOT_OFFERED_MEASURED, reason=reason) for reason in reasons)
        for volume in list_whole(candidate):
            found = draw_whole(candidate, volume)
            if isinstance(found, DrawUp):
                whole.append(_make_option(candidate, found, volume))
            else:
                misses.append(finding(Kind.NOT_OFFERED_WHOLE, product=candidate.product, volume=volume, reason=found))
    return OrderOptions((*measured, *whole), tuple(misses))


def write_volume(whole: Amount | None) -> str:
    """Write the volume of whole containers as it is stored and typed: "3 mL"; empty for the measured dose."""
    return f"{write_decimal(whole.value)} {whole.unit.text}" if whole is not None else ""


def write_option(product: str, whole: str) -> str:
    """Write the id of an option from its product's id and the text of its volume."""
    return f"{product} {whole}".rstrip()


def _make_option(candidate: Candidate, draw_up: DrawUp, whole: Amount | None) -> OrderOption:
    name, reached = candidate.product.id, compute_reached(draw_up)
    found = finding(Kind.OPTION, draw_up=draw_up, reached=reached)
    return OrderOption(write_option(name, write_volume(whole)), name, whole, found)
