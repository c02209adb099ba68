"""One preparation open on a desk. May import: every layer but the front ends."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from prepkit.desk.ledger import read_on, write_decision
from prepkit.kit.baby import read_fact, write_fact
from prepkit.kit.problems import Problem
from prepkit.list.others import find_other_kits, say_other_kits
from prepkit.preparation.decide import (
    decide_answer,
    decide_fact,
    decide_read_aloud,
    decide_relist,
    decide_restore,
    decide_senior,
    decide_set_aside,
    decide_stand_down,
    decide_tick,
    decide_untick,
    decide_ward,
    decide_weight,
)
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, FactGiven, Payload, WardReplaced, WeightConfirmed
from prepkit.preparation.evolve import evolve
from prepkit.preparation.missing import compute_ready_standing
from prepkit.preparation.state import Preparation
from prepkit.preparation.worked import Worked, compute_suitability_standing, make_listed, work_out
from prepkit.rules.growth import Belief
from prepkit.view.baby import show_baby
from prepkit.view.lines import show_line, show_list
from prepkit.view.models import BabyView, LineView, ListView, ReadyView, SuitabilityView
from prepkit.view.ready import find_missing, show_ready
from prepkit.view.suitability import show_suitability

if TYPE_CHECKING:
    from prepkit.desk.desk import Desk

_STALE_AFTER = timedelta(seconds=5)
_NO_SUCH_LINE = "This line is no longer on the list: look at the list again."


@dataclass(frozen=True, slots=True)
class _Key:
    """Everything a worked-out list depends on but the time; a list is kept only for the very same key."""

    facts: tuple[tuple[str, str], ...]
    answers: tuple[tuple[str, str], ...]
    confirmed: bool
    kit_text: str
    ward_text: str | None


class OpenPreparation:
    """One preparation on this screen. Every change is durable in the store before its method returns.

    Methods that change something return the reason of the refusal in words, or an empty string when it was done.
    """

    def __init__(self, desk: "Desk", prep: str, state: Preparation) -> None:
        """Open a preparation on a desk; a list that time has changed is recorded at once."""
        self.prep = prep
        self._desk = desk
        self._state = state
        self._kept: tuple[_Key, datetime, Worked] | None = None
        self._relist()

    def refresh(self) -> bool:
        """Take in what other devices did and what time changed; True when a screen must be redrawn."""
        seq = self._state.seq
        self._state = read_on(self._desk.store, self.prep, self._state)
        self._relist()
        return self._state.seq != seq

    @property
    def is_stood_down(self) -> bool:
        """Whether the preparation has ended without going to the cot."""
        return self._state.stood_down is not None

    def show_baby(self) -> BabyView:
        """The facts."""
        return show_baby(self._state, self._work_out())

    def show_suitability(self) -> SuitabilityView:
        """Whether this route is for this baby."""
        worked = self._work_out()
        others = ""
        if worked.tray is not None and worked.tray.verdict == "not suitable":
            kits = self._desk.files.load_all()
            others = say_other_kits(find_other_kits(kits, self._state.kit, worked.tray.baby))
        return show_suitability(self._state, worked, others)

    def show_list(self) -> ListView:
        """The list, or why there is none yet."""
        return show_list(self._state, self._work_out(), self._find_news())

    def show_line(self, line: str) -> LineView | None:
        """One line opened; None where it is no longer on the list."""
        return show_line(self._state, self._work_out(), line)

    def show_ready(self) -> ReadyView:
        """The gate."""
        return show_ready(self._state, self._work_out(), self._find_news())

    def give_fact(self, fact: str, typed: str) -> str:
        """Give a fact as typed."""
        found = read_fact(self._work_out().kit.model, fact, typed, self._desk.clock())
        if isinstance(found, Problem):
            return f"{found.wrong[0].upper()}{found.wrong[1:]}{': ' if found.hint else '.'}{found.hint}"
        return self._give(fact, found[0])

    def confirm_facts(self) -> str:
        """Give every assumed fact as it is shown: a person says that they are right."""
        worked = self._work_out()
        if worked.baby is None:
            return worked.withheld
        for fact in worked.kit.model.fact:
            value = worked.baby.facts[fact.id]
            if fact.id in worked.baby.assumed and value is not None:
                refusal = self._give(fact.id, write_fact(value))
                if refusal:
                    return refusal
        return ""

    def confirm_weight(self, typed: str, second: str = "") -> str:
        """The weight entered again; `second` is the other person's initials where a second person is asked for."""
        worked = self._work_out()
        if worked.weight is None or worked.baby is None:
            return "The weight needs no confirmation any more."
        baby, needs_second = worked.baby, worked.weight.belief is Belief.VERY_UNLIKELY

        def decide(state: Preparation) -> Decision:
            facts = (str(baby.weight_g), str(baby.gestation), baby.sex)
            listed = make_listed(
                work_out(self._look_ahead(state, WeightConfirmed(*facts, second)), self._desk.clock()), "facts"
            )
            return decide_weight(
                state, *facts, again=typed, second=second, who=self._desk.who, needs_second=needs_second, listed=listed
            )

        return self._act(decide)

    def answer(self, criterion: str, answer: str) -> str:
        """Answer one of the kit's questions: "yes", "no" or "unsure"."""
        return self._act(lambda state: decide_answer(state, criterion, answer))

    def agree_senior(self, senior: str, note: str) -> str:
        """Record a senior's agreement to the verdict as it is shown."""
        tray = self._work_out().tray
        if tray is None:
            return self._state.withheld
        standing = compute_suitability_standing(tray)
        return self._act(lambda state: decide_senior(state, senior, note, standing, self._desk.who))

    def tick(self, line: str) -> str:
        """Tick a line that is not ticked, un-tick one that is: as it stood on this screen."""
        if self._state.is_ticked(line):
            return self._act(lambda state: decide_untick(state, line))
        seen = self._find_fingerprint(line)
        return self._act(lambda state: decide_tick(state, line, seen)) if seen else _NO_SUCH_LINE

    def set_aside(self, line: str, reason: str) -> str:
        """Mark a line as not needed, with the reason."""
        seen = self._find_fingerprint(line)
        return self._act(lambda state: decide_set_aside(state, line, seen, reason)) if seen else _NO_SUCH_LINE

    def restore(self, line: str) -> str:
        """Take "not needed" back."""
        return self._act(lambda state: decide_restore(state, line))

    def read_aloud(self) -> str:
        """Record that the summary as shown was read aloud and the team goes to the cot."""
        seen = compute_ready_standing(self._state)

        def decide(state: Preparation) -> Decision:
            missing = find_missing(state, work_out(state, self._desk.clock()), self._find_news())
            return decide_read_aloud(state, missing, compute_ready_standing(state), seen)

        return self._act(decide)

    def stand_down(self, reason: str) -> str:
        """End the preparation without going to the cot, with the reason. Nothing is deleted."""
        return self._act(lambda state: decide_stand_down(state, reason))

    def take_news(self) -> str:
        """Go on with the ward file and the kit as they are now; exactly what that changes is un-ticked."""
        read = self._desk.files.load(self._state.kit)
        if isinstance(read, str):
            return read
        ward_text, ward_name = (read.ward.text, read.ward.model.name) if read.ward else (None, None)
        kit_text, edition = read.kit.text, read.kit.model.edition

        def decide(state: Preparation) -> Decision:
            ahead = self._look_ahead(state, WardReplaced(kit_text, edition, ward_text, ward_name))
            listed = make_listed(work_out(ahead, self._desk.clock()), "ward")
            return decide_ward(
                state, kit_text=kit_text, kit_edition=edition, ward_text=ward_text, ward_name=ward_name, listed=listed
            )

        return self._act(decide)

    def _give(self, fact: str, value: str) -> str:
        def decide(state: Preparation) -> Decision:
            ahead = work_out(self._look_ahead(state, FactGiven(fact, value)), self._desk.clock())
            return decide_fact(state, fact, value, make_listed(ahead, "facts"))

        return self._act(decide)

    def _act(self, decide: Callable[[Preparation], Decision]) -> str:
        """Decide on the list as it is at this moment, and record it."""
        self._relist()
        written = write_decision(self._desk.store, self.prep, self._state, decide, self._desk.make_stamp())
        self._state = written.state
        return written.refusal

    def _look_ahead(self, state: Preparation, payload: Payload) -> Preparation:
        """The state as it would be with one more event."""
        if state.stood_down is not None:
            return state
        return evolve(state, Event(state.seq + 1, self._desk.make_stamp(), payload))

    def _relist(self) -> None:
        """Record the list anew where time (an approval's review date, a dose's interval) changed it."""
        if self._state.stood_down is not None:
            return
        listed = make_listed(self._work_out(), "time")
        written = write_decision(
            self._desk.store,
            self.prep,
            self._state,
            lambda state: decide_relist(state, listed),
            self._desk.make_stamp(),
        )
        self._state = written.state

    def _work_out(self) -> Worked:
        now, key = self._desk.clock(), _make_key(self._state)
        at = now.astimezone(UTC)  # two times of one zone are an hour out of each other when the clocks go back
        if self._kept is not None and self._kept[0] == key and timedelta(0) <= at - self._kept[1] < _STALE_AFTER:
            return self._kept[2]
        worked = work_out(self._state, now)
        self._kept = (key, at, worked)
        return worked

    def _find_fingerprint(self, line: str) -> str:
        found = self._state.find_line(line)
        return found.fingerprint if found else ""

    def _find_news(self) -> str:
        return self._desk.files.find_news(self._state.kit, self._state.kit_text, self._state.ward_text)


def _make_key(state: Preparation) -> _Key:
    answers = tuple((name, given.answer) for name, given in state.answers.items())
    return _Key(tuple(state.facts.items()), answers, state.is_weight_confirmed, state.kit_text, state.ward_text)
