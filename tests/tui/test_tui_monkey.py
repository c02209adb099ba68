"""Keys and touches at random: no exception, no lost tick, every screen seen. `tests/tui/monkey.py` does it at will."""

import json
from pathlib import Path

import pytest
from monkey import Setting, list_screens, live, live_part, show_visits, tell_fault
from monkey_night import plan_night
from monkey_ticks import Replay, Shown, TickBook

from prepkit.store import open_sqlite

PARTS, NIGHTS = 10, 4
"""Of 500 steps each: 20,000 in all."""


def test_a_short_night_ends_well() -> None:
    setting, steps = Setting("pins and in hand", "checked"), plan_night(1, 120)
    outcome = live(setting, steps)
    assert not outcome.fault, tell_fault(setting, steps, outcome, 60)
    assert len(outcome.said) == 120


@pytest.mark.thorough
@pytest.mark.parametrize("part", range(PARTS))
def test_twenty_thousand_steps_end_well_and_see_every_screen(
    part: int, tmp_path_factory: pytest.TempPathFactory, testrun_uid: str
) -> None:
    done = live_part(1, range(part * NIGHTS, (part + 1) * NIGHTS))
    assert not done.faults, done.faults[0]
    # The parts may run in processes of their own: whichever ends last sees what all have seen.
    folder = tmp_path_factory.getbasetemp().parent / f"monkey-{testrun_uid}"
    folder.mkdir(exist_ok=True)
    (folder / f"{part}.json").write_text(json.dumps(done.visits), "utf-8")
    seen = [json.loads(path.read_text("utf-8")) for path in Path(folder).glob("*.json")]
    if len(seen) == PARTS:
        assert list_screens() <= {name for visits in seen for name in visits}, show_visits(done.visits)


def test_a_tick_that_is_nowhere_and_one_that_was_taken_away_are_told_apart() -> None:
    replay = Replay()
    line = {"id": "drape", "fingerprint": "a", "blocked": ""}
    for seq, (kind, body) in enumerate(
        (
            ("listed", {"lines": [line], "because": "facts"}),
            ("ticked", {"line": "drape", "fingerprint": "a"}),
            ("listed", {"lines": [{**line, "fingerprint": "b"}], "because": "facts"}),
        ),
        1,
    ):
        assert "drape" not in replay.standing or seq > 2
        replay.take("p", seq, kind, "2026-11-25T03:00:00+01:00", "RA", body)
    tick = Shown("p", "drape", "RA", "03:00")
    assert replay.standing == {}
    assert replay.taken_away == {tick: "the list changed: facts"}


def test_a_tick_that_was_shown_and_is_not_in_the_store_is_called_lost(store_path: Path) -> None:
    open_sqlite(store_path).close()
    book = TickBook(store_path)
    book.shown.add(Shown("p", "drape", "RA", "03:00"))
    assert len(book.find_lost()) == 1
    book.close()
