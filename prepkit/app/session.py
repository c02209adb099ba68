"""One preparation open at a workstation: its state, its list as of now, and `act`, through which every change goes."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from prepkit.app.eventlog.repository import decide_and_append, read_on
from prepkit.app.list_cache import ListCache
from prepkit.app.services.batches import NO_SUCH_LINE, BatchService
from prepkit.app.services.bedside import BedsideService
from prepkit.app.services.check import SecondCheckService
from prepkit.app.services.handover import HandoverService
from prepkit.app.services.lines import ReenteredWeight, decide_option, decide_reentered_weight, decide_texts
from prepkit.kit.baby import read_fact, write_fact
from prepkit.kit.problems import Problem
from prepkit.list.criteria import find_other_kits, say_other_kits
from prepkit.people.pin import Pin, hide_pin
from prepkit.preparation.baby.decide import decide_answer, decide_fact, decide_senior, refuse_if_differing
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint
from prepkit.preparation.batches.decide import find_wanted_product
from prepkit.preparation.decide import decide_read_aloud, decide_stand_down
from prepkit.preparation.decision import Decision, refuse_if_over
from prepkit.preparation.events import Event, Payload
from prepkit.preparation.evolve import evolve
from prepkit.preparation.lines.decide import decide_relist, decide_restore, decide_set_aside, decide_tick, decide_untick
from prepkit.preparation.listing import WorkedList, make_listed, work_out
from prepkit.preparation.readiness import compute_ready_fingerprint
from prepkit.preparation.state import WEIGHT, Preparation
from prepkit.rules.growth import Plausibility
from prepkit.view.baby import say_wrong, show_baby
from prepkit.view.home import LockedView, show_locked
from prepkit.view.lines import OptionsView, show_line, show_list, show_options
from prepkit.view.models import BabyView, LineView, ListView, ReadyView, SuitabilityView
from prepkit.view.ready import find_missing, show_ready
from prepkit.view.suitability import show_suitability

if TYPE_CHECKING:
    from prepkit.app.workstation import Workstation


class PreparationSession:
    """One preparation on this screen. Every change is durable in the store before its method returns.

    Methods that change something return the reason of the refusal in words, or an empty string when it was done.
    """

    def __init__(self, desk: "Workstation", prep: str, state: Preparation) -> None:
        """Open a preparation on a desk; a list that time has changed is recorded at once."""
        self.prep = prep
        self.desk = desk
        self.state = state
        self._kept = ListCache()
        self.seen_by: set[str] = set()
        """Who was at this desk while it showed amounts of the list: none of them can check it blind here."""
        self.checks = SecondCheckService(self)
        self.handover = HandoverService(self)
        self.cot = BedsideService(self)
        self.in_hand = BatchService(self)
        self._relist()

    def refresh(self) -> bool:
        """Take in what other devices did and what time changed; True when a screen must be redrawn."""
        seq = self.state.seq
        self.state = read_on(self.desk.store, self.prep, self.state)
        self._relist()
        return self.state.seq != seq

    @property
    def is_stood_down(self) -> bool:
        """Whether the preparation has ended without going to the cot."""
        return self.state.stood_down is not None

    def show_baby(self) -> BabyView:
        """The facts."""
        return show_baby(self.state, self.work_out())

    def show_suitability(self) -> SuitabilityView:
        """Whether this route is for this baby."""
        worked, now = self.work_out(), self.desk.clock()
        others = ""
        if worked.tray is not None and worked.tray.verdict == "not suitable":
            kits = self.desk.files.load_all()
            others = say_other_kits(find_other_kits(kits, self.state.kit, worked.tray.baby, worked.ward, now))
        return show_suitability(self.state, worked, others)

    def show_list(self) -> ListView:
        """The list, or why there is none yet."""
        self._note_seen()
        return show_list(self.state, self.work_out(), self._find_news())

    def show_line(self, line: str) -> LineView | None:
        """One line opened; None where it is no longer on the list."""
        self._note_seen()
        return show_line(self.state, self.work_out(), line)

    def show_options(self, line: str) -> OptionsView | None:
        """What can be ordered for a dose line; None where it is no dose, or no longer on the list."""
        self._note_seen()
        return show_options(self.state, self.work_out(), line, self.desk.clock())

    def show_ready(self) -> ReadyView:
        """The gate."""
        self._note_seen()
        return show_ready(self.state, self.work_out(), self.desk.clock(), self._find_news())

    def _note_seen(self) -> None:
        if self.state.check is None and self.desk.who and not self.state.withheld:
            self.seen_by.add(self.desk.who)

    def show_locked(self) -> LockedView:
        """What a locked screen shows of it."""
        return show_locked(self.state, self.desk.clock())

    def give_fact(self, fact: str, typed: str) -> str:
        """Give a fact as typed."""
        found = read_fact(self.work_out().kit.model, fact, typed, self.desk.clock())
        if isinstance(found, Problem):
            return f"{say_wrong(found)}{': ' if found.hint else '.'}{found.hint}"
        return self._give(fact, found[0])

    def confirm_facts(self) -> str:
        """Give every assumed fact as it is shown: a person says that they are right."""
        worked = self.work_out()
        if worked.baby is None:
            return worked.withheld
        for fact in worked.kit.model.fact:
            value = worked.baby.facts[fact.id]
            if fact.id in worked.baby.assumed and value is not None:
                refusal = self._give(fact.id, write_fact(value))
                if refusal:
                    return refusal
        return ""

    def refuse_weight_again(self, typed: str) -> str:
        """Why the weight entered again is not the one to confirm; empty where it is."""
        differing = refuse_if_differing(self.state.facts.get(WEIGHT, ""), typed)
        return differing.reason if differing else ""

    def confirm_weight(self, typed: str, second: str = "", pin: str | Pin = "") -> str:
        """The weight entered again; `second` is the other person's initials where a second person is asked for.

        With PINs that person signs in on the spot with theirs.
        """
        pin = hide_pin(pin)
        if second.strip() and (refusal := self.desk.verify(second, pin)):
            return refusal
        worked = self.work_out()
        if worked.weight is None or worked.baby is None:
            return "The weight needs no confirmation any more."
        baby, needs_second = worked.baby, worked.weight.plausibility is Plausibility.VERY_UNLIKELY

        again = ReenteredWeight(baby, typed, second, needs_second=needs_second)
        return self.act(lambda state: decide_reentered_weight(state, again, self.desk, self.look_ahead))

    def answer(self, criterion: str, answer: str) -> str:
        """Answer one of the kit's questions: "yes", "no" or "unsure"."""
        return self.act(lambda state: decide_answer(state, criterion, answer))

    def agree_senior(self, senior: str, note: str) -> str:
        """Record a senior's agreement to the verdict as it is shown."""
        tray = self.work_out().tray
        if tray is None:
            return self.state.withheld
        standing = compute_suitability_fingerprint(tray)
        return self.act(lambda state: decide_senior(state, senior, note, standing, self.desk.who))

    def tick(self, line: str) -> str:
        """Tick a line that is not ticked, un-tick one that is: as it stood on this screen."""
        if self.state.is_ticked(line):
            return self.act(lambda state: decide_untick(state, line))
        seen = self.find_fingerprint(line)
        if not seen:
            return NO_SUCH_LINE
        needs, who = find_wanted_product(self.work_out(), line) is not None, self.desk.who
        return self.act(lambda state: decide_tick(state, line, seen, who, needs_in_hand=needs))

    def order(self, line: str, option: str, prescriber: str) -> str:
        """Record what a prescriber ordered: one of the options of `show_options`, by its id."""
        now = self.desk.clock()
        return self.act(lambda state: decide_option(state, line, option, prescriber, now, self.look_ahead))

    def set_aside(self, line: str, reason: str) -> str:
        """Mark a line as not needed, with the reason."""
        seen = self.find_fingerprint(line)
        return self.act(lambda state: decide_set_aside(state, line, seen, reason)) if seen else NO_SUCH_LINE

    def restore(self, line: str) -> str:
        """Take "not needed" back."""
        return self.act(lambda state: decide_restore(state, line))

    def read_aloud(self) -> str:
        """Record that the summary as shown was read aloud and the team goes to the cot."""
        seen = compute_ready_fingerprint(self.state)

        def decide(state: Preparation) -> Decision:
            now = self.desk.clock()
            missing = find_missing(state, work_out(state, now), now, self._find_news(again=True))
            return decide_read_aloud(state, missing, compute_ready_fingerprint(state), seen)

        return self.act(decide)

    def stand_down(self, reason: str) -> str:
        """End the preparation without going to the cot, with the reason. Nothing is deleted."""
        return self.act(lambda state: decide_stand_down(state, reason))

    def take_news(self) -> str:
        """Go on with the ward file and the kit as they are now; exactly what that changes is un-ticked."""
        read = self.desk.files.load(self.state.kit)
        if isinstance(read, str):
            return read
        return self.act(lambda state: decide_texts(state, read, self.desk, self.look_ahead))

    def _give(self, fact: str, value: str) -> str:
        def decide(state: Preparation) -> Decision:
            ahead = work_out(self.look_ahead(state, FactGiven(fact, value)), self.desk.clock())
            return decide_fact(state, fact, value, make_listed(ahead, "facts"))

        return self.act(decide)

    def act(self, decide: Callable[[Preparation], Decision], who: str = "") -> str:
        """Decide on the list as it is at this moment, and record it; `who` acts, else the person at the desk."""
        if nobody := self.desk.refuse_if_not_signed_in():
            return nobody
        self._relist()
        written = decide_and_append(self.desk.store, self.prep, self.state, decide, self.desk.make_attribution(who))
        self.state = written.state
        if not written.refusal and (self.state.stood_down or self.state.cot_record.closed):
            self._keep_gists()
        return written.refusal

    def _keep_gists(self) -> None:
        """What is made from it once it has ended is made now, where one more moment is nothing to anybody."""
        from prepkit.app.projections.kinds import PROJECTION_KINDS  # noqa: PLC0415  (as above)
        from prepkit.app.projections.projection import build_projections  # noqa: PLC0415  (only at the end of a preparation)

        build_projections(self.desk.store, self.prep, PROJECTION_KINDS)

    def look_ahead(self, state: Preparation, payload: Payload) -> Preparation:
        """The state as it would be with one more event; as it is where none may follow."""
        if refuse_if_over(state) is not None:
            return state
        return evolve(state, Event(state.seq + 1, self.desk.make_attribution(), payload))

    def _relist(self) -> None:
        """Record the list anew where time (an approval's review date, a dose's interval) changed it.

        It is worked out from what is decided on: where another device wrote meanwhile, from what that wrote.
        """
        if self.state.stood_down is not None:
            return

        def decide(state: Preparation) -> Decision:
            return decide_relist(state, self._kept.make_listed(state, self._find_moment(state)))

        self.state = decide_and_append(
            self.desk.store, self.prep, self.state, decide, self.desk.make_attribution()
        ).state

    def work_out(self) -> WorkedList:
        """The list as it is now; kept for a few seconds, for the very same facts and texts only."""
        return self._work_out(self.state)

    def _work_out(self, state: Preparation) -> WorkedList:
        return self._kept.work_out(state, self._find_moment(state))

    def _find_moment(self, state: Preparation) -> datetime:
        """The moment the list is worked out for: now; at the cot and afterwards, when the team went there.

        One that was stood down stays as it was then.
        """
        read, ended, now = state.read_aloud, state.stood_down, self.desk.clock()
        if ended is not None:
            return ended.stamp.at.astimezone(now.tzinfo)
        return read.stamp.at.astimezone(now.tzinfo) if state.cot_record.entries and read else now

    def find_fingerprint(self, line: str) -> str:
        """The fingerprint of a line as this screen has it; empty where the list has no such line."""
        found = self.state.find_line(line)
        return found.fingerprint if found else ""

    def _find_news(self, *, again: bool = False) -> str:
        return self.desk.files.find_news(self.state.kit, self.state.kit_text, self.state.ward_text, again=again)
