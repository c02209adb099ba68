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
from prepkit.kit.procedure import Procedure
from prepkit.kit.spans import GestationSpan, WeightSpan, Where

# What the three kinds of fact say of the same keys.
_FACT_ID = "the fact's id; conditions and `--set` name it"
_LABEL = "its name on the screen"
_ASK = "the question in full"
_DEFAULT = "what stands, shown as assumed, until somebody gives it"


class Source(Spec):
    """A document that a figure was read in."""

    title: Text = Field(description="who published it, and what it is")
    year: Annotated[int, Field(ge=1900, le=2100)] | None = Field(
        default=None, description="left out where no edition is known"
    )
    reference: Text = Field(description="doi, report number, chapter: enough to find it")

    def words(self) -> str:
        """The citation in one line."""
        return f"{self.title} ({self.year or 'edition not recorded'}), {self.reference}"


class AmountFact(Spec):
    """A fact with a unit: a pressure, a percentage, a dose given before."""

    kind: Literal["amount"] = Field(description="the kind of fact")
    id: FactId = Field(description=_FACT_ID)
    label: Text = Field(description=_LABEL)
    ask: Text = Field(description=_ASK)
    least: AnyAmount = Field(description="the least that is believed")
    most: AnyAmount = Field(description="the most that is believed, in the unit of least")
    default: AnyAmount | None = Field(default=None, description=_DEFAULT)


class ChoiceFact(Spec):
    """A fact that is one of a few words."""

    kind: Literal["choice"] = Field(description="the kind of fact")
    id: FactId = Field(description=_FACT_ID)
    label: Text = Field(description=_LABEL)
    ask: Text = Field(description=_ASK)
    options: Annotated[tuple[Text, ...], Field(strict=False, min_length=2, max_length=6)] = Field(
        description="the words to choose from"
    )
    default: Text | None = Field(default=None, description=_DEFAULT)


class MomentFact(Spec):
    """A fact that is a date and a time."""

    kind: Literal["moment"] = Field(description="the kind of fact")
    id: FactId = Field(description=_FACT_ID)
    label: Text = Field(description=_LABEL)
    ask: Text = Field(description=_ASK)


Fact = Annotated[AmountFact | ChoiceFact | MomentFact, Field(discriminator="kind")]


class Criterion(Based):
    """What has to hold for the route to be used: something the facts show, or a question to the team."""

    id: Id = Field(description="the criterion's id; `--set` answers a question by it")
    text: Text = Field(description="what has to hold, as a sentence")
    where: Where | None = Field(default=None, description="the facts that meet it; without it, a question")
    wanted: Literal["yes", "no"] | None = Field(default=None, description="for a question: the answer that meets it")
    otherwise: Literal["not suitable", "ask a senior", "advice"] = Field(description="the verdict where it is not met")


class DoseRange(Spec):
    """The least and the most per kg that the product's label allows for a first dose."""

    least: DosePerWeight = Field(description="the least per kg")
    most: DosePerWeight = Field(description="the most per kg")


class Repeat(Spec):
    """A further dose of the same course."""

    dose: DosePerWeight = Field(description="the dose per kg of each repeat")
    interval: Time = Field(description="the least time since the last dose")
    most_in_all: DosePerWeight = Field(
        description="the most per kg over the whole course; the last mark may be a little over"
    )


class Product(Based):
    """A medicine as it comes: its strength, its containers and, where its own, its dose."""

    id: Id = Field(description="the product's id; lines and ward files name it")
    name: Text = Field(description="its generic name, never a brand")
    strength: Strength = Field(description="how much is in each mL of it as it comes")
    container: Literal["vial", "ampoule", "prefilled syringe", "bottle"] = Field(description="what it comes in")
    holds: Annotated[tuple[Volume, ...], Field(strict=False, min_length=1)] = Field(
        description="the sizes of container that exist, from small to large"
    )
    least_volume: Volume | None = Field(
        default=None, description="the least volume that the label lets be measured from it"
    )
    weight: WeightSpan | None = Field(default=None, description="the body weights that the label allows it for")
    dose: DosePerWeight | None = Field(default=None, description="its own first dose, where the line states none")
    dose_range: DoseRange | None = Field(
        default=None, description="what the label allows for a first dose: lets whole containers be chosen"
    )
    repeat: Repeat | None = Field(default=None, description="further doses of the same course; without it, none")
    most: Mass | None = Field(default=None, description="the most in one dose, whatever the weight or the mark")
    handling: Texts = Field(default=(), description="how it is stored, warmed, mixed, a sentence each")
    once_warm: Time | None = Field(
        default=None, description="how long a container may stand out of the fridge before it is used"
    )
    label_class: Literal["anticholinergic"] | None = Field(
        default=None, description="the class whose colour its syringe's label bears (ISO 26825), where there is one"
    )


class Group(Spec):
    """A heading of the list."""

    id: Id = Field(description="the group's id; each line names one")
    name: Text = Field(description="the heading")


class Domain(Spec):
    """The babies that the kit is for: what the proof walks through and the chart prints."""

    weight: WeightSpan = Field(description="from which weight to which")
    gestation: GestationSpan = Field(description="from which gestation to which")


class Kit(Spec):
    """One procedure's preparation."""

    id: Id = Field(description="the kit's id: the name of its file without .toml")
    edition: Text = Field(description="which edition this is, such as its year and month")
    name: Text = Field(description="the procedure, in full")
    short: Text = Field(description="the name where there is little room")
    review_by: date = Field(description="when its figures are to be looked at again")
    domain: Domain = Field(description="the babies that the kit is for")
    sources: dict[Id, Source] = Field(
        default_factory=dict, description="the documents that figures were read in, by id"
    )
    fact: Annotated[tuple[Fact, ...], Field(strict=False)] = Field(
        default=(), description="what is asked about the baby beside weight, gestation and sex"
    )
    criterion: Annotated[tuple[Criterion, ...], Field(strict=False)] = Field(
        default=(), description="what has to hold for the route to be used"
    )
    product: Annotated[tuple[Product, ...], Field(strict=False)] = Field(
        default=(), description="the medicines, as they come"
    )
    group: Annotated[tuple[Group, ...], Field(strict=False, min_length=1)] = Field(
        description="the headings of the list, in order"
    )
    line: Annotated[tuple[Line, ...], Field(strict=False, min_length=1)] = Field(
        description="what to lay out, draw up, set or try, in order"
    )
    procedure: Procedure | None = Field(default=None, description="what is done at the cot, and afterwards")
