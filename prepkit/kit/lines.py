"""The kinds of line that a kit may declare, each with its fields.

A line fills in declared fields; there is no formula language. A new kind is a class here, a rule in `prepkit.rules` and
a row in the table that joins them. May import: `prepkit.kit.fields`, `prepkit.kit.spans`, pydantic.
"""

from typing import Annotated, Literal

from pydantic import Field

from prepkit.kit.fields import (
    AnyAmount,
    Based,
    Basis,
    DosePerWeight,
    FactId,
    Id,
    Ids,
    Length,
    LengthPerWeight,
    Mass,
    Route,
    Spec,
    Text,
    Texts,
)
from prepkit.kit.spans import Where


class CommonLine(Based):
    """What every line has."""

    id: Id = Field(description="the line's id, once in its kit; ward files name it")
    group: Id = Field(description="the id of the group under which the list shows it")
    name: Text = Field(description="what the list calls it: medicines and devices by their generic names")
    how: Texts = Field(default=(), description="what to do with it, a sentence each")
    cautions: Texts = Field(default=(), description="what can go wrong, a sentence each")
    essential: bool = Field(default=False, description="whether the line may never be set aside as not needed")
    aloud: bool = Field(default=False, description="whether the line is part of the summary that is read aloud")
    check: bool | None = Field(
        default=None,
        description="whether a second person works it out again; by default every medicine and the device",
    )


class Band(Where):
    """One band of a table; a basis or source of its own where it differs from the line's."""

    basis: Basis | None = Field(default=None, description="the basis of this band's figure, where not the line's")
    source: Ids = Field(default=(), description="the sources of this band's figure, where not the line's")


class DoseBand(Band):
    """The dose for one band."""

    dose: DosePerWeight = Field(description="the dose per kg for this band")


class EarlierDoses(Spec):
    """The facts that say what was given before."""

    given: FactId = Field(description="the fact that holds what was given in all (mass per kg); nothing means none")
    at: FactId = Field(description="the fact that holds when the last was given")


class DoseLine(CommonLine):
    """A medicine: a dose per kg, drawn up from what the ward stocks, in a syringe that measures it."""

    kind: Literal["dose"] = Field(description="the kind of line")
    route: Route = Field(description="which of the ward's syringes serve: one syringe never serves two routes")
    products: Ids = Field(min_length=1, description="the products that serve; the ward's stock says which is used")
    dose: DosePerWeight | None = Field(
        default=None, description="the dose, where neither the product states its own nor bands do"
    )
    band: Annotated[tuple[DoseBand, ...], Field(strict=False)] = Field(
        default=(), description="the dose by bands, in the place of one dose"
    )
    most: Mass | None = Field(default=None, description="the most in one dose, whatever the weight or the mark")
    earlier: EarlierDoses | None = Field(
        default=None, description="where the product allows repeats: which facts hold the doses given before"
    )
    air: bool = Field(
        default=False, description="whether the ward's volume of air stays behind the dose in the syringe"
    )


class SizeBand(Band):
    """The size for one band; more than one where any of them serves."""

    size: Annotated[tuple[Text, ...], Field(strict=False, min_length=1, max_length=3)] = Field(
        description="the size, as its package prints it; several where any of them serves"
    )
    when_size: Text | None = Field(default=None, description="where the method follows another line: its size")


class SizeMethod(Spec):
    """One way to find a size: bands over one fact, or over another line's size."""

    by: Text = Field(description="what the bands go by, in words: weight, gestation")
    follows: Id | None = Field(default=None, description="the line whose size decides, by `when_size` of each band")
    band: Annotated[tuple[SizeBand, ...], Field(strict=False, min_length=1)] = Field(
        description="the sizes by bands, from low to high"
    )


class SizeLine(CommonLine):
    """A thing that comes in sizes."""

    kind: Literal["size"] = Field(description="the kind of line")
    method: Annotated[tuple[SizeMethod, ...], Field(strict=False, min_length=1)] = Field(
        description="the ways to find the size; where they disagree the line says so"
    )
    choose: Literal["one", "every", "any"] = Field(
        default="one",
        description="one: each method gives one size; every: lay out all that fit; any: whichever of those that fit",
    )
    label: bool = Field(
        default=False, description="whether the bands are a device's label, which only an approval widens"
    )
    sizes: Annotated[tuple[Text, ...], Field(strict=False)] = Field(
        default=(), description="all sizes from small to large; needed for also_below"
    )
    also_below: bool = Field(default=False, description="whether the next smaller size is laid out too")


class DepthBand(Band):
    """The depth for one band."""

    depth: Length = Field(description="how far in")


class DepthMethod(Based):
    """One way to find a length: a formula, a table, a fixed range, or a length measured on the ward's device."""

    by: Text = Field(description="the method's name in words: weight, gestation, formula")
    per_kg: LengthPerWeight | None = Field(default=None, description="formula: this for each kg ...")
    plus: Length | None = Field(default=None, description="... plus this")
    band: Annotated[tuple[DepthBand, ...], Field(strict=False)] = Field(
        default=(), description="table: a depth for each band, from low to high"
    )
    low: Length | None = Field(default=None, description="fixed range: from this ...")
    high: Length | None = Field(default=None, description="... to this")
    measured: bool = Field(default=False, description="the length that the ward measured, less the clearance it set")
    follows: Id | None = Field(
        default=None,
        description="measured: the size line before it; a length measured on another size does not serve",
    )


class DepthLine(CommonLine):
    """How far something goes in. The first method that serves is the mark; others are shown where they differ."""

    kind: Literal["depth"] = Field(description="the kind of line")
    method: Annotated[tuple[DepthMethod, ...], Field(strict=False, min_length=1)] = Field(
        description="the ways to find the depth, in order of preference"
    )
    step: Length = Field(description="the marks to which the depth is shown")
    differ: Length | None = Field(default=None, description="another method further off than this is shown beside it")


class AmountBand(Band):
    """An amount for one band: a value, or a range."""

    value: AnyAmount | None = Field(default=None, description="exactly this")
    low: AnyAmount | None = Field(default=None, description="a range: from this ...")
    high: AnyAmount | None = Field(default=None, description="... to this, in the same unit")


class AmountLine(CommonLine):
    """An amount that goes by facts, not by weight times a dose."""

    kind: Literal["amount"] = Field(description="the kind of line")
    route: Route = Field(description="by which way it is given")
    band: Annotated[tuple[AmountBand, ...], Field(strict=False, min_length=1)] = Field(
        description="a volume, or a range of volumes, for each band"
    )


class SettingBand(AmountBand):
    """A setting for one band: a value, a range, a floor, or a fact taken over."""

    floor: AnyAmount | None = Field(default=None, description="at or above this")
    copies: FactId | None = Field(default=None, description="the fact whose amount is set")


class SettingLine(CommonLine):
    """Something to be set or kept."""

    kind: Literal["setting"] = Field(description="the kind of line")
    band: Annotated[tuple[SettingBand, ...], Field(strict=False, min_length=1)] = Field(
        description="what to set for each band"
    )


class CountBand(Band):
    """How many for one band."""

    count: Annotated[int, Field(ge=1, le=20)] = Field(description="how many to lay out")


class SupplyLine(CommonLine):
    """A thing to lay out; how many, which size and how far in where that matters."""

    kind: Literal["supply"] = Field(description="the kind of line")
    says: Text | None = Field(
        default=None, description="what stands in the place of an amount, such as: per local policy"
    )
    count: Annotated[tuple[CountBand, ...], Field(strict=False)] = Field(
        default=(), description="how many, for each band; without it, one"
    )
    size: SizeMethod | None = Field(default=None, description="how its size is found, where it comes in sizes")
    length: DepthMethod | None = Field(default=None, description="how far in it goes, where that matters")
    step: Length | None = Field(default=None, description="the marks to which the length is shown")


class TrialLine(CommonLine):
    """Something to try before the cot."""

    kind: Literal["trial"] = Field(description="the kind of line")
    of: Ids = Field(
        default=(), description="the lines whose values are tried; when one changes, the trial is done again"
    )


Line = Annotated[
    DoseLine | SizeLine | DepthLine | AmountLine | SettingLine | SupplyLine | TrialLine,
    Field(discriminator="kind"),
]
