"""Keys and touches at random: no exception, no lost tick, every screen seen. `tests/tui/monkey.py` does it at will."""

from pathlib import Path

from monkey import Setting, live, tell_fault
from monkey_night import plan_night
from monkey_ticks import Replay, Shown, TickBook

from prepkit.store import open_sqlite


def test_a_short_night_ends_well() -> None:
    setting, steps = Setting("pins and in hand", "checked"), plan_night(1, 120)
    outcome = live(setting, steps)
    assert not outcome.fault, tell_fault(setting, steps, outcome, 60)
    assert len(outcome.said) == 120


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
