"""The kit: one procedure's preparation as declared in a TOML file. May import: `prepkit.kit` and pydantic."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from prepkit.kit.fields import (
    AnyAmount,
    Based,
    DosePerWeight,
    FactId,
    Id,
    Mass,
    Spec,
    Strength,
    Text,
    Texts,
    Time,
    Volume,
)
from prepkit.kit.lines import Line
from prepkit.kit.spans import GestationSpan, WeightSpan, Where


class Source(Spec):
    """A document that a figure was read in."""

    title: Text
    year: Annotated[int, Field(ge=1900, le=2100)] | None = Field(
        default=None, description="left out where no edition is known"
    )
    reference: Text = Field(description="doi, report number, chapter: enough to find it")

    def words(self) -> str:
        """The citation in one line."""
        return f"{self.title} ({self.year or 'edition not recorded'}), {self.reference}"


class AmountFact(Spec):
    """A fact with a unit: a pressure, a percentage, a dose given before."""

    kind: Literal["amount"]
    id: FactId
    label: Text
    ask: Text
    least: AnyAmount
    most: AnyAmount
    default: AnyAmount | None = None


class ChoiceFact(Spec):
    """A fact that is one of a few words."""

    kind: Literal["choice"]
    id: FactId
    label: Text
    ask: Text
    options: Annotated[tuple[Text, ...], Field(strict=False, min_length=2, max_length=6)]
    default: Text | None = None


class MomentFact(Spec):
    """A fact that is a date and a time."""

    kind: Literal["moment"]
    id: FactId
    label: Text
    ask: Text


Fact = Annotated[AmountFact | ChoiceFact | MomentFact, Field(discriminator="kind")]


class Criterion(Based):
    """What has to hold for the route to be used: something the facts show, or a question to the team."""

    id: Id
    text: Text = Field(description="what has to hold, as a sentence")
    where: Where | None = Field(default=None, description="the facts that meet it; without it, a question")
    wanted: Literal["yes", "no"] | None = Field(default=None, description="for a question: the answer that meets it")
    otherwise: Literal["not suitable", "ask a senior", "advice"] = Field(description="the verdict where it is not met")


class DoseRange(Spec):
    """The least and the most per kg that the product's label allows for a first dose."""

    least: DosePerWeight
    most: DosePerWeight


class Repeat(Spec):
    """A further dose of the same course."""

    dose: DosePerWeight
    interval: Time = Field(description="the least time since the last dose")
    most_in_all: DosePerWeight = Field(description="the most per kg over the whole course")


class Product(Based):
    """A medicine as it comes: its strength, its containers and, where its own, its dose."""

    id: Id
    name: Text
    strength: Strength
    container: Literal["vial", "ampoule", "prefilled syringe", "bottle"]
    holds: Annotated[tuple[Volume, ...], Field(strict=False, min_length=1)]
    least_volume: Volume | None = Field(
        default=None, description="the least volume that the label lets be measured from it"
    )
    weight: WeightSpan | None = Field(default=None, description="the body weights that the label allows it for")
    dose: DosePerWeight | None = None
    dose_range: DoseRange | None = None
    repeat: Repeat | None = None
    most: Mass | None = Field(default=None, description="the most in one dose, whatever the weight")
    handling: Texts = ()
    label_class: Literal["anticholinergic"] | None = Field(
        default=None, description="the class whose colour its syringe's label bears (ISO 26825), where there is one"
    )


class Group(Spec):
    """A heading of the list."""

    id: Id
    name: Text


class Domain(Spec):
    """The babies that the kit is for: what the proof walks through and the chart prints."""

    weight: WeightSpan
    gestation: GestationSpan


class Kit(Spec):
    """One procedure's preparation."""

    id: Id
    edition: Text
    name: Text
    short: Text = Field(description="the name where there is little room")
    review_by: date = Field(description="when its figures are to be looked at again")
    domain: Domain
    sources: dict[Id, Source] = Field(default_factory=dict)
    fact: Annotated[tuple[Fact, ...], Field(strict=False)] = ()
    criterion: Annotated[tuple[Criterion, ...], Field(strict=False)] = ()
    product: Annotated[tuple[Product, ...], Field(strict=False)] = ()
    group: Annotated[tuple[Group, ...], Field(strict=False, min_length=1)]
    line: Annotated[tuple[Line, ...], Field(strict=False, min_length=1)]
