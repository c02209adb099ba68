"""Three people at two desks, any action in any order, over a real store: what may never be, never is.

The lists and amounts are those of the shipped kit; the fold alone is walked in `tests/preparation`.
"""

import tempfile
from contextlib import ExitStack
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from workstation_scene import USUAL, WARD, Clock, answer_all, check_all, tick_all

from prepkit.app.eventlog.repository import read_events, read_preparation
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.preparation.baby.events import FactGiven, WeightConfirmed
from prepkit.preparation.bedside.events import Happened, StepDone, StepLeftOut
from prepkit.preparation.check.events import CheckEntered
from prepkit.preparation.events import ReadAloud
from prepkit.preparation.evolve import fold
from prepkit.preparation.lines.events import Ordered, SetAside, Ticked
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.store import open_sqlite

KIT = "surfactant-supraglottic"
PEOPLE = st.sampled_from(["RA", "KM", "TO"])
DESKS = st.sampled_from([0, 1])
LINES = st.sampled_from(["surfactant", "atropine", "drape", "airway-device", "gastric-tube"])
NOW = [("weight_now", "1400"), ("weight_now", "not weighed since")]
LATE = 60
"""After so many events a preparation may be stood down; earlier there would be nothing left to try."""
PREPARING = (FactGiven, WeightConfirmed, Ordered, Ticked, SetAside)


class TwoDesks(RuleBasedStateMachine):
    """One preparation open on two desks; a person goes to a desk, acts on what it shows, and may not have looked."""

    def __init__(self) -> None:
        super().__init__()
        self.stack = ExitStack()
        self.clock = Clock()

    @initialize(stage=st.sampled_from(["cot", "ready", "list"]))
    def begin(self, stage: str) -> None:
        """From the list, from ready, or from the cot: chance alone seldom gets that far."""
        path = Path(self.stack.enter_context(tempfile.TemporaryDirectory())) / "store.sqlite"
        self.stores = [self.stack.enter_context(open_sqlite(path)) for _ in range(2)]
        self.desks = [
            Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=self.clock) for store in self.stores
        ]
        first = self.desks[0].start(KIT, "Cot 4")
        assert isinstance(first, OpenPreparation)
        for fact, typed in (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("born", "today")):
            assert first.baby.give_fact(fact, typed) == ""
        second = self.desks[1].resume(first.session.prep)
        assert isinstance(second, OpenPreparation)
        self.opened = [first, second]
        if stage != "list":
            self.get_ready()
        if stage == "cot":
            assert first.session.refresh()
            assert first.ready.read_aloud() == ""
            assert first.bedside.do_step("t-piece-on") == first.bedside.do_step("sucrose-given") == ""

    def get_ready(self) -> None:
        first, second = self.opened
        tick_all(first)
        answer_all(first)
        check_all(second, "TO")
        second.session.refresh()
        assert second.ready.show_ready().is_open, second.ready.show_ready().missing

    def teardown(self) -> None:
        self.stack.close()

    def go(self, desk: int, who: str) -> OpenPreparation:
        assert self.desks[desk].identity.sign_on(who) == ""
        self.clock.move(seconds=20)
        return self.opened[desk]

    @rule(desk=DESKS)
    def look(self, desk: int) -> None:
        self.opened[desk].session.refresh()

    @rule(desk=DESKS, who=PEOPLE, line=LINES)
    def touch_a_line(self, desk: int, who: str, line: str) -> None:
        opened = self.go(desk, who)
        seen, was_ticked = opened.session.state.find_line(line), opened.session.state.is_ticked(line)
        stands = read_preparation(self.stores[1 - desk], opened.session.prep).find_line(line)
        refusal = opened.lines.tick(line)
        if not was_ticked and seen != stands:
            assert refusal, "what changed on the other desk meanwhile is refused"
        if not refusal and not was_ticked:
            assert seen is not None
            assert opened.session.state.ticks[line].fingerprint == seen.fingerprint, "ticked for what was on the screen"

    @rule(desk=DESKS, who=PEOPLE, weight=st.sampled_from(["1450", "1500", "1600"]))
    def give_a_weight(self, desk: int, who: str, weight: str) -> None:
        self.go(desk, who).baby.give_fact("birth_weight", weight)

    @rule(desk=DESKS, who=PEOPLE, given=st.sampled_from([("born", "today"), ("born", "yesterday"), *NOW]))
    def give_a_birth_or_a_weight_now(self, desk: int, who: str, given: tuple[str, str]) -> None:
        self.go(desk, who).baby.give_fact(*given)

    @rule(desk=DESKS, who=PEOPLE, line=LINES)
    def set_a_line_aside(self, desk: int, who: str, line: str) -> None:
        self.go(desk, who).lines.set_aside(line, "not needed here")

    @rule(desk=DESKS, who=PEOPLE, checker=PEOPLE)
    def check(self, desk: int, who: str, checker: str) -> None:
        opened = self.go(desk, who)
        opened.session.refresh()
        state = opened.session.state
        barred = state.preparers | state.left_by | opened.session.seen_by
        if state.check or checker in barred or opened.check.show_checked().begin.refusal:
            opened.check.begin(checker)
        else:
            check_all(opened, checker)

    @rule(desk=DESKS, who=PEOPLE)
    def stop_a_check(self, desk: int, who: str) -> None:
        self.go(desk, who).check.stop()

    @rule(desk=DESKS, who=st.sampled_from(["RA", "KM"]))
    def do_everything_that_is_left(self, desk: int, who: str) -> None:
        opened = self.go(desk, who)
        opened.session.refresh()
        for line in opened.session.state.lines_left:
            opened.lines.tick(line.id)
        opened.baby.answer_others()
        for fact, typed in USUAL.items():
            opened.baby.give_fact(fact, typed)
        opened.baby.confirm_facts()

    @rule(desk=DESKS, who=PEOPLE, option=st.integers(0, 5), prescriber=PEOPLE)
    def order(self, desk: int, who: str, option: int, prescriber: str) -> None:
        opened = self.go(desk, who)
        view = opened.lines.show_options("surfactant")
        if view is not None and view.choices:
            opened.lines.order("surfactant", view.choices[option % len(view.choices)][0], prescriber)

    @rule(desk=DESKS, who=PEOPLE)
    def hand_over(self, desk: int, who: str) -> None:
        self.go(desk, who).handover.hand_over("half of it is done")

    @rule(desk=DESKS, who=PEOPLE)
    def take_over(self, desk: int, who: str) -> None:
        opened = self.go(desk, who)
        seen, stands = (
            opened.handover.show_handover().standing,
            read_preparation(self.stores[1 - desk], opened.session.prep),
        )
        if not opened.handover.take_over(seen):
            assert seen == compute_ready_fingerprint(stands), "taken as it was shown, or not at all"

    @rule(desk=DESKS, who=PEOPLE)
    def read_aloud(self, desk: int, who: str) -> None:
        opened = self.go(desk, who)
        before = opened.session.state.seq
        refusal = opened.ready.read_aloud()
        state = read_preparation(self.stores[0], opened.session.prep)
        if not refusal and opened.session.state.seq > before:
            assert state.is_complete
            assert all(state.is_ticked(line.id) or state.is_set_aside(line.id) for line in state.lines)

    @rule(desk=DESKS, who=PEOPLE, how=st.sampled_from(["done", "left out"]))
    def do_the_next_step(self, desk: int, who: str, how: str) -> None:
        cot = self.go(desk, who).bedside
        step = cot.show_cot().next_step
        name = step.step if step else "atropine-given"
        _ = cot.do_step(name) if how == "done" else cot.leave_out(name, "not this time")

    @rule(desk=DESKS, who=PEOPLE, how=st.sampled_from(["desaturation", "strike", "earlier", "note", "come back"]))
    def change_the_timeline(self, desk: int, who: str, how: str) -> None:
        cot = self.go(desk, who).bedside
        _ = {
            "desaturation": lambda: cot.note_happening("desaturation"),
            "strike": lambda: cot.strike(cot.last_entry, "by mistake"),
            "earlier": lambda: cot.correct_time(cot.last_entry, "02:59"),
            "note": lambda: cot.add_note(cot.last_entry, "quickly over"),
            "come back": lambda: cot.come_back("another size is needed"),
        }[how]()

    @rule(desk=DESKS, who=PEOPLE)
    def say_how_it_went_and_sign(self, desk: int, who: str) -> None:
        cot = self.go(desk, who).bedside
        cot.give_outcome("given in full")
        cot.say_complications(())
        for row in cot.show_record().follow_ups:
            cot.miss_follow_up(row.follow_up, "moved to another unit")
        cot.sign(cot.show_record().standing)

    @rule(desk=DESKS, who=PEOPLE)
    def stand_down(self, desk: int, who: str) -> None:
        opened = self.go(desk, who)
        if opened.session.state.seq > LATE:
            opened.ready.stand_down("better by itself")

    @invariant()
    def nothing_is_done_at_the_cot_before_the_list_was_read_aloud(self) -> None:
        if hasattr(self, "opened"):
            kinds = [type(event.payload) for event in read_events(self.stores[0], self.opened[0].session.prep)]
            steps = [at for at, kind in enumerate(kinds) if kind in {StepDone, StepLeftOut, Happened}]
            assert not steps or ReadAloud in kinds[: steps[0]]

    @invariant()
    def no_desk_is_ready_with_a_stale_tick(self) -> None:
        for opened in getattr(self, "opened", []):
            if opened.ready.show_ready().is_open:
                lines = {line.id: line.fingerprint for line in opened.session.state.lines}
                assert all(tick.fingerprint == lines.get(id_) for id_, tick in opened.session.state.ticks.items())

    @invariant()
    def what_is_read_back_is_what_a_desk_that_looked_has(self) -> None:
        if hasattr(self, "opened"):
            prep = self.opened[0].session.prep
            events = read_events(self.stores[1], prep)
            for opened in self.opened:
                assert fold(events[: opened.session.state.seq]) == opened.session.state

    @invariant()
    def nobody_checked_what_they_had_prepared(self) -> None:
        if not hasattr(self, "opened"):
            return
        hands: set[str] = set()
        for event in read_events(self.stores[0], self.opened[0].session.prep):
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


@pytest.mark.thorough
class TestTwoDesksForLonger(TwoDesks.TestCase):  # type: ignore[name-defined,misc]  # made by the library
    settings = settings(TestTwoDesks.settings, max_examples=20, stateful_step_count=30)
