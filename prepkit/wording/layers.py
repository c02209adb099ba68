"""The words of criteria, of the weight, of approvals, and of what a ward file changed of a kit."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from prepkit.kit.axes import WORDS as AXIS_WORDS
from prepkit.kit.axes import Axis
from prepkit.kit.baby import BabySize
from prepkit.kit.facts import FactValue, show_fact
from prepkit.kit.kit import Domain, Kit, Product
from prepkit.kit.names import CORE_LABELS, WEIGHT_NOW
from prepkit.kit.spans import Where
from prepkit.kit.ward import Approved
from prepkit.quantities.amount import Amount
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import show_amount, show_range, write_decimal
from prepkit.rules.findings import Kind
from prepkit.rules.growth import FIRST_DAY, Plausibility, Sex, WeightPlausibility
from prepkit.rules.weights import WeightSinceBirth
from prepkit.wording.things import say_ground, say_ground_and_review, say_measure, say_size, show_day


def say_other_kits(kits: Iterable[Kit]) -> str:
    """Name the other kits that a baby is not ruled out of; empty where there is none."""
    names = "; ".join(kit.name for kit in kits)
    return f"Other routes that may suit this baby: {names}." if names else ""


def say_weight(found: WeightPlausibility) -> tuple[str, ...]:
    """Say how believable a weight is, a sentence each."""
    which = CORE_LABELS[found.fact].lower()
    if found.fact == WEIGHT_NOW or found.gestation is None:
        unknown = "birth weight" if found.fact == WEIGHT_NOW else "gestation at birth"
        return (f"The {unknown} is not known, so that nothing tells a slip: enter the {which} again.",)
    if found.low_g is None or found.high_g is None:
        edge = "below 24+0" if found.gestation.days < FIRST_DAY else "past 42+6"
        return (f"There is no reference {edge} (gestation {found.gestation}): enter the {which} again.",)
    usual = _say_usual(found.gestation, found.sex, found.low_g, found.high_g)
    if found.plausibility is Plausibility.LIKELY:
        return (f"{found.weight_g} g is within {usual}.",)
    side = "below" if found.weight_g < found.low_g else "above"
    if found.plausibility is Plausibility.UNLIKELY:
        return (f"{found.weight_g} g is {side} {usual}.", f"Enter the {which} again.")
    return (
        f"{found.weight_g} g is far {side} {usual}.",
        f"Look for a slipped digit, a wrong unit or a wrong gestation, and enter the {which} again.",
    )


def _say_usual(gestation: Gestation, sex: Sex, low_g: int, high_g: int) -> str:
    whose = "" if sex is Sex.UNKNOWN else f"a {sex} at "
    return f"the usual range for {whose}{gestation} ({low_g}-{high_g} g)"


def say_change(found: WeightSinceBirth) -> tuple[str, ...]:
    """Say how the weight now stands to the weight at birth, a sentence each."""
    share = f"{write_decimal(found.percent, 0)} % of the birth weight of {found.birth_g} g"
    return (
        f"{found.now_g} g now is {share}, outside {show_range(found.least, found.most)}.",
        "Look for a slipped digit, or for the two weights swapped, and enter the weight now again.",
    )


def _say_judged(
    text: str,
    where: Where,
    known: Mapping[Axis, int],
    facts: Mapping[str, FactValue | None],
    labels: Mapping[str, str],
) -> str:
    said = [
        f"{AXIS_WORDS[axis]}: {say_measure(axis, known[axis]) if axis in known else 'not known'}"
        for axis, _ in where.list_spans()
        if axis is not Axis.AGE
    ]
    for name, value in facts.items():
        said.append(f"{labels[name]}: {'not recorded' if value is None else show_fact(value)}")
    return f"{text} ({'; '.join(said)})" if said else text


def _say_outside(domain: Domain, size: BabySize) -> str:
    return f"This kit is for {', '.join(domain.say_spans())} (this baby: {say_size(size)})"


def _say_own(own: str, verdict: str) -> str:
    return f"the kit's: {own}, {verdict}"


def _say_approved(text: str, own: str, verdict: str, approved: Approved) -> str:
    ground = f"on ward approval {say_ground(approved)}, review by {show_day(approved.review_by)}"
    return f"{text} (the ward's own, {ground}; {_say_own(own, verdict)})"


def _say_due(what: str, by: date) -> str:
    return f"{what} was due for review by {show_day(by)}: its figures may be out of date."


def _say_product(product: Product) -> str:
    dose = f", {show_amount(product.dose)}" if product.dose else ""
    return f"{product.name} {show_amount(product.strength)}{dose}"


def _say_whole(blocked: str | None, show: str | None, details: Sequence[str]) -> str:
    whole = f"blocked: {blocked}" if blocked else "; ".join(filter(None, (show, *details)))
    return f"The kit's own: {whole or 'no amount'}. [local]"


def _say_kits(due: Amount | None, show: str | None) -> str:
    return f"the kit's is {f'{show_amount(due)} due, ' if due is not None else ''}{show or 'as it comes'}"


def _say_demand(demand: str) -> str:
    return _DEMANDS[demand]


_ANSWERS = {"yes": "applies", "no": "no", "unsure": "not sure"}
"""Whether a reason against the route applies."""
_DEMANDS = {
    "essential": "the kit's line is essential",
    "label": "the kit's line stands on its label",
    "earlier": "the kit's line counts earlier doses",
    "also_below": "the kit lays out the size below too",
    "air": "the kit leaves air behind the dose",
}

WORDS: Mapping[Kind, Callable[..., str]] = {
    # Approvals, and the grounds on which a line stands
    Kind.NO_APPROVAL: lambda: "no approval on file",
    Kind.REVIEW_PAST: lambda reference, by: f"the ward's approval {reference} was due for review by {show_day(by)}",
    Kind.APPROVAL_NOT_BEGUN: lambda reference, on: f"the ward's approval {reference} begins on {show_day(on)}",
    Kind.REVIEW_DUE: lambda by: f"The approval is due for review by {show_day(by)}.",
    Kind.APPROVAL_GROUND: say_ground,
    Kind.ON_LABEL: lambda: "label",
    Kind.ON_APPROVAL: lambda reference: f"approval {reference}",
    Kind.ON_WIDENING: lambda approved: f"widening {say_ground_and_review(approved)}",
    # Criteria
    Kind.FACTS_JUDGED: _say_judged,
    Kind.ANSWERED: lambda text, answer: f"{text}: {_ANSWERS[answer]}",
    Kind.SAID: lambda text, is_done: f"{text}: {'done' if is_done else 'not recorded'}",
    Kind.OUTSIDE_DOMAIN: _say_outside,
    Kind.WEIGHT_JUDGED: lambda found, confirmed: (
        f"{' '.join(say_weight(found))}{' (entered again and confirmed)' if confirmed else ''}"
    ),
    Kind.CHANGE_JUDGED: lambda change, confirmed: (
        f"{' '.join(say_change(change))}{' (entered again and confirmed)' if confirmed else ''}"
    ),
    Kind.CRITERION_REVIEW: lambda approved, wards: (
        f"The approval {approved.reference} of a criterion is due for review by {show_day(approved.review_by)}:"
        f" {wards}."
    ),
    Kind.KIT_OVERDUE: lambda by: _say_due("The kit", by),
    Kind.WARD_OVERDUE: lambda by: _say_due("The ward file", by),
    # What the ward file changed
    Kind.WIDER_STOPS: lambda: "Wider than the kit: a ward's own approval, or do not use.",
    Kind.KITS_NONE: lambda: "none",
    Kind.KITS_BLOCKED: lambda: "blocked",
    Kind.SAME_AS_KITS: lambda: "the same",
    Kind.ADDED_BY_WARD: lambda: "added by the ward",
    Kind.LINE_ADDED: lambda: "Ward file: this line is added by the ward; the kit has none like it. [local]",
    Kind.KITS_NAME: lambda name: f"The kit's own name: {name}.",
    Kind.KITS_WEIGHT: lambda axis: f"The kit's own goes by the {AXIS_WORDS[axis]}.",
    Kind.KITS_WORDS: lambda lost: f"The kit's own words: {' '.join(lost)}",
    Kind.KITS_PARTS: lambda left_off: f"The kit lays out with it too: {', '.join(left_off)}.",
    Kind.PRODUCT_REPLACED: lambda product: f"Ward file: {_say_product(product)} is the ward's own entry.",
    Kind.KITS_PRODUCT: lambda product: f"The kit's own: {_say_product(product)}. [local]",
    # How it goes further than the kit
    Kind.DEMAND_DROPPED: _say_demand,
    Kind.TRIED_LESS: lambda name: f'the kit\'s is of "{name}" too',
    Kind.SIZES_DROPPED: lambda: "the kit lays out each size that fits",
    Kind.METHODS_DROPPED: lambda: "the kit shows other methods beside the first",
    Kind.LABEL_EXCEEDED: lambda most: f"the kit's label ends at {show_amount(most)}",
    Kind.NO_SUCH_LINE: lambda: "the kit has no such line",
    Kind.NO_SUCH_PRODUCT: lambda name: f"the kit's does not know {name}",
}
NESTED: Mapping[Kind, Callable[..., str]] = {
    Kind.WARDS_CRITERION: lambda text, own, verdict: f"{text} (the ward's own; {_say_own(own, verdict)})",
    Kind.KITS_CRITERION_KEPT: lambda text, refusal, wards: f"{text} (the ward's own is wider, and {refusal}: {wards})",
    Kind.CRITERION_APPROVED: _say_approved,
    Kind.WIDER_REFUSED: lambda phrases, refusals: (
        f"wider than the kit allows ({'; '.join(phrases)}), and {'; '.join(refusals)}"
    ),
    Kind.BLOCKED_BESIDE: lambda reason, beside: f"{reason} ({beside})",
    Kind.KITS_DETAILS: lambda details: f"{', '.join(details)}",
    Kind.WARDS_OWN: lambda kits_own: f"ward's own value; the kit's: {kits_own}",
    Kind.WARDS_OWN_BESIDE: lambda kits_own: f"ward's own; the kit's: {kits_own}",
    Kind.WARDS_OWN_APPROVED: lambda references, kits_own: (
        f"ward's own value, on ward approval {' and '.join(references)}; the kit's: {kits_own}"
    ),
    Kind.WIDER_GRANTED: lambda phrases, approved: (
        f"Wider than the kit ({'; '.join(phrases)}): ward approval {say_ground_and_review(approved)}. [local]"
    ),
    Kind.WIDER_ALLOWED: lambda phrases, references: (
        f"Wider than the kit allows ({'; '.join(phrases)}): used on the ward's approval {' and '.join(references)}."
    ),
    Kind.LINE_REPLACED: lambda blocked, show, details: (
        f"Ward file: this line is the ward's own. {_say_whole(blocked, show, details)}"
    ),
    Kind.LINE_CHANGED: lambda blocked, show, details: (
        f"Ward file: changed by the ward. {_say_whole(blocked, show, details)}"
    ),
    Kind.KIT_BLOCKS: lambda reason: f"the kit blocks it: {reason}",
    Kind.KITS_IS: _say_kits,
}
"""Made of other findings: each is given the words of those among its values."""
