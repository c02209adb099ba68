"""What a proof finds: kinds with their values. `prepkit.documents.proof_text` puts them into words."""

from enum import Enum, StrEnum, auto
from fractions import Fraction
from typing import ClassVar, TypeAlias

from msgspec import Struct

from prepkit.kit.spans import AgeSpan, AmountSpan, Where
from prepkit.proof.domain import Run
from prepkit.quantities.amount import Amount
from prepkit.rules.findings import Finding, Kind


class NoteKind(StrEnum):
    """What a note is about."""

    BLOCKED = "blocked"
    UNMEASURED = "unmeasured"
    WRONG = "wrong"
    CHANGE = "change"
    ROUNDING = "rounding"
    STEP = "step"
    CEILING = "ceiling"
    CAUTION = "caution"
    SPANS = "spans"
    STANDS_IN = "stands in"
    SHARE = "share"
    CONTAINERS = "containers"
    CRITERION = "criterion"
    UNUSED = "unused"


class BlockedRuns(Struct, frozen=True):
    """Runs of weights at which a line is blocked, none for a line that goes by no weight; and why at the first."""

    is_unmeasured: bool
    """Whether for want of a strength and a syringe that measure it."""
    runs: tuple[Run, ...]
    reason: Finding | None
    """None where it was left away to compare."""
    shared: object
    """The reason without the baby that it speaks of: the same for another gestation."""
    is_ruled_out: bool
    """Whether the criteria rule these babies out."""

    @property
    def kind(self) -> NoteKind:
        """What cannot be measured is told apart."""
        return NoteKind.UNMEASURED if self.is_unmeasured else NoteKind.BLOCKED


class Ground(Struct, frozen=True):
    """What a line stands on and what it is made with; a change of it is told."""

    standing: tuple[Finding, ...] = ()
    is_approved: bool = False
    """Whether it stands on an approval, which has a review date."""
    show: Finding | None = None
    """Of a size, as it is laid out."""
    sizes: tuple[str, ...] = ()
    syringe: Amount | None = None
    """What it holds."""
    syringes: int = 1
    """How many of them it takes."""
    stands_in: str = ""
    """The product's id, where it is not the ward's first."""
    recipe: str = ""
    strength: Amount | None = None


class GroundChanges(Struct, frozen=True):
    """The grounds along the weights, each with the first gram that it is for, where the line goes by a weight."""

    kind: ClassVar[NoteKind] = NoteKind.CHANGE
    grounds: tuple[tuple[Run | None, Ground], ...]

    @property
    def is_told_alone(self) -> bool:
        """Whether it is told even where it is the only one: a change along the weights, or a ground that may end."""
        return len(self.grounds) > 1 or self.grounds[0][1].is_approved


class LargestRounding(Struct, frozen=True):
    """The most that rounding to a mark adds or takes, in hundredths as it is told, and the least weight of it."""

    kind: ClassVar[NoteKind] = NoteKind.ROUNDING
    sign: int
    """1 where it adds, -1 where it takes, 0 where the mark is exact."""
    size: Fraction
    unit: str
    """"%" of a dose, the unit of a length."""
    at: Run | None
    """None for a line that goes by no weight."""


class StepOverMark(Struct, frozen=True):
    """A gram at which the amount moves by more than a mark; or a run of grams at each of which it does."""

    kind: ClassVar[NoteKind] = NoteKind.STEP
    before: tuple[Amount, Run]
    """The amount and its gram."""
    after: tuple[Amount, Run]
    is_run: bool


class DoseCapped(Struct, frozen=True):
    """Where the most in one dose takes the place of the dose per kg."""

    kind: ClassVar[NoteKind] = NoteKind.CEILING
    most: Amount
    grams: Run


class MarkHeldBelow(Struct, frozen=True):
    """Where the nearest mark would be more than may be given, so that the mark below it is taken."""

    kind: ClassVar[NoteKind] = NoteKind.CEILING
    runs: tuple[Run, ...]


class SyringeAgain(Struct, frozen=True):
    """A syringe that serves again after another one took its place, as the volumes of one strength grow."""

    kind: ClassVar[NoteKind] = NoteKind.SPANS
    holds: Amount
    marks: Amount
    runs: tuple[Run, ...]
    """Where it serves from its second span on."""


class Wrong(Enum):
    """What is found wrong with a dose by plain sums."""

    MEDICINE = auto()
    """Not what was ordered; without an order not the ward's first substance, a strength that it does not use, or a
    stand-in that is not said."""
    MASS = auto()
    """What is in the syringe is not the volume times the strength."""
    MOST = auto()
    """Past the most in one dose."""
    DUE = auto()
    """Due is not the dose per kg times the weight."""
    MARK = auto()
    """On no mark of the syringe."""
    OVER = auto()
    """Past what may not be passed: by the ward's rounding, or by whole containers."""
    DEVIATION = auto()
    """Further from what is due than the ward allows."""
    NEAREST = auto()
    """Another mark is nearer, and nothing keeps from it."""
    CONTAINERS = auto()
    """Whole containers that nobody asked for, or not all of them."""


class WrongDose(Struct, frozen=True):
    """Where a dose fails a check by plain sums, and the first of them; it keeps the kit from being proved."""

    kind: ClassVar[NoteKind] = NoteKind.WRONG
    what: Wrong
    ordered: str
    """What was ordered; empty where nothing was."""
    runs: tuple[Run, ...]
    product: str
    amount: Amount | None
    in_syringe: Amount | None
    due: Amount | None


class StandsIn(Struct, frozen=True):
    """Where another strength or container of the substance takes the place of the ward's first product, and why."""

    kind: ClassVar[NoteKind] = NoteKind.STANDS_IN
    product: str
    instead_of: str
    runs: tuple[Run, ...]
    reason: Finding | None
    """At the first of them; None where it was left away to compare."""
    why: Kind | None
    """The kind of reason, which is the same at all of them."""


class ShareOfDue(Struct, frozen=True):
    """Where a row says what share of the dose that is due the mark holds, and the one furthest from all of it."""

    kind: ClassVar[NoteKind] = NoteKind.SHARE
    is_less: bool
    runs: tuple[Run, ...]
    percent: Fraction
    at: Run


class ContainersTaken(Struct, frozen=True):
    """Where whole containers are taken and nothing is measured off, or one container less than the nearest mark."""

    kind: ClassVar[NoteKind] = NoteKind.CONTAINERS
    is_whole: bool
    runs: tuple[Run, ...]


class CourseFull(Struct, frozen=True):
    """How much of a course, and how many doses, leave no room for a further dose."""

    kind: ClassVar[NoteKind] = NoteKind.CEILING
    total: Amount
    last: Amount | None
    """The most that may have been given before a further dose; None where no further dose ever has room."""
    most_doses: int | None = None
    """The doses that a course holds, where the label counts them."""


class MarkPastCourse(Struct, frozen=True):
    """Where the mark brings a course a little over its total, with the most that it comes to."""

    kind: ClassVar[NoteKind] = NoteKind.CAUTION
    runs: tuple[Run, ...]
    most: Amount
    at: Run


class UnmetFact(Struct, frozen=True):
    """The values of one fact for which a condition is not met."""

    fact: str
    span: AmountSpan | AgeSpan | None
    """What it has to be, where it is an amount or the age."""
    values: tuple[str, ...] = ()
    """Where it is a choice: what it then is."""


class CriterionCuts(Struct, frozen=True):
    """Where a criterion that goes by facts is not met."""

    kind: ClassVar[NoteKind] = NoteKind.CRITERION
    otherwise: str
    runs: tuple[tuple[Run, ...], ...] = ()
    """Of each weight and each gestation that it goes by and that leave some out."""
    facts: tuple[UnmetFact, ...] = ()


class Never(Enum):
    """What never happens in a domain."""

    TABLE_MET = auto()
    BAND_MET = auto()
    BAND_FIRST = auto()
    METHOD_SERVES = auto()
    METHOD_SERVES_UNMEASURED = auto()
    """The ward has measured nothing."""
    METHOD_SERVES_OTHER_SIZES = auto()
    """The ward measured other sizes."""
    METHOD_MARKS = auto()
    METHODS_DIFFER = auto()
    METHOD_DIFFERS = auto()
    APPROVAL_USED = auto()
    OFF_LABEL = auto()
    OVER_RANGE = auto()
    OVER_COURSE = auto()
    WIDE_DEVIATION = auto()
    CRITERION_MET = auto()
    CRITERION_UNMET = auto()
    PRODUCT_STOCKED = auto()
    PRODUCT_SERVES = auto()
    PRODUCT_UNORDERED = auto()
    """Another substance than the ward's first: it serves where an order names it."""


class Unused(Struct, frozen=True):
    """Something that never happens in a domain, and of what."""

    kind: ClassVar[NoteKind] = NoteKind.UNUSED
    what: Never
    of: str = ""
    """What a method or a table goes by; an approval's reference; a product's id; a criterion's verdict."""
    band: Where | None = None
    when_size: str = ""
    """The other line's size that the band is for."""
    limit: Amount | None = None


ProofFinding: TypeAlias = (
    BlockedRuns
    | GroundChanges
    | LargestRounding
    | StepOverMark
    | DoseCapped
    | MarkHeldBelow
    | SyringeAgain
    | WrongDose
    | StandsIn
    | ShareOfDue
    | ContainersTaken
    | CourseFull
    | MarkPastCourse
    | CriterionCuts
    | Unused
)
