"""One preparation at the cot and afterwards: steps, times, readings, and the record up to its last signature."""

from collections.abc import Collection
from datetime import datetime, timedelta

from prepkit.app.clock import fix_offset
from prepkit.app.session import PreparationSession
from prepkit.kit.procedure import Procedure
from prepkit.people.pin import Pin, hide_pin
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.bedside.afterwards import (
    compute_record_fingerprint,
    find_doses_had,
    find_reading,
    find_record_missing,
    list_follow_ups,
    list_used,
    read_reading,
)
from prepkit.preparation.bedside.decide import (
    decide_addendum,
    decide_come_back,
    decide_complications,
    decide_happening,
    decide_leave_out,
    decide_miss,
    decide_note,
    decide_outcome,
    decide_reading,
    decide_sign,
    decide_step,
    decide_strike,
    decide_time,
)
from prepkit.preparation.bedside.events import CameBack
from prepkit.preparation.decision import Decision
from prepkit.preparation.listing import make_listed, work_out
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal, check_initials
from prepkit.view.cot import CotView, EntryView, show_cot, show_entry
from prepkit.view.record import RecordView, show_record
from prepkit.view.routes import Stage

_NO_PROCEDURE = "This kit says nothing of the time at the cot."
_CLOCK_FORM = "Enter the time as HH:MM, such as 03:41."


class BedsideService:
    """The timeline and the record of one open preparation. Methods return a refusal, or an empty string."""

    def __init__(self, session: PreparationSession) -> None:
        """Nothing is read yet."""
        self._session = session

    def show_cot(self) -> CotView:
        """The screen at the cot, with its clocks as they are now."""
        return show_cot(self._session.state, self._session.work_out(), self._session.clock())

    def show_record(self) -> RecordView:
        """The record as it stands."""
        session = self._session
        return show_record(session.state, session.work_out(), session.clock(), signatures=self._count_signatures())

    def show_entry(self, entry: str) -> EntryView | None:
        """One entry opened, by its number; None where there is none."""
        return show_entry(self._session.state, self._session.work_out(), entry)

    @property
    def stage(self) -> Stage:
        """Where the preparation is: prepared at the tray, at the cot, or a record to complete."""
        session = self._session
        record = session.state.cot_record
        if record.closed is not None:
            return Stage.RECORD
        if session.state.read_aloud is None and not record.is_away:
            return Stage.TRAY  # asked at every redraw of the list: the words of the cot are not made for that
        view = self.show_cot()
        if view.refusal:
            return Stage.TRAY
        now = session.clock()
        is_due = any(due.at <= now and not record.is_made(key) for key, due in record.dues.items())
        return Stage.RECORD if is_due or view.next_step is None else Stage.COT

    @property
    def last_entry(self) -> str:
        """The number of the entry made last; empty while there is none."""
        entries = self._session.state.cot_record.entries
        return str(entries[-1].number) if entries else ""

    @property
    def has_signed(self) -> bool:
        """Whether whoever is signed in has signed the record as it stands."""
        return self._session.identity.who in self._session.state.cot_record.signed

    def do_step(self, step: str) -> str:
        """Record a step as done now."""
        if not self._knows(step, "step"):
            return "This kit has no such step."
        at = self._find_now()
        follow_ups = list_follow_ups(self._session.work_out(), step, at)
        return self._session.act(lambda state: decide_step(state, step, at, follow_ups))

    def leave_out(self, step: str, reason: str) -> str:
        """Leave a step out, with the reason."""
        if not self._knows(step, "step"):
            return "This kit has no such step."
        return self._session.act(lambda state: decide_leave_out(state, step, reason))

    def note_happening(self, happening: str, note: str = "") -> str:
        """Record something that is not in the plan, now."""
        if not self._knows(happening, "happening"):
            return "This kit has no such happening."
        at = self._find_now()
        return self._session.act(lambda state: decide_happening(state, happening, at, note))

    def give_reading(self, of: str, reading: str, typed: str) -> str:
        """Enter a reading of an entry or a follow-up, or ("afterwards") of none."""
        procedure = self._procedure
        found = find_reading(procedure, reading) if procedure else None
        if found is None:
            return "This kit has no such reading."
        after, state = procedure.afterwards if procedure else None, self._session.state
        if (
            after is not None
            and reading == after.given
            and state.cot_record.attempt > 1
            and not state.cot_record.is_away
        ):
            return "The team has come back: correct the dose on the Baby screen, among those given before."
        value, wrong = read_reading(found, typed)
        return wrong or self._session.act(lambda state: decide_reading(state, of, reading, value))

    def correct_time(self, entry: str, typed: str) -> str:
        """Correct the time of an entry: "03:41", the last time it was that o'clock."""
        at = _find_last_time(typed, self._session.clock())
        if at is None:
            return _CLOCK_FORM
        worked = self._session.work_out()

        def decide(state: Preparation) -> Decision:
            found = state.cot_record.find_entry(entry)
            follow_ups = list_follow_ups(worked, found.id, at) if found and found.kind == "step" else ()
            return decide_time(state, entry, at, self._find_now(), follow_ups)

        return self._session.act(decide)

    def strike(self, entry: str, reason: str) -> str:
        """Strike an entry out that was made by mistake."""
        return self._session.act(lambda state: decide_strike(state, entry, reason))

    def add_note(self, entry: str, note: str) -> str:
        """Add a note to an entry; what was noted before stays."""
        return self._session.act(lambda state: decide_note(state, entry, note))

    def miss_follow_up(self, follow_up: str, reason: str) -> str:
        """Say why a follow-up was not done."""
        return self._session.act(lambda state: decide_miss(state, follow_up, reason))

    def come_back(self, reason: str) -> str:
        """Come back from the cot to prepare anew: a dose that was given there is an earlier dose from now on."""
        session = self._session

        def decide(state: Preparation) -> Decision:
            worked = session.look_at(state)
            had, used = find_doses_had(state, worked), list_used(state, worked)
            if had is None or state.facts.get(had[0]) == str(had[1]) or not had[1].doses:
                return decide_come_back(state, reason, used)
            given = FactGiven(had[0], str(had[1]))
            ahead = session.look_ahead(session.look_ahead(state, CameBack(reason, used)), given)
            return decide_come_back(
                state, reason, used, (given, make_listed(work_out(ahead, session.clock()), "facts"))
            )

        return session.act(decide)

    def give_outcome(self, outcome: str, note: str = "") -> str:
        """Say how it went, in one of the kit's words."""
        after = self._procedure.afterwards if self._procedure else None
        options = after.outcomes if after else ()
        return self._session.act(lambda state: decide_outcome(state, outcome, options, note))

    def say_complications(self, said: Collection[str]) -> str:
        """Say which complications there were; none is an answer too."""
        after = self._procedure.afterwards if self._procedure else None
        options = after.complications if after else ()
        return self._session.act(lambda state: decide_complications(state, said, options))

    def sign(self, seen: str, second: str = "", pin: str | Pin = "") -> str:
        """Sign the record as it was shown; the last signature closes it.

        Whoever is signed in signs, or `second` on the spot; with PINs that person signs in with theirs.
        """
        identity, pin = self._session.identity, hide_pin(pin)
        initials = check_initials(second) if second.strip() else identity.who
        if isinstance(initials, Refusal):
            return initials.reason
        policy = identity.read_policy()
        if second.strip() and (refusal := identity.verify(initials, pin, policy)):
            return refusal
        kit, needed = self._session.work_out().laid, self._count_signatures()

        def decide(state: Preparation) -> Decision:
            missing = tuple(gap.words for gap in find_record_missing(state, kit))
            standing = compute_record_fingerprint(state)
            return decide_sign(state, initials, missing, standing, seen, needed=needed)

        return self._session.act(decide, initials if second.strip() else "", policy)

    def add(self, text: str) -> str:
        """Add something to a closed record."""
        return self._session.act(lambda state: decide_addendum(state, text))

    def _find_now(self) -> datetime:
        """The time now as it is recorded and counted from: its offset does not change with the machine's zone."""
        return fix_offset(self._session.clock())

    @property
    def _procedure(self) -> Procedure | None:
        return self._session.work_out().laid.procedure

    def _count_signatures(self) -> int:
        ward = self._session.work_out().ward
        return ward.model.signatures if ward else 1

    def _knows(self, name: str, table: str) -> bool:
        procedure = self._procedure
        rows = () if procedure is None else procedure.step if table == "step" else procedure.happening
        return any(row.id == name for row in rows)


def _find_last_time(typed: str, now: datetime) -> datetime | None:
    """The last moment at which the clock of `now` showed this, with its offset; None where it is no clock time."""
    try:
        clock = datetime.strptime(typed.strip(), "%H:%M").time()  # noqa: DTZ007  (a time of day alone)
    except ValueError:
        return None
    today = now.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0)
    moments = [fix_offset((today - timedelta(days=days)).replace(fold=fold)) for days in (0, 1) for fold in (0, 1)]
    # A time that the clocks left out, as they went forward, was not shown.
    shown = (moment for moment in moments if moment.astimezone(now.tzinfo).time() == clock)
    return max((moment for moment in shown if moment <= fix_offset(now)), default=None)


def _is_back(state: Preparation) -> bool:
    """Say whether the team came back from the cot and has not gone again."""
    return state.cot_record.attempt > 1 and not state.cot_record.is_away
