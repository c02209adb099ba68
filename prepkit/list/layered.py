"""A line that the ward file changed: marked as such, shown beside the kit's own value, and held to what the kit allows.

Each change is judged for this one baby by what the line gives with it and without it, all else alike. A change that
goes further than the kit needs an approval in force; without one the line is blocked.
"""

from collections.abc import Iterator, Mapping

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.axes import OF_DOSE
from prepkit.kit.kit import Kit, Product
from prepkit.kit.layer import Layer, find_followed
from prepkit.kit.lines import Line
from prepkit.kit.ward import Ward, Widening
from prepkit.rules.approvals import caution_review, find_widening
from prepkit.rules.findings import Finding, Kind, finding
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
    kits_own = _find_kits_own(outcome, kit_outcome)
    changes = tuple(_list_changes(line, outcome, kit_outcome, layer))
    today = context.now.date()
    approvals = [find_widening(context.ward, what, layer.kit.id, today) for what in wider]
    refused = tuple(dict.fromkeys(each for each in approvals if isinstance(each, Finding)))
    phrases = tuple(dict.fromkeys(phrase for each in wider.values() for phrase in each))
    if refused:
        blocked = finding(Kind.WIDER_REFUSED, phrases=phrases, refusals=refused)
        return Outcome(blocked=blocked, working=(*changes, finding(Kind.WIDER_STOPS)), kits_own=kits_own)
    granted = [approval for approval in approvals if isinstance(approval, Widening)]
    if outcome.blocked:
        return _show_blocked(line, outcome, kits_own, changes, layer)
    marked = outcome._replace(kits_own=kits_own, working=(*outcome.working, *changes))
    if granted:
        return _allow(marked, granted, phrases, context)
    return marked._replace(details=(_find_remark(line, kits_own, layer), *marked.details)) if kits_own else marked


def _find_remark(line: Line, kits_own: Finding, layer: Layer) -> Finding:
    """Find what stands beside a value that is not the kit's."""
    if line.id in layer.added:
        return finding(Kind.ADDED_BY_WARD)
    return finding(Kind.WARDS_OWN, kits_own=kits_own)


def _show_blocked(
    line: Line, outcome: Outcome, kits_own: Finding | None, changes: tuple[Finding, ...], layer: Layer
) -> Outcome:
    """Show beside why the ward's own is blocked what the kit's own gives; of what only follows it, nothing is said."""
    if not kits_own or not changes or not _is_changed(line, layer):
        return outcome
    if line.id in layer.added:
        beside = finding(Kind.ADDED_BY_WARD)
    else:
        beside = finding(Kind.WARDS_OWN_BESIDE, kits_own=kits_own)
    blocked = finding(Kind.BLOCKED_BESIDE, reason=outcome.blocked, beside=beside)
    return outcome._replace(blocked=blocked, kits_own=kits_own, working=(*outcome.working, *changes))


def _is_changed(line: Line, layer: Layer) -> bool:
    drawn = set(getattr(line, "products", ()))
    return line.id in layer.lines or line.id in layer.added or bool(drawn & layer.products.keys())


def _allow(outcome: Outcome, granted: list[Widening], phrases: tuple[Finding, ...], context: RuleContext) -> Outcome:
    """The ward's value on its approvals, which it says, and on which a tick of it hangs."""
    references = tuple(dict.fromkeys(each.reference for each in granted))
    kits_own = outcome.kits_own or finding(Kind.SAME_AS_KITS)
    reviews = (caution for each in granted for caution in caution_review(each, context.now.date()))
    return outcome._replace(
        kits_own=kits_own,
        standing=(*(finding(Kind.ON_WIDENING, approved=each) for each in granted), *outcome.standing),
        details=(finding(Kind.WARDS_OWN_APPROVED, references=references, kits_own=kits_own), *outcome.details),
        working=(
            *outcome.working,
            *(finding(Kind.WIDER_GRANTED, phrases=phrases, approved=each) for each in granted),
        ),
        cautions=(
            finding(Kind.WIDER_ALLOWED, phrases=phrases, references=references),
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
    return apply_rule(
        own, RuleContext(layer.own, ward, context.baby, context.now, found, context.orders, context.entered)
    )


def _find_wider(line: Line, outcome: Outcome, context: RuleContext, layer: Layer) -> Mapping[str, tuple[Finding, ...]]:
    """Find how the ward's goes further than the kit, by the id that an approval has to name."""
    wider: dict[str, tuple[Finding, ...]] = {}
    if outcome.blocked:
        return wider
    if line.id in layer.added and line.kind in _MEDICINES:
        wider[line.id] = (finding(Kind.NO_SUCH_LINE),)
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


def _find_wider_product(
    line: Line, outcome: Outcome, context: RuleContext, layer: Layer
) -> dict[str, tuple[Finding, ...]]:
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


def _compare(line: Line, outcome: Outcome, change: _Change, context: RuleContext) -> tuple[Finding, ...]:
    """Compare with the line without the change; of products, like with like."""
    if outcome.product and outcome.product not in getattr(change.line, "products", ()):
        return (finding(Kind.NO_SUCH_PRODUCT, name=_find_product(change.kit, outcome.product).name),)
    context = RuleContext(
        change.kit, change.ward, context.baby, context.now, context.found, context.orders, context.entered
    )
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


def _find_kits_own(outcome: Outcome, kit_outcome: Outcome | None) -> Finding | None:
    """The kit's own value in short; None where it is what the ward file gives too."""
    if kit_outcome is None:
        return finding(Kind.KITS_NONE)
    if _list_values(outcome) == _list_values(kit_outcome):
        return None
    if kit_outcome.blocked:
        return finding(Kind.KITS_BLOCKED)
    details = tuple(each for each in kit_outcome.details if each not in outcome.details)
    if kit_outcome.show == outcome.show and not outcome.blocked and details:
        return finding(Kind.KITS_DETAILS, details=details)
    return kit_outcome.show or finding(Kind.NO_AMOUNT)


def _list_values(outcome: Outcome) -> tuple[object, ...]:
    amounts = (outcome.due, outcome.in_syringe, outcome.amount, outcome.low, outcome.high, outcome.discard)
    things = (outcome.sizes, outcome.how_many, outcome.syringe, outcome.vials)
    return (outcome.blocked, *amounts, *things, outcome.show, outcome.details)


def _list_changes(line: Line, outcome: Outcome, kit_outcome: Outcome | None, layer: Layer) -> Iterator[Finding]:
    """List what the ward file changed and what the kit has in its place."""
    if kit_outcome is None:
        yield finding(Kind.LINE_ADDED)
    else:
        own = {"blocked": kit_outcome.blocked, "show": kit_outcome.show, "details": kit_outcome.details}
        if line.id in layer.lines:
            yield finding(Kind.LINE_REPLACED, **own)
            yield from _list_lost_words(line, layer.lines[line.id])
        elif _list_values(outcome) != _list_values(kit_outcome):
            yield finding(Kind.LINE_CHANGED, **own)
    for name in getattr(line, "products", ()):
        if name in layer.products and name == (outcome.product or name):
            yield finding(Kind.PRODUCT_REPLACED, product=_find_product(layer.kit, name))
            yield finding(Kind.KITS_PRODUCT, product=layer.products[name])


def _list_lost_words(line: Line, own: Line) -> Iterator[Finding]:
    if line.name != own.name:
        yield finding(Kind.KITS_NAME, name=own.name)
    weight, kits = getattr(line, "weight", None), getattr(own, "weight", None)
    if weight and kits and weight != kits:
        yield finding(Kind.KITS_WEIGHT, axis=OF_DOSE[kits])
    lost = tuple(words for words in own.how if words not in line.how)
    if lost:
        yield finding(Kind.KITS_WORDS, lost=lost)
    left_off = tuple(part for part in own.parts if part not in line.parts)
    if left_off:
        yield finding(Kind.KITS_PARTS, left_off=left_off)
