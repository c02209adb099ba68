"""Three people at two desks, any action in any order, over a real store: what may never be, never is.

The lists and amounts are those of the shipped kit; the fold alone is walked in `tests/preparation`.
"""

import tempfile
from contextlib import ExitStack
from pathlib import Path

from desk_scene import WARD, Clock, answer_all, check_all, tick_all
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from prepkit.desk.desk import Desk
from prepkit.desk.files import Files
from prepkit.desk.ledger import read_events, read_preparation
from prepkit.desk.opened import OpenPreparation
from prepkit.desk.verifying import verify_store
from prepkit.preparation.check_events import CheckEntered
from prepkit.preparation.events import FactGiven, WeightConfirmed
from prepkit.preparation.evolve import fold
from prepkit.preparation.line_events import Ordered, SetAside, Ticked
from prepkit.store import open_sqlite

KIT = "surfactant-supraglottic"
PEOPLE = st.sampled_from(["RA", "KM", "TO"])
DESKS = st.sampled_from([0, 1])
LINES = st.sampled_from(["surfactant", "atropine", "drape", "airway-device", "gastric-tube"])
PREPARING = (FactGiven, WeightConfirmed, Ordered, Ticked, SetAside)


class TwoDesks(RuleBasedStateMachine):
    """One preparation open on two desks; a person goes to a desk, acts on what it shows, and may not have looked."""

    def __init__(self) -> None:
        super().__init__()
        self.stack = ExitStack()
        self.clock = Clock()

    @initialize()
    def begin(self) -> None:
        path = Path(self.stack.enter_context(tempfile.TemporaryDirectory())) / "store.sqlite"
        self.stores = [self.stack.enter_context(open_sqlite(path)) for _ in range(2)]
        self.desks = [Desk(store, Files(WARD, None), who="RA", clock=self.clock) for store in self.stores]
        first = self.desks[0].start(KIT, "Cot 4")
        assert isinstance(first, OpenPreparation)
        assert first.give_fact("weight", "1450") == first.give_fact("gestation", "30+2") == ""
        second = self.desks[1].resume(first.prep)
        assert isinstance(second, OpenPreparation)
        self.opened = [first, second]

    def teardown(self) -> None:
        self.stack.close()

    def go(self, desk: int, who: str) -> OpenPreparation:
        assert self.desks[desk].sign_on(who) == ""
        self.clock.move(seconds=20)
        return self.opened[desk]

    @rule(desk=DESKS)
    def look(self, desk: int) -> None:
        self.opened[desk].refresh()

    @rule(desk=DESKS, who=PEOPLE, line=LINES)
    def touch_a_line(self, desk: int, who: str, line: str) -> None:
        opened = self.go(desk, who)
        seen, was_ticked = opened.state.find_line(line), opened.state.is_ticked(line)
        refusal = opened.tick(line)
        if not refusal and not was_ticked:
            assert seen is not None
            assert opened.state.ticks[line].fingerprint == seen.fingerprint, "ticked for what was on the screen"

    @rule(desk=DESKS, who=PEOPLE, weight=st.sampled_from(["1450", "1500", "1600"]))
    def give_a_weight(self, desk: int, who: str, weight: str) -> None:
        self.go(desk, who).give_fact("weight", weight)

    @rule(desk=DESKS, who=PEOPLE, line=LINES)
    def set_a_line_aside(self, desk: int, who: str, line: str) -> None:
        self.go(desk, who).set_aside(line, "not needed here")

    @rule(desk=DESKS, who=PEOPLE, checker=PEOPLE)
    def check(self, desk: int, who: str, checker: str) -> None:
        opened = self.go(desk, who)
        opened.refresh()
        state = opened.state
        if state.check or checker in state.hands | state.left_by or opened.checks.show_checked().begin.refusal:
            opened.checks.begin(checker)
        else:
            check_all(opened, checker)

    @rule(desk=DESKS, who=PEOPLE)
    def stop_a_check(self, desk: int, who: str) -> None:
        self.go(desk, who).checks.stop()

    @rule(desk=DESKS, who=st.sampled_from(["RA", "KM"]))
    def do_everything_that_is_left(self, desk: int, who: str) -> None:
        opened = self.go(desk, who)
        opened.refresh()
        for line in opened.state.lines_left:
            opened.tick(line.id)
        for row in opened.show_suitability().rows:
            if row.is_question:
                opened.answer(row.id, "no")
        opened.confirm_facts()

    @rule(desk=DESKS, who=PEOPLE)
    def read_aloud(self, desk: int, who: str) -> None:
        opened = self.go(desk, who)
        refusal = opened.read_aloud()
        state = read_preparation(self.stores[0], opened.prep)
        if not refusal:
            assert state.is_complete
            assert all(state.is_ticked(line.id) or state.is_set_aside(line.id) for line in state.lines)

    @invariant()
    def no_desk_is_ready_with_a_stale_tick(self) -> None:
        for opened in getattr(self, "opened", []):
            if opened.show_ready().is_open:
                lines = {line.id: line.fingerprint for line in opened.state.lines}
                assert all(tick.fingerprint == lines.get(id_) for id_, tick in opened.state.ticks.items())

    @invariant()
    def what_is_read_back_is_what_a_desk_that_looked_has(self) -> None:
        if hasattr(self, "opened"):
            prep = self.opened[0].prep
            events = read_events(self.stores[1], prep)
            for opened in self.opened:
                assert fold(events[: opened.state.seq]) == opened.state

    @invariant()
    def nobody_checked_what_they_had_prepared(self) -> None:
        if not hasattr(self, "opened"):
            return
        hands: set[str] = set()
        for event in read_events(self.stores[0], self.opened[0].prep):
            if isinstance(event.payload, CheckEntered):
                assert event.stamp.who not in hands
            if isinstance(event.payload, PREPARING):
                hands.add(event.stamp.who)

    @rule()
    def verify(self) -> None:
        found = verify_store(self.stores[0])
        assert (found.chain, found.wrong) == ((), ())


TestTwoDesks = TwoDesks.TestCase
TestTwoDesks.settings = settings(
    max_examples=3, stateful_step_count=12, deadline=None, suppress_health_check=list(HealthCheck)
)


def test_the_whole_way_to_ready_is_one_that_the_machine_can_take() -> None:
    """Without this the machine could hold its laws by never getting anywhere."""
    machine = TwoDesks()
    machine.begin()
    try:
        first, second = machine.opened
        tick_all(first)
        answer_all(first)
        check_all(second, "TO")
        second.refresh()
        assert second.show_ready().is_open, second.show_ready().missing
        machine.no_desk_is_ready_with_a_stale_tick()
        machine.nobody_checked_what_they_had_prepared()
        machine.what_is_read_back_is_what_a_desk_that_looked_has()
    finally:
        machine.teardown()
