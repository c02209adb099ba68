"""What a rule is: the context it is given, and the outcome it gives back."""

from collections.abc import Mapping
from datetime import datetime
from typing import Literal, NamedTuple, Protocol

from msgspec import Struct, field

from prepkit.kit.axes import Axis
from prepkit.kit.baby import Baby
from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit, Product
from prepkit.kit.layer import Layer
from prepkit.kit.ward import Containers, Recipe, SyringeStock, Ward
from prepkit.quantities.amount import Amount, convert
from prepkit.rules.findings import Citation, Finding, Kind, finding


class VialCount(Struct, frozen=True):
    """So many containers of one size."""

    size: Amount
    count: int


class Dilution(Struct, frozen=True):
    """A strength to draw up from, and how it is made."""

    id: str
    strength: Amount
    product: Product
    recipe: Recipe | None
    """How it is made up; None for a product as it is."""
    made: Amount | None
    """What its recipe makes in all."""
    cited: Citation | None
    """Where its recipe comes from."""


class Prescribed(Struct, frozen=True):
    """What somebody gets who works a dose out again: the order, and no number made from it."""

    says: tuple[Finding, ...]
    """The dose per kg with its limits, the product with the strength on its label, how it is made up."""
    holds: tuple[Amount, ...]
    """The containers in stock."""
    container: str


class EnteredValue(Struct, frozen=True):
    """A value that was entered with the tick of a line, and by whom."""

    amount: Amount
    by: str


class Entry(Struct, frozen=True):
    """A value that nobody set beforehand: it is entered with the tick."""

    what: Literal["setting", "air", "mark"]
    least: Amount
    """No value below this is taken; of what the ward never set it guards against slips, and is no clinical limit."""
    most: Amount
    step: Amount | None = None
    """The marks that it is one of; None where it may lie between any."""

    def take(self, entered: EnteredValue | None) -> EnteredValue | None:
        """What was entered, where it serves: it is within the ends, at a mark."""
        if entered is None or entered.amount.unit != self.least.unit or not self.holds(entered.amount):
            return None
        return entered

    def holds(self, amount: Amount) -> bool:
        """Whether an amount of the same unit lies within the ends, at a mark."""
        is_at_mark = self.step is None or (amount.value / convert(self.step, amount.unit).value).denominator == 1
        return self.least <= amount <= self.most and is_at_mark


class Outcome(NamedTuple):
    """What a rule found for one line. Amounts are exact; `amount` is what the hand measures or sets.

    A named tuple, as each list makes many of them and changes a field or two of each.
    """

    blocked: Finding | None = None
    """Why it cannot be prepared as it stands; None where it can."""
    due: Amount | None = None
    """Of a dose: the mass that the rule asks for."""
    in_syringe: Amount | None = None
    """The mass that the mark holds: the volume times the strength."""
    weight: Amount | None = None
    """The weight that it is per kg of, in g ..."""
    axis: Axis | None = None
    """... and which one that is."""
    exact: Amount | None = None
    amount: Amount | None = None
    low: Amount | None = None
    high: Amount | None = None
    sizes: tuple[str, ...] = ()
    below: str = ""
    """The next smaller size, where that is laid out too; empty where none is."""
    syringe: SyringeStock | None = None
    syringes: int = 1
    """How many of them it takes; more than one for whole containers that one does not hold."""
    is_whole: bool = False
    """Whether it is all of the containers, with nothing measured off."""
    product: str = ""
    """The id of the product it is drawn up from; empty where there is none."""
    stands_in: str = ""
    """The id of the ward's first product, where another strength or container of its substance took its place."""
    air: Amount | None = None
    """What stays behind a dose in its syringe; None for nothing."""
    recipe: Dilution | None = None
    vials: tuple[VialCount, ...] = ()
    discard: Amount | None = None
    enters: Entry | None = None
    """What is entered with the tick, because nobody set it beforehand; None where nothing is."""
    entered: EnteredValue | None = None
    """What was entered for it, where that serves."""
    how_many: int | None = None
    """How many to lay out, where that is stated."""
    kits_own: Finding | None = None
    """The kit's own value, where the ward file changed it."""
    capped: Amount | None = None
    """The most in one dose, where it took the place of the dose per kg."""
    is_held: bool = False
    """Whether the mark stands below the nearest one, which would be more than may be given."""
    over_course: Amount | None = None
    """What the course comes to per kg, where the mark carries it a little over its total."""
    is_unmeasured: bool = False
    """Whether it is blocked for want of a strength and a syringe that measure it."""
    standing: tuple[Finding, ...] = ()
    """On what grounds it stands where they can change while the value stays: a label, an approval, the values tried."""
    show: Finding | None = None
    """The biggest thing on the line; None for a thing without amount, size or setting."""
    details: tuple[Finding, ...] = ()
    working: tuple[Finding, ...] = ()
    parts: tuple[Finding | str, ...] = ()
    """What is laid out with it; as they stand in the file, the kit's or the ward's own words, as of the next two."""
    how: tuple[Finding | str, ...] = ()
    """What to do with it."""
    cautions: tuple[Finding | str, ...] = ()
    """What can hurt, the gravest first."""
    basis: Basis | None = None
    """Where it differs from the line's own."""
    source: tuple[Citation | Finding, ...] = ()
    """Where it differs from the line's own."""
    prescribed: Prescribed | None = None
    """What a person gets who works it out again, for a dose."""


class Order(Struct, frozen=True):
    """What a prescriber chose for one dose line."""

    product: str
    by: str
    """Who prescribed it: initials, or words."""
    containers: Containers = "measured"
    whole: Amount | None = None
    """The volume of whole containers, in mL; None where they are not whole."""
    per_kg: Amount | None = None
    """The dose per kg, within the label's range; None for the one that is stated."""
    is_rest: bool = False
    """Whether it is the rest of the last dose, which was given in part."""
    after: str | None = None
    """The doses given before as they were when it was ordered, as text; None where nobody wrote them down."""
    past_interval: str = ""
    """Why a senior orders it before the least interval is over; empty where the interval holds."""


class RuleContext(Struct, frozen=True):
    """A kit, a ward, a baby and a moment: everything that a list is made from."""

    kit: Kit
    """With the ward file laid over it."""
    ward: Ward | None
    baby: Baby
    now: datetime
    found: Mapping[str, Outcome]
    """What was found for the lines before this one, by line id, for lines that follow another."""
    orders: Mapping[str, Order] = field(default_factory=dict)
    """What was ordered, by line id; where nothing was, the ward's first choice is measured."""
    entered: Mapping[str, EnteredValue] = field(default_factory=dict)
    """What was entered with the ticks of lines that ask for it, by line id."""
    layer: Layer | None = None
    """What the ward file changed of the kit; None where a line is worked out by one of the two alone."""


def _say_entered(entry: Entry) -> Finding:
    return finding(Kind.ENTERED_WITHIN, what=entry.what, least=entry.least, most=entry.most)


def take_entered(found: Outcome, line: str, context: RuleContext) -> Outcome:
    """Put what was entered with the tick of a line in the place of a value that nobody set beforehand."""
    value = found.enters.take(context.entered.get(line)) if found.enters else None
    if found.enters is None or value is None:
        return found
    return found._replace(
        amount=value.amount,
        exact=value.amount,
        low=None,
        high=None,
        entered=value,
        show=finding(Kind.AMOUNT, amount=value.amount),
        details=(_say_entered(found.enters), *found.details),
        working=(finding(Kind.ENTERED, amount=value.amount, by=value.by), *found.working),
    )


def block_missing(axis: Axis) -> Outcome:
    """Block a line for want of a weight or a gestation that it goes by."""
    return Outcome(blocked=finding(Kind.FACT_MISSING, axis=axis), working=(finding(Kind.FACT_WANTED, axis=axis),))


def find_awaited(found: Finding) -> Axis | None:
    """Find the weight or the gestation for want of which alone a line is blocked; None for any other reason."""
    reason = found["reason"] if found.kind is Kind.BLOCKED_BESIDE else found
    axis = reason["axis"] if isinstance(reason, Finding) and reason.kind is Kind.FACT_MISSING else None
    return axis if isinstance(axis, Axis) else None


class Rule(Protocol):
    """A line of one kit and one ward file, ready for babies: what does not hang on the baby is worked out already."""

    @property
    def fixed(self) -> tuple[Outcome, ...]:
        """What it may give as it stands, with nothing in it that is made from the baby's facts."""

    def work_out(self, context: RuleContext) -> Outcome:
        """Find what the line gives for one baby; `context` has the same kit and ward file."""


class AlwaysRule(Struct, frozen=True):
    """The rule of a line that gives the same for every baby."""

    outcome: Outcome

    @property
    def fixed(self) -> tuple[Outcome, ...]:
        """What it gives."""
        return (self.outcome,)

    def work_out(self, context: RuleContext) -> Outcome:  # noqa: ARG002  (of the same form as the others)
        """Give it."""
        return self.outcome
