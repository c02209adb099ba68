"""A preparation of a shipped kit and the demo ward, whose list is looked at whenever a test says so."""

from collections.abc import Callable
from datetime import datetime, timedelta, timezone

from shipped import read_kit_text

from prepkit.attribution import Attribution
from prepkit.kit.facts import read_fact
from prepkit.kit.problems import Problem
from prepkit.paths import find_shipped
from prepkit.preparation.baby.decide import decide_fact
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, Payload, Started
from prepkit.preparation.evolve import evolve
from prepkit.preparation.lines.decide import decide_relist, decide_tick
from prepkit.preparation.lines.events import LineSnapshot, Listed
from prepkit.preparation.listing import WorkedList, make_listed, work_out
from prepkit.preparation.text import Refusal

CET = timezone(timedelta(hours=1))
NIGHT = datetime(2026, 11, 25, 3, 0, tzinfo=CET)
WARD_TEXT = (find_shipped("demo") / "ward.toml").read_text("utf-8")


class KeptNight:
    """Its events, and the state they give; every step at the moment that it is given."""

    def __init__(self, kit: str = "surfactant-supraglottic", at: datetime = NIGHT) -> None:
        started = Started("Cot 4", kit, "1", "Surfactant", read_kit_text(kit), WARD_TEXT, "Ward", practice=False)
        first = Event(1, Attribution("RA", at, "desk"), started)
        self.events: list[Event] = [first]
        self.state = evolve(None, first)

    def add(self, decision: Decision, at: datetime, who: str = "RA") -> tuple[Payload, ...]:
        assert not isinstance(decision, Refusal), decision.reason
        for payload in decision:
            self.events.append(Event(self.state.seq + 1, Attribution(who, at, "desk"), payload))
            self.state = evolve(self.state, self.events[-1])
        return decision

    def give(self, at: datetime, **typed: str) -> None:
        """Give facts as they are typed at a moment."""
        for fact, text in typed.items():
            found = read_fact(self.work_out(at).kit.model, fact, text, at)
            assert not isinstance(found, Problem), found
            given = FactGiven(fact, found[0])
            ahead = evolve(self.state, Event(self.state.seq + 1, Attribution("RA", at, "desk"), given))
            self.add(decide_fact(self.state, fact, found[0], make_listed(work_out(ahead, at), "facts")), at)

    def look(self, at: datetime) -> Listed | None:
        """Look at the list; the new one, where time changed it."""
        added = self.add(decide_relist(self.state, make_listed(self.work_out(at), "time")), at)
        listed = added[0] if added else None
        assert listed is None or isinstance(listed, Listed)
        return listed

    def work_out(self, at: datetime) -> WorkedList:
        return work_out(self.state, at)

    def tick_all(self, at: datetime, which: Callable[[LineSnapshot], object] = bool) -> set[str]:
        """Tick what can be ticked as it stands, with nothing entered."""
        lines = [line for line in self.state.lines if not (line.blocked or line.asks or line.enters) and which(line)]
        for each in lines:
            self.add(decide_tick(self.state, each.id, each.fingerprint), at)
        return {each.id for each in lines}

    def list_ticked(self) -> set[str]:
        return {each.id for each in self.state.lines if self.state.is_ticked(each.id)}
