"""A product at one strength, as one line draws it up in one ward: the sums and findings that depend on no baby."""

from collections.abc import Iterator
from fractions import Fraction
from math import ceil

from msgspec import Struct

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Recipe, Ward
from prepkit.quantities.amount import Amount, add, convert, divide, make_amount, multiply
from prepkit.quantities.units import Unit
from prepkit.rules.dose.course import Doses
from prepkit.rules.dose.syringe import RoundingLimits
from prepkit.rules.dose.vials import choose_vials
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.rule import Dilution

_GRAM, _ML, _MG, _MG_PER_KG = (make_amount(1, unit) for unit in ("g", "mL", "mg", "mg/kg"))
_NEEDLED = frozenset({"vial", "ampoule"})
"""Containers that are drawn from with a needle."""


class Strength(Struct, frozen=True):
    """A product at one strength."""

    product: Product
    recipe: Recipe | None
    dilution: Dilution
    limits: RoundingLimits
    """How far up a volume of it may be rounded: by the most in one dose, and by what its recipe makes."""
    ml_per_mg: Fraction
    per_kg_of_ml: Fraction
    """What 1 mL of it gives a baby of 1 g, in mg/kg."""
    cited: Citation
    name: Finding
    """Product and strength."""
    making: Finding | None
    """What has to be made up first; None for the product as it is."""
    mixing: Finding | None
    """In what and with what it is made up; None for the product as it is."""
    prescribed: tuple[Finding, ...]
    """What an order says beside the dose."""
    air: Amount | None
    """The air behind it in the syringe; None where there is none."""
    clearing: Finding | None
    """What the air is counted from, where the ward measured its catheter."""
    lacks_air: bool
    """Whether air belongs behind it and the ward never set how much."""
    parts: tuple[Finding | str, ...]
    """What is laid out with it to draw it up."""
    how: tuple[Finding | str, ...]
    """What to do with it, whatever is drawn up."""
    cautions: tuple[Finding, ...]
    """What can hurt, whatever is drawn up."""

    def compute_volume(self, mass: Amount) -> Amount:
        """Compute the volume that holds a mass, in mL."""
        return Amount(convert(mass, _MG.unit).value * self.ml_per_mg, _ML.unit)

    def compute_reached(self, volume: Amount, weight_g: int, unit: Unit) -> Amount:
        """Compute what a volume in mL gives per kg, in the unit asked for."""
        given, factor = volume.value, self.per_kg_of_ml
        mg_per_kg = Fraction(given.numerator * factor.numerator, given.denominator * factor.denominator * weight_g)
        return convert(Amount(mg_per_kg, _MG_PER_KG.unit), unit)


def prepare_strength(doses: Doses, recipe: Recipe | None, kit: Kit, ward: Ward) -> Strength:
    """Prepare the product of these doses as it is, or as a recipe makes it up."""
    line, product, most = doses.line, doses.product, doses.most
    air, catheter = find_air(line, kit, ward), ward.find_dead_volume(line.id, kit.id) if line.air else None
    dilution = _describe(product, recipe, kit)
    made = dilution.made
    bounds = [divide(most, dilution.strength, _ML.unit)] if most else []
    return Strength(
        product=product,
        recipe=recipe,
        dilution=dilution,
        limits=RoundingLimits(min([*bounds, made] if made else bounds, default=None)),
        ml_per_mg=divide(_MG, dilution.strength, _ML.unit).value,
        per_kg_of_ml=divide(multiply(_ML, dilution.strength, _MG.unit), _GRAM, _MG_PER_KG.unit).value,
        cited=cite(kit, product.basis, product.source),
        name=finding(Kind.STRENGTH, product=product.name, strength=dilution.strength),
        making=_find_making(product, recipe) if recipe else None,
        mixing=_find_mixing(recipe, ward) if recipe else None,
        prescribed=_prescribe(line, product, dilution),
        air=air if air and air.value else None,
        clearing=finding(Kind.CLEARS, dead_volume=catheter, air=air) if catheter else None,
        lacks_air=line.air and air is None,
        parts=tuple(_list_parts(product, recipe, ward)),
        how=tuple(_list_how(product, recipe, lacks_air=line.air and air is None)),
        cautions=tuple(_list_cautions(line, lacks_air=line.air and air is None)),
    )


def find_air(line: DoseLine, kit: Kit, ward: Ward) -> Amount | None:
    """Find the air that stays behind a dose, in mL: what its catheter holds, rounded up to 0.1 mL, or the ward's own.

    None where the line has none, or where the ward never set it.
    """
    if not line.air:
        return None
    catheter = ward.find_dead_volume(line.id, kit.id)
    if catheter is None:
        return ward.air
    return Amount(Fraction(ceil(convert(catheter.volume, _ML.unit).value * 10), 10), _ML.unit)


def _describe(product: Product, recipe: Recipe | None, kit: Kit) -> Dilution:
    if recipe is None:
        return Dilution(UNDILUTED, product.strength, product, None, None, None)
    cited = cite(kit, recipe.basis, (recipe.source,))
    return Dilution(recipe.id, recipe.gives, product, recipe, add(recipe.take, recipe.add), cited)


def _find_making(product: Product, recipe: Recipe) -> Finding:
    taken = {"take": recipe.take, "strength": product.strength}
    return finding(Kind.MAKE_FIRST, **taken, add=recipe.add, diluent=recipe.diluent)


def _find_mixing(recipe: Recipe, ward: Ward) -> Finding | None:
    syringe, diluent = ward.find_mixing(recipe), ward.find_diluent(recipe)
    if syringe is None or diluent is None or not ward.needle:
        return None
    opened, _ = choose_vials(recipe.add, diluent.holds)
    return finding(Kind.MIX_IN, syringe=syringe, add=recipe.add, diluent=diluent, opened=opened, needle=ward.needle[0])


def _prescribe(line: DoseLine, product: Product, dilution: Dilution) -> tuple[Finding, ...]:
    mosts = tuple(most for most in (line.most, product.most) if most is not None)
    return (
        finding(Kind.MOSTS_PRESCRIBED, mosts=mosts),
        finding(Kind.PRODUCT_PRESCRIBED, product=product),
        *((finding(Kind.MADE_UP, dilution=dilution),) if dilution.recipe else ()),
    )


def _list_parts(product: Product, recipe: Recipe | None, ward: Ward) -> Iterator[Finding | str]:
    """List what it is made up in and with, what is left of that, and what the product itself needs.

    A product that comes with parts of its own says so where it wants a needle that is not the ward's.
    """
    syringe, diluent = (ward.find_mixing(recipe), ward.find_diluent(recipe)) if recipe else (None, None)
    if recipe is not None and syringe is not None and diluent is not None:
        opened, _ = choose_vials(recipe.add, diluent.holds)
        yield finding(Kind.PART_MIXING, holds=syringe.holds)
        yield finding(Kind.PART_DILUENT, name=diluent.name, opened=opened)
        yield finding(Kind.PART_STOCK_LABEL)
    if ward.needle and (recipe is not None or (not product.parts and product.container in _NEEDLED)):
        yield finding(Kind.PART_NEEDLE, gauge=ward.needle[0].gauge)
    yield from product.parts


def _list_how(product: Product, recipe: Recipe | None, *, lacks_air: bool) -> Iterator[Finding | str]:
    yield from product.handling
    if lacks_air:
        yield finding(Kind.ASK_FOR_AIR)
    if recipe is not None:
        yield finding(Kind.LABEL_REMAINDER)


def _list_cautions(line: DoseLine, *, lacks_air: bool) -> Iterator[Finding]:
    if line.route != "intravenous":
        yield finding(Kind.NOT_FOR_INJECTION, route=line.route)
    if lacks_air:
        yield finding(Kind.NO_AIR_STATED)
