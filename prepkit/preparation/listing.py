"""The list worked out from a preparation's kit, ward file and facts, or the reason why there is none.

Also the `Listed` event that follows from it, and what can be ordered for a line. Loads units, kits and rules, which the
home screen does not need.
"""

from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache

from msgspec import Struct

from prepkit.kit.axes import GESTATIONS
from prepkit.kit.baby import Baby, make_baby
from prepkit.kit.facts import DONE
from prepkit.kit.kit import Kit
from prepkit.kit.layer import find_followed, lay_over
from prepkit.kit.lines import DoseLine
from prepkit.kit.names import BIRTH_GESTATION, BORN, WEIGHT_NOW, name_fact
from prepkit.kit.problems import NotGiven, Problem, explain_all
from prepkit.kit.read import ParsedFile, read_kit, read_ward
from prepkit.kit.ward import Ward
from prepkit.list.compute import PreparedKit, compute_prepared, prepare_kit
from prepkit.list.lines import ListLine, TrayList
from prepkit.preparation.check.events import FactRead
from prepkit.preparation.lines.events import LineSnapshot, Listed, ListingReason, Ordered, WhyWithheld
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp
from prepkit.quantities.amount import Amount
from prepkit.quantities.text import (
    UnreadableAmountError,
    read_amount,
    read_number,
    show_amount,
    show_range,
    write_amount,
)
from prepkit.quantities.units import Dimension
from prepkit.rules.dose.rule import OrderOptions, find_options
from prepkit.rules.findings import Kind
from prepkit.rules.growth import Plausibility, WeightPlausibility
from prepkit.rules.rule import EnteredValue, Entry, Order, Outcome, RuleContext, find_awaited
from prepkit.rules.weights import WeightSinceBirth, judge_baby_weight
from prepkit.wording.baby import say_fact_text
from prepkit.wording.layers import say_weight
from prepkit.wording.say import say


class TextsUnreadableError(ValueError):
    """A preparation's stored kit or ward text cannot be read; the message is every problem of it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__(explain_all(problems))


class WorkedList(Struct, frozen=True):
    """What a preparation's facts, kit and ward give at one moment."""

    kit: ParsedFile[Kit]
    ward: ParsedFile[Ward] | None
    baby: Baby | None
    tray: TrayList | None
    withheld: str
    """Why there is no list, in words; empty when there is one."""
    why: WhyWithheld
    weight: WeightPlausibility | None
    """How likely a weight is, where that is open and the list waits for it; else None."""
    change: WeightSinceBirth | None = None
    """How the weight now stands to that at birth, where it has to be entered again; the list does not wait for it."""

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
    baby, problems = make_baby(prepared.layer.kit, state.facts, now, kept=True, begun=state.started.at.date())
    if baby is None:
        return WorkedList(kit, ward, None, None, _say_needed(problems), "facts", None)
    if state.disputed is not None:
        return WorkedList(kit, ward, baby, None, _say_dispute(state.disputed, state), "dispute", None)
    found = judge_baby_weight(baby)
    if found.plausibility is not Plausibility.LIKELY and found.fact not in state.confirmations:
        words = f"No amount is shown yet. {' '.join(say_weight(found))}"
        return WorkedList(kit, ward, baby, None, words, "weight", found)
    answers = {name: given.answer for name, given in state.answers.items()} | dict.fromkeys(state.said, DONE)
    tray = compute_prepared(
        prepared,
        baby,
        answers,
        now,
        confirmed=state.confirmations,
        orders=read_orders(state),
        entered=read_values(state),
    )
    change = prepared.criteria.laid.changes.judge(baby)
    is_open = change is not None and not change.is_usual and WEIGHT_NOW not in state.confirmations
    return WorkedList(kit, ward, baby, tray, "", "", None, change if is_open else None)


def read_orders(state: Preparation) -> dict[str, Order]:
    """Read what was ordered, by line id, as the rules need it."""
    return {line: read_order(given.what) for line, given in state.orders.items()}


def read_values(state: Preparation) -> dict[str, EnteredValue]:
    """Read what was entered, by line id, as the rules need it."""
    return {line: EnteredValue(read_amount(given.value), given.stamp.who) for line, given in state.entered.items()}


def read_order(what: Ordered) -> Order:
    """Read one order as the rules need it."""
    whole = read_amount(what.whole, Dimension.VOLUME) if what.whole else None
    per_kg = read_amount(what.dose, Dimension.MASS_PER_WEIGHT) if what.dose else None
    return Order(
        what.product, what.prescriber, what.containers, whole, per_kg, what.is_rest, what.after, what.past_interval
    )


def make_ordered(line: str, order: Order, prescriber: str, worked: WorkedList) -> Ordered:
    """Make the event of an order for a line, by a prescriber."""
    whole, dose = ("" if each is None else write_amount(each) for each in (order.whole, order.per_kg))
    declared = next((each for each in worked.laid.line if each.id == line), None)
    earlier = declared.earlier if isinstance(declared, DoseLine) else None
    after = str(worked.baby.facts[earlier]) if worked.baby and earlier else ""
    return Ordered(
        line, order.product, order.containers, whole, dose, order.is_rest, after, order.past_interval, prescriber
    )


def find_line_options(worked: WorkedList, line: str, now: datetime) -> OrderOptions | None:
    """Find what can be ordered for a line; None if there is no list, or if the line is no dose."""
    found = next((each for each in worked.laid.line if each.id == line), None)
    if worked.tray is None or worked.baby is None or not isinstance(found, DoseLine):
        return None
    ward = worked.ward.model if worked.ward else None
    return find_options(found, RuleContext(worked.laid, ward, worked.baby, now, {}))


def find_entry(worked: WorkedList, line: str) -> Entry | None:
    """Find what is entered with the tick of a line; None where nothing is."""
    lines = worked.tray.lines if worked.tray else ()
    return next((each.outcome.enters for each in lines if each.id == line), None)


def read_entry(entry: Entry, typed: str) -> tuple[str, str]:
    """Read what was typed with a tick: its canonical text and "", or "" and what is wrong."""
    unit = entry.least.unit
    try:
        amount = Amount(read_number(typed.strip()), unit)
    except UnreadableAmountError as error:
        return "", f"What was typed {error.reason}."
    if not entry.least <= amount <= entry.most:
        return "", f"{show_amount(amount)} is outside {show_range(entry.least, entry.most)}: look again."
    if entry.step is not None and not entry.holds(amount):
        return "", f"{show_amount(amount)} is no mark: they are {show_amount(entry.step)} apart."
    return write_amount(amount), ""


def make_listed(worked: WorkedList, because: ListingReason) -> Listed:
    """Make the event that records the list."""
    return Listed(because, make_snapshots(worked.tray) if worked.tray else (), worked.withheld, worked.why)


def make_snapshots(tray: TrayList) -> tuple[LineSnapshot, ...]:
    """Make as much of each line as a preparation has to know."""
    asked: dict[str, str] = {}
    for line in tray.lines:
        asked[line.id] = _find_asked(tray, line, asked)
    return tuple(
        LineSnapshot(
            line.id,
            line.group,
            line.name,
            say(line.outcome.show),
            fingerprint,
            say(line.outcome.blocked),
            line.declared.line.essential,
            asked[line.id],
            _find_wanted(line.outcome),
        )
        for line, fingerprint in zip(tray.lines, tray.fingerprints, strict=True)
    )


def _find_wanted(found: Outcome) -> str:
    """What still has to be entered with the tick; empty where nothing has."""
    return found.enters.what if found.enters and not found.entered and not found.blocked else ""


def _find_asked(tray: TrayList, line: ListLine, before: Mapping[str, str]) -> str:
    """The fact that a line waits for: it is blocked for want of it alone, or stands only if the baby was born today.

    `before` has it of the lines before this one: what follows a line that waits for a fact waits for the same.
    """
    blocked = line.outcome.blocked
    if blocked is None:
        return BORN if tray.asks_birth(line) else ""
    if (awaited := find_awaited(blocked)) is not None:
        return BIRTH_GESTATION if awaited in GESTATIONS else WEIGHT_NOW
    if blocked.kind is not Kind.WAITS:
        return ""
    followed = find_followed(line.declared.line)
    held_up = [before[each.id] for each in tray.lines if each.id in followed and each.outcome.blocked]
    return held_up[0] if all(held_up) else ""


@lru_cache(maxsize=16)
def prepare_texts(kit_text: str, kit_name: str, ward_text: str | None, ward_name: str) -> PreparedKit:
    """Read and prepare the stored texts; cached by the texts themselves, so that no stale kit answers for another.

    Raises:
        TextsUnreadableError: where either has problems.
    """
    kit, problems = read_kit(kit_text, kit_name)
    if kit is None:
        raise TextsUnreadableError(problems)
    if ward_text is None:
        return prepare_kit(kit, None)
    ward, problems = read_ward(ward_text, ward_name)
    if ward is None:
        raise TextsUnreadableError(problems)
    return prepare_kit(kit, ward)


def _say_dispute(read: FactRead, state: Preparation) -> str:
    label, ours = name_fact(read.fact), state.facts.get(read.fact, "")
    return (
        f"{say_stamp(read.stamp)} read {label} {say_fact_text(read.fact, read.value)}; the list was made for"
        f" {say_fact_text(read.fact, ours)}. Everything stops: look at the cot and the notes together, then whoever"
        f" made the list enters the {label} again."
    )


def _say_needed(problems: tuple[Problem, ...]) -> str:
    names = " and ".join(problem.where.lower() for problem in problems)
    if all(isinstance(problem, NotGiven) for problem in problems):
        verb = "are" if len(problems) > 1 else "is"
        return f"The {names} {verb} needed for the list."
    return explain_all(problems)
