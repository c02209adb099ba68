"""The kit: one procedure's preparation as declared in a TOML file."""

from datetime import date
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, Literal, TypeAlias

from msgspec import Meta, field

from prepkit.kit.axes import Axis
from prepkit.kit.fields import (
    AnyAmount,
    Based,
    DosePerWeight,
    FactId,
    Form,
    Id,
    Ids,
    Mass,
    Spec,
    Strength,
    Text,
    Texts,
    Time,
    Volume,
)
from prepkit.kit.lines import Line
from prepkit.kit.person import PersonFact
from prepkit.kit.procedure import Procedure, SharedRows
from prepkit.kit.spans import AxisSpans, Span, WeightSpan, Where

# What the kinds of fact say of the same keys.
_FACT_ID = "the fact's id; conditions and `--set` name it"
_LABEL = "its name on the screen"
_ASK = "the question in full"
_DEFAULT = "what stands, shown as not confirmed, until somebody gives it"

_READ = MappingProxyType(
    {
        "whole": "read whole",
        "passage": "a passage read",
        "abstract": "its abstract read",
        "account": "read in another's account",
    }
)


class Source(Spec, frozen=True, kw_only=True):
    """A document that a figure was read in."""

    title: Annotated[Text, Meta(description="who published it, and what it is")]
    year: Annotated[
        Annotated[int, Meta(ge=1900, le=2100)] | None, Meta(description="left out where no edition is known")
    ] = None
    reference: Annotated[
        Text, Meta(description="doi or report number, and the chapter, table or page: enough to find the figure")
    ]
    read: Annotated[
        Literal["whole", "passage", "abstract", "account"],
        Meta(description="what of it was read: all, a passage, its abstract, or what another document says of it"),
    ]
    written_for: Annotated[Text, Meta(description="for whom, or for what, it was written; often not this procedure")]

    def words(self) -> str:
        """The citation in one line, with what was read and for whom it was written."""
        found = f"{self.title} ({self.year or 'edition not recorded'}), {self.reference}"
        return f"{found} ({_READ[self.read]}, written for {self.written_for})"


class AmountFact(Spec, frozen=True, kw_only=True, tag="amount", tag_field="kind"):
    """A fact with a unit: a pressure, a percentage, a dose given before."""

    kind: ClassVar[Annotated[Literal["amount"], Meta(description="the kind of fact")]] = "amount"
    id: Annotated[FactId, Meta(description=_FACT_ID)]
    label: Annotated[Text, Meta(description=_LABEL)]
    ask: Annotated[Text, Meta(description=_ASK)]
    least: Annotated[AnyAmount, Meta(description="the least that is believed")]
    most: Annotated[AnyAmount, Meta(description="the most that is believed, in the unit of least")]
    default: Annotated[AnyAmount | None, Meta(description=_DEFAULT)] = None


class ChoiceFact(Spec, frozen=True, kw_only=True, tag="choice", tag_field="kind"):
    """A fact that is one of a few words."""

    kind: ClassVar[Annotated[Literal["choice"], Meta(description="the kind of fact")]] = "choice"
    id: Annotated[FactId, Meta(description=_FACT_ID)]
    label: Annotated[Text, Meta(description=_LABEL)]
    ask: Annotated[Text, Meta(description=_ASK)]
    options: Annotated[tuple[Text, ...], Meta(min_length=2, max_length=6, description="the words to choose from")]
    default: Annotated[Text | None, Meta(description=_DEFAULT)] = None


class MomentFact(Spec, frozen=True, kw_only=True, tag="moment", tag_field="kind"):
    """A fact that is a date and a time."""

    kind: ClassVar[Annotated[Literal["moment"], Meta(description="the kind of fact")]] = "moment"
    id: Annotated[FactId, Meta(description=_FACT_ID)]
    label: Annotated[Text, Meta(description=_LABEL)]
    ask: Annotated[Text, Meta(description=_ASK)]


class DosesFact(Spec, frozen=True, kw_only=True, tag="doses", tag_field="kind"):
    """A fact that is the doses given before: product, amount and time of each; none until somebody gives one."""

    kind: ClassVar[Annotated[Literal["doses"], Meta(description="the kind of fact")]] = "doses"
    id: Annotated[FactId, Meta(description=_FACT_ID)]
    label: Annotated[Text, Meta(description=_LABEL)]
    ask: Annotated[Text, Meta(description=_ASK)]


Fact: TypeAlias = AmountFact | ChoiceFact | MomentFact | DosesFact | PersonFact


class Criterion(Based, frozen=True, kw_only=True):
    """What bears on whether the route is used: something the facts show, or something that the team says.

    What the team says is a reason against the route, or, as advice, something that was said or done.
    """

    id: Annotated[Id, Meta(description="the criterion's id; `--set` answers it where the team does")]
    text: Annotated[
        Text, Meta(description="with where, what has to hold, as a sentence; without, the reason or what is done")
    ]
    where: Annotated[
        Where | None,
        Meta(description="the facts that meet it; without it, touched by the team where it applies or is done"),
    ] = None
    goes_with: Annotated[Id | None, Meta(description="the optional line without which it is not asked")] = None
    otherwise: Annotated[
        Literal["not suitable", "ask a senior", "advice"],
        Meta(description="the verdict where the facts do not meet it, or the reason applies"),
    ]

    @property
    def is_against(self) -> bool:
        """Whether it is a reason against the route, which somebody has to say applies or does not."""
        return self.where is None and self.otherwise != "advice"

    @property
    def is_said(self) -> bool:
        """Whether it is something that was said or done, on which nothing hangs."""
        return self.where is None and self.otherwise == "advice"


class DoseRange(Spec, frozen=True, kw_only=True):
    """The least and the most per kg that the product's label allows for a first dose."""

    least: Annotated[DosePerWeight, Meta(description="the least per kg")]
    most: Annotated[DosePerWeight, Meta(description="the most per kg")]


class Repeat(Spec, frozen=True, kw_only=True):
    """A further dose of the same course."""

    dose: Annotated[DosePerWeight, Meta(description="the dose per kg of each repeat")]
    interval: Annotated[Time, Meta(description="the least time since the last dose")]
    most_in_all: Annotated[
        DosePerWeight, Meta(description="the most per kg over the whole course; the last mark may be a little over")
    ]
    rest_at_once: Annotated[
        bool, Meta(description="whether the rest of a dose that was given in part may be ordered at once, by name")
    ] = False
    most_doses: Annotated[
        Annotated[int, Meta(ge=1, le=12)] | None,
        Meta(description="the most doses in a course, the first one counted; without it, any number"),
    ] = None


class LabelAdvice(Based, frozen=True, kw_only=True):
    """What a label says of its own limits: shown as advice where the baby lies outside them, never a stop."""

    text: Annotated[Text, Meta(description="what the label says, as a sentence")]
    where: Annotated[
        Where | None, Meta(description="the babies of whom it need not be said; without it, it is always said")
    ] = None
    of: Annotated[Literal["any dose", "repeats"], Meta(description="of which doses it is said")] = "any dose"


class Product(Based, frozen=True, kw_only=True):
    """A medicine as it comes: its strength, its containers and, where its own, its dose."""

    COUNTS: ClassVar[tuple[str, ...]] = ("name", "strength", "container")
    id: Annotated[Id, Meta(description="the product's id; lines and ward files name it")]
    name: Annotated[Text, Meta(description="its generic name, never a brand")]
    substance: Annotated[
        Text | None,
        Meta(description="what is in it: products of one substance stand in for each other; without it, its name"),
    ] = None
    strength: Annotated[Strength, Meta(description="how much is in each mL of it as it comes")]
    container: Annotated[
        Literal["vial", "ampoule", "prefilled syringe", "bottle"], Meta(description="what it comes in")
    ]
    holds: Annotated[
        tuple[Volume, ...], Meta(min_length=1, description="the sizes of container that exist, from small to large")
    ]
    least_volume: Annotated[Volume | None, Meta(description="the least volume that the label lets be measured")] = None
    where: Annotated[Where | None, Meta(description="the babies that the label allows it for, without facts")] = None
    dose: Annotated[DosePerWeight | None, Meta(description="its own first dose, where the line states none")] = None
    dose_range: Annotated[
        DoseRange | None, Meta(description="what the label allows for a first dose: lets whole containers be chosen")
    ] = None
    repeat: Annotated[Repeat | None, Meta(description="further doses of the same course; without it, none")] = None
    most: Annotated[Mass | None, Meta(description="the most in one dose, whatever the weight or the mark")] = None
    advice: Annotated[
        tuple[LabelAdvice, ...], Meta(description="what the label says of its own limits, shown as advice")
    ] = ()
    handling: Annotated[Texts, Meta(description="how to store, warm, mix it: a sentence each, its verb first")] = ()
    parts: Annotated[Texts, Meta(description="what is laid out with it wherever it is drawn up, a thing each")] = ()
    once_warm: Annotated[Time | None, Meta(description="how long it may stand out of the fridge before it is used")] = (
        None
    )
    label_class: Annotated[
        Literal["anticholinergic"] | None,
        Meta(description="the class whose colour its syringe's label bears (ISO 26825), where there is one"),
    ] = None

    @property
    def medicine(self) -> str:
        """The substance, to be compared with another product's."""
        return (self.substance or self.name).casefold()


class Group(Spec, frozen=True, kw_only=True):
    """A heading of the list."""

    id: Annotated[Id, Meta(description="the group's id; each line names one")]
    name: Annotated[Text, Meta(description="the heading")]


class Domain(AxisSpans, frozen=True, kw_only=True):
    """The babies that the kit is for: what the proof walks through and the chart prints.

    Each weight and each gestation that its lines go by has its span; the greater weight lies within both.
    """

    def find_span(self, axis: Axis) -> Span[Any] | None:
        """The span of an axis; of the greater weight, from the greater of the lower edges to that of the upper."""
        if axis is not Axis.GREATER_WEIGHT:
            span: Span[Any] | None = getattr(self, axis)
            return span
        birth, now = self.birth_weight, self.weight_now
        if not (birth and now and birth.low and birth.high and now.low and now.high):
            return None
        lower = birth if now.low < birth.low else now
        upper = birth if now.high < birth.high else now
        return WeightSpan(at_least=lower.at_least, above=lower.above, at_most=upper.at_most, below=upper.below)


class PlacingRow(Spec, frozen=True, kw_only=True):
    """Stands in the place of a row that a fragment holds: a fact, a line, a step."""

    id: Annotated[Text, Meta(description="the id that the row has in the fragment")]
    fragment: Annotated[Id, Meta(description="the fragment, one of those that the kit names")]


class PlacingLine(PlacingRow, frozen=True, kw_only=True):
    """Stands in the place of a line: where this kit has it, and who checks it, may differ from the fragment."""

    group: Annotated[Id | None, Meta(description="the group under which this kit shows it, where another one")] = None
    check: Annotated[bool | None, Meta(description="whether a second person checks it, where this kit differs")] = None


class Fragment(SharedRows, frozen=True, kw_only=True):
    """What several kits share. A kit that names it has all of its sources, and those of its rows that it places."""

    sources: Annotated[dict[Id, Source], Meta(description="the documents that its figures were read in, by id")] = (
        field(default_factory=dict)
    )
    fact: Annotated[tuple[Fact, ...], Meta(description="facts that a kit may place")] = ()
    criterion: Annotated[tuple[Criterion, ...], Meta(description="criteria that a kit may place")] = ()
    product: Annotated[tuple[Product, ...], Meta(description="medicines that a kit may place")] = ()
    line: Annotated[tuple[Line, ...], Meta(description="lines that a kit may place")] = ()


class Kit(Spec, frozen=True, kw_only=True):
    """One procedure's preparation."""

    form: Form
    id: Annotated[Id, Meta(description="the kit's id: the name of its file without .toml")]
    edition: Annotated[Text, Meta(description="which edition this is, such as its year and month")]
    name: Annotated[Text, Meta(description="the procedure, in full")]
    short: Annotated[Text, Meta(description="the name where there is little room")]
    review_by: Annotated[date, Meta(description="when its figures are to be looked at again")]
    domain: Annotated[Domain, Meta(description="the babies that the kit is for")]
    fragments: Annotated[Ids, Meta(description="the fragments whose rows it places and whose sources it cites")] = ()
    sources: Annotated[dict[Id, Source], Meta(description="the documents that figures were read in, by id")] = field(
        default_factory=dict
    )
    fact: Annotated[
        tuple[Fact, ...], Meta(description="what is asked about the baby beside weights, gestation, birth and sex")
    ] = ()
    criterion: Annotated[tuple[Criterion, ...], Meta(description="what has to hold for the route to be used")] = ()
    product: Annotated[tuple[Product, ...], Meta(description="the medicines, as they come")] = ()
    group: Annotated[tuple[Group, ...], Meta(min_length=1, description="the headings of the list, in order")]
    line: Annotated[tuple[Line, ...], Meta(min_length=1, description="what to lay out, draw up, set or try, in order")]
    procedure: Annotated[Procedure | None, Meta(description="what is done at the cot, and afterwards")] = None
    fragment: Annotated[
        dict[Id, Fragment],
        Meta(description="what the files of its fragments hold; in a kit's own file there is none"),
    ] = field(default_factory=dict)
