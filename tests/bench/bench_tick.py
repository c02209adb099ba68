"""A tick: from the key to its repaint, durable before it shows; beside what the disk itself needs for a commit."""

import sqlite3
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from prepkit.store import open_sqlite
from prepkit.tui.place import Place, write_place
from tests.bench.bench_start import RESUME
from tests.bench.figure import Figure, find_median, find_percentile, make_bound
from tests.bench.scene import LINES, LONG_KIT, PREPKIT, Scene, make_scene, prepare
from tests.bench.terminal import Terminal, read_words, shows, shows_frame

TICKS = 200
DONE, TO_DO = "✓", "○"
PAUSE = 0.05
"""Seconds between two keys: a person's, who reads before going on."""
ONE_WORD = """
from textual.app import App
from textual.widgets import Static
class OneWord(App):
    BINDINGS = [("space", "change", "Change")]
    done = False
    def compose(self):
        yield Static("to do")
    def action_change(self):
        self.done = not self.done
        self.query_one(Static).update("done" if self.done else "to do")
OneWord().run()
"""


@dataclass
class Ticks:
    """What each tick took, in milliseconds."""

    shown: list[float] = field(default_factory=list)
    """From the key until its repaint has come."""
    cpu: list[float] = field(default_factory=list)
    """On the processor meanwhile."""
    after: list[float] = field(default_factory=list)
    """On the processor from the repaint until the next key."""


def measure() -> list[Figure]:
    """Tick one line after the other, then un-tick them, and so on."""
    with tempfile.TemporaryDirectory() as made:
        scene = make_scene(Path(made))
        with open_sqlite(scene.store) as store:
            prep = prepare(store, scene, "Cot 1", LONG_KIT).session.prep
        ticks, commits = _tick(scene, prep)
        bare = _press(scene)
    shown, cpu = ticks.shown, ticks.cpu
    commit = find_median(commits)
    floor, own = "one commit of a row to the same disk", "a word of an empty app changed by a key, on the processor"
    slowest = f"the slowest {max(shown):.1f} ms, the slowest commit {max(commits):.1f} ms"
    after = f"{find_median(ticks.after):.1f} ms more until the next key"
    return [
        make_bound("tick: key to repaint, median", find_median(shown), "ms", floor, commit, 5,
                   f"{len(shown)} ticks, {LINES} lines; {slowest}"),
        make_bound("tick: key to repaint, 99 in 100", find_percentile(shown, 99), "ms", f"{floor}, 99 in 100",
                   find_percentile(commits, 99), 16),
        make_bound("tick: key to repaint, on the processor, median", find_median(cpu), "ms", own, find_median(bare.cpu),
                   5, f"its commit included; the quickest {min(cpu):.1f} ms; {after}"),
        make_bound("tick: key to repaint, on the processor, 99 in 100", find_percentile(cpu, 99), "ms",
                   f"{own}, 99 in 100", find_percentile(bare.cpu, 99), 16),
    ]  # fmt: skip


def _tick(scene: Scene, prep: str) -> tuple[Ticks, list[float]]:
    place = write_place(Place(who="RA", prep=prep, screen="list", mark="line drape"))
    words = (PREPKIT[0], "-c", RESUME, str(scene.store), scene.environment["PREPKIT_WARD"], place)
    ticks, commits = Ticks(), []
    with Terminal(words, scene.environment) as terminal, closing(_open_bare(scene)) as bare:
        terminal.wait(shows_frame(f"{LINES} of {LINES} left"))
        terminal.wait(is_marked)
        terminal.settle(1)
        for at in range(TICKS):
            forth = at % LINES if at // LINES % 2 == 0 else LINES - 1
            sign = DONE if at // LINES % 2 == 0 else TO_DO
            if forth and at % LINES:
                terminal.time_key("\x1b[B" if sign == DONE else "\x1b[A", bool)
                terminal.settle(PAUSE)
            _time(terminal, ticks, shows(sign, " left"))
            commits.append(_commit(bare))
    return ticks, commits


def _press(scene: Scene) -> Ticks:
    """The same key in an empty app that changes one word for it."""
    presses = Ticks()
    with Terminal((PREPKIT[0], "-c", ONE_WORD), scene.environment) as terminal:
        terminal.wait(shows_frame("to do"))
        terminal.settle(1)
        for at in range(TICKS):
            _time(terminal, presses, shows("to do" if at % 2 else "done"))
    return presses


def _time(terminal: Terminal, ticks: Ticks, is_there: Callable[[bytes], bool]) -> None:
    """Press space and wait for what it shows; then a person's pause."""
    before = terminal.read_cpu()
    ticks.shown.append(terminal.time_key(" ", is_there))
    shown = terminal.read_cpu()
    terminal.settle(PAUSE)
    ticks.cpu.append(shown - before)
    ticks.after.append(terminal.read_cpu() - shown)


def is_marked(written: bytes) -> bool:
    """Whether the mark is on a line."""
    return f"▶{TO_DO}" in read_words(written)


def _open_bare(scene: Scene) -> sqlite3.Connection:
    """A database of one table beside the store, as durable as the store is."""
    with closing(sqlite3.connect(scene.store)) as store:
        journal = store.execute("PRAGMA journal_mode").fetchone()[0]
    bare = sqlite3.connect(scene.folder / "bare.sqlite", isolation_level=None)
    bare.execute(f"PRAGMA journal_mode = {journal}")
    bare.execute(f"PRAGMA synchronous = {'FULL' if journal == 'wal' else 'EXTRA'}")
    bare.execute("CREATE TABLE row (at INTEGER PRIMARY KEY, body TEXT)")
    return bare


def _commit(bare: sqlite3.Connection) -> float:
    """Milliseconds for one row."""
    begun = time.perf_counter()
    bare.execute("BEGIN IMMEDIATE")
    bare.execute("INSERT INTO row (body) VALUES (?)", ("x" * 400,))
    bare.execute("COMMIT")
    return (time.perf_counter() - begun) * 1000
