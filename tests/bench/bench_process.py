"""`prepkit list` as a process, from its start to its end, beside the import of the units library alone."""

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.bench.figure import Figure, alternate, find_median, make_ratio
from tests.bench.scene import KIT, PREPKIT, Scene, make_scene

RUNS = 15
LIST = (*PREPKIT, "list", KIT, "--birth-weight", "1450", "--birth-gestation", "30+2")
IMPORT = (sys.executable, "-c", "import pint")


def measure() -> list[Figure]:
    """Both in turn."""
    with tempfile.TemporaryDirectory() as made:
        scene = make_scene(Path(made))
        cpu: dict[str, list[float]] = {"list": [], "import": []}
        found = alternate(RUNS, {"list": lambda: _run(scene, LIST, cpu["list"]),
                                 "import": lambda: _run(scene, IMPORT, cpu["import"])})  # fmt: skip
    listed, imported = (found[name][1:] for name in ("list", "import"))
    quickest = f"the quickest of {len(listed)}: {min(listed):.0f} beside {min(imported):.0f} ms"
    note = f"{quickest}; least time on the processor {min(cpu['list']):.0f} beside {min(cpu['import']):.0f} ms"
    floor = 'python -c "import pint"'
    return [make_ratio("prepkit list, the whole process", find_median(listed), "ms", floor, find_median(imported), 1.6,
                       note)]  # fmt: skip


def _run(scene: Scene, words: Sequence[str], cpu: list[float]) -> float:
    begun, before = time.perf_counter(), _read_cpu()
    done = subprocess.run(words, env=scene.environment, capture_output=True, check=False)
    taken = (time.perf_counter() - begun) * 1000
    cpu.append(_read_cpu() - before)
    if done.returncode not in {0, 1}:  # 1: a line is blocked, which is said on the list
        raise RuntimeError(done.stderr.decode())
    return taken


def _read_cpu() -> float:
    """Milliseconds of user and system time that programs which have ended took."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (used.ru_utime + used.ru_stime) * 1000
