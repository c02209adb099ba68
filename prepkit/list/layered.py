"""A line that the ward file changed: marked as such, shown beside the kit's own value, and held to what the kit allows.

Each change is judged for this one baby by what the line gives with it and without it, all else alike. A change that
goes further than the kit needs an approval in force; without one the line is blocked.
"""

from collections.abc import Iterator, Mapping

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.kit import Kit, Product
from prepkit.kit.layer import Layer, find_followed
from prepkit.kit.lines import Line
from prepkit.kit.ward import Ward, Widening
from prepkit.quantities.text import show_amount
from prepkit.rules.approvals import caution_review, find_widening, say_ground
from prepkit.rules.kinds import apply_rule, find_wider, list_dropped, list_dropped_of_product
from prepkit.rules.rule import Outcome, RuleContext

_MEDICINES = frozenset({"dose", "amount"})


class _Change(Struct, frozen=True):
    """One thing that the ward file changed of a line, and the same line and kit without that change."""

    what: str
    """The id that an approval has to name."""
    line: Line
    kit: Kit
    ward: Ward | None


def apply_layer(line: Line, outcome: Outcome, context: RuleContext) -> Outcome:
    """Hold what a line gives to what the kit allows, and say what the ward file changed; else leave it as it is."""
    layer = context.layer
    if layer is None or line.id not in layer.touched:
        return outcome
    kit_outcome = _find_kit_outcome(line, context, layer)
    wider = _find_wider(line, outcome, context, layer)
    short = _say_short(outcome, kit_outcome)
    said = tuple(_explain(line, outcome, kit_outcome, layer))
    today = context.now.date()
    approvals = {what: find_widening(context.ward, what, layer.kit.id, today) for what in wider}
    refused = [words for words in approvals.values() if isinstance(words, str)]
    phrases = "; ".join(dict.fromkeys(words for each in wider.values() for words in each))
    if refused:
        why = f"wider than the kit allows ({phrases}), and {'; '.join(dict.fromkeys(refused))}"
        stop = "Wider than the kit: a ward's own approval, or do not use."
        return Outcome(blocked=why, working=(*said, stop), kits_own=short)
    granted = [approval for approval in approvals.values() if isinstance(approval, Widening)]
    if outcome.blocked:
        return _say_blocked(line, outcome, short, said, layer)
    marked = outcome._replace(kits_own=short, working=(*outcome.working, *said))
    if granted:
        return _allow(marked, granted, phrases, context)
    remark = "added by the ward" if line.id in layer.added else f"ward's own value; the kit's: {short}"
    return marked._replace(details=(remark, *marked.details)) if short else marked


def _say_blocked(line: Line, outcome: Outcome, short: str, said: tuple[str, ...], layer: Layer) -> Outcome:
    """Say beside why the ward's own is blocked what the kit's own gives; of what only follows it, nothing is said."""
    if not short or not said or not _is_changed(line, layer):
        return outcome
    beside = "added by the ward" if line.id in layer.added else f"ward's own; the kit's: {short}"
    return outcome._replace(blocked=f"{outcome.blocked} ({beside})", kits_own=short, working=(*outcome.working, *said))


def _is_changed(line: Line, layer: Layer) -> bool:
    drawn = set(getattr(line, "products", ()))
    return line.id in layer.lines or line.id in layer.added or bool(drawn & layer.products.keys())


def _allow(outcome: Outcome, granted: list[Widening], phrases: str, context: RuleContext) -> Outcome:
    """The ward's value on its approvals, which it says, and on which a tick of it hangs."""
    today = context.now.date()
    names = " and ".join(dict.fromkeys(each.reference for each in granted))
    grounds = [f"{say_ground(each)}; review by {each.review_by:%d %b %Y}" for each in granted]
    beside = outcome.kits_own or "the same"
    reviews = (caution for each in granted for caution in caution_review(each, today))
    return outcome._replace(
        kits_own=beside,
        standing="; ".join((*(f"widening {ground}" for ground in grounds), *filter(None, (outcome.standing,)))),
        details=(f"ward's own value, on ward approval {names}; the kit's: {beside}", *outcome.details),
        working=(
            *outcome.working,
            *(f"Wider than the kit ({phrases}): ward approval {ground}. [local]" for ground in grounds),
        ),
        cautions=(
            f"Wider than the kit allows ({phrases}): used on the ward's approval {names}.",
            *dict.fromkeys(reviews),
            *outcome.cautions,
        ),
    )


def _find_kit_outcome(line: Line, context: RuleContext, layer: Layer) -> Outcome | None:
    """Find what the kit gives by itself: its line, its products, no length measured in the ward, followed lines alike.

    None where the ward file added the line.
    """
    own = layer.find_own_line(line)
    if own is None:
        return None
    lines = {each.id: each for each in layer.kit.line}
    found = dict(context.found)
    for name in find_followed(own):
        kit_outcome = _find_kit_outcome(lines[name], context, layer) if name in layer.touched else None
        found[name] = kit_outcome or found[name]
    ward = replace(layer.own_ward, measured=()) if layer.own_ward else None
    return apply_rule(own, RuleContext(layer.own, ward, context.baby, context.now, found, context.orders))


def _find_wider(line: Line, outcome: Outcome, context: RuleContext, layer: Layer) -> Mapping[str, tuple[str, ...]]:
    """Find how the ward's goes further than the kit, by the id that an approval has to name."""
    wider: dict[str, tuple[str, ...]] = {}
    if outcome.blocked:
        return wider
    if line.id in layer.added and line.kind in _MEDICINES:
        wider[line.id] = ("the kit has no such line",)
    own = layer.find_own_line(line)
    if own is None:
        return wider | _find_wider_product(line, outcome, context, layer)
    if line.id in layer.lines:
        dropped = tuple(list_dropped(line, own))
        found = _compare(line, outcome, _Change(line.id, own, layer.kit, context.ward), context)
        if dropped or found:
            wider[line.id] = (*dropped, *found)
    wider |= _find_wider_product(line, outcome, context, layer)
    if not wider and line.id in layer.lines and layer.products:
        # Neither change goes further by itself; the two together may.
        found = _compare(line, outcome, _Change(line.id, own, layer.own, layer.own_ward), context)
        wider |= {line.id: found} if found else {}
    return wider


def _find_wider_product(line: Line, outcome: Outcome, context: RuleContext, layer: Layer) -> dict[str, tuple[str, ...]]:
    """Find how a product that the ward file states anew goes further than the kit's own."""
    listed = [name for name in getattr(line, "products", ()) if name in layer.products]
    if not listed:
        return {}
    what = outcome.product if outcome.product in layer.products else listed[0]
    found = _compare(line, outcome, _Change(what, line, layer.own, layer.own_ward), context)
    if what == outcome.product:
        drawn = _find_product(layer.kit, what)
        found = (*found, *list_dropped_of_product(drawn, layer.products[what]))
    return {what: found} if found else {}


def _compare(line: Line, outcome: Outcome, change: _Change, context: RuleContext) -> tuple[str, ...]:
    """Compare with the line without the change; of products, like with like."""
    if outcome.product and outcome.product not in getattr(change.line, "products", ()):
        return (f"the kit's does not know {_find_product(change.kit, outcome.product).name}",)
    context = RuleContext(change.kit, change.ward, context.baby, context.now, context.found, context.orders)
    kit_outcome = apply_rule(change.line, context)
    if (
        outcome.product
        and not kit_outcome.blocked
        and kit_outcome.product != outcome.product
        and change.ward is not None
    ):
        stock = tuple(row for row in change.ward.stock if row.product == outcome.product)
        kit_outcome = apply_rule(change.line, replace(context, ward=replace(change.ward, stock=stock)))
    return find_wider(line, outcome, kit_outcome)


def _find_product(kit: Kit, name: str) -> Product:
    return next(product for product in kit.product if product.id == name)


def _say_short(outcome: Outcome, kit_outcome: Outcome | None) -> str:
    """The kit's own value in short; empty where it is what the ward file gives too."""
    if kit_outcome is None:
        return "none"
    if _list_values(outcome) == _list_values(kit_outcome):
        return ""
    if kit_outcome.blocked:
        return "blocked"
    if kit_outcome.show != outcome.show or outcome.blocked:
        return kit_outcome.show or "no amount"
    return (
        ", ".join(words for words in kit_outcome.details if words not in outcome.details)
        or kit_outcome.show
        or "no amount"
    )


def _list_values(outcome: Outcome) -> tuple[object, ...]:
    return (outcome.blocked, outcome.dose, outcome.amount, outcome.low, outcome.high, outcome.sizes, outcome.how_many,
            outcome.syringe, outcome.vials, outcome.discard, outcome.show, outcome.details)  # fmt: skip


def _explain(line: Line, outcome: Outcome, kit_outcome: Outcome | None, layer: Layer) -> Iterator[str]:
    """Say what the ward file changed and what the kit has in its place."""
    if kit_outcome is None:
        yield "Ward file: this line is added by the ward; the kit has none like it. [local]"
    else:
        whole = (
            f"blocked: {kit_outcome.blocked}"
            if kit_outcome.blocked
            else "; ".join(filter(None, (kit_outcome.show, *kit_outcome.details)))
        )
        if line.id in layer.lines:
            yield f"Ward file: this line is the ward's own. The kit's own: {whole or 'no amount'}. [local]"
            yield from _explain_words(line, layer.lines[line.id])
        elif _list_values(outcome) != _list_values(kit_outcome):
            yield f"Ward file: changed by the ward. The kit's own: {whole or 'no amount'}. [local]"
    for name in getattr(line, "products", ()):
        if name in layer.products and name == (outcome.product or name):
            yield f"Ward file: {_say_product(_find_product(layer.kit, name))} is the ward's own entry."
            yield f"The kit's own: {_say_product(layer.products[name])}. [local]"


def _explain_words(line: Line, own: Line) -> Iterator[str]:
    if line.name != own.name:
        yield f"The kit's own name: {own.name}."
    lost = [words for words in own.how if words not in line.how]
    if lost:
        yield f"The kit's own words: {' '.join(lost)}"


def _say_product(product: Product) -> str:
    dose = f", {show_amount(product.dose)}" if product.dose else ""
    return f"{product.name} {show_amount(product.strength)}{dose}"
