"""The ward file: what one neonatal ward stocks, has approved and prefers. May import: `prepkit.kit` and pydantic."""

from datetime import date
from typing import Annotated

from pydantic import Field

from prepkit.kit.fields import AnyVolume, Basis, Id, Length, Route, Share, Spec, Strength, Text, Volume
from prepkit.kit.kit import Product
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


class Approval(Spec):
    """The ward's word that a device may be used outside its label."""

    line: Id
    size: Text
    weight: WeightSpan
    gestation: GestationSpan
    reference: Text
    approver: Text = Field(description="the approver's role, never a name")
    approved_on: date
    review_by: date


class MeasuredLength(Spec):
    """The length measured on the ward's own device, from the port in use to the opening at its far end."""

    line: Id
    device: Text
    size: Text | None = Field(
        default=None,
        description="its size as the size line gives it; needed where the kit's method follows a size line",
    )
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
    syringe: Annotated[tuple[SyringeStock, ...], Field(strict=False)] = ()
    product: Annotated[tuple[Product, ...], Field(strict=False)] = ()
    recipe: Annotated[tuple[Recipe, ...], Field(strict=False)] = ()
    stock: Annotated[tuple[Stock, ...], Field(strict=False)] = ()
    approval: Annotated[tuple[Approval, ...], Field(strict=False)] = ()
    measured: Annotated[tuple[MeasuredLength, ...], Field(strict=False)] = ()
