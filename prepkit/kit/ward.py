"""The ward file: what one neonatal ward stocks, has approved, prefers and does its own way.

May import: `prepkit.kit` and pydantic.
"""

from datetime import date
from typing import Annotated

from pydantic import Field

from prepkit.kit.fields import AnyVolume, Basis, Id, Ids, Length, Route, Share, Spec, Strength, Text, Volume
from prepkit.kit.kit import Criterion, Product, Source
from prepkit.kit.lines import Line
from prepkit.kit.spans import GestationSpan, WeightSpan

UNDILUTED = "undiluted"


class SyringeStock(Spec):
    """A syringe that the ward keeps, for one route only."""

    route: Route
    holds: Volume = Field(description="its nominal capacity")
    marks: Volume = Field(description="the volume between two of its marks")
    least: Volume = Field(description="the least volume that the ward measures with it")


class Recipe(Spec):
    """A dilution that the ward has approved."""

    id: Id
    product: Id
    take: Volume
    add: Volume
    diluent: Text
    gives: Strength
    basis: Basis
    source: Text = Field(description="where the recipe comes from, in words")


class Stock(Spec):
    """A product that the ward keeps, in order of preference."""

    product: Id
    holds: Annotated[tuple[Volume, ...], Field(strict=False, min_length=1, max_length=4)] = Field(
        description="the containers kept"
    )
    use: Annotated[tuple[Id, ...], Field(strict=False, min_length=1)] = Field(
        default=(UNDILUTED,), description='recipes in order of preference; "undiluted" stands for the product as it is'
    )


class Approved(Spec):
    """Who in the ward approved something, when, and until when that holds."""

    reference: Text
    approver: Text = Field(description="the approver's role, never a name")
    approved_on: date
    review_by: date = Field(description="the last day on which it holds")


class Approval(Approved):
    """The ward's word that a device may be used outside its label."""

    line: Id
    size: Text
    weight: WeightSpan
    gestation: GestationSpan


class Widening(Approved):
    """The ward's word that what this file changes may go further than the kit does."""

    what: Id = Field(description="the line, criterion or product of this file that it is for")
    kits: Ids = Field(min_length=1, description="the kits in which it counts")


class Local(Spec):
    """Lines and criteria of the ward's own, over those of some kits."""

    kits: Ids = Field(min_length=1, description="ids of the kits that they are for")
    line: Annotated[tuple[Line, ...], Field(strict=False)] = Field(
        default=(), description="with the id of a kit's line it stands in that one's place; with another it is added"
    )
    criterion: Annotated[tuple[Criterion, ...], Field(strict=False)] = Field(
        default=(), description="as for lines; a kit's question stays, and may have another beside it"
    )


class MeasuredLength(Spec):
    """The length measured on the ward's own device, from the port in use to the opening at its far end."""

    line: Id
    device: Text
    length: Length
    clearance: Length = Field(description="how far short of the opening the mark stays (0.5-1 cm)")
    measured_by: Text = Field(description="a role, never a name")
    measured_on: date


class Ward(Spec):
    """One ward's file, layered over any kit."""

    name: Text
    edition: Text
    approver: Text = Field(description="the role that approved this file")
    review_by: date
    deviation: Share = Field(description="how far rounding to a syringe's marks may move a dose")
    air: AnyVolume | None = Field(default=None, description="air left behind a tracheal dose in its syringe")
    sources: dict[Id, Source] = Field(default_factory=dict)
    syringe: Annotated[tuple[SyringeStock, ...], Field(strict=False)] = ()
    product: Annotated[tuple[Product, ...], Field(strict=False)] = ()
    recipe: Annotated[tuple[Recipe, ...], Field(strict=False)] = ()
    stock: Annotated[tuple[Stock, ...], Field(strict=False)] = ()
    approval: Annotated[tuple[Approval, ...], Field(strict=False)] = ()
    measured: Annotated[tuple[MeasuredLength, ...], Field(strict=False)] = ()
    local: Annotated[tuple[Local, ...], Field(strict=False)] = ()
    widening: Annotated[tuple[Widening, ...], Field(strict=False)] = ()
