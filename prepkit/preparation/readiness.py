"""What keeps a preparation from being ready, and the fingerprint of a ready list.

Needs the state only, so the home screen can ask; what needs the list is in `listing`, `stale` and `check.required`.
"""

from enum import Enum, auto
from typing import Self

from msgspec.structs import astuple

from prepkit.canonical import compute_fingerprint
from prepkit.preparation.check.events import Check
from prepkit.preparation.lines.events import LineSnapshot
from prepkit.preparation.lines.marks import LostMark
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import say_stamp


class About(Enum):
    """What a missing thing is about, for a front end that leads there."""

    NEWS = auto()
    WEIGHT = auto()
    BIRTH = auto()
    GIVEN_BEFORE = auto()
    WITHHELD = auto()
    NOT_SUITABLE = auto()
    QUESTION = auto()
    SENIOR = auto()
    ASSUMED = auto()
    FACT = auto()
    LINE = auto()
    CONTRADICTION = auto()
    CHECK = auto()
    DIFFERENCE = auto()
    HANDOVER = auto()
    ENDED = auto()


class Missing(str):
    """A sentence of what stands between now and ready, which knows what it is about."""

    __slots__ = ("about", "fact", "line")
    about: About
    line: str
    """The line's id, where it is about one; else empty."""
    fact: str
    """The fact's id, where it is one to give; else empty."""

    def __new__(cls, words: str, about: About, line: str = "", fact: str = "") -> Self:
        """Make a sentence about something."""
        made = super().__new__(cls, words)
        made.about, made.line, made.fact = about, line, fact
        return made


def compute_missing(state: Preparation, suitability: tuple[Missing, ...], weight: str) -> tuple[Missing, ...]:
    """Compute what is missing, the most important first, one sentence each; empty when the gate may open.

    `suitability` says why this route is not for this baby or what is still to be answered; `weight` is the open
    question about the weight, empty where there is none. Then follow: the list withheld, blocked lines, lines changed
    since they were marked, lines to do.
    """
    if state.stood_down is not None:
        words = f"Stood down by {say_stamp(state.stood_down.stamp)}: {state.stood_down.reason}"
        return (Missing(words, About.ENDED),)
    weighing, withheld = Missing(weight, About.WEIGHT), Missing(state.withheld, About.WITHHELD)
    first = dict.fromkeys(each for each in (weighing, *suitability, withheld) if each)
    blocked = [line for line in state.lines_left if line.blocked]
    open_lines = [line for line in state.lines_left if not line.blocked]
    changed = [line for line in open_lines if line.id in state.changes]
    to_do = [line for line in open_lines if line.id not in state.changes]
    return (
        *first,
        *(_say_of(line, f"blocked, {line.blocked}") for line in blocked),
        *(_say_change(line, state.changes[line.id]) for line in changed),
        *(_say_of(line, "to do") for line in to_do),
    )


def compute_ready_fingerprint(state: Preparation) -> str:
    """Compute the fingerprint of everything a summary read aloud vouches for.

    That is the texts, facts, orders, answers and agreements, each line as it is now, and every mark that counts with
    whose it is; neither when nor in which order things were done.
    """
    senior = state.senior
    seen: dict[str, object] = {
        "texts": [state.kit_text, state.ward_text],
        "facts": dict(state.facts),
        "confirmed": {fact: [each.facts, each.second, each.stamp.who] for fact, each in state.confirmations.items()},
        "answers": {criterion: given.answer for criterion, given in state.answers.items()},
        "senior": senior and [senior.senior, senior.note, senior.fingerprint],
        "entered": {line: [given.value, given.stamp.who] for line, given in state.entered.items()},
        "orders": {line: list(astuple(order.what)) for line, order in state.orders.items()},
        "withheld": state.why,
        "checks": {line: _list_checked(check) for line, check in state.checks.items()},
        "read": {fact: [each.value, each.stamp.who] for fact, each in state.facts_read.items()},
        "handed over": state.handover is not None,
        "lines": [_list_marked(state, line) for line in state.lines],
        "in hand": {line.id: _list_in_hand(state, line) for line in state.lines if state.find_in_hand(line.id)},
    }
    return compute_fingerprint(seen)


def _list_checked(check: Check) -> list[object]:
    settled = check.settled and [check.settled.stamp.who, check.settled.reason]
    return [check.fingerprint, check.stamp.who, check.value, check.vials, settled]


def _list_marked(state: Preparation, line: LineSnapshot) -> list[object]:
    mark: list[str] = []
    if state.is_ticked(line.id):
        mark = ["ticked", state.ticks[line.id].stamp.who]
    elif state.is_set_aside(line.id):
        aside = state.set_asides[line.id]
        mark = ["set aside", aside.stamp.who, aside.reason]
    return [*line.compared, mark]


def _list_in_hand(state: Preparation, line: LineSnapshot) -> list[list[str]]:
    held = state.find_in_hand(line.id)
    return [[each.gtin, each.batch, each.expiry.isoformat(), each.serial] for each in held]


def _say_of(line: LineSnapshot, words: str) -> Missing:
    return Missing(f"{line.name}: {words}", About.LINE, line.id)


def _say_change(line: LineSnapshot, change: LostMark) -> Missing:
    """Say what became of a mark: "Surfactant: was 3.6 mL, now 3.8 mL: tick it again"."""
    again = "decide again" if change.was_set_aside else "tick it again"
    if change.old_show != line.show:
        return _say_of(line, f"was {change.old_show or 'no amount'}, now {line.show or 'no amount'}: {again}")
    did = "set it aside" if change.was_set_aside else "ticked it"
    return _say_of(line, f"changed since {change.was_by} {did}: {again}")
