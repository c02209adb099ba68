"""The ward file: what one neonatal ward stocks, has approved, prefers and does its own way."""

from datetime import date, timedelta
from typing import Annotated, ClassVar, Literal, TypeAlias

from msgspec import Meta, field

from prepkit.kit.fields import (
    AnyAmount,
    AnyVolume,
    Basis,
    Form,
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
from prepkit.kit.procedure import WardAfterwards
from prepkit.kit.spans import AgeSpan, Where
from prepkit.quantities.amount import add, convert, make_amount

Containers: TypeAlias = Literal["measured", "fewest", "whole"]
"""How containers decide what is drawn up."""

UNDILUTED = "undiluted"
TELL_OVER = make_amount("6.7", "%")
"""The most by which the dosing chart of poractant alfa's US label passes its own 2.5 mL/kg."""
LONGEST_IDLE = make_amount(1, "h")
_MICROSECONDS_IN_A_MINUTE = 60_000_000
"""Our own limit: a screen that stays open for longer does not lock at all."""


class SyringeStock(Spec, frozen=True, kw_only=True):
    """A syringe that the ward keeps, for one route only."""

    COUNTS: ClassVar[tuple[str, ...]] = ("holds", "marks")
    route: Annotated[Route, Meta(description="the one route it serves")]
    holds: Annotated[Volume, Meta(description="its nominal capacity")]
    marks: Annotated[Volume, Meta(description="the volume between two of its marks")]
    least: Annotated[Volume, Meta(description="the least volume that the ward measures with it")]


class MixingSyringe(Spec, frozen=True, kw_only=True):
    """A syringe that the ward keeps for making recipes up; nothing is given from it."""

    holds: Annotated[Volume, Meta(description="its nominal capacity")]


class Diluent(Spec, frozen=True, kw_only=True):
    """What recipes are made up with, as the ward keeps it."""

    name: Annotated[Text, Meta(description="its name, as recipes write it")]
    holds: Annotated[tuple[Volume, ...], Meta(min_length=1, description="the containers kept")]


class Needle(Spec, frozen=True, kw_only=True):
    """A needle that the ward keeps for drawing up and for making recipes up."""

    gauge: Annotated[Text, Meta(description="its gauge and kind: 18 G blunt")]


class Recipe(Spec, frozen=True, kw_only=True):
    """A dilution that the ward has approved."""

    id: Annotated[Id, Meta(description="the recipe's id; `use` of the stock names it")]
    product: Annotated[Id, Meta(description="the product it is made from")]
    take: Annotated[Volume, Meta(description="how much of the product")]
    add: Annotated[Volume, Meta(description="how much of the diluent")]
    diluent: Annotated[Text, Meta(description="what it is made up with")]
    gives: Annotated[Strength, Meta(description="the strength it gives; checked against the sum")]
    basis: Annotated[Basis, Meta(description="what it rests on; published only where its document was read whole")]
    source: Annotated[
        Text, Meta(description="where it comes from: the id of a source where it is published, else in words")
    ]


class Stock(Spec, frozen=True, kw_only=True):
    """A product that the ward keeps, in order of preference."""

    product: Annotated[Id, Meta(description="the product, of a kit or of this file")]
    holds: Annotated[tuple[Volume, ...], Meta(min_length=1, max_length=4, description="the containers kept")]
    use: Annotated[
        tuple[Id, ...],
        Meta(min_length=1, description='recipes in order of preference; "undiluted" stands for the product as it is'),
    ] = (UNDILUTED,)
    containers: Annotated[
        Containers,
        Meta(
            description="measured: to a mark, the containers that it takes; fewest: one container less where that keeps"
            " the dose within the deviation; whole: all of those whose dose lies in the label's range, nearest to what"
            " is due"
        ),
    ] = "measured"
    gtin: Annotated[Gtins, Meta(description="the product numbers (GTIN) on the containers kept, for scans")] = ()


class DeviceStock(Spec, frozen=True, kw_only=True):
    """The product numbers of a device that the ward keeps."""

    line: Annotated[Id, Meta(description="the line of a kit that it is laid out for")]
    size: Annotated[Text | None, Meta(description="the size these numbers are for; without it, every size")] = None
    gtin: Annotated[Gtins, Meta(min_length=1, description="the product numbers (GTIN) on its packs, for scans")]


class Approved(Spec, frozen=True, kw_only=True):
    """Who in the ward approved something, when, and until when that holds."""

    reference: Annotated[Text, Meta(description="the paper that says so: its number")]
    approver: Annotated[Text, Meta(description="the approver's role, never a name")]
    approved_on: Annotated[date, Meta(description="the day from which it holds")]
    review_by: Annotated[date, Meta(description="the last day on which it holds")]


class Approval(Approved, frozen=True, kw_only=True):
    """The ward's word that a device may be used outside its label."""

    line: Annotated[Id, Meta(description="the line of a kit that it is for")]
    size: Annotated[Text, Meta(description="the size that is approved")]
    where: Annotated[Where, Meta(description="for which babies: a weight and a gestation, each saying which it means")]


class Widening(Approved, frozen=True, kw_only=True):
    """The ward's word that what this file changes may go further than the kit does."""

    what: Annotated[Id, Meta(description="the line, criterion or product of this file that it is for")]
    kits: Annotated[Ids, Meta(min_length=1, description="the kits in which it counts")]


class WardSetting(Spec, frozen=True, kw_only=True):
    """The ward's value for a setting that its kits leave to it."""

    line: Annotated[Id, Meta(description="the line that it is for")]
    value: Annotated[AnyAmount, Meta(description="the value, one for every baby")]
    source: Annotated[Text, Meta(description='where it comes from, in words: a paper\'s number, or "ours, unsourced"')]


class LeftOut(Spec, frozen=True, kw_only=True):
    """An optional line that the ward does without; what goes with it is left out too."""

    line: Annotated[Id, Meta(description="the line, one that its kit calls optional")]
    kits: Annotated[Ids, Meta(min_length=1, description="ids of the kits that it is left out of")]
    reference: Annotated[Text, Meta(description="the paper that says so: its number")]


class Local(Spec, frozen=True, kw_only=True):
    """Lines and criteria of the ward's own, over those of some kits."""

    kits: Annotated[Ids, Meta(min_length=1, description="ids of the kits that they are for")]
    line: Annotated[
        tuple[Line, ...],
        Meta(description="with the id of a kit's line it stands in that one's place; with another it is added"),
    ] = ()
    criterion: Annotated[
        tuple[Criterion, ...], Meta(description="as for lines; a kit's question stays, and may have another beside it")
    ] = ()


class MeasuredLength(Spec, frozen=True, kw_only=True):
    """The length measured on the ward's own device, from the port in use to the opening at its far end."""

    line: Annotated[Id, Meta(description="the depth line that the length is for")]
    device: Annotated[Text, Meta(description="what was measured")]
    size: Annotated[
        Text | None,
        Meta(description="its size as the size line gives it; needed where the kit's method follows a size line"),
    ] = None
    length: Annotated[Length, Meta(description="from the port in use to the opening at the far end")]
    clearance: Annotated[Length, Meta(description="how far short of the opening the mark stays (0.5-1 cm)")]
    measured_by: Annotated[Text, Meta(description="a role, never a name")]
    measured_on: Annotated[date, Meta(description="the day it was measured")]


class DeadVolume(Spec, frozen=True, kw_only=True):
    """What the ward's catheter for a dose holds as cut, with its connector: the air behind the dose empties it."""

    line: Annotated[Id, Meta(description="the dose line, one that leaves air behind the dose")]
    kits: Annotated[Ids, Meta(min_length=1, description="ids of the kits in which it is given through this catheter")]
    volume: Annotated[Volume, Meta(description="what stays in it: filled with water and weighed, or by its measures")]
    measured_by: Annotated[Text, Meta(description="a role, never a name")]
    measured_on: Annotated[date, Meta(description="the day it was measured")]


class WeightChange(Spec, frozen=True, kw_only=True):
    """How far the weight now may be from the weight at birth, at one age, before it is asked for again."""

    age: Annotated[AgeSpan, Meta(description="at which ages; up to 72 h there is a range of the program's own too")]
    least: Annotated[Share, Meta(description="the least share of the birth weight that is taken as it stands")]
    most: Annotated[Share, Meta(description="the most")]


class People(Spec, frozen=True, kw_only=True):
    """How the ward wants its people to sign in."""

    pins: Annotated[bool, Meta(description="whether signing in asks for a PIN; the staff list holds them")] = False
    lock_after: Annotated[Time | None, Meta(description="idle time after which a screen locks; with PINs only")] = None
    barred_from_checking: Annotated[Texts, Meta(description="roles, as on the staff list, that do not check")] = ()

    @property
    def locks_after(self) -> timedelta | None:
        """The idle time after which a screen locks, an hour at most; None where it never does."""
        if self.lock_after is None or not self.pins:
            return None
        minutes = convert(min(self.lock_after, LONGEST_IDLE), "min").value
        return timedelta(microseconds=int(minutes * _MICROSECONDS_IN_A_MINUTE))


class Ward(Spec, frozen=True, kw_only=True):
    """One ward's file, layered over any kit."""

    form: Form
    name: Annotated[Text, Meta(description="the ward's name, as it stands on lists")]
    edition: Annotated[Text, Meta(description="which edition of the file this is")]
    approver: Annotated[Text, Meta(description="the role that approved this file")]
    review_by: Annotated[date, Meta(description="when the file is to be looked at again")]
    kits_first: Annotated[
        Ids, Meta(description="ids of the kits that are offered first, in this order; the others follow by id")
    ] = ()
    deviation: Annotated[Share, Meta(description="how far rounding to a syringe's marks may move a dose")]
    round: Annotated[
        Literal["nearest", "not over"],
        Meta(
            description="to which mark: the nearest; or the one below, where the nearest passes the range that the"
            " product's label allows for a first dose, or a stated dose without one"
        ),
    ] = "nearest"
    tell_over: Annotated[
        Share, Meta(description='by how much a dose may pass what is due before its row says so; not set: "6.7 %"')
    ] = field(default_factory=lambda: TELL_OVER)
    air: Annotated[AnyVolume | None, Meta(description="air left behind a tracheal dose in its syringe")] = None
    signatures: Annotated[int, Meta(ge=1, le=3, description="how many people sign a record before it is closed")] = 1
    in_hand: Annotated[
        bool, Meta(description="whether batch and expiry of medicines and devices are asked for before the tick")
    ] = False
    drawn_up: Annotated[Time | None, Meta(description="how long a syringe may be kept from when it is drawn up")] = None
    sources: Annotated[
        dict[Id, Source], Meta(description="the documents that the ward's own figures were read in, by id")
    ] = field(default_factory=dict)
    syringe: Annotated[tuple[SyringeStock, ...], Meta(description="the syringes kept, one entry a size and route")] = ()
    product: Annotated[
        tuple[Product, ...], Meta(description="products that no kit knows, or that the ward states in its own way")
    ] = ()
    mixing: Annotated[
        tuple[MixingSyringe, ...], Meta(description="the syringes kept for making recipes up, which serve no route")
    ] = ()
    diluent: Annotated[tuple[Diluent, ...], Meta(description="what recipes are made up with, as it is kept")] = ()
    needle: Annotated[tuple[Needle, ...], Meta(description="the needles kept for drawing up")] = ()
    recipe: Annotated[tuple[Recipe, ...], Meta(description="the dilutions approved")] = ()
    stock: Annotated[tuple[Stock, ...], Meta(description="the products kept, in order of preference")] = ()
    device: Annotated[
        tuple[DeviceStock, ...], Meta(description="the devices kept, by what a scanner reads off them")
    ] = ()
    approval: Annotated[tuple[Approval, ...], Meta(description="what may be used outside its label")] = ()
    measured: Annotated[tuple[MeasuredLength, ...], Meta(description="lengths measured on the ward's own devices")] = ()
    dead_volume: Annotated[
        tuple[DeadVolume, ...],
        Meta(description="what the ward's catheters hold: the air behind a dose, in the place of `air`"),
    ] = ()
    local: Annotated[tuple[Local, ...], Meta(description="lines and criteria of the ward's own")] = ()
    weight_change: Annotated[
        tuple[WeightChange, ...], Meta(description="from which change since birth a weight is asked for again")
    ] = ()
    setting: Annotated[
        tuple[WardSetting, ...], Meta(description="the ward's values for what kits leave to the ward")
    ] = ()
    left_out: Annotated[tuple[LeftOut, ...], Meta(description="optional lines that the ward does without")] = ()
    afterwards: Annotated[
        WardAfterwards | None, Meta(description="the ward's own follow-up, and its line for the share recovered")
    ] = None
    widening: Annotated[
        tuple[Widening, ...], Meta(description="approvals for what this file lets go further than a kit")
    ] = ()
    people: Annotated[People, Meta(description="how the ward wants its people to sign in")] = People()

    def find_mixing(self, recipe: Recipe) -> MixingSyringe | None:
        """The smallest syringe that holds the whole of a recipe; None where none is kept that does."""
        made = add(recipe.take, recipe.add)
        holding = [each for each in self.mixing if made <= each.holds]
        return min(holding, key=lambda each: convert(each.holds, "mL").value, default=None)

    def find_dead_volume(self, line: str, kit: str) -> DeadVolume | None:
        """What the catheter of a dose line of a kit holds; None where the ward does not say."""
        return next((each for each in self.dead_volume if each.line == line and kit in each.kits), None)

    def find_diluent(self, recipe: Recipe) -> Diluent | None:
        """What a recipe is made up with, as the ward keeps it; None where it keeps none of it."""
        return next((each for each in self.diluent if each.name == recipe.diluent), None)
