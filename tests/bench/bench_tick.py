"""A tick: from the key to its repaint, durable before it shows; beside what the disk itself needs for a commit."""

import sqlite3
import tempfile
import time
from contextlib import closing
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


def measure() -> list[Figure]:
    """Tick one line after the other, then un-tick them, and so on."""
    with tempfile.TemporaryDirectory() as made:
        scene = make_scene(Path(made))
        with open_sqlite(scene.store) as store:
            prep = prepare(store, scene, "Cot 1", LONG_KIT).prep
        ticks, commits, cpu = _tick(scene, prep)
    commit = find_median(commits)
    floor = "one commit of a row to the same disk"
    note = (
        f"{len(ticks)} ticks, {LINES} lines; {cpu:.1f} ms on the processor for each, moving the mark included;"
        f" the slowest {max(ticks):.1f} ms, the slowest commit {max(commits):.1f} ms"
    )
    return [
        make_bound("tick: key to repaint, median", find_median(ticks), "ms", floor, commit, 5, note),
        make_bound("tick: key to repaint, 99 in 100", find_percentile(ticks, 99), "ms", f"{floor}, 99 in 100",
                   find_percentile(commits, 99), 16),
    ]  # fmt: skip


def _tick(scene: Scene, prep: str) -> tuple[list[float], list[float], float]:
    place = write_place(Place(who="RA", prep=prep, screen="list", mark="line drape"))
    words = (PREPKIT[0], "-c", RESUME, str(scene.store), scene.environment["PREPKIT_WARD"], place)
    ticks, commits = [], []
    with Terminal(words, scene.environment) as terminal, closing(_open_bare(scene)) as bare:
        terminal.wait(shows_frame(f"{LINES} of {LINES} left"))
        terminal.wait(is_marked)
        terminal.settle(1)
        before = terminal.read_used().cpu
        for at in range(TICKS):
            forth = at % LINES if at // LINES % 2 == 0 else LINES - 1
            sign = DONE if at // LINES % 2 == 0 else TO_DO
            if forth and at % LINES:
                terminal.time_key("\x1b[B" if sign == DONE else "\x1b[A", bool)
                terminal.settle(PAUSE)
            ticks.append(terminal.time_key(" ", shows(sign, " left")))
            terminal.settle(PAUSE)
            commits.append(_commit(bare))
        cpu = (terminal.read_used().cpu - before) / TICKS
    return ticks, commits, cpu


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
