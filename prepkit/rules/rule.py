"""What a rule is: the context it is given, the outcome it gives back, and how it cites its figures."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import NamedTuple, Protocol

from msgspec import Struct, field

from prepkit.kit.baby import Baby
from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit
from prepkit.kit.layer import Layer
from prepkit.kit.ward import SyringeStock, Ward
from prepkit.quantities.amount import Amount


class VialCount(Struct, frozen=True):
    """So many containers of one size."""

    size: Amount
    count: int


class Dilution(Struct, frozen=True):
    """A strength to draw up from, and how it is made."""

    id: str
    strength: Amount
    words: str
    make: str = ""
    """What has to be made up first, in short; empty for a product as it is."""


class Prescribed(Struct, frozen=True):
    """What somebody gets who works a dose out again: the order, and no number made from it."""

    words: tuple[str, ...]
    """The dose per kg with its limits, the product with the strength on its label, how it is made up."""
    holds: tuple[Amount, ...]
    """The containers in stock."""
    container: str


class Outcome(NamedTuple):
    """What a rule found for one line. Amounts are exact; `amount` is what the hand measures or sets.

    A named tuple, as each list makes many of them and changes a field or two of each.
    """

    blocked: str = ""
    dose: Amount | None = None
    exact: Amount | None = None
    amount: Amount | None = None
    low: Amount | None = None
    high: Amount | None = None
    sizes: tuple[str, ...] = ()
    syringe: SyringeStock | None = None
    product: str = ""
    """The id of the product it is drawn up from; empty where there is none."""
    air: Amount | None = None
    """What stays behind a dose in its syringe; None for nothing."""
    recipe: Dilution | None = None
    vials: tuple[VialCount, ...] = ()
    discard: Amount | None = None
    how_many: int | None = None
    """How many to lay out, where that is stated."""
    kits_own: str = ""
    """The kit's own value in words, where the ward file changed it."""
    capped: Amount | None = None
    """The most in one dose, where it took the place of the dose per kg."""
    is_held: bool = False
    """Whether the mark stands below the nearest one, which would be more than may be given."""
    over_course: Amount | None = None
    """What the course comes to per kg, where the mark carries it a little over its total."""
    is_unmeasured: bool = False
    """Whether it is blocked for want of a strength and a syringe that measure it."""
    standing: str = ""
    """On what ground it stands where that can change while the value stays: a label, an approval, the values tried."""
    show: str = ""
    details: tuple[str, ...] = ()
    working: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    basis: Basis | None = None
    """Where it differs from the line's own."""
    source: str | None = None
    prescribed: Prescribed | None = None


class Order(Struct, frozen=True):
    """What a prescriber chose for one dose line."""

    product: str
    whole: Amount | None
    """The volume of the whole containers, in mL; None for the measured dose."""
    by: str
    """Who prescribed it: initials, or words."""


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
    layer: Layer | None = None
    """What the ward file changed of the kit; None where a line is worked out by one of the two alone."""


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


# ISO 80369 gives each route a connector that fits no other; the trachea has none of its own.
_CONNECTORS = MappingProxyType(
    {
        "intravenous": "a luer syringe (ISO 80369-7)",
        "enteral": "an enteral syringe (ISO 80369-3), which fits no line",
        "tracheal": "a syringe labelled not for injection: no connector of its own keeps it from a line",
    }
)


def say_route(route: str) -> str:
    """Say which route, and which connector its syringe has."""
    return f"Route: {route}, {_CONNECTORS[route]}."


_UNCITED = MappingProxyType(
    {"from memory": "from memory, not read: check it", "common practice": "common practice, no source to cite"}
)


def cite(kit: Kit, basis: str, source: tuple[str, ...]) -> str:
    """Give the basis and the citation in one phrase: "published: Canadian Paediatric Society (2011), doi ..."."""
    if not source:
        return _UNCITED.get(basis, basis)
    return f"{basis}: " + "; ".join(kit.sources[name].words() if name in kit.sources else name for name in source)


def cite_short(kit: Kit, basis: str, source: tuple[str, ...]) -> str:
    """Give the basis and the titles, to stand behind a sentence of the working."""
    if not source:
        return f"[{basis}]"
    return f"[{basis}: " + "; ".join(_name_source(kit, name) for name in source) + "]"


def _name_source(kit: Kit, name: str) -> str:
    """Name a source by title and year; by its id where a ward's own product cites one that the kit does not list."""
    source = kit.sources.get(name)
    if source is None:
        return name
    return f"{source.title} {source.year}" if source.year else source.title
