"""The rule of a `dose` line, and what can be ordered for one.

Where nothing was ordered, the ward's stock is walked in its order of preference, and for each product its recipes in
theirs; the first strength whose volume a stocked syringe measures wins. Where none does, the line is blocked and names
the nearest miss: no dilution is ever invented, and nothing is rounded past what the ward allows. What was ordered is
drawn up as it was ordered, or the line is blocked: nothing takes its place. What can be ordered is the measured dose of
each product, and whole containers.
"""

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Ward
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import show_amount, write_decimal
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
from prepkit.rules.dose.draw_up import DrawUp, compute_reached, show_draw_up
from prepkit.rules.dose.vials import show_vials
from prepkit.rules.dose.whole_containers import draw_whole, list_whole, name_whole
from prepkit.rules.rule import AlwaysRule, Order, Outcome, Rule, RuleContext

_NO_WARD = "no ward file: which strengths and syringes are in stock is not known"


class DoseRule(Struct, frozen=True):
    """A medicine, with the products of it that the ward stocks."""

    line: DoseLine
    products: tuple[Product, ...]
    """All that the kit knows."""
    stocked: tuple[StockedProduct, ...]
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the volume to draw up, the syringe, the containers to open; or why there is none."""
        order = context.orders.get(self.line.id)
        if order is not None:
            return self._work_out_ordered(context, order)
        misses: list[Miss] = []
        for candidate in list_candidates(self.stocked, context):
            if isinstance(candidate, str):
                return _block_undue(candidate)
            found = draw_measured(candidate)
            if isinstance(found, DrawUp):
                return show_draw_up(context, found)
            misses += found
        return _block(misses) if misses else self._block_unstocked()

    def _work_out_ordered(self, context: RuleContext, order: Order) -> Outcome:
        """Draw up what was ordered and nothing else."""
        for candidate in list_candidates(self.stocked, context):
            if isinstance(candidate, str):
                return _block_undue(candidate)
            if candidate.product.id == order.product:
                found = _draw_ordered(candidate, order)
                return (
                    _void(order, candidate.product, found) if isinstance(found, str) else show_draw_up(context, found)
                )
        product = next((each for each in self.products if each.id == order.product), None)
        return _void(order, product, "it is not in stock for this line any more")

    def _block_unstocked(self) -> Outcome:
        names = " or ".join(_find_product(name, self.products).name for name in self.line.products)
        return Outcome(blocked=f"the ward file stocks no {names}", working=("Nothing in stock to draw it up from.",))


class UnstockedRule(Struct, frozen=True):
    """A medicine whose dose is known, and no ward file that says what it is drawn up from."""

    doses: Doses
    fixed: tuple[Outcome, ...] = ()

    def work_out(self, context: RuleContext) -> Outcome:
        """Find the dose that would be due; no volume."""
        due = self.doses.find_due(context)
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


def _draw_ordered(candidate: Candidate, order: Order) -> DrawUp | str:
    found = draw_measured(candidate) if order.whole is None else draw_whole(candidate, order.whole)
    if isinstance(found, DrawUp):
        return replace(found, ordered=_say_order(order, candidate.product))
    return found if isinstance(found, str) else _find_nearest(found).reason


def _say_order(order: Order, product: Product) -> str:
    """Say who ordered and which way: "ordered by RA: whole vials"."""
    return f"ordered by {order.by}: {name_whole(product) if order.whole is not None else 'measured'}"


def _void(order: Order, product: Product | None, reason: str) -> Outcome:
    """Block a line whose order does not fit this baby (any more); only a prescriber puts another in its place."""
    name = product.name if product else f'"{order.product}"'
    candidate = (
        f"{name_whole(product) if product else 'whole'}, {show_amount(order.whole)}" if order.whole else "measured"
    )
    return Outcome(
        blocked=f"ordered by {order.by}: {name}, {candidate}; {reason}: order again",
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


class OrderOption(Struct, frozen=True):
    """One thing that can be ordered, and that can be drawn up for this baby as the ward is stocked."""

    id: str
    """Canonical: "poractant-alfa" for the measured dose, "poractant-alfa 3 mL" for whole containers."""
    product: str
    whole: Amount | None
    """The volume of the whole containers, in mL; None for the measured dose."""
    words: str
    """Which way, the volume, the dose per kg that it reaches, what is opened and what is left."""


class OrderOptions(Struct, frozen=True):
    """What can be ordered, in the ward's order; and what might be looked for and is not among it, with why."""

    choices: tuple[OrderOption, ...]
    not_offered: tuple[str, ...]


def list_options(line: DoseLine, context: RuleContext) -> tuple[OrderOption, ...]:
    """List what can be ordered, whatever was. The first measured one is what is used where nothing was ordered."""
    return find_options(line, context).choices


def find_options(line: DoseLine, context: RuleContext) -> OrderOptions:
    """Find what can be ordered, and why the rest cannot."""
    if context.ward is None:
        return OrderOptions((), ("Nothing can be ordered without a ward file: what is in stock is not known.",))
    measured: list[OrderOption] = []
    whole: list[OrderOption] = []
    misses: list[str] = []
    for candidate in list_candidates(prepare_stocked(line, context.kit, context.ward), context):
        if isinstance(candidate, str):
            misses.append(f"Nothing more is offered: {candidate}.")
            break
        draw_up = draw_measured(candidate)
        if isinstance(draw_up, DrawUp):
            measured.append(_make_measured(candidate, draw_up))
        else:
            misses += dict.fromkeys(f"Not measured: {miss.reason}." for miss in draw_up)
        for volume in list_whole(candidate):
            found = draw_whole(candidate, volume)
            if isinstance(found, DrawUp):
                whole.append(_make_whole(candidate, found, volume))
            else:
                misses.append(
                    f"Not {name_whole(candidate.product)} of {candidate.product.name}, {show_amount(volume)}: {found}."
                )
    return OrderOptions((*measured, *whole), tuple(misses))


def write_volume(whole: Amount | None) -> str:
    """Write the volume of whole containers as it is stored and typed: "3 mL"; empty for the measured dose."""
    return f"{write_decimal(whole.value)} {whole.unit.text}" if whole is not None else ""


def write_option(product: str, whole: str) -> str:
    """Write the id of an option from its product's id and the text of its volume."""
    return f"{product} {whole}".rstrip()


def _make_measured(candidate: Candidate, draw_up: DrawUp) -> OrderOption:
    which = "repeat dose, measured" if candidate.due.is_repeat else "measured"
    of = "" if draw_up.dilution.id == UNDILUTED else f" of {show_amount(draw_up.dilution.strength)}"
    left = f", discard {show_amount(draw_up.left)}" if draw_up.left is not None and draw_up.left.value else ""
    reached = _show_reached(candidate, draw_up, of)
    words = f"{candidate.product.name}, {which}: {reached}; open {show_vials(draw_up.vials)}{left}"
    return OrderOption(write_option(candidate.product.id, ""), candidate.product.id, None, words)


def _make_whole(candidate: Candidate, draw_up: DrawUp, volume: Amount) -> OrderOption:
    opened = f"open {show_vials(draw_up.vials)}, nothing discarded"
    words = f"{candidate.product.name}, {name_whole(candidate.product)}: {_show_reached(candidate, draw_up)}; {opened}"
    return OrderOption(write_option(candidate.product.id, write_volume(volume)), candidate.product.id, volume, words)


def _show_reached(candidate: Candidate, draw_up: DrawUp, of: str = "") -> str:
    reached = compute_reached(draw_up, candidate.context)
    return f"{show_amount(draw_up.measured.volume)}{of} = {show_amount(reached, 1)}"
