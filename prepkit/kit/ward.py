"""The ward file: what one neonatal ward stocks, has approved, prefers and does its own way.

May import: `prepkit.kit` and pydantic.
"""

from datetime import date
from typing import Annotated

from pydantic import Field

from prepkit.kit.fields import (
    AnyVolume,
    Basis,
    Gtins,
    Id,
    Ids,
    Length,
    Route,
    Share,
    Spec,
    Strength,
    Text,
    Texts,
    Time,
    Volume,
)
from prepkit.kit.kit import Criterion, Product, Source
from prepkit.kit.lines import Line
from prepkit.kit.spans import GestationSpan, WeightSpan
from prepkit.quantities.amount import make_amount

UNDILUTED = "undiluted"
LONGEST_IDLE = make_amount(1, "h")
"""Our own limit: a screen that stays open for longer does not lock at all."""


class SyringeStock(Spec):
    """A syringe that the ward keeps, for one route only."""

    route: Route = Field(description="the one route it serves")
    holds: Volume = Field(description="its nominal capacity")
    marks: Volume = Field(description="the volume between two of its marks")
    least: Volume = Field(description="the least volume that the ward measures with it")


class Recipe(Spec):
    """A dilution that the ward has approved."""

    id: Id = Field(description="the recipe's id; `use` of the stock names it")
    product: Id = Field(description="the product it is made from")
    take: Volume = Field(description="how much of the product")
    add: Volume = Field(description="how much of the diluent")
    diluent: Text = Field(description="what it is made up with")
    gives: Strength = Field(description="the strength it gives; checked against the sum")
    basis: Basis = Field(description="published, common practice, local, or from memory")
    source: Text = Field(description="where the recipe comes from, in words")


class Stock(Spec):
    """A product that the ward keeps, in order of preference."""

    product: Id = Field(description="the product, of a kit or of this file")
    holds: Annotated[tuple[Volume, ...], Field(strict=False, min_length=1, max_length=4)] = Field(
        description="the containers kept"
    )
    use: Annotated[tuple[Id, ...], Field(strict=False, min_length=1)] = Field(
        default=(UNDILUTED,), description='recipes in order of preference; "undiluted" stands for the product as it is'
    )
    gtin: Gtins = Field(default=(), description="the product numbers (GTIN) on the containers kept, for scans")


class DeviceStock(Spec):
    """The product numbers of a device that the ward keeps."""

    line: Id = Field(description="the line of a kit that it is laid out for")
    size: Text | None = Field(default=None, description="the size these numbers are for; without it, every size")
    gtin: Gtins = Field(min_length=1, description="the product numbers (GTIN) on its packs, for scans")


class Approved(Spec):
    """Who in the ward approved something, when, and until when that holds."""

    reference: Text = Field(description="the paper that says so: its number")
    approver: Text = Field(description="the approver's role, never a name")
    approved_on: date = Field(description="the day from which it holds")
    review_by: date = Field(description="the last day on which it holds")


class Approval(Approved):
    """The ward's word that a device may be used outside its label."""

    line: Id = Field(description="the line of a kit that it is for")
    size: Text = Field(description="the size that is approved")
    weight: WeightSpan = Field(description="for which weights")
    gestation: GestationSpan = Field(description="for which gestations")


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

    line: Id = Field(description="the depth line that the length is for")
    device: Text = Field(description="what was measured")
    size: Text | None = Field(
        default=None,
        description="its size as the size line gives it; needed where the kit's method follows a size line",
    )
    length: Length = Field(description="from the port in use to the opening at the far end")
    clearance: Length = Field(description="how far short of the opening the mark stays (0.5-1 cm)")
    measured_by: Text = Field(description="a role, never a name")
    measured_on: date = Field(description="the day it was measured")


class People(Spec):
    """How the ward wants its people to sign in."""

    pins: bool = Field(default=False, description="whether signing in asks for a PIN; the staff list holds them")
    lock_after: Time | None = Field(default=None, description="idle time after which a screen locks; with PINs only")
    barred_from_checking: Texts = Field(default=(), description="roles, as on the staff list, that do not check")


class Ward(Spec):
    """One ward's file, layered over any kit."""

    name: Text = Field(description="the ward's name, as it stands on lists")
    edition: Text = Field(description="which edition of the file this is")
    approver: Text = Field(description="the role that approved this file")
    review_by: date = Field(description="when the file is to be looked at again")
    kits_first: Ids = Field(
        default=(), description="ids of the kits that are offered first, in this order; the others follow by id"
    )
    deviation: Share = Field(description="how far rounding to a syringe's marks may move a dose")
    air: AnyVolume | None = Field(default=None, description="air left behind a tracheal dose in its syringe")
    signatures: Annotated[int, Field(ge=1, le=3)] = Field(
        default=1, description="how many people sign a record before it is closed"
    )
    in_hand: bool = Field(
        default=False, description="whether batch and expiry of medicines and devices are asked for before the tick"
    )
    drawn_up: Time | None = Field(default=None, description="how long a syringe may be kept from when it is drawn up")
    sources: dict[Id, Source] = Field(
        default_factory=dict, description="the documents that the ward's own figures were read in, by id"
    )
    syringe: Annotated[tuple[SyringeStock, ...], Field(strict=False)] = Field(
        default=(), description="the syringes kept, one entry a size and route"
    )
    product: Annotated[tuple[Product, ...], Field(strict=False)] = Field(
        default=(), description="products that no kit knows, or that the ward states in its own way"
    )
    recipe: Annotated[tuple[Recipe, ...], Field(strict=False)] = Field(default=(), description="the dilutions approved")
    stock: Annotated[tuple[Stock, ...], Field(strict=False)] = Field(
        default=(), description="the products kept, in order of preference"
    )
    device: Annotated[tuple[DeviceStock, ...], Field(strict=False)] = Field(
        default=(), description="the devices kept, by what a scanner reads off them"
    )
    approval: Annotated[tuple[Approval, ...], Field(strict=False)] = Field(
        default=(), description="what may be used outside its label"
    )
    measured: Annotated[tuple[MeasuredLength, ...], Field(strict=False)] = Field(
        default=(), description="lengths measured on the ward's own devices"
    )
    local: Annotated[tuple[Local, ...], Field(strict=False)] = Field(
        default=(), description="lines and criteria of the ward's own"
    )
    widening: Annotated[tuple[Widening, ...], Field(strict=False)] = Field(
        default=(), description="approvals for what this file lets go further than a kit"
    )
    people: People = Field(default=People(), description="how the ward wants its people to sign in")
