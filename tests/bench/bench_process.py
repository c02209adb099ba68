"""`prepkit list` as a process, from its start to its end, beside the import of the units library alone."""

import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.bench.figure import Figure, alternate, find_median, make_ratio
from tests.bench.scene import KIT, PREPKIT, Scene, make_scene

RUNS = 15
LIST = (*PREPKIT, "list", KIT, "--weight", "1450", "--gestation", "30+2")
IMPORT = (sys.executable, "-c", "import pint")


def measure() -> list[Figure]:
    """Both in turn."""
    with tempfile.TemporaryDirectory() as made:
        scene = make_scene(Path(made))
        found = alternate(RUNS, {"list": lambda: _run(scene, LIST), "import": lambda: _run(scene, IMPORT)})
    listed, imported = (found[name][1:] for name in ("list", "import"))
    note = f"the quickest of {len(listed)}: {min(listed):.0f} beside {min(imported):.0f} ms"
    floor = 'python -c "import pint"'
    return [make_ratio("prepkit list, the whole process", find_median(listed), "ms", floor, find_median(imported), 1.6,
                       note)]  # fmt: skip


def _run(scene: Scene, words: Sequence[str]) -> float:
    begun = time.perf_counter()
    done = subprocess.run(words, env=scene.environment, capture_output=True, check=False)
    taken = (time.perf_counter() - begun) * 1000
    if done.returncode not in {0, 1}:  # 1: a line is blocked, which is said on the list
        raise RuntimeError(done.stderr.decode())
    return taken
