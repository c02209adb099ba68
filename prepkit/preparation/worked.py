"""A preparation worked out: its kit, its ward and its facts made into a list, or the reason why there is none yet.

Pure, and the one module of this layer that needs the list: the home screen, which folds every preparation, does not
import it. May import: `prepkit.list` and below, and this layer.
"""

from datetime import datetime
from functools import lru_cache

from msgspec import Struct

from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DoseLine
from prepkit.kit.problems import Problem, explain_all
from prepkit.kit.read import Written, read_kit, read_ward
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_prepared
from prepkit.list.lines import TrayList
from prepkit.list.prepare import Prepared, prepare
from prepkit.preparation.canonical import compute_fingerprint
from prepkit.preparation.events import Because, LineStamp, Listed
from prepkit.preparation.marks import WeightRead
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import About, Missing, say_stamp
from prepkit.quantities.read import read_amount
from prepkit.quantities.vocabulary import Dimension
from prepkit.rules.case import Case, Order
from prepkit.rules.criteria import find_verdict
from prepkit.rules.growth import Belief, Believable, Sex, check_weight
from prepkit.rules.options import Options, find_options


class TextsUnreadableError(ValueError):
    """A preparation's stored kit or ward text cannot be read; the message is every problem of it."""


class Worked(Struct, frozen=True):
    """What a preparation's facts, kit and ward give at one moment."""

    kit: Written[Kit]
    ward: Written[Ward] | None
    baby: Baby | None
    tray: TrayList | None
    withheld: str
    """Why there is no list; empty when there is one."""
    weight: Believable | None
    """How likely the weight is, where that is open and the list waits for it; else None."""

    @property
    def laid(self) -> Kit:
        """The kit with the ward file laid over it."""
        return self.tray.laid if self.tray else lay_over(self.kit.model, self.ward.model if self.ward else None).kit


def work_out(state: Preparation, now: datetime) -> Worked:
    """Work the list out from what the preparation holds.

    Raises:
        TextsUnreadableError: where the stored kit or ward text has problems.
    """
    prepared = prepare_texts(state.kit_text, state.kit, state.ward_text, state.ward_name or "")
    kit, ward = prepared.kit, prepared.ward
    baby, problems = make_baby(kit.model, state.facts, now, kept=True)
    if baby is None:
        return Worked(kit, ward, None, None, _say_needed(problems), None)
    if state.disputed is not None:
        return Worked(kit, ward, baby, None, _say_dispute(state.disputed, baby), None)
    found = check_weight(baby.weight_g, baby.gestation.days, Sex(baby.sex))
    if found.belief is not Belief.LIKELY and not state.is_weight_confirmed:
        return Worked(kit, ward, baby, None, f"No amount is shown yet. {' '.join(found.words)}", found)
    answers = {name: given.answer for name, given in state.answers.items()}
    is_confirmed, orders = state.is_weight_confirmed, read_orders(state)
    tray = compute_prepared(prepared, baby, answers, now, weight_confirmed=is_confirmed, orders=orders)
    return Worked(kit, ward, baby, tray, "", None)


def read_orders(state: Preparation) -> dict[str, Order]:
    """What was ordered, by line id, as the rules take it."""
    return {
        line: Order(
            given.product, read_amount(given.whole, Dimension.VOLUME) if given.whole else None, given.prescriber
        )
        for line, given in state.orders.items()
    }


def find_line_options(worked: Worked, line: str, now: datetime) -> Options | None:
    """What can be ordered for a line of the list; None where there is no list, or the line is no dose."""
    found = next((each for each in worked.laid.line if each.id == line), None)
    if worked.tray is None or worked.baby is None or not isinstance(found, DoseLine):
        return None
    ward = worked.ward.model if worked.ward else None
    return find_options(found, Case(worked.laid, ward, worked.baby, now, {}))


def make_listed(worked: Worked, because: Because) -> Listed:
    """The event that records the list as it is now worked out."""
    return Listed(because, make_stamps(worked.tray) if worked.tray else (), worked.withheld)


def make_stamps(tray: TrayList) -> tuple[LineStamp, ...]:
    """As much of each line as a preparation has to know."""
    return tuple(
        LineStamp(line.id, line.group, line.name, line.show, fingerprint, line.blocked, line.essential)
        for line, fingerprint in zip(tray.lines, tray.fingerprints, strict=True)
    )


def compute_suitability_standing(tray: TrayList) -> str:
    """The fingerprint of the verdict and its reasons, for which a senior's agreement is given."""
    return compute_fingerprint(
        [tray.verdict, [[reason.criterion, reason.verdict, reason.text] for reason in tray.reasons]]
    )


def find_suitability_missing(state: Preparation, worked: Worked) -> tuple[Missing, ...]:
    """What the criteria and the assumed facts keep shut, a sentence each."""
    tray = worked.tray
    if tray is None:
        return ()
    refused = _say_reasons(tray, "not suitable", "Not suitable", About.NOT_SUITABLE)
    questions = _say_reasons(tray, "questions open", "To answer", About.QUESTION)
    senior = _say_reasons(tray, "ask a senior", "A senior has to agree", About.SENIOR)
    if state.is_senior_agreed(compute_suitability_standing(tray)):
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
        compute_suitability_standing(tray)
    )


@lru_cache(maxsize=16)
def prepare_texts(kit_text: str, kit_name: str, ward_text: str | None, ward_name: str) -> Prepared:
    """Read and prepare the stored texts; kept for the same texts alone, so that a stale kit never answers for another.

    Raises:
        TextsUnreadableError: where either has problems.
    """
    kit, problems = read_kit(kit_text, kit_name)
    if kit is None:
        raise TextsUnreadableError(explain_all(problems))
    if ward_text is None:
        return prepare(kit, None)
    ward, problems = read_ward(ward_text, ward_name)
    if ward is None:
        raise TextsUnreadableError(explain_all(problems))
    return prepare(kit, ward)


def _say_dispute(read: WeightRead, baby: Baby) -> str:
    return (
        f"{say_stamp(read.stamp)} read {read.weight} g off the cot; the list was made for {baby.weight_g} g."
        " Everything stops: look at the cot together, then whoever made the list enters the weight again."
    )


def _say_needed(problems: tuple[Problem, ...]) -> str:
    names = " and ".join(problem.where.lower() for problem in problems)
    if all(problem.wrong == "is needed for the list" for problem in problems):
        verb = "are" if len(problems) > 1 else "is"
        return f"The {names} {verb} needed for the list."
    return explain_all(problems)
