"""A product at one strength, as one line draws it up in one ward: the sums and words that depend on no baby."""

from fractions import Fraction

from msgspec import Struct

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Recipe, Ward
from prepkit.quantities.amount import Amount, add, convert, divide, make_amount, multiply
from prepkit.quantities.text import show_amount
from prepkit.quantities.units import Unit
from prepkit.rules.dose.course import Doses
from prepkit.rules.dose.syringe import RoundingLimits
from prepkit.rules.rule import Dilution, cite_short

_GRAM, _ML, _MG, _MG_PER_KG = (make_amount(1, unit) for unit in ("g", "mL", "mg", "mg/kg"))


class Strength(Struct, frozen=True):
    """A product at one strength."""

    product: Product
    recipe: Recipe | None
    dilution: Dilution
    made: Amount | None
    """What its recipe makes in all; None for the product as it is."""
    limits: RoundingLimits
    """How far up a volume of it may be rounded: by the most in one dose, and by what its recipe makes."""
    ml_per_mg: Fraction
    per_kg_of_ml: Fraction
    """What 1 mL of it gives a baby of 1 g, in mg/kg."""
    shown: str
    """The strength: "80 mg/mL"."""
    name: str
    """Product and strength: "Poractant alfa 80 mg/mL"."""
    working: str
    prescribed: tuple[str, ...]
    """What an order says beside the dose."""
    air: str
    """The air behind it in the syringe: " + 0.5 mL air"; empty where there is none."""
    cautions: tuple[str, ...]
    """What holds of it whatever is drawn up."""

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
    dilution = _describe(product, recipe)
    made = add(recipe.take, recipe.add) if recipe else None
    bounds = [divide(most, dilution.strength, _ML.unit)] if most else []
    shown, tag = show_amount(dilution.strength), cite_short(kit, product.basis, product.source)
    return Strength(
        product=product,
        recipe=recipe,
        dilution=dilution,
        made=made,
        limits=RoundingLimits(min([*bounds, made] if made else bounds, default=None)),
        ml_per_mg=divide(_MG, dilution.strength, _ML.unit).value,
        per_kg_of_ml=divide(multiply(_ML, dilution.strength, _MG.unit), _GRAM, _MG_PER_KG.unit).value,
        shown=shown,
        name=f"{product.name} {shown}",
        working=f"Strength: {dilution.words}. {tag}",
        prescribed=_prescribe(line, product, dilution),
        air=f" + {show_amount(ward.air)} air" if line.air and ward.air and ward.air.value else "",
        cautions=_list_cautions(line, product, ward),
    )


def _describe(product: Product, recipe: Recipe | None) -> Dilution:
    if recipe is None:
        return Dilution(UNDILUTED, product.strength, f"{product.name} {show_amount(product.strength)}, undiluted")
    total = add(recipe.take, recipe.add)
    words = (
        f"{show_amount(recipe.take)} of {product.name} {show_amount(product.strength)}"
        f" + {show_amount(recipe.add)} {recipe.diluent} = {show_amount(total)} of {show_amount(recipe.gives)}"
        f" [{recipe.basis}: {recipe.source}]"
    )
    make = (
        f"first make {show_amount(recipe.take)} of {show_amount(product.strength)}"
        f" + {show_amount(recipe.add)} {recipe.diluent}"
    )
    return Dilution(recipe.id, recipe.gives, words, make)


def _prescribe(line: DoseLine, product: Product, dilution: Dilution) -> tuple[str, ...]:
    mosts = {show_amount(most) for most in (line.most, product.most) if most is not None}
    return (
        *(f"No single dose is more than {most}" for most in sorted(mosts)),
        f"{product.name} {show_amount(product.strength)} on the {product.container}",
        *((f"Made up: {dilution.words.partition(' [')[0]}",) if dilution.make else ()),
    )


def _list_cautions(line: DoseLine, product: Product, ward: Ward) -> tuple[str, ...]:
    cautions = list(product.handling)
    if line.air and ward.air is None:
        cautions.append("The ward file sets no volume of air behind the dose: ask what the unit uses.")
    if line.route != "intravenous":
        cautions.append("Not for injection: its own syringe, labelled with its route.")
    return tuple(cautions)
