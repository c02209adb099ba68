"""A kit with a ward file laid over it: lines, criteria, products and sources as this ward has them. Pure.

The two texts stay what they are; the layer is made from them anew for each list, so that an old record gives the list
that it gave. Whether the ward may go further than the kit is decided later, baby by baby, where the list is made.
"""

from collections.abc import Mapping
from typing import TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from prepkit.kit.kit import Criterion, Kit, Product
from prepkit.kit.lines import (
    CommonLine,
    DepthLine,
    DepthMethod,
    DoseLine,
    Line,
    SizeLine,
    SizeMethod,
    SupplyLine,
    TrialLine,
)
from prepkit.kit.ward import Local, Recipe, Ward
from prepkit.quantities.amount import Amount, add, convert

Row = TypeVar("Row", bound=CommonLine | Criterion | Product)


class Layer(Struct, frozen=True):
    """A kit as one ward has it, beside the kit's own."""

    kit: Kit
    """As the ward has it."""
    own: Kit
    """With its own lines, criteria and products; sources and products that only the ward file knows stand beside."""
    own_ward: Ward | None
    """The ward file for the kit's own products: each recipe gives what it gives with the kit's strength."""
    lines: Mapping[str, Line] = field(default_factory=dict)
    """The kit's own line by id, for each that the ward file replaces."""
    criteria: Mapping[str, Criterion] = field(default_factory=dict)
    """The kit's own criterion by id, for each that the ward file replaces."""
    products: Mapping[str, Product] = field(default_factory=dict)
    """The kit's own product by id, for each that the ward file states anew."""
    added: frozenset[str] = frozenset()
    """Ids of the lines that only the ward file has."""
    touched: frozenset[str] = frozenset()
    """Ids of the lines whose value may not be the kit's own: replaced, added, of a changed product, measured in the
    ward, or following such a line."""

    def find_own_line(self, line: Line) -> Line | None:
        """The kit's own line for a line of the layered kit; None where the ward file added it."""
        return None if line.id in self.added else self.lines.get(line.id, line)


def lay_over(kit: Kit, ward: Ward | None) -> Layer:
    """Lay a ward file over a kit; of a ward file that changes nothing of the kit, the kit itself comes back."""
    if ward is None:
        return Layer(kit, kit, ward)
    if any(kit.id in each.kits for each in ward.left_out):
        return lay_over(_leave_out(kit, ward), replace(ward, left_out=()))
    if not (ward.local or ward.product or ward.measured or ward.sources):
        return Layer(kit, kit, ward)
    local = [each for each in ward.local if kit.id in each.kits]
    own_lines = {line.id: line for line in kit.line}
    own_criteria = {criterion.id: criterion for criterion in kit.criterion}
    own_products = {product.id: product for product in kit.product}
    sources = {**ward.sources, **kit.sources}
    new = tuple(product for product in ward.product if product.id not in own_products)
    own = replace(kit, sources=sources, product=(*kit.product, *new))
    stated = {product.id: product for product in ward.product}
    lines, criteria = _list_lines(local, own_lines), _list_criteria(local, own_criteria)
    laid_products = {one.id: _keep_warnings(stated.get(one.id, one), one) for one in kit.product}
    laid = replace(
        kit,
        sources=sources,
        line=_put_in_place(kit.line, lines),
        criterion=_put_in_place(kit.criterion, criteria),
        product=(*laid_products.values(), *new),
    )
    products, replaced = _list_changed(laid_products, own_products), _list_changed(lines, own_lines)
    added = frozenset(lines.keys() - own_lines.keys())
    return Layer(
        kit=laid,
        own=own,
        own_ward=_make_own_ward(ward, products),
        lines=replaced,
        criteria=_list_changed(criteria, own_criteria),
        products=products,
        added=added,
        touched=_find_touched(laid, {*replaced, *added, *(row.line for row in ward.measured)}, products),
    )


def _leave_out(kit: Kit, ward: Ward) -> Kit:
    """The kit without the lines that the ward does without, what goes with them, and steps that are of them alone."""
    gone = {each.line for each in ward.left_out if kit.id in each.kits}
    gone |= {line.id for line in kit.line if line.goes_with in gone}
    lines = tuple(_stop_following(line, gone) for line in kit.line if line.id not in gone)
    criteria = tuple(row for row in kit.criterion if row.goes_with not in gone)
    procedure = kit.procedure
    if procedure is not None:
        steps = tuple(step for step in procedure.step if not (step.lines and gone.issuperset(step.lines)))
        kept = tuple(replace(step, lines=tuple(name for name in step.lines if name not in gone)) for step in steps)
        procedure = replace(procedure, step=kept)
    return replace(kit, line=lines, criterion=criteria, procedure=procedure)


def _stop_following(line: Line, gone: set[str]) -> Line:
    """A trial without the lines that are gone."""
    if not isinstance(line, TrialLine) or gone.isdisjoint(line.of):
        return line
    return replace(line, of=tuple(name for name in line.of if name not in gone))


def find_followed(line: Line) -> tuple[str, ...]:
    """Ids of the lines that a line follows."""
    if isinstance(line, TrialLine):
        return line.of
    methods: tuple[SizeMethod | DepthMethod | None, ...] = ()
    if isinstance(line, SizeLine | DepthLine):
        methods = line.method
    elif isinstance(line, SupplyLine):
        methods = (line.size, line.length)
    return tuple(method.follows for method in methods if method and method.follows)


def compute_recipe_strength(recipe: Recipe, product: Product) -> Amount:
    """What a recipe gives with this product's strength, in the unit of what it is said to give."""
    total = add(recipe.take, recipe.add)
    share = convert(recipe.take, total.unit).value / total.value
    return Amount(convert(product.strength, recipe.gives.unit).value * share, recipe.gives.unit)


def _list_lines(local: list[Local], own: Mapping[str, Line]) -> dict[str, Line]:
    """The ward's lines by id. A ward drops no caution of the kit's, nothing read aloud and nothing that a tick says."""
    lines: dict[str, Line] = {line.id: line for each in local for line in each.line}
    for name in lines.keys() & own.keys():
        line, kept = lines[name], own[name]
        cautions = (*kept.cautions, *(words for words in line.cautions if words not in kept.cautions))
        lines[name] = replace(
            line, cautions=cautions, aloud=kept.aloud or line.aloud, claims={**line.claims, **kept.claims}
        )
    return lines


def _list_criteria(local: list[Local], own: Mapping[str, Criterion]) -> dict[str, Criterion]:
    """The ward's criteria by id; one that the kit does not have says so wherever it is read."""
    criteria = {criterion.id: criterion for each in local for criterion in each.criterion}
    for name in criteria.keys() - own.keys():
        criteria[name] = replace(criteria[name], text=f"{criteria[name].text} (added by the ward)")
    return criteria


def _list_changed(ward: Mapping[str, Row], own: Mapping[str, Row]) -> dict[str, Row]:
    """The kit's own, of those that the ward's differ from."""
    return {name: own[name] for name in ward if name in own and ward[name] is not own[name] and ward[name] != own[name]}


def _put_in_place(own: tuple[Row, ...], ward: Mapping[str, Row]) -> tuple[Row, ...]:
    """The kit's rows, each with the ward's in its place where there is one, and the ward's others at the end."""
    names = {row.id for row in own}
    return (*(ward.get(row.id, row) for row in own), *(row for name, row in ward.items() if name not in names))


def _keep_warnings(product: Product, own: Product) -> Product:
    """The ward's product with the kit's own handling and parts in front and, where it states none, its range of doses.

    A ward cannot drop what the label asks for.
    """
    if product is own:
        return own
    handling = (*own.handling, *(words for words in product.handling if words not in own.handling))
    parts = (*own.parts, *(part for part in product.parts if part not in own.parts))
    return replace(product, handling=handling, parts=parts, dose_range=product.dose_range or own.dose_range)


def _make_own_ward(ward: Ward, products: Mapping[str, Product]) -> Ward:
    if not products:
        return ward
    recipes = (_remake(recipe, products.get(recipe.product)) for recipe in ward.recipe)
    return replace(ward, recipe=tuple(recipes))


def _remake(recipe: Recipe, product: Product | None) -> Recipe:
    if product is None:
        return recipe
    return replace(recipe, gives=compute_recipe_strength(recipe, product))


def _find_touched(kit: Kit, changed: set[str], products: Mapping[str, Product]) -> frozenset[str]:
    touched = set(changed)
    for line in kit.line:
        is_drawn = isinstance(line, DoseLine) and any(name in products for name in line.products)
        if is_drawn or touched.intersection(find_followed(line)):
            touched.add(line.id)
    return frozenset(touched)
