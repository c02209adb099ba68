"""What was shown as done is done: every tick that a screen showed, held against the store, read past all our own code.

The store's file is opened as any SQLite file, and its events are replayed by the few lines here, which share nothing
with the program's own fold.
"""

import json
import re
import sqlite3
from dataclasses import dataclass, field
from pathlib import Path

from prepkit.tui.app import PrepkitApp
from prepkit.tui.screens.line import LineScreen
from prepkit.tui.screens.list import LINE, ListScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.widgets.banner import TitleLine
from prepkit.tui.widgets.row import Row

DONE = re.compile(r"done (\S+) (\d\d:\d\d)")


@dataclass(frozen=True, slots=True)
class Shown:
    """A tick as it stands on a screen: the line, the initials, the time of day."""

    prep: str
    line: str
    who: str
    clock: str


@dataclass
class Replay:
    """The ticks of one preparation, as its events say."""

    seq: int = 0
    lines: dict[str, str] = field(default_factory=dict)
    """Fingerprints of the lines on the list now that can be done."""
    ticks: dict[str, tuple[Shown, str]] = field(default_factory=dict)
    """By line: the tick that nothing has taken away, and the fingerprint it was made for."""
    made: set[Shown] = field(default_factory=set)
    taken_away: dict[Shown, str] = field(default_factory=dict)
    """Why a tick counts no more."""

    @property
    def standing(self) -> dict[str, Shown]:
        """By line: what has to be shown as done now."""
        return {line: tick for line, (tick, made_for) in self.ticks.items() if self.lines.get(line) == made_for}

    def take(self, prep: str, seq: int, kind: str, at: str, who: str, body: dict[str, object]) -> None:
        """One event more."""
        assert seq == self.seq + 1, f"event {seq} follows {self.seq}"
        self.seq = seq
        if kind == "listed":
            self._list(body)
        elif kind == "ticked":
            tick = Shown(prep, str(body["line"]), who, at[11:16])
            self.ticks[tick.line] = (tick, str(body["fingerprint"]))
            self.made.add(tick)
            self.taken_away.pop(tick, None)
        elif kind == "unticked" and (undone := self.ticks.pop(str(body["line"]), None)) is not None:
            self.taken_away[undone[0]] = f"un-ticked by {who}"

    def _list(self, body: dict[str, object]) -> None:
        lines = body["lines"]
        assert isinstance(lines, list)
        self.lines = {line["id"]: line["fingerprint"] for line in lines if not line["blocked"]}
        for line, (tick, made_for) in list(self.ticks.items()):
            if lines and self.lines.get(line) != made_for:
                del self.ticks[line]
                self.taken_away[tick] = f"the list changed: {body['because']}"


class TickBook:
    """Every tick that was ever shown, and the store's own word on it."""

    def __init__(self, path: Path) -> None:
        self._rows = sqlite3.connect(f"file:{path}?mode=ro", uri=True, isolation_level=None)
        self._position = 0
        self.replays: dict[str, Replay] = {}
        self.shown: set[Shown] = set()

    def close(self) -> None:
        self._rows.close()

    def read_on(self) -> None:
        """Take in what was written since."""
        wanted = "SELECT position, prep, seq, kind, at, who, body FROM record WHERE position > ? ORDER BY position"
        for position, prep, seq, kind, at, who, body in self._rows.execute(wanted, (self._position,)):
            self._position = position
            self.replays.setdefault(prep, Replay()).take(prep, seq, kind, at, who, json.loads(body))

    def look(self, app: PrepkitApp) -> list[str]:
        """Note what the screen shows as done; says where that is not what the store has."""
        screen = app.screen
        if not isinstance(screen, ListScreen | LineScreen):
            return []
        self.read_on()
        shown = _read_shown(screen)
        self.shown |= shown
        replay = self.replays[screen.prep.session.prep]
        faults = [f"shown as done and not in the store: {tick}" for tick in shown - replay.made]
        if isinstance(screen, ListScreen) and screen.prep.session.state.seq == replay.seq:
            standing = set(replay.standing.values())
            faults += [f"in the store and not shown as done: {tick}" for tick in standing - shown]
            faults += [f"shown as done after it was taken away: {tick}" for tick in shown - standing]
        return faults

    def find_lost(self) -> list[str]:
        """Say which ticks that were ever shown are neither in the store nor taken away for a reason."""
        self.read_on()
        standing = {tick for replay in self.replays.values() for tick in replay.standing.values()}
        resting = {tick for replay in self.replays.values() for tick, _ in replay.ticks.values()}
        away = {tick for replay in self.replays.values() for tick in replay.taken_away}
        return [f"lost: {tick}" for tick in self.shown - standing - resting - away]


def _read_shown(screen: PreparationScreen) -> set[Shown]:
    """The ticks on a list or an opened line, by the words painted there."""
    if isinstance(screen, LineScreen):
        words = {screen.subject: screen.query_one(TitleLine)._far}
    else:
        rows = [(row.key.partition(" "), row.text.word) for row in screen.query(Row)]
        words = {line: word for (kind, _, line), word in rows if kind == LINE}
    found = {line: DONE.match(word) for line, word in words.items()}
    return {Shown(screen.prep.session.prep, line, said[1], said[2]) for line, said in found.items() if said is not None}
