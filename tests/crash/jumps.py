"""What a clock can do in the middle of a preparation."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

from aftermath import STORE, Figures
from worker import KIT, WARD

from prepkit.app.demo import CHOSEN
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.store import open_sqlite

WINTER, SUMMER = timezone(timedelta(hours=1)), timezone(timedelta(hours=2))
JUMPS = {
    "clock an hour back": (datetime(2026, 11, 25, 3, 0, tzinfo=WINTER), datetime(2026, 11, 25, 2, 5, tzinfo=WINTER)),
    "midnight": (datetime(2026, 11, 25, 23, 59, 50, tzinfo=WINTER), datetime(2026, 11, 26, 0, 0, tzinfo=WINTER)),
    "clocks go forward": (datetime(2027, 3, 28, 1, 59, tzinfo=WINTER), datetime(2027, 3, 28, 3, 0, tzinfo=SUMMER)),
    "clocks go back": (datetime(2026, 10, 25, 2, 59, tzinfo=SUMMER), datetime(2026, 10, 25, 2, 0, tzinfo=WINTER)),
    "leap day": (datetime(2028, 2, 28, 23, 59, tzinfo=WINTER), datetime(2028, 2, 29, 0, 1, tzinfo=WINTER)),
}


FACTS = {
    "birth_weight": "1450",
    "birth_gestation": "30+2",
    "born": "today",
    # Said now, since after a jump over midnight it would be asked first.
    "weight_now": "not weighed since",
}


def turn_the_clock(folder: Path, first: datetime, second: datetime) -> Figures:
    """Half the ticks before the clock's jump and half after, on one preparation."""
    now = [first]
    with open_sqlite(folder / STORE) as store:
        opened = Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=lambda: now[0]).start(KIT, "Cot 4")
        assert isinstance(opened, OpenPreparation), opened
        for fact, typed in FACTS.items():
            assert opened.baby.give_fact(fact, typed) == ""
        lines = [line.id for line in opened.session.state.lines if not line.blocked]
        for at, line in enumerate(lines):
            now[0] = (first if at < len(lines) // 2 else second) + timedelta(seconds=at)
            assert opened.lines.tick(line, CHOSEN.get(line, "")) == ""
        again = Workstation(store, WorkstationFiles(WARD, None), who="KM", clock=lambda: now[0]).resume(
            opened.session.prep
        )
        assert isinstance(again, OpenPreparation), again
        assert all(again.session.state.is_ticked(line) for line in lines)
        found = verify_store(store)
        assert (found.chain, found.wrong) == ((), ())
    return {"runs": 1, "shown as done": len(lines), "lost": 0}
