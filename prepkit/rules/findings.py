"""What rules and lists find: a kind with its values, never a sentence.

Whoever wants to decide asks the kind or a value; `prepkit.wording` puts a finding into words. A new finding is a kind
here and its words there.
"""

from collections.abc import Mapping
from enum import StrEnum, auto

from msgspec import Struct

from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit, Source


class Kind(StrEnum):
    """What a finding says; its words, with the values that they need, stand under it in `prepkit.wording`."""

    # An enum's own is slow, and each finding that is put into words is looked up by its kind.
    __hash__ = str.__hash__

    # Values that are shown
    AMOUNT = auto()
    RANGE = auto()
    FLOOR = auto()
    SIZES = auto()
    SUPPLY = auto()
    TRIED_VALUES = auto()
    NO_AMOUNT = auto()
    # Approvals
    NO_APPROVAL = auto()
    REVIEW_PAST = auto()
    APPROVAL_NOT_BEGUN = auto()
    REVIEW_DUE = auto()
    APPROVAL_GROUND = auto()
    # Grounds that can change while the value stays
    ON_LABEL = auto()
    ON_APPROVAL = auto()
    ON_WIDENING = auto()
    TRIED = auto()
    # Criteria
    FACTS_JUDGED = auto()
    ANSWERED = auto()
    SAID = auto()
    OUTSIDE_DOMAIN = auto()
    WEIGHT_JUDGED = auto()
    CHANGE_JUDGED = auto()
    WARDS_CRITERION = auto()
    KITS_CRITERION_KEPT = auto()
    CRITERION_APPROVED = auto()
    CRITERION_REVIEW = auto()
    KIT_OVERDUE = auto()
    WARD_OVERDUE = auto()
    # A dose that is not due
    OTHER_BEFORE = auto()
    COURSE_IS_FULL = auto()
    NO_REST = auto()
    NO_DOSE_BAND = auto()
    NO_DOSE_STATED = auto()
    NO_REPEAT_STATED = auto()
    MORE_THAN_COURSE = auto()
    PAST_COURSE = auto()
    LAST_DOSE_AHEAD = auto()
    TOO_EARLY = auto()
    # A dose that is not drawn up
    NO_WARD = auto()
    NOT_STOCKED = auto()
    BARRED_BY_LABEL = auto()
    STRENGTH_MISSES = auto()
    MORE_THAN_RECIPE = auto()
    UNDER_LABEL_VOLUME = auto()
    WHOLE_UNDER_LABEL = auto()
    NO_SYRINGE_STOCKED = auto()
    SYRINGE_TOO_SMALL = auto()
    UNDER_SYRINGE_LEAST = auto()
    ROUNDS_TOO_FAR = auto()
    NO_RANGE_ON_LABEL = auto()
    RANGE_OF_FIRST = auto()
    ORDER_OUTSIDE_RANGE = auto()
    CONTAINERS_DO_NOT_MAKE = auto()
    REPEAT_IS_DUE = auto()
    NOT_USED_UNDILUTED = auto()
    OUTSIDE_RANGE = auto()
    OVER_SINGLE_DOSE = auto()
    OVER_COURSE = auto()
    NOT_STOCKED_ANY_MORE = auto()
    GIVEN_SINCE = auto()
    AFTER_DOSES = auto()
    ORDER_VOID = auto()
    # What a dose is ordered and drawn up as
    ORDERED = auto()
    STRENGTH = auto()
    MAKE_FIRST = auto()
    MIX_IN = auto()
    REMAINDER = auto()
    IN_SYRINGE = auto()
    SHARE_OF_DUE = auto()
    STANDS_IN = auto()
    BY_ORDER_ALONE = auto()
    SYRINGE_AND_AIR = auto()
    ROUTE = auto()
    OPEN = auto()
    DISCARD = auto()
    OPTION = auto()
    NOTHING_WITHOUT_WARD = auto()
    NOTHING_OFFERED_OF = auto()
    NOT_OFFERED_MEASURED = auto()
    NOT_OFFERED_WHOLE = auto()
    WHOLE_ORDERED = auto()
    DOSE_PRESCRIBED = auto()
    MOSTS_PRESCRIBED = auto()
    PRODUCT_PRESCRIBED = auto()
    MADE_UP = auto()
    # What is laid out with a medicine
    PART_SYRINGE = auto()
    PART_LABEL = auto()
    PART_CAP = auto()
    PART_MIXING = auto()
    PART_DILUENT = auto()
    PART_NEEDLE = auto()
    PART_STOCK_LABEL = auto()
    # What to do with a dose
    LABEL_REMAINDER = auto()
    ASK_FOR_AIR = auto()
    # Cautions of doses
    OVER_LABEL_RANGE = auto()
    MARK_PAST_COURSE = auto()
    DEVIATION = auto()
    LABEL_ADVICE = auto()
    EARLIER_UNKNOWN = auto()
    AFTER_UNKNOWN = auto()
    NO_AIR_STATED = auto()
    NOT_FOR_INJECTION = auto()
    # Working of doses
    COURSE_SO_FAR = auto()
    DOSE_SUM = auto()
    CEILING = auto()
    DRAWN_UP = auto()
    ORDER_NAMED = auto()
    WHOLE_DOSE_SUM = auto()
    LABEL_RANGE = auto()
    CEILING_STATED = auto()
    NOT_DRAWN_UP = auto()
    NOT_REPLACED = auto()
    NOT_THIS_WAY = auto()
    NOTHING_IN_STOCK = auto()
    DOSE_OF_PRODUCT = auto()
    # Afterwards
    SHARE_RECOVERED = auto()
    OVER_WARD_LINE = auto()
    REPEAT_FROM = auto()
    NO_REPEAT = auto()
    GIVEN_PER_KG = auto()
    # Sizes
    OUTSIDE_LABELS = auto()
    NO_SIZE = auto()
    WAITS = auto()
    FACT_MISSING = auto()
    FACT_WANTED = auto()
    NOT_HELD_AGAINST = auto()
    IF_BORN_TODAY = auto()
    BY_WEIGHT_NOW = auto()
    SIZE_FOLLOWS = auto()
    NO_BAND = auto()
    SIZES_DIFFER = auto()
    OFF_LABEL = auto()
    OFF_LABEL_DETAIL = auto()
    OFF_LABEL_ALLOWED = auto()
    SIZES_BY_BAND = auto()
    SIZE_BELOW = auto()
    LABEL = auto()
    LABEL_CITED = auto()
    APPROVED_SIZE = auto()
    # Depths
    NO_METHOD = auto()
    NO_METHOD_HOLDS = auto()
    NO_MARK_BY_FORMULA = auto()
    NO_MARK_MEASURED = auto()
    DEPTH_BY = auto()
    METHOD_DIFFERS = auto()
    MEASURED_OTHER_SIZE = auto()
    DEPTH_FORMULA = auto()
    DEPTH_STATED = auto()
    DEPTH_BY_BAND = auto()
    DEPTH_MEASURED = auto()
    MEASURED_BY = auto()
    # Settings and amounts
    NOT_SET = auto()
    ENTER_WITH_TICK = auto()
    ENTERED = auto()
    ENTERED_AIR = auto()
    CLEARS = auto()
    ENTERED_WITHIN = auto()
    AS_IT_IS = auto()
    NOTHING_STATED = auto()
    NO_SYRINGE_MEASURES = auto()
    ASSUMED = auto()
    LOOK_AND_ENTER = auto()
    NO_WARD_FOR_SYRINGE = auto()
    SYRINGE_OF_ROUTE = auto()
    VALUE_UNKNOWN = auto()
    VALUE_COPIED = auto()
    VALUE_STATED = auto()
    SMALLEST_SYRINGE = auto()
    ROUTE_AND_CONNECTOR = auto()
    # Supplies and trials
    NONE_STATED = auto()
    NONE_GIVEN = auto()
    COUNTED = auto()
    SUPPLY_SIZE = auto()
    SUPPLY_LENGTH = auto()
    LAID_OUT = auto()
    TRY_NOW = auto()
    TRIED_ON = auto()
    # What the ward file changed
    WIDER_REFUSED = auto()
    WIDER_STOPS = auto()
    BLOCKED_BESIDE = auto()
    KITS_NONE = auto()
    KITS_BLOCKED = auto()
    KITS_DETAILS = auto()
    SAME_AS_KITS = auto()
    ADDED_BY_WARD = auto()
    WARDS_OWN = auto()
    WARDS_OWN_BESIDE = auto()
    WARDS_OWN_APPROVED = auto()
    WIDER_GRANTED = auto()
    WIDER_ALLOWED = auto()
    LINE_ADDED = auto()
    LINE_REPLACED = auto()
    LINE_CHANGED = auto()
    KITS_NAME = auto()
    KITS_WEIGHT = auto()
    KITS_WORDS = auto()
    KITS_PARTS = auto()
    PRODUCT_REPLACED = auto()
    KITS_PRODUCT = auto()
    KIT_BLOCKS = auto()
    KITS_IS = auto()
    DEMAND_DROPPED = auto()
    TRIED_LESS = auto()
    SIZES_DROPPED = auto()
    METHODS_DROPPED = auto()
    LABEL_EXCEEDED = auto()
    NO_SUCH_LINE = auto()
    NO_SUCH_PRODUCT = auto()


class Finding(Struct, frozen=True):
    """One thing found: its kind, and by name the values that it is about."""

    kind: Kind
    values: Mapping[str, object]

    def __getitem__(self, name: str) -> object:
        """Give one of its values."""
        return self.values[name]

    def __hash__(self) -> int:
        """By the kind: few are ever hashed together."""
        return hash(self.kind)


def finding(kind: Kind, **values: object) -> Finding:
    """Make a finding of its values, by name."""
    return Finding(kind, values)


class Citation(Struct, frozen=True):
    """Where a figure comes from."""

    basis: Basis
    sources: tuple[Source | str, ...] = ()
    """What it was read in; by its id alone where a ward's own product names a source that the kit does not list."""


def cite(kit: Kit, basis: Basis, source: tuple[str, ...]) -> Citation:
    """Cite the kit's sources by their ids."""
    return Citation(basis, tuple(kit.sources.get(name, name) for name in source))
