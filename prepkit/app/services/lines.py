"""The lines of one preparation: the list and each line opened, ticks, orders, and the list after new texts.

A decision that changes the list is made with a preview of it (`PreparationSession.look_ahead`), so that the list is
recorded together with what changed it.
"""

from datetime import datetime

from msgspec.structs import replace

from prepkit.app.cot_history import CotHistory
from prepkit.app.files import KitAndWard
from prepkit.app.session import NO_SUCH_LINE, PreparationSession
from prepkit.preparation.baby.suitability import find_unanswered
from prepkit.preparation.batches.decide import find_wanted_product
from prepkit.preparation.decide import decide_ward
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import WardReplaced
from prepkit.preparation.lines.decide import decide_order, decide_restore, decide_set_aside, decide_tick, decide_untick
from prepkit.preparation.lines.events import ValueEntered
from prepkit.preparation.listing import find_entry, find_line_options, make_listed, make_ordered, read_entry, work_out
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_initials, check_text
from prepkit.rules.rule import Order
from prepkit.view.lines import show_line, show_list
from prepkit.view.models import LineView, ListView
from prepkit.view.orders import OptionsView, show_options


class LineService:
    """The list of one open preparation. Methods that change something return a refusal, or an empty string."""

    def __init__(self, session: PreparationSession, history: CotHistory) -> None:
        """Nothing is read yet."""
        self._session = session
        self._history = history

    def show_list(self) -> ListView:
        """The list, or why there is none yet."""
        self._session.note_seen()
        asked = self._history.ask()
        return show_list(self._session.state, self._session.work_out(), self._session.find_news(), asked)

    def show_line(self, line: str) -> LineView | None:
        """One line opened; None where it is no longer on the list."""
        self._session.note_seen()
        return show_line(self._session.state, self._session.work_out(), line)

    def show_options(self, line: str) -> OptionsView | None:
        """What can be ordered for a dose line; None where it is no dose, or no longer on the list."""
        self._session.note_seen()
        return show_options(self._session.state, self._session.work_out(), line, self._session.clock())

    def tick(self, line: str, typed: str = "") -> str:
        """Tick a line that is not ticked, un-tick one that is: as it stood on this screen.

        `typed` is what is entered with the tick, where the line asks for something that the ward never set.
        """
        if self._session.state.is_ticked(line):
            return self._session.act(lambda state: decide_untick(state, line))
        seen = self._session.find_fingerprint(line)
        if not seen:
            return NO_SUCH_LINE
        return self._session.act(lambda state: self._decide_tick(state, line, seen, typed))

    def _decide_tick(self, state: Preparation, line: str, seen: str, typed: str) -> Decision:
        """Decide on a tick, with the list as it is with what was entered for it."""
        who, worked = self._session.identity.who, self._session.look_at(state)
        needs, entered = find_wanted_product(worked, line) is not None, None
        if (enters := find_entry(worked, line)) is not None and typed.strip():
            value, wrong = read_entry(enters, typed)
            if wrong:
                return Refusal(wrong)
            given = ValueEntered(line, value)
            entered = given, self._session.list_ahead(state, given)
        return decide_tick(state, line, seen, who, needs_in_hand=needs, entered=entered)

    def order(self, line: str, option: str, prescriber: str, reason: str = "") -> str:
        """Record what was ordered: one of the options of `show_options` by its id, with a reason where it wants one."""
        now = self._session.clock()
        return self._session.act(lambda state: self._decide_option(state, line, option, (prescriber, reason), now))

    def set_aside(self, line: str, reason: str) -> str:
        """Mark a line as not needed, with the reason."""
        seen = self._session.find_fingerprint(line)
        return self._session.act(lambda state: decide_set_aside(state, line, seen, reason)) if seen else NO_SUCH_LINE

    def restore(self, line: str) -> str:
        """Take "not needed" back."""
        return self._session.act(lambda state: decide_restore(state, line))

    def take_news(self) -> str:
        """Go on with the ward file and the kit as they are now; exactly what that changes is un-ticked."""
        session = self._session
        ward = session.files.look_at_ward(again=True)
        read = session.files.load(session.state.kit, ward)
        if isinstance(read, str):
            return read
        return session.act(lambda state: self._decide_texts(state, read), policy=session.identity.read_policy(ward))

    def _decide_option(
        self, state: Preparation, line: str, option: str, by: tuple[str, str], now: datetime
    ) -> Decision:
        """Decide on an option by its id, with the list as it is once it is ordered; `by` is who, and why."""
        worked = work_out(state, now)
        options = find_line_options(worked, line, now)
        offered = {each.id: each for each in options.choices} if options else {}
        chosen, (prescriber, reason) = offered.get(option), by
        order = chosen.order if chosen else Order(option, "")
        if chosen is not None and chosen.wants_reason:
            text = check_text(reason, "reason", least=LEAST_IN_A_REASON)
            if isinstance(text, Refusal):
                return text
            order = replace(order, past_interval=text)
        ordered, initials, listed = make_ordered(line, order, prescriber, worked), check_initials(prescriber), None
        if chosen is not None and not isinstance(initials, Refusal):
            ahead = self._session.look_ahead(state, replace(ordered, prescriber=initials))
            listed = make_listed(work_out(ahead, now), "facts")
        return decide_order(state, ordered, is_offered=chosen is not None, listed=listed)

    def _decide_texts(self, state: Preparation, read: KitAndWard) -> Decision:
        """Decide to go on with the kit and the ward file as they are now, with the list as it is with them."""
        ward_text, ward_name = (read.ward.text, read.ward.model.name) if read.ward else (None, None)
        kit_text, edition = read.kit.text, read.kit.model.edition
        ahead = self._session.look_ahead(state, WardReplaced(kit_text, edition, ward_text, ward_name))
        return decide_ward(
            state,
            kit_text=kit_text,
            kit_edition=edition,
            ward_text=ward_text,
            ward_name=ward_name,
            listed=make_listed(work_out(ahead, self._session.clock()), "ward"),
            unanswered=find_unanswered(state, ahead),
        )
