"""Home, resume, tick and audit over a store of many ended preparations, beside a store without one.

`PREPKIT_BENCH_SIZES` says how many, several with a comma ("1000,10000,100000": the last are ten million events and
about 14 GB); `PREPKIT_BENCH_FOLDER` keeps the stores there for another run. Both stores have the same preparations in
progress.
"""

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from pathlib import Path

from prepkit.app.projections.kinds import AUDIT_ROW
from prepkit.app.reports import find_stored_preparations
from prepkit.store import open_sqlite
from tests.bench.big_store import fill, make_desk, make_id, start
from tests.bench.figure import Figure, alternate, find_median, make_bound, make_ratio

RUNS = 41
_ROOT = Path(__file__).parents[2]
_MOST = 1.5
_MOST_AUDIT_S = 5
_MOST_FOUND_MS = 1000


def measure() -> list[Figure]:
    """Each figure at each size, the smallest first, so that it is seen how it grows."""
    sizes = sorted(int(size) for size in os.environ.get("PREPKIT_BENCH_SIZES", "1000,10000").split(","))
    named = os.environ.get("PREPKIT_BENCH_FOLDER")
    with ExitStack() as stack:
        folder = Path(named or stack.enter_context(tempfile.TemporaryDirectory(prefix="prepkit-bench-")))
        empty = find_store(folder, 0)
        return [figure for size in sizes for figure in _measure_size(empty, find_store(folder, size), size)]


def find_store(folder: Path, size: int) -> Path:
    """The store with so many ended preparations; made where it is not there, or was not finished."""
    whole, work = folder / f"{size}", folder / f"{size}.unfinished"
    if not whole.exists():
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir(parents=True)
        fill(work / "preparations.sqlite", size)
        work.rename(whole)
    return whole / "preparations.sqlite"


def _measure_size(empty: Path, big: Path, size: int) -> list[Figure]:
    return [
        *_measure_beside(empty, big, f"{size:,} ended"),
        _measure_label(empty, big, f"{size:,} ended"),
        _measure_audit(empty, big, size),
    ]


def _measure_beside(empty: Path, big: Path, size: str) -> list[Figure]:
    """What somebody waits for at the cot: no slower for what has ended."""
    figures = []
    for name, begin in _AT_THE_COT.items():
        with begin(empty) as on_none, begin(big) as on_many:
            found = alternate(RUNS, {"none": _timed(on_none), "many": _timed(on_many)})
        floor, value = find_median(found["none"]) * 1000, find_median(found["many"]) * 1000
        figures.append(make_ratio(f"{name}, {size}", value, "ms", "with none ended", floor, _MOST))
    return figures


def _measure_label(empty: Path, big: Path, size: str) -> Figure:
    with open_sqlite(empty) as none, open_sqlite(big) as many:
        found = alternate(
            3,
            {
                "none": _timed(lambda: find_stored_preparations(none, "Bay 1")),
                "many": _timed(lambda: find_stored_preparations(many, "Bay 1")),
            },
        )
    floor, value = find_median(found["none"]) * 1000, find_median(found["many"]) * 1000
    return make_bound(f"found by its label, {size}", value, "ms", "with none ended", floor, _MOST_FOUND_MS)


def _measure_audit(empty: Path, big: Path, size: int) -> Figure:
    """The whole command, as a person waits for it."""
    with open_sqlite(big) as many:
        preps = [make_id(number) for number in range(min(size, RUNS))]
        one = _timed(lambda: [AUDIT_ROW.build(many, prep) for prep in preps])() / len(preps)
    found = alternate(3, {"none": _timed(lambda: _audit(empty, 0)), "many": _timed(lambda: _audit(big, size))})
    before = _read_processor_s()
    _audit(big, size)
    processor = _read_processor_s() - before
    floor, value = find_median(found["none"]), find_median(found["many"])
    note = (
        f"{processor:.1f} s of one processor; a first audit, or one by other code: {one * 1000:.0f} ms a record, once"
    )
    return make_bound(f"audit, {size:,} ended", value, "s", "with none ended", floor, _MOST_AUDIT_S, note)


def _audit(store: Path, size: int) -> None:
    command = [sys.executable, "-m", "prepkit", "audit", "--store", str(store)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=_ROOT)
    assert f" {size} closed record" in done.stdout.splitlines()[0], done.stdout


def _read_processor_s() -> float:
    """Seconds of processor that the commands run so far took: on a busy machine, what a quiet one would need."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _timed(act: Callable[[], object]) -> Callable[[], float]:
    def run() -> float:
        begun = time.perf_counter()
        act()
        return time.perf_counter() - begun

    return run


@contextmanager
def _home(path: Path) -> Iterator[Callable[[], object]]:
    with open_sqlite(path) as store:
        yield make_desk(store).show_home


@contextmanager
def _resume(path: Path) -> Iterator[Callable[[], object]]:
    with open_sqlite(path) as store:
        desk, prep = make_desk(store), store.read_open()[0]
        yield lambda: desk.resume(prep)


@contextmanager
def _tick(path: Path) -> Iterator[Callable[[], object]]:
    """On a preparation of its own, that has ended afterwards: the others stay as they are for the next figure."""
    with open_sqlite(path) as store:
        opened = start(make_desk(store), "Bay 99")
        line = next(line.id for line in reversed(opened.session.state.lines) if not line.blocked)

        def tick() -> None:
            refusal = opened.lines.tick(line)
            assert refusal == "", refusal

        yield tick
        assert opened.ready.stand_down("measured") == ""


@contextmanager
def _open(path: Path) -> Iterator[Callable[[], object]]:
    yield lambda: open_sqlite(path).close()


_AT_THE_COT: dict[str, Callable[[Path], AbstractContextManager[Callable[[], object]]]] = {
    "home": _home,
    "resume": _resume,
    "tick": _tick,
    "open the store": _open,
}
