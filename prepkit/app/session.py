"""One preparation open at a workstation: its state, its list as of now, and `act`, through which every change goes."""

from collections.abc import Callable
from datetime import datetime

from prepkit.app.eventlog.repository import decide_and_append, read_on
from prepkit.app.files import WardFile, WorkstationFiles
from prepkit.app.identity import Identity, SignInPolicy
from prepkit.app.list_cache import ListCache
from prepkit.preparation.decision import Decision, refuse_if_over
from prepkit.preparation.events import Event, Payload
from prepkit.preparation.evolve import evolve
from prepkit.preparation.lines.decide import decide_relist
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.listing import WorkedList, make_listed, work_out
from prepkit.preparation.state import Preparation
from prepkit.store import Store

NO_SUCH_LINE = "This line is no longer on the list: look at the list again."


class PreparationSession:
    """What every task of one preparation builds on. A change is durable in the store before `act` returns."""

    def __init__(
        self, store: Store, files: WorkstationFiles, identity: Identity, prep: str, state: Preparation
    ) -> None:
        """Open a preparation; a list that time has changed is recorded at once."""
        self.prep = prep
        self.identity = identity
        self.store = store
        self.files = files
        self.state = state
        self.seen_by: set[str] = set()
        """Who was here while the screen showed amounts of the list: none of them can check it blind here."""
        self._list_cache = ListCache()
        self._relist()

    def clock(self) -> datetime:
        """The time now at this workstation."""
        return self.identity.clock()

    def refresh(self) -> bool:
        """Read what other devices did and what time changed; True when a screen must be redrawn."""
        seq = self.state.seq
        self.state = read_on(self.store, self.prep, self.state)
        self._relist()
        return self.state.seq != seq

    def note_seen(self) -> None:
        """Note that the person here sees amounts of the list."""
        if self.state.check is None and self.identity.who and not self.state.withheld:
            self.seen_by.add(self.identity.who)

    def act(self, decide: Callable[[Preparation], Decision], who: str = "", policy: SignInPolicy | None = None) -> str:
        """Decide on the list as it is at this moment, and record it; `who` acts, else whoever is signed in.

        `policy` is how people sign in, where that was read for this act already.
        """
        if nobody := self.identity.refuse_if_not_signed_in(policy):
            return nobody
        self._relist()
        written = decide_and_append(self.store, self.prep, self.state, decide, self.identity.make_attribution(who))
        self.state = written.state
        if not written.refusal and (self.state.stood_down or self.state.cot_record.closed):
            self._build_projections()
        return written.refusal

    def _build_projections(self) -> None:
        """Build now what a report would build later: at the end a moment more is nothing to anybody."""
        from prepkit.app.projections.kinds import build_all_projections  # noqa: PLC0415  (141 ms, at the end alone)

        build_all_projections(self.store, self.prep)

    def look_ahead(self, state: Preparation, payload: Payload, who: str = "") -> Preparation:
        """The state as it would be with one more event, of whoever is signed in unless a second person acts.

        As it is where none may follow.
        """
        if refuse_if_over(state) is not None:
            return state
        return evolve(state, Event(state.seq + 1, self.identity.make_attribution(who), payload))

    def list_ahead(self, state: Preparation, payload: Payload, who: str = "") -> Listed:
        """The event of the list as it would be with one more event that the team gives."""
        return make_listed(work_out(self.look_ahead(state, payload, who), self.clock()), "facts")

    def _relist(self) -> None:
        """Record the list anew where time (an approval's review date, a dose's interval) changed it.

        It is worked out from the state that is decided on, so what another device wrote meanwhile counts.
        """
        if self.state.stood_down is not None:
            return

        def decide(state: Preparation) -> Decision:
            return decide_relist(state, self._list_cache.make_listed(state, self._find_moment(state)))

        self.state = decide_and_append(
            self.store, self.prep, self.state, decide, self.identity.make_attribution()
        ).state

    def work_out(self) -> WorkedList:
        """The list as it is now; cached for a few seconds, for the very same facts and texts only."""
        return self._list_cache.work_out(self.state, self._find_moment(self.state))

    def _find_moment(self, state: Preparation) -> datetime:
        """The moment the list is worked out for: now; at the cot and afterwards, when the team went there.

        One that was stood down stays as it was then.
        """
        read, ended, now = state.read_aloud, state.stood_down, self.clock()
        if ended is not None:
            return ended.stamp.at.astimezone(now.tzinfo)
        cot = state.cot_record
        is_begun = any(each.attempt == cot.attempt for each in cot.entries)
        return read.stamp.at.astimezone(now.tzinfo) if is_begun and read else now

    def look_at(self, state: Preparation) -> WorkedList:
        """The list of a state that is decided on, which another device may have moved on from the one shown here."""
        return self._list_cache.work_out(state, self._find_moment(state))

    def find_fingerprint(self, line: str) -> str:
        """The fingerprint of a line as this screen has it; empty where the list has no such line."""
        found = self.state.find_line(line)
        return found.fingerprint if found else ""

    def find_news(self, ward: WardFile | None = None) -> str:
        """That the kit or the ward file changed since this was started; empty where neither did.

        With a ward file that this act read already, the kit is read whatever its times say too.
        """
        state = self.state
        return self.files.find_news(state.kit, state.kit_text, state.ward_text, ward, again=ward is not None)
