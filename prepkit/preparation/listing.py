"""The list worked out from a preparation's kit, ward file and facts, or the reason why there is none.

Also what follows from it: the `Listed` event, what is missing for suitability, which answers lapse under other texts.
Loads units, kits and rules, which the home screen does not need.
"""

from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache

from msgspec import Struct

from prepkit.canonical import compute_fingerprint
from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DoseLine
from prepkit.kit.problems import NotGiven, Problem, explain_all
from prepkit.kit.read import ParsedFile, read_kit, read_ward
from prepkit.kit.ward import Ward
from prepkit.list.compute import PreparedKit, compute_prepared, prepare_kit
from prepkit.list.lines import TrayList
from prepkit.preparation.check.events import WeightRead
from prepkit.preparation.lines.events import LineSnapshot, Listed, ListingReason
from prepkit.preparation.readiness import About, Missing
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.text import read_amount
from prepkit.quantities.units import Dimension
from prepkit.rules.criteria import find_verdict
from prepkit.rules.dose.rule import OrderOptions, find_options
from prepkit.rules.growth import Plausibility, Sex, WeightPlausibility, check_weight
from prepkit.rules.rule import Order, RuleContext


class TextsUnreadableError(ValueError):
    """A preparation's stored kit or ward text cannot be read; the message is every problem of it."""


class WorkedList(Struct, frozen=True):
    """What a preparation's facts, kit and ward give at one moment."""

    kit: ParsedFile[Kit]
    ward: ParsedFile[Ward] | None
    baby: Baby | None
    tray: TrayList | None
    withheld: str
    """Why there is no list; empty when there is one."""
    weight: WeightPlausibility | None
    """How likely the weight is, where that is open and the list waits for it; else None."""

    @property
    def laid(self) -> Kit:
        """The kit with the ward file laid over it."""
        return self.tray.laid if self.tray else lay_over(self.kit.model, self.ward.model if self.ward else None).kit


def work_out(state: Preparation, now: datetime) -> WorkedList:
    """Work the list out from what the preparation holds.

    Raises:
        TextsUnreadableError: where the stored kit or ward text has problems.
    """
    prepared = prepare_texts(state.kit_text, state.kit, state.ward_text, state.ward_name or "")
    kit, ward = prepared.kit, prepared.ward
    baby, problems = make_baby(kit.model, state.facts, now, kept=True)
    if baby is None:
        return WorkedList(kit, ward, None, None, _say_needed(problems), None)
    if state.disputed is not None:
        return WorkedList(kit, ward, baby, None, _say_dispute(state.disputed, baby), None)
    found = check_weight(baby.weight_g, baby.gestation.days, Sex(baby.sex))
    if found.plausibility is not Plausibility.LIKELY and not state.is_weight_confirmed:
        return WorkedList(kit, ward, baby, None, f"No amount is shown yet. {' '.join(found.words)}", found)
    answers = {name: given.answer for name, given in state.answers.items()}
    is_confirmed, orders = state.is_weight_confirmed, read_orders(state)
    tray = compute_prepared(prepared, baby, answers, now, weight_confirmed=is_confirmed, orders=orders)
    return WorkedList(kit, ward, baby, tray, "", None)


def read_orders(state: Preparation) -> dict[str, Order]:
    """What was ordered, by line id, as the rules take it."""
    return {
        line: Order(
            given.product, read_amount(given.whole, Dimension.VOLUME) if given.whole else None, given.prescriber
        )
        for line, given in state.orders.items()
    }


def find_line_options(worked: WorkedList, line: str, now: datetime) -> OrderOptions | None:
    """What can be ordered for a line of the list; None where there is no list, or the line is no dose."""
    found = next((each for each in worked.laid.line if each.id == line), None)
    if worked.tray is None or worked.baby is None or not isinstance(found, DoseLine):
        return None
    ward = worked.ward.model if worked.ward else None
    return find_options(found, RuleContext(worked.laid, ward, worked.baby, now, {}))


def make_listed(worked: WorkedList, because: ListingReason) -> Listed:
    """The event that records the list as it is now worked out."""
    return Listed(because, make_snapshots(worked.tray) if worked.tray else (), worked.withheld)


def make_snapshots(tray: TrayList) -> tuple[LineSnapshot, ...]:
    """As much of each line as a preparation has to know."""
    return tuple(
        LineSnapshot(line.id, line.group, line.name, line.show, fingerprint, line.blocked, line.essential)
        for line, fingerprint in zip(tray.lines, tray.fingerprints, strict=True)
    )


def compute_suitability_fingerprint(tray: TrayList) -> str:
    """The fingerprint of the verdict and its reasons, for which a senior's agreement is given."""
    return compute_fingerprint(
        [tray.verdict, [[reason.criterion, reason.verdict, reason.text] for reason in tray.reasons]]
    )


def find_suitability_missing(state: Preparation, worked: WorkedList) -> tuple[Missing, ...]:
    """What the criteria and the assumed facts keep shut, a sentence each."""
    tray = worked.tray
    if tray is None:
        return ()
    refused = _say_reasons(tray, "not suitable", "Not suitable", About.NOT_SUITABLE)
    questions = _say_reasons(tray, "questions open", "To answer", About.QUESTION)
    senior = _say_reasons(tray, "ask a senior", "A senior has to agree", About.SENIOR)
    if state.is_senior_agreed(compute_suitability_fingerprint(tray)):
        senior = []
    labels = {fact.id: fact.label for fact in worked.kit.model.fact}
    assumed = [
        Missing(f"To confirm, it is only assumed: {labels[name]}", About.ASSUMED)
        for name in tray.baby.assumed
        if name in labels
    ]
    return (*refused, *questions, *senior, *assumed)


def _say_reasons(tray: TrayList, verdict: str, lead: str, about: About) -> list[Missing]:
    return [Missing(f"{lead}: {reason.text}", about) for reason in tray.reasons if reason.verdict == verdict]


def is_senior_wanted(state: Preparation, tray: TrayList) -> bool:
    """Whether a senior's agreement is what the verdict waits for."""
    return find_verdict(tray.reasons) == "ask a senior" and not state.is_senior_agreed(
        compute_suitability_fingerprint(tray)
    )


@lru_cache(maxsize=16)
def prepare_texts(kit_text: str, kit_name: str, ward_text: str | None, ward_name: str) -> PreparedKit:
    """Read and prepare the stored texts; kept for the same texts alone, so that a stale kit never answers for another.

    Raises:
        TextsUnreadableError: where either has problems.
    """
    kit, problems = read_kit(kit_text, kit_name)
    if kit is None:
        raise TextsUnreadableError(explain_all(problems))
    if ward_text is None:
        return prepare_kit(kit, None)
    ward, problems = read_ward(ward_text, ward_name)
    if ward is None:
        raise TextsUnreadableError(explain_all(problems))
    return prepare_kit(kit, ward)


def _say_dispute(read: WeightRead, baby: Baby) -> str:
    return (
        f"{say_stamp(read.stamp)} read {read.weight} g off the cot; the list was made for {baby.weight_g} g."
        " Everything stops: look at the cot together, then whoever made the list enters the weight again."
    )


def _say_needed(problems: tuple[Problem, ...]) -> str:
    names = " and ".join(problem.where.lower() for problem in problems)
    if all(isinstance(problem, NotGiven) for problem in problems):
        verb = "are" if len(problems) > 1 else "is"
        return f"The {names} {verb} needed for the list."
    return explain_all(problems)


def find_unanswered(before: Preparation, after: Preparation) -> tuple[str, ...]:
    """The ids of the questions that were answered as they stood before, and are asked otherwise or not at all after.

    An answer is kept by its question's id: of a question that was turned round, "no" would be the wrong way round.
    """
    if not before.answers:
        return ()
    asked, asks = _read_questions(before), _read_questions(after)
    return tuple(name for name in before.answers if name not in asked or asked[name] != asks.get(name))


def _read_questions(state: Preparation) -> Mapping[str, tuple[str, str]]:
    """The words of each question and the answer it wants, by id; none where the texts cannot be read."""
    try:
        laid = prepare_texts(state.kit_text, state.kit, state.ward_text, state.ward_name or "").layer.kit
    except TextsUnreadableError:
        return {}
    return {each.id: (each.text, each.wanted) for each in laid.criterion if each.wanted is not None}
