"""From the start of the program to its first whole frame, and to the list of a resumed preparation."""

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from prepkit.store import open_sqlite
from prepkit.tui.place import Place, write_place
from tests.bench.figure import Figure, alternate, find_median, make_ratio
from tests.bench.scene import ALL_LEFT, EMPTY, PREPKIT, Scene, fill, make_scene, prepare
from tests.bench.terminal import Terminal, Used, shows_frame

RUNS = 9
RESUME = """# as prepkit.serve.screens starts one
import gc
import sys
gc.disable()
from pathlib import Path
from prepkit.app.workstation import open_workstation
from prepkit.store import open_sqlite
from prepkit.tui.app import PrepkitApp, run_and_report
from prepkit.tui.place import read_place
with open_sqlite(Path(sys.argv[1])) as store:
    run_and_report(PrepkitApp(open_workstation(store, ward=Path(sys.argv[2]), kits=None), read_place(sys.argv[3])))
"""
FLOOR = "an empty app of the terminal library, to its first frame"


def measure() -> list[Figure]:
    """Each start in turn, again and again."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        empty, some, ended, going, resumed = (_make(folder / name) for name in ("a", "b", "c", "d", "e"))
        fill(some, in_progress=8, ended=0)
        fill(ended, in_progress=8, ended=1000)
        fill(going, in_progress=1000, ended=0)
        with open_sqlite(resumed.store) as store:
            prep = prepare(store, resumed, "Cot 1").session.prep
        starts: dict[str, Callable[[], Used]] = {
            "floor": lambda: _start(empty, EMPTY),
            "empty": lambda: _start(empty, PREPKIT, "No preparation", "check"),
            "some": lambda: _start(some, PREPKIT, "Cot 1", "check"),
            "ended": lambda: _start(ended, PREPKIT, "Cot 1", "check"),
            "going": lambda: _start(going, PREPKIT, "Cot 1", "check"),
            "resumed": lambda: _resume(resumed, prep),
        }
        used = _alternate(starts)
    return _list_figures(used)


def _list_figures(used: dict[str, list[Used]]) -> list[Figure]:
    rows = (
        ("empty", "start to the first frame, nothing in the store", 1.25),
        ("some", "start to the first frame, 8 preparations in progress", 1.25),
        ("ended", "start to the first frame, 1,000 preparations ended and 8 in progress", 1.4),
        ("going", "start to the first frame, 1,000 preparations in progress", 1.4),
        ("resumed", "start to the list of a resumed preparation", 2.0),
    )
    floor, cpu = find_median([each.wall for each in used["floor"]]), min(each.cpu for each in used["floor"])
    figures = []
    for key, name, most in rows:
        value, own = find_median([each.wall for each in used[key]]), min(each.cpu for each in used[key])
        note = f"least time on the processor {own:.0f} beside {cpu:.0f} ms"
        figures.append(make_ratio(name, value, "ms", FLOOR, floor, most, note))
    return figures


def _alternate(starts: dict[str, Callable[[], Used]]) -> dict[str, list[Used]]:
    used: dict[str, list[Used]] = {name: [] for name in starts}

    def keep(name: str) -> float:
        used[name].append(starts[name]())
        return used[name][-1].wall

    alternate(RUNS, {name: lambda name=name: keep(name) for name in starts})  # type: ignore[misc]
    return {name: each[1:] for name, each in used.items()}  # the first one writes what Python compiled


def _make(folder: Path) -> Scene:
    folder.mkdir()
    return make_scene(folder)


def _start(scene: Scene, words: Sequence[str], *texts: str) -> Used:
    with Terminal(words, scene.environment) as terminal:
        return terminal.read_used(terminal.wait(shows_frame(*texts)))


def _resume(scene: Scene, prep: str) -> Used:
    place = write_place(Place(who="RA", prep=prep, screen="list"))
    words = (PREPKIT[0], "-c", RESUME, str(scene.store), scene.environment["PREPKIT_WARD"], place)
    with Terminal(words, scene.environment) as terminal:
        return terminal.read_used(terminal.wait(shows_frame("1450", ALL_LEFT)))
