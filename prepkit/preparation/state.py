"""A preparation as it stands: what was given, what is on the list, what was done, by whom.

Only `evolve` makes one. `apply` gives the next state for one event; each subject registers its kinds with it.
"""

from collections.abc import Mapping
from functools import singledispatch
from typing import TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.kit.names import BIRTH_WEIGHT, BORN, NOT_WEIGHED, WEIGHT_NOW
from prepkit.preparation.baby.events import GivenAnswer, SeniorAgreement, WeightConfirmation, WeightConfirmed
from prepkit.preparation.batches.events import BatchInHand
from prepkit.preparation.bedside.record import BedsideRecord
from prepkit.preparation.check.events import Check, FactRead, OpenCheck
from prepkit.preparation.events import Payload, ReadOut, StandDown
from prepkit.preparation.handover.events import Handover
from prepkit.preparation.lines.events import Aside, GivenOrder, GivenValue, LineSnapshot, Tick, WhyWithheld
from prepkit.preparation.lines.marks import GroupCount, LostMark, does_aside_count, does_tick_count

READ_BY_CHECKER = (BIRTH_WEIGHT, WEIGHT_NOW, BORN)
"""The facts that a second person reads anew, blind; a check under way ends where one of them is given."""

NO_LIST_YET = "The list has not been worked out yet."
LIST_IS_OLD = "Something changed: the list has to be worked out again."


class Preparation(Struct, frozen=True):
    """One preparation. The mappings keep the order in which their keys first came, and are not to be written to."""

    seq: int
    """Of the last event; the next one has to follow it."""
    started: Attribution
    last: Attribution
    cot: str
    kit: str
    kit_edition: str
    kit_name: str
    kit_text: str
    ward_text: str | None
    ward_name: str | None
    practice: bool
    withheld: str = NO_LIST_YET
    """Why there is no list now; empty when there is one. While withheld there are no lines and no mark counts."""
    why: WhyWithheld | None = None
    """The kind of that reason; None where no list was recorded since something changed."""
    lines: tuple[LineSnapshot, ...] = ()
    facts: Mapping[str, str] = field(default_factory=dict)
    """Only what a person gave; what a kit assumes is not here."""
    confirmations: Mapping[str, WeightConfirmation] = field(default_factory=dict)
    """By fact: unlikely weights that were entered again, each good for exactly the facts that it names."""
    answers: Mapping[str, GivenAnswer] = field(default_factory=dict)
    """By criterion: whether a reason against the route applies."""
    said: Mapping[str, Attribution] = field(default_factory=dict)
    """By criterion: what was said or done, and who recorded it."""
    doses_asked: frozenset[str] = frozenset()
    """When those doses were given, in UTC, of which it was asked whether they were this baby's."""
    entered: Mapping[str, GivenValue] = field(default_factory=dict)
    """By line: what was entered last, as it was never set. Whether it serves (still) is the list's to say."""
    orders: Mapping[str, GivenOrder] = field(default_factory=dict)
    """By line: what was ordered last. Whether it fits this baby (still) is the list's to say."""
    senior: SeniorAgreement | None = None
    """The last agreement; ask `is_senior_agreed` whether it counts."""
    ticks: Mapping[str, Tick] = field(default_factory=dict)
    """By line, including those that rest while the list is withheld; ask `is_ticked` whether one counts."""
    in_hand: Mapping[str, tuple[BatchInHand, ...]] = field(default_factory=dict)
    """By line, as with ticks; ask `find_in_hand` what counts."""
    set_asides: Mapping[str, Aside] = field(default_factory=dict)
    """By line, as with ticks; ask `is_set_aside`."""
    changes: Mapping[str, LostMark] = field(default_factory=dict)
    """By line: marks a newer list took away, including those of lines that are gone."""
    shows: Mapping[tuple[str, str], str] = field(default_factory=dict)
    """What a line showed under each fingerprint it has had, by (line, fingerprint)."""
    read_aloud: ReadOut | None = None
    """Ask `is_read_aloud` whether it counts."""
    stood_down: StandDown | None = None
    preparers: frozenset[str] = frozenset()
    """Who prepared: gave a fact, ordered, ticked or set aside. None of them may check."""
    check: OpenCheck | None = None
    """The check under way. While there is one, no amount is to be shown to anybody."""
    checks: Mapping[str, Check] = field(default_factory=dict)
    """By line, of checks that ended; ask `is_checked` whether one counts."""
    voided: Mapping[str, LostMark] = field(default_factory=dict)
    """By line: checks that a newer list took away."""
    facts_read: Mapping[str, FactRead] = field(default_factory=dict)
    """By fact: what a checker last read off the cot and the notes; ask `is_baby_checked` whether it counts."""
    disputed: FactRead | None = None
    """A checker's reading that was not the list's: everything stops until that fact is given again."""
    left_by: frozenset[str] = frozenset()
    """Who stopped a check of their own half way: they have seen the list since."""
    taken_over_by: str = ""
    """Who took the preparation over last; empty while whoever started it has it."""
    handover: Handover | None = None
    """Handed over and not taken yet."""
    cot_record: BedsideRecord = field(default_factory=BedsideRecord)
    """The time at the cot and what follows it."""

    def is_checked(self, line: str) -> bool:
        """Say whether a second person's check counts for the line as it is now, with nothing left to settle."""
        check = self.find_check(line)
        return check is not None and check.holds

    def find_check(self, line: str) -> Check | None:
        """Find the check made for the line as it is now, settled or not; None where there is none."""
        check, found = self.checks.get(line), self.find_line(line)
        return check if check and found and check.fingerprint == found.fingerprint else None

    def is_disputed(self, fact: str) -> bool:
        """Say whether a checker read something else of this fact, and it was not given again since."""
        return self.disputed is not None and self.disputed.fact == fact

    @property
    def facts_to_read(self) -> tuple[str, ...]:
        """The facts that a checker reads: both weights; where it was not weighed since, that, and the day of birth."""
        now = self.facts.get(WEIGHT_NOW)
        is_weighed = now not in {None, NOT_WEIGHED}
        return tuple(fact for fact in READ_BY_CHECKER if fact in self.facts and not (fact == BORN and is_weighed))

    @property
    def facts_unread(self) -> tuple[str, ...]:
        """Those among them that no checker read as they are now."""
        return tuple(
            fact
            for fact in self.facts_to_read
            if fact not in self.facts_read or not agrees_with(self.facts_read[fact], self.facts[fact])
        )

    @property
    def is_baby_checked(self) -> bool:
        """Say whether a checker read all of them as they are now."""
        return not self.facts_unread

    def find_line(self, line: str) -> LineSnapshot | None:
        """Find a line of the list as it is now; None where there is none of that id."""
        return next((each for each in self.lines if each.id == line), None)

    def is_ticked(self, line: str) -> bool:
        """Say whether the line is on the list and ticked for what it is now."""
        tick = self.ticks.get(line)
        return tick is not None and does_tick_count(tick, self.find_line(line))

    def find_in_hand(self, line: str) -> tuple[BatchInHand, ...]:
        """Find what is in hand for a line on the list as it is now, the first given first."""
        found = self.find_line(line)
        return tuple(
            each for each in self.in_hand.get(line, ()) if found is not None and each.fingerprint == found.fingerprint
        )

    def is_set_aside(self, line: str) -> bool:
        """Say whether the line is on the list and set aside for what it is now."""
        aside = self.set_asides.get(line)
        return aside is not None and does_aside_count(aside, self.find_line(line))

    @property
    def lines_left(self) -> tuple[LineSnapshot, ...]:
        """Lines neither ticked nor set aside, in the order of the list. None while withheld: see `is_complete`."""
        return tuple(each for each in self.lines if not (self.is_ticked(each.id) or self.is_set_aside(each.id)))

    @property
    def left(self) -> int:
        """How many lines are neither ticked nor set aside. 0 while withheld: see `is_complete`."""
        return len(self.lines_left)

    @property
    def is_complete(self) -> bool:
        """Say whether there is a list and nothing on it is left."""
        return not self.withheld and bool(self.lines) and not self.left

    @property
    def groups(self) -> tuple[GroupCount, ...]:
        """Count how far each group is, in the order of the list."""
        names = dict.fromkeys(line.group for line in self.lines)
        return tuple(self._count_group(name, [each.id for each in self.lines if each.group == name]) for name in names)

    def _count_group(self, group: str, ids: list[str]) -> GroupCount:
        ticked = sum(self.is_ticked(each) for each in ids)
        return GroupCount(group, ticked, sum(self.is_set_aside(each) for each in ids), len(ids))

    @property
    def gone(self) -> tuple[LostMark, ...]:
        """Lines that were marked and are no longer on the list: their things may still be on the tray."""
        return tuple(change for change in self.changes.values() if change.gone)

    def find_other_fact(self, confirmed: WeightConfirmed) -> str | None:
        """Find the first fact that is not what a confirmation of a weight says; None where all agree.

        The weight must have been given. The others may be assumed: a person need not have given them.
        """
        if self.facts.get(confirmed.fact) != confirmed.facts[confirmed.fact]:
            return confirmed.fact
        others = confirmed.facts.items()
        return next((fact for fact, value in others if self.facts.get(fact, value) != value), None)

    def is_senior_agreed(self, fingerprint: str) -> bool:
        """Say whether a senior agreed to exactly this verdict with these reasons."""
        return self.senior is not None and self.senior.fingerprint == fingerprint

    def is_read_aloud(self, fingerprint: str) -> bool:
        """Say whether exactly this ready list was read aloud and nothing has changed since."""
        return self.read_aloud is not None and self.read_aloud.fingerprint == fingerprint and self.is_complete


def agrees_with(read: FactRead, given: str) -> bool:
    """Say whether a checker's reading is what was given: the grams of a weight, the day of a birth, else the same text.

    The day on which a weight was taken, and the time of a birth, are not asked of a checker.
    """
    if read.fact == BORN:
        return read.value[:_DAY] == given[:_DAY]
    ours, theirs = given.partition(" on "), read.value.partition(" on ")
    return (ours[0], ours[1]) == (theirs[0], theirs[1])


_DAY = len("2026-11-25")
_Value = TypeVar("_Value")


@singledispatch
def apply(payload: Payload, _state: Preparation, _stamp: Attribution) -> Preparation:
    """Give the state after this payload: the reducer that its subject registered."""
    raise TypeError(f"no preparation takes in a {type(payload).__name__}")


def drop_list(state: Preparation) -> Preparation:
    """Withhold a list made from other facts; the marks on its lines wait for the next list."""
    return replace(state, lines=(), withheld=LIST_IS_OLD, why=None)


def without(mapping: Mapping[str, _Value], key: str) -> Mapping[str, _Value]:
    """Copy a mapping without one key."""
    return {each: value for each, value in mapping.items() if each != key}
