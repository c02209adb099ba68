"""Two devices: from a tick on one to its repaint on the other."""

import tempfile
import time
from pathlib import Path

from prepkit.store import open_sqlite
from prepkit.tui.place import Place, write_place
from tests.bench.bench_start import RESUME
from tests.bench.bench_tick import is_marked
from tests.bench.figure import Figure, find_median, find_percentile, make_bound
from tests.bench.scene import ALL_LEFT, PREPKIT, Scene, make_scene, prepare
from tests.bench.terminal import Terminal, shows, shows_frame

TICKS = 60
GAP = 0.037
"""Seconds by which each tick comes later than the one before, so as to meet the other at every moment."""


def measure() -> list[Figure]:
    """Tick on one and un-tick, and wait on the other."""
    with tempfile.TemporaryDirectory() as made:
        scene = make_scene(Path(made))
        with open_sqlite(scene.store) as store:
            prep = prepare(store, scene, "Cot 1").session.prep
        here, there = _tick(scene, prep)
    note = f"99 in 100: {find_percentile(there, 99):.0f} ms, of {len(there)}"
    floor = "the same tick on the device it was made on"
    return [make_bound("two devices: a tick on one to its repaint on the other", find_median(there), "ms", floor,
                       find_median(here), 500, note)]  # fmt: skip


def _tick(scene: Scene, prep: str) -> tuple[list[float], list[float]]:
    words = [
        (PREPKIT[0], "-c", RESUME, str(scene.store), scene.environment["PREPKIT_WARD"],
         write_place(Place(who=who, prep=prep, screen="list", mark="line drape")))
        for who in ("RA", "KM")
    ]  # fmt: skip
    here, there = [], []
    with Terminal(words[0], scene.environment) as one, Terminal(words[1], scene.environment) as other:
        for terminal in (one, other):
            terminal.wait(shows_frame(ALL_LEFT))
            terminal.wait(is_marked)
            terminal.settle(1)
        for at in range(TICKS):
            left = shows("✓" if at % 2 == 0 else "○")
            other.look_away()
            begun = time.perf_counter()
            here.append(one.time_key(" ", left))
            other.wait(left)
            there.append((time.perf_counter() - begun) * 1000)
            other.settle(0.1)
            time.sleep(GAP * (at % 7))
    return here, there
