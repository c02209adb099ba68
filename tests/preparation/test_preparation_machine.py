"""Three people at three desks do anything in any order; whatever they do, what must hold holds.

The lists come from a toy of a few facts and a ward's text. It works nothing out: its amounts are texts that differ.
"""

from collections.abc import Mapping
from datetime import date

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from preparation_samples import STARTED, Record, line, order_of, replay

from prepkit.preparation.baby.decide import decide_answer, decide_fact, decide_senior, decide_weight
from prepkit.preparation.baby.events import FactGiven, WeightConfirmed
from prepkit.preparation.batches.decide import GivenBatch, WantedProduct, decide_in_hand, decide_put_back
from prepkit.preparation.batches.events import InHand, PutBack
from prepkit.preparation.check.decide import (
    decide_check_begin,
    decide_check_entry,
    decide_check_leave,
    decide_check_read,
    decide_settle,
    list_left_to_read,
)
from prepkit.preparation.check.events import CheckBegun, CheckEnded, CheckEntered, CheckLeft, CheckRead
from prepkit.preparation.decide import decide_read_aloud, decide_stand_down, decide_ward
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, Payload, ReadAloud, WardReplaced
from prepkit.preparation.handover.decide import decide_hand_over, decide_take_over
from prepkit.preparation.lines.decide import (
    decide_order,
    decide_relist,
    decide_restore,
    decide_set_aside,
    decide_tick,
    decide_untick,
)
from prepkit.preparation.lines.events import LineSnapshot, Listed, Ordered, Restored, SetAside, Ticked, Unticked
from prepkit.preparation.readiness import compute_missing, compute_ready_fingerprint
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal

PEOPLE = st.sampled_from(["AB", "CD", "EF"])
PREPARING = (FactGiven, WeightConfirmed, Ordered, Ticked, SetAside)
LINES = st.sampled_from(["surfactant", "device", "tube", "towel"])
WEIGHTS = st.sampled_from(["light", "middle", "heavy"])
TODAY, EARLIER = "2025-03-04", "2025-03-01"
READ: dict[str, list[str]] = {
    "birth_weight": ["light", "middle", "heavy"],
    "weight_now": ["small on 2025-03-03", "small on 2025-03-04", "tiny on 2025-03-04", "not weighed since"],
    "born": [TODAY, f"{TODAY}T01:10+00:00", EARLIER],
}
"""What the second person reads, with values that are given, or read."""
FACTS = st.sampled_from([(fact, value) for fact, values in READ.items() for value in values])
REASONS = st.sampled_from(["in place", "no", "\x1b[2J", "another route"])


def make_list(facts: Mapping[str, str], ward: str | None, *, confirmed: bool, ordered: str = "") -> Listed:
    """The device goes by the weight now, which a baby born earlier has to have; it hangs on the day of birth."""
    weight = facts.get("birth_weight")
    if weight is None or (weight == "light" and not confirmed):
        return Listed("facts", (), "Weigh first.", "facts")
    blocked = "not approved" if weight == "light" and ward is None else ""
    born, weighed = facts.get("born"), facts.get("weight_now", "")
    grams = weighed.partition(" on ")[0] if " on " in weighed else weight
    device = line("device", f"for {grams}", blocked=blocked, group="airway", asks="" if born or blocked else "born")
    if born == EARLIER and not weighed:
        device = line("device", "", blocked="the weight now is not known", group="airway", asks="weight_now")
    lines = [
        line("surfactant", f"for {weight}{ordered}", essential=True, group="medicines"),
        device,
        line("towel"),
    ]
    return Listed("facts", tuple(lines if facts.get("tube") == "yes" else [*lines, line("tube", ward or "")]), "", "")


def count_marks(payloads: list[Payload]) -> dict[str, type[Payload]]:
    """Say which lines are ticked or set aside, from the payloads alone, by the shortest way there is."""
    marks: dict[str, Ticked | SetAside] = {}
    now: dict[str, LineSnapshot] = {}
    facts: dict[str, str] = {}
    disputed = ""
    for each in payloads:
        if isinstance(each, Ticked | SetAside):
            marks[each.line] = each
        elif isinstance(each, Unticked | Restored):
            del marks[each.line]
        elif isinstance(each, Listed):
            now = {new.id: new for new in each.lines}
            marks = {id_: mark for id_, mark in marks.items() if not now or stands(mark.fingerprint, now.get(id_))}
        elif isinstance(each, WardReplaced | Ordered):
            now = {}
        elif isinstance(each, FactGiven):
            asked = each.fact == disputed
            now = {} if asked or facts.get(each.fact) != each.value else now
            disputed = "" if asked else disputed
            facts[each.fact] = each.value
        elif isinstance(each, CheckRead) and shorten(facts[each.fact]) != shorten(each.value):
            now, disputed = {}, each.fact
    return {id_: type(mark) for id_, mark in marks.items() if id_ in now and now[id_].fingerprint == mark.fingerprint}


def stands(fingerprint: str, now: LineSnapshot | None) -> bool:
    """Say whether a list with this line keeps what was made for a fingerprint: the same line, or one that waits."""
    return now is not None and (now.fingerprint == fingerprint or (now.blocked != "" and now.asks != ""))


def shorten(value: str) -> str:
    """What is read of a fact: neither the day of a weight nor the time of a birth."""
    return value.split(" on ", maxsplit=1)[0].split("T", maxsplit=1)[0]


def find_read(events: list[Event]) -> dict[str, str]:
    """Say of each fact that is to be read who read it as it is now, or nobody, from the events alone."""
    facts: dict[str, str] = {}
    read: dict[str, tuple[str, str]] = {}
    for event in events:
        each = event.payload
        if isinstance(each, FactGiven):
            facts[each.fact] = each.value
        elif isinstance(each, CheckRead):
            read[each.fact] = (shorten(each.value), event.stamp.who)
            if shorten(each.value) != shorten(facts[each.fact]):
                del read[each.fact]
    wanted = [fact for fact in facts if fact in READ]
    if facts.get("weight_now", "not weighed since") != "not weighed since":
        wanted = [fact for fact in wanted if fact != "born"]
    now = {fact: read.get(fact, ("", "")) for fact in wanted}
    return {fact: who if value == shorten(facts[fact]) else "" for fact, (value, who) in now.items()}


def list_read_in_check(events: list[Event]) -> set[str]:
    """List the facts that were read, and agreed, since the last check was begun."""
    begun = max((at for at, each in enumerate(events) if isinstance(each.payload, CheckBegun)), default=len(events))
    since = [each.payload for each in events[begun:]]
    return {each.fact for each in since if isinstance(each, CheckRead) and each.agrees}


def find_checker(events: list[Event]) -> str:
    """Say who is checking, from the events alone; nobody once one of the facts that they read is given."""
    checker, facts = "", dict[str, str]()
    for event in events:
        each = event.payload
        if isinstance(each, CheckBegun):
            checker = event.stamp.who
        elif isinstance(each, CheckRead):
            checker = checker if shorten(each.value) == shorten(facts[each.fact]) else ""
        elif isinstance(each, CheckEnded | CheckLeft):
            checker = ""
        elif isinstance(each, FactGiven):
            if each.fact in READ and facts.get(each.fact) != each.value:
                checker = ""
            facts[each.fact] = each.value
    return checker


def count_in_hand(payloads: list[Payload]) -> dict[str, list[str]]:
    """Say which batches are in hand for which lines, from the payloads alone."""
    held: dict[str, list[InHand]] = {}
    for each in payloads:
        if isinstance(each, InHand):
            held.setdefault(each.line, []).append(each)
        elif isinstance(each, PutBack):
            del held[each.line]
        elif isinstance(each, Listed) and each.lines:
            now = {new.id: new for new in each.lines}
            for line_id, in_hand in held.items():
                held[line_id] = [one for one in in_hand if stands(one.fingerprint, now.get(line_id))]
    return {line_id: [one.batch for one in in_hand] for line_id, in_hand in held.items() if in_hand}


class ThreePeople(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.record = Record(STARTED)
        self.seen: dict[str, Preparation] = dict.fromkeys(["AB", "CD", "EF"], self.record.state)
        self.end: Preparation | None = None

    @property
    def state(self) -> Preparation:
        return self.record.state

    def relist(
        self,
        fact: str = "sex",
        value: str = "girl",
        *,
        confirmed: bool | None = None,
        ward: str | None = None,
        ordered: str | None = None,
    ) -> Listed:
        """The list as it would be with this fact given too."""
        given = {fact: value}
        if self.state.disputed is not None and self.state.disputed.fact not in given:
            return Listed("facts", (), "Two readings stand against each other.", "dispute")
        order = self.state.orders.get("surfactant")
        now = f"{order.what.whole} {order.what.prescriber}" if order is not None else ""
        held = self.state.confirmations.get("birth_weight")
        agreed = held is not None and all(given.get(fact, each) == each for fact, each in held.facts.items())
        return make_list(
            {**self.state.facts, **given},
            ward if ward is not None else self.state.ward_text,
            confirmed=agreed if confirmed is None else confirmed,
            ordered=now if ordered is None else ordered,
        )

    def take(self, decision: Decision, who: str) -> None:
        before = self.state
        if isinstance(decision, Refusal):
            assert decision.reason.isprintable()
            return
        assert self.end is None, "something was recorded after the end"
        for payload in decision:
            then = self.state
            self.record.add(payload, who)
            if isinstance(payload, Listed):
                self.check_relist(then, payload)
        if decision:
            assert self.state.seq == before.seq + len(decision)

    def check_relist(self, then: Preparation, new: Listed) -> None:
        now = {each.id: each for each in new.lines}
        for old, kept in ((then.ticks, self.state.ticks), (then.set_asides, self.state.set_asides)):
            expected = {id_ for id_, mark in old.items() if not now or stands(mark.fingerprint, now.get(id_))}
            assert set(kept) == expected
            assert set(old) - expected <= set(self.state.changes)

    @property
    def wanted(self) -> tuple[str, ...]:
        """The lines that are to be checked."""
        return tuple(each.id for each in self.state.lines if each.id in {"surfactant", "device"} and not each.blocked)

    @initialize(weight=WEIGHTS, is_born_today=st.booleans())
    def somebody_begins(self, *, weight: str, is_born_today: bool) -> None:
        self.gives_a_fact("AB", ("birth_weight", weight))
        if is_born_today:
            self.gives_a_fact("AB", ("born", TODAY))
        self.seen = dict.fromkeys(self.seen, self.state)

    @rule(who=PEOPLE)
    def looks(self, who: str) -> None:
        self.seen[who] = self.state

    @rule(who=PEOPLE, given=FACTS)
    def gives_a_fact(self, who: str, given: tuple[str, str]) -> None:
        fact, value = given
        self.take(decide_fact(self.state, fact, value, self.relist(fact, value)), who)

    @rule(who=PEOPLE, tube=st.sampled_from(["yes", "no"]), is_listed=st.booleans())
    def says_whether_a_tube_is_in_place(self, *, who: str, tube: str, is_listed: bool) -> None:
        self.take(decide_fact(self.state, "tube", tube, self.relist("tube", tube) if is_listed else None), who)

    @rule(who=PEOPLE, second=PEOPLE)
    def looks_and_enters_the_weight_again(self, who: str, second: str) -> None:
        self.looks(who)
        self.enters_the_weight_again(who, self.state.facts["birth_weight"], second)

    @rule(who=PEOPLE, again=WEIGHTS, second=PEOPLE)
    def enters_the_weight_again(self, who: str, again: str, second: str) -> None:
        weight = self.seen[who].facts["birth_weight"]
        decision = decide_weight(
            self.state,
            "birth_weight",
            {"birth_weight": weight, "born": self.seen[who].facts.get("born", TODAY)},
            again=again,
            second=second,
            who=who,
            needs_second=True,
            listed=self.relist(confirmed=True),
        )
        if not isinstance(decision, Refusal):
            assert again == weight == self.state.facts["birth_weight"]
            assert second != who
        self.take(decision, who)

    @rule(who=PEOPLE, answer=st.sampled_from(["yes", "no", "unsure", "perhaps"]))
    def answers(self, who: str, answer: str) -> None:
        self.take(decide_answer(self.state, "malformation", answer), who)

    @rule(who=PEOPLE, senior=PEOPLE, note=REASONS)
    def agrees_as_senior(self, who: str, senior: str, note: str) -> None:
        self.take(decide_senior(self.state, senior, note, "verdict", who), who)

    def fingerprint_seen(self, who: str, id_: str) -> str:
        found = self.seen[who].find_line(id_)
        return found.fingerprint if found is not None else ""

    @rule(who=PEOPLE, id_=LINES)
    def ticks(self, who: str, id_: str) -> None:
        seen = self.fingerprint_seen(who, id_)
        decision = decide_tick(self.state, id_, seen)
        if not isinstance(decision, Refusal):
            assert decision == (Ticked(id_, seen),)
            assert id_ != "device" or "born" in self.state.facts, "it hangs on the day of birth"
            assert not self.state.is_ticked(id_)
        self.take(decision, who)

    @rule(who=PEOPLE, id_=LINES, batch=st.sampled_from(["A", "B", "\x1b", ""]), year=st.integers(2024, 2026))
    def takes_in_hand(self, who: str, id_: str, batch: str, year: int) -> None:
        today, wanted = date(2025, 3, 4), WantedProduct("Surfactant", frozenset(), {})
        given = GivenBatch(batch, date(year, 3, 4))
        decision = decide_in_hand(self.state, id_, self.fingerprint_seen(who, id_), given, wanted, today)
        assert isinstance(decision, Refusal) or (year >= today.year and batch in {"A", "B"})
        self.take(decision, who)

    @rule(who=PEOPLE, id_=LINES)
    def puts_back(self, who: str, id_: str) -> None:
        decision = decide_put_back(self.state, id_)
        self.take(decision, who)
        assert isinstance(decision, Refusal) or not self.state.is_ticked(id_)

    @rule(who=PEOPLE, id_=LINES)
    def ticks_where_batch_and_expiry_are_wanted(self, who: str, id_: str) -> None:
        decision = decide_tick(self.state, id_, self.fingerprint_seen(who, id_), needs_in_hand=True)
        assert isinstance(decision, Refusal) or self.state.find_in_hand(id_)
        self.take(decision, who)

    @rule(who=PEOPLE)
    def looks_and_finishes(self, who: str) -> None:
        self.looks(who)
        for each in self.state.lines:
            self.sets_aside(who, each.id, "another route") if each.blocked else self.ticks(who, each.id)

    @rule(who=PEOPLE, id_=LINES)
    def looks_and_sets_aside(self, who: str, id_: str) -> None:
        self.looks(who)
        self.sets_aside(who, id_, "in place")

    @rule(who=PEOPLE)
    def looks_finishes_and_reads_aloud(self, who: str) -> None:
        self.works_the_list_out_again(who)
        self.looks_and_finishes(who)
        self.looks(who)
        self.reads_aloud(who=who, is_told=True)

    @rule(who=PEOPLE, id_=LINES)
    def takes_a_tick_back(self, who: str, id_: str) -> None:
        self.take(decide_untick(self.state, id_), who)

    @rule(who=PEOPLE, id_=LINES, reason=REASONS)
    def sets_aside(self, who: str, id_: str, reason: str) -> None:
        decision = decide_set_aside(self.state, id_, self.fingerprint_seen(who, id_), reason)
        if not isinstance(decision, Refusal):
            found = self.state.find_line(id_)
            assert found is not None
            assert not found.essential
        self.take(decision, who)

    @rule(who=PEOPLE)
    def begins_to_check(self, who: str) -> None:
        decision = decide_check_begin(self.state, who, self.wanted)
        if decision == (CheckBegun(),):
            assert not [each for each in self.state.lines if each.asks and not each.blocked]
            prepared = {each.stamp.who for each in self.record.events if isinstance(each.payload, PREPARING)}
            assert who not in prepared, "no check by somebody who prepared"
            assert self.state.check is None
        self.take(decision, who)

    @rule(who=PEOPLE, read=FACTS)
    def reads_a_fact_to_check(self, who: str, read: tuple[str, str]) -> None:
        self.take(decide_check_read(self.state, who, *read, None), who)
        if self.state.disputed is not None:
            assert self.state.lines == ()
            assert self.state.check is None

    @rule(who=PEOPLE, id_=LINES, agrees=st.booleans())
    def enters_what_they_worked_out(self, *, who: str, id_: str, agrees: bool) -> None:
        found = self.state.find_line(id_)
        entry = CheckEntered(id_, found.fingerprint if found else "none", "1 mL", "", agrees)
        before = self.state.checks
        decision = decide_check_entry(self.state, who, entry, self.wanted)
        if not isinstance(decision, Refusal):
            assert set(find_read(self.record.events).values()) == {who}, "the baby comes first"
            assert self.state.check is not None
            assert self.state.check.stamp.who == who
        self.take(decision, who)
        assert self.state.check is None or self.state.checks == before, "nothing counts before the check ends"

    @rule(who=PEOPLE)
    def checks_everything(self, who: str) -> None:
        self.begins_to_check(who)
        for fact in list_left_to_read(self.state):
            self.reads_a_fact_to_check(who, (fact, self.state.facts[fact]))
        for each in self.wanted:
            self.enters_what_they_worked_out(who=who, id_=each, agrees=True)

    @rule(who=PEOPLE)
    def stops_the_check(self, who: str) -> None:
        self.take(decide_check_leave(self.state), who)

    @rule(who=PEOPLE, id_=LINES, reason=REASONS)
    def settles_a_difference(self, who: str, id_: str, reason: str) -> None:
        self.take(decide_settle(self.state, id_, reason), who)

    @rule(who=PEOPLE)
    def hands_over_and_takes(self, who: str) -> None:
        self.take(decide_hand_over(self.state, "note"), who)
        now = compute_ready_fingerprint(self.state)
        self.take(decide_take_over(self.state, now, now), who)

    @invariant()
    def a_check_stands_for_the_line_as_it_is(self) -> None:
        for each in self.state.lines:
            if self.state.is_checked(each.id):
                assert self.state.checks[each.id].fingerprint == each.fingerprint

    @rule(who=PEOPLE, id_=LINES)
    def restores(self, who: str, id_: str) -> None:
        self.take(decide_restore(self.state, id_), who)

    @rule(who=PEOPLE)
    def works_the_list_out_again(self, who: str) -> None:
        self.take(decide_relist(self.state, self.relist()), who)

    @rule(who=PEOPLE)
    def withholds_the_list(self, who: str) -> None:
        self.take(decide_relist(self.state, Listed("time", (), "Out of date.", "weight")), who)

    @rule(who=PEOPLE, without=LINES)
    def takes_a_part_of_the_list(self, who: str, without: str) -> None:
        lines: tuple[LineSnapshot, ...] = tuple(each for each in self.relist().lines if each.id != without)
        new = Listed("time", lines, "", "") if lines else Listed("time", (), "Out of date.", "weight")
        self.take(decide_relist(self.state, new), who)

    @rule(who=PEOPLE, ward=st.sampled_from(["ward 1", "ward 2"]))
    def replaces_the_ward(self, who: str, ward: str) -> None:
        now = self.state
        decision = decide_ward(
            now,
            kit_text=now.kit_text,
            kit_edition="1",
            ward_text=ward,
            ward_name=None,
            listed=self.relist(ward=ward),
        )
        self.take(decision, who)

    @rule(who=PEOPLE, whole=st.sampled_from(["", "3 mL", "6 mL"]), prescriber=PEOPLE, is_listed=st.booleans())
    def orders(self, *, who: str, whole: str, prescriber: str, is_listed: bool) -> None:
        listed = self.relist(ordered=f"{whole} {prescriber}") if is_listed else None
        order = order_of("surfactant", "drug", whole, prescriber)
        decision = decide_order(self.state, order, is_offered=whole != "6 mL", listed=listed)
        if not isinstance(decision, Refusal):
            assert whole != "6 mL"
        self.take(decision, who)

    @rule(who=PEOPLE, is_told=st.booleans())
    def reads_aloud(self, *, who: str, is_told: bool) -> None:
        """With or without being told what is missing: what is missing decides."""
        missing = compute_missing(self.state, (), "")
        now, seen = compute_ready_fingerprint(self.state), compute_ready_fingerprint(self.seen[who])
        decision = decide_read_aloud(self.state, missing if is_told else (), now, seen)
        if isinstance(decision, Refusal):
            assert missing or seen != now or self.end
            return
        assert missing == ()
        marks = count_marks([each.payload for each in self.record.events])
        assert all(each.id in marks and (not each.blocked or marks[each.id] is SetAside) for each in self.state.lines)
        self.take(decision, who)
        assert self.state.is_read_aloud(now)

    @precondition(lambda self: self.state.seq > 25)
    @rule(who=PEOPLE, reason=REASONS)
    def stands_down(self, who: str, reason: str) -> None:
        decision = decide_stand_down(self.state, reason)
        self.take(decision, who)
        if not isinstance(decision, Refusal):
            self.end = self.state

    @invariant()
    def the_record_read_back_gives_the_same_state(self) -> None:
        assert replay(self.record.events) == self.state

    @invariant()
    def marks_count_for_what_they_were_made_for_and_for_nothing_else(self) -> None:
        marks = count_marks([each.payload for each in self.record.events])
        ids = ["surfactant", "device", "tube", "towel"]
        assert [id_ for id_ in ids if self.state.is_ticked(id_)] == [id_ for id_ in ids if marks.get(id_) is Ticked]
        assert [id_ for id_ in ids if self.state.is_set_aside(id_)] == [
            id_ for id_ in ids if marks.get(id_) is SetAside
        ]
        assert self.state.left == len(self.state.lines) - len(marks)

    @invariant()
    def what_is_in_hand_is_what_was_given_for_the_line_as_it_is(self) -> None:
        given = count_in_hand([each.payload for each in self.record.events])
        assert {id_: [each.batch for each in held] for id_, held in self.state.in_hand.items()} == given
        assert all(not self.state.find_in_hand(id_) for id_ in given if self.state.find_line(id_) is None)

    @invariant()
    def ready_is_what_nothing_is_missing_from(self) -> None:
        is_open = compute_missing(self.state, (), "") == ()
        assert is_open == (self.state.is_complete and self.end is None)

    @invariant()
    def a_list_is_the_last_one_worked_out_from_these_facts(self) -> None:
        if self.state.withheld:
            assert self.state.lines == ()
            assert not self.state.is_complete
        else:
            wanted = {each.id: each for each in self.relist().lines}
            assert all(wanted[each.id] == each for each in self.state.lines)

    @invariant()
    def a_weight_counts_as_confirmed_for_these_facts_only(self) -> None:
        for fact, held in self.state.confirmations.items():
            assert held.facts[fact] == self.state.facts[fact]
            assert all(self.state.facts.get(name, value) == value for name, value in held.facts.items())

    @invariant()
    def what_is_left_to_read_is_what_was_not_read_as_it_is_now(self) -> None:
        read, checker = find_read(self.record.events), find_checker(self.record.events)
        assert set(self.state.facts_to_read) == set(read)
        assert set(self.state.facts_unread) == {fact for fact, who in read.items() if not who}
        assert self.state.is_baby_checked == all(read.values())
        assert (self.state.check.stamp.who if self.state.check else "") == checker
        assert set(list_left_to_read(self.state)) == (
            set(read) - list_read_in_check(self.record.events) if checker else set()
        )

    @invariant()
    def a_line_is_changed_or_marked_but_never_both(self) -> None:
        assert not set(self.state.changes) & (set(self.state.ticks) | set(self.state.set_asides))
        assert not set(self.state.ticks) & set(self.state.set_asides)

    @invariant()
    def only_the_last_thing_can_be_a_list_read_aloud(self) -> None:
        if self.state.read_aloud is not None and self.end is None:
            assert isinstance(self.record.events[-1].payload, ReadAloud)

    @invariant()
    def nothing_changes_after_the_end(self) -> None:
        if self.end is not None:
            assert self.state is self.end


TestThreePeople = ThreePeople.TestCase
TestThreePeople.settings = settings(max_examples=40, stateful_step_count=40, deadline=None)
