"""The kinds of line that a kit may declare, each with its fields.

A line fills in declared fields; there is no formula language. A new kind is a class here, a rule in `prepkit.rules` and
a row in the table that joins them.
"""

from typing import Annotated, ClassVar, Literal, TypeAlias

from msgspec import Meta, field

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

WhichWeight = Annotated[
    Literal["birth", "now", "greater"], Meta(description="the weight that it is per kg of: at birth, now, the greater")
]


class CommonLine(Based, frozen=True, kw_only=True):
    """What every line has."""

    id: Annotated[Id, Meta(description="the line's id, once in its kit; ward files name it")]
    group: Annotated[Id, Meta(description="the id of the group under which the list shows it")]
    name: Annotated[Text, Meta(description="what the list calls it: medicines and devices by their generic names")]
    how: Annotated[Texts, Meta(description="what to do with it, a sentence each")] = ()
    parts: Annotated[
        Texts, Meta(description="what is laid out with it and ticked with it, a thing each: no line of its own")
    ] = ()
    cautions: Annotated[
        Texts, Meta(description="what can hurt, a sentence each, the gravest first; what to do about it is `how`")
    ] = ()
    essential: Annotated[bool, Meta(description="whether the line may never be set aside as not needed")] = False
    optional: Annotated[bool, Meta(description="whether a ward may leave the line out altogether")] = False
    goes_with: Annotated[Id | None, Meta(description="the optional line without which this one is left out too")] = None
    aloud: Annotated[bool, Meta(description="whether the line is part of the summary that is read aloud")] = False
    claims: Annotated[
        dict[FactId, Text],
        Meta(
            description="what its tick says of facts; where one says otherwise, that has to be put right before ready"
        ),
    ] = field(default_factory=dict)
    check: Annotated[
        bool | None,
        Meta(description="whether a second person works it out again; by default every medicine and the device"),
    ] = None


class Band(Where, frozen=True, kw_only=True):
    """One band of a table; a basis or source of its own where it differs from the line's."""

    basis: Annotated[Basis | None, Meta(description="the basis of this band's figure, where not the line's")] = None
    source: Annotated[Ids, Meta(description="the sources of this band's figure, where not the line's")] = ()


class DoseBand(Band, frozen=True, kw_only=True):
    """The dose for one band."""

    dose: Annotated[DosePerWeight, Meta(description="the dose per kg for this band")]


class DoseLine(CommonLine, frozen=True, kw_only=True, tag="dose", tag_field="kind"):
    """A medicine: a dose per kg, drawn up from what the ward stocks, in a syringe that measures it."""

    kind: ClassVar[Annotated[Literal["dose"], Meta(description="the kind of line")]] = "dose"
    route: Annotated[Route, Meta(description="which of the ward's syringes serve: one syringe never serves two routes")]
    weight: WhichWeight
    products: Annotated[
        Ids, Meta(min_length=1, description="the products that serve; the ward's stock says which is used")
    ]
    dose: Annotated[
        DosePerWeight | None, Meta(description="the dose, where neither the product states its own nor bands do")
    ] = None
    band: Annotated[tuple[DoseBand, ...], Meta(description="the dose by bands, in the place of one dose")] = ()
    most: Annotated[Mass | None, Meta(description="the most in one dose, whatever the weight or the mark")] = None
    earlier: Annotated[
        FactId | None, Meta(description="where a course is counted: the fact that holds the doses given before")
    ] = None
    air: Annotated[bool, Meta(description="whether the ward's volume of air stays behind the dose in the syringe")] = (
        False
    )


class SizeBand(Band, frozen=True, kw_only=True):
    """The size for one band; more than one where any of them serves."""

    size: Annotated[
        tuple[Text, ...],
        Meta(
            min_length=1,
            max_length=3,
            description="the size, as its package prints it; several where any of them serves",
        ),
    ]
    when_size: Annotated[Text | None, Meta(description="where the method follows another line: its size")] = None


class SizeMethod(Spec, frozen=True, kw_only=True):
    """One way to find a size: bands over one fact, or over another line's size."""

    by: Annotated[Text, Meta(description="what the bands go by, in words: weight now, gestation today")]
    follows: Annotated[Id | None, Meta(description="the line whose size decides, by `when_size` of each band")] = None
    band: Annotated[tuple[SizeBand, ...], Meta(min_length=1, description="the sizes by bands, from low to high")]


class SizeLine(CommonLine, frozen=True, kw_only=True, tag="size", tag_field="kind"):
    """A thing that comes in sizes."""

    kind: ClassVar[Annotated[Literal["size"], Meta(description="the kind of line")]] = "size"
    method: Annotated[
        tuple[SizeMethod, ...],
        Meta(min_length=1, description="the ways to find the size; where they disagree the line says so"),
    ]
    choose: Annotated[
        Literal["one", "every", "any"],
        Meta(
            description="one: each method gives one size; every: lay out all that fit; any: whichever of those that fit"
        ),
    ] = "one"
    label: Annotated[
        bool, Meta(description="whether the bands are a device's label, which only an approval widens")
    ] = False
    sizes: Annotated[tuple[Text, ...], Meta(description="all sizes from small to large; needed for also_below")] = ()
    also_below: Annotated[bool, Meta(description="whether the next smaller size is laid out too")] = False


class DepthBand(Band, frozen=True, kw_only=True):
    """The depth for one band."""

    depth: Annotated[Length, Meta(description="how far in")]


class DepthMethod(Based, frozen=True, kw_only=True):
    """One way to find a length: a formula, a table, a fixed range, or a length measured on the ward's device."""

    by: Annotated[Text, Meta(description="the method's name in words: weight now, gestation today, formula")]
    per_kg: Annotated[LengthPerWeight | None, Meta(description="formula: this for each kg ...")] = None
    weight: Annotated[
        WhichWeight | None, Meta(description="formula: the weight that it is per kg of: at birth, now, the greater")
    ] = None
    plus: Annotated[Length | None, Meta(description="... plus this")] = None
    band: Annotated[tuple[DepthBand, ...], Meta(description="table: a depth for each band, from low to high")] = ()
    low: Annotated[Length | None, Meta(description="fixed range: from this ...")] = None
    high: Annotated[Length | None, Meta(description="... to this")] = None
    measured: Annotated[bool, Meta(description="the length that the ward measured, less the clearance it set")] = False
    follows: Annotated[
        Id | None,
        Meta(description="measured: the size line before it; a length measured on another size does not serve"),
    ] = None


class DepthLine(CommonLine, frozen=True, kw_only=True, tag="depth", tag_field="kind"):
    """How far something goes in. The first method that serves is the mark; others are shown where they differ."""

    kind: ClassVar[Annotated[Literal["depth"], Meta(description="the kind of line")]] = "depth"
    method: Annotated[
        tuple[DepthMethod, ...], Meta(min_length=1, description="the ways to find the depth, in order of preference")
    ]
    step: Annotated[Length, Meta(description="the marks to which the depth is shown")]
    differ: Annotated[Length | None, Meta(description="another method further off than this is shown beside it")] = None


class AmountBand(Band, frozen=True, kw_only=True):
    """An amount for one band: a value, or a range."""

    value: Annotated[AnyAmount | None, Meta(description="exactly this")] = None
    low: Annotated[AnyAmount | None, Meta(description="a range: from this ...")] = None
    high: Annotated[AnyAmount | None, Meta(description="... to this, in the same unit")] = None


class AmountLine(CommonLine, frozen=True, kw_only=True, tag="amount", tag_field="kind"):
    """An amount that goes by facts, not by weight times a dose."""

    kind: ClassVar[Annotated[Literal["amount"], Meta(description="the kind of line")]] = "amount"
    route: Annotated[Route, Meta(description="by which way it is given")]
    band: Annotated[
        tuple[AmountBand, ...], Meta(min_length=1, description="a volume, or a range of volumes, for each band")
    ]


class WardSets(Spec, frozen=True, kw_only=True):
    """A value that each ward sets for itself; the two ends guard against slips, and are no clinical limits."""

    least: Annotated[AnyAmount, Meta(description="no value below this is taken")]
    most: Annotated[AnyAmount, Meta(description="no value above this is taken, in the unit of least")]


class SettingBand(AmountBand, frozen=True, kw_only=True):
    """A setting for one band: a value, a range, a floor, a fact taken over, or what the ward sets."""

    floor: Annotated[AnyAmount | None, Meta(description="at or above this")] = None
    copies: Annotated[FactId | None, Meta(description="the fact whose amount is set")] = None
    ward_sets: Annotated[
        WardSets | None, Meta(description="the ward file's own value; where it sets none, it is entered with the tick")
    ] = None


class SettingLine(CommonLine, frozen=True, kw_only=True, tag="setting", tag_field="kind"):
    """Something to be set or kept."""

    kind: ClassVar[Annotated[Literal["setting"], Meta(description="the kind of line")]] = "setting"
    band: Annotated[tuple[SettingBand, ...], Meta(min_length=1, description="what to set for each band")]


class CountBand(Band, frozen=True, kw_only=True):
    """How many for one band."""

    count: Annotated[int, Meta(ge=1, le=20, description="how many to lay out")]


class SupplyLine(CommonLine, frozen=True, kw_only=True, tag="supply", tag_field="kind"):
    """A thing to lay out; how many, which size and how far in where that matters."""

    kind: ClassVar[Annotated[Literal["supply"], Meta(description="the kind of line")]] = "supply"
    says: Annotated[
        Text | None, Meta(description="what stands in the place of an amount, such as: per local policy")
    ] = None
    count: Annotated[tuple[CountBand, ...], Meta(description="how many, for each band; without it, one")] = ()
    size: Annotated[SizeMethod | None, Meta(description="how its size is found, where it comes in sizes")] = None
    length: Annotated[DepthMethod | None, Meta(description="how far in it goes, where that matters")] = None
    step: Annotated[Length | None, Meta(description="the marks to which the length is shown")] = None


class TrialLine(CommonLine, frozen=True, kw_only=True, tag="trial", tag_field="kind"):
    """Something to try before the cot."""

    kind: ClassVar[Annotated[Literal["trial"], Meta(description="the kind of line")]] = "trial"
    of: Annotated[
        Ids, Meta(description="the lines whose values are tried; when one changes, the trial is done again")
    ] = ()


Line: TypeAlias = DoseLine | SizeLine | DepthLine | AmountLine | SettingLine | SupplyLine | TrialLine
