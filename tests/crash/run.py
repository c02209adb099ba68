"""The crash suite: `python tests/crash/run.py [--runs 1000]`; no part of the ordinary tests, which run a few of each.

Writes its figures to `docs/trust-crash.json`, from which `docs/make_trust.py` writes `docs/trust.md`. Needs a system
with fork; the small file system needs the right to mount one.
"""

import argparse
import json
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import scenarios
from aftermath import Figures
from jumps import JUMPS, turn_the_clock

FIGURES = Path(__file__).parents[2] / "docs" / "trust-crash.json"

SCENARIOS: dict[str, tuple[Callable[..., Figures], float]] = {
    "killed at a random moment": (scenarios.kill_at_random, 1),
    "power cut: files copied at a random moment": (scenarios.cut_the_power, 0.2),
    "copied by another program while written": (scenarios.copy_while_running, 0.2),
    "disk full": (scenarios.fill_the_disk, 0.02),
    "folder made read-only": (scenarios.make_it_read_only, 0.02),
    "file taken away": (scenarios.take_the_file_away, 0.02),
    "file cut short": (partial(scenarios.damage, cut=True), 0.3),
    "bits flipped": (partial(scenarios.damage, cut=False), 0.3),
    "WAL file missing": (scenarios.lose_the_wal, 0.02),
    "put into WAL by another program": (scenarios.turn_to_wal, 0.02),
    "journal file missing": (scenarios.lose_the_journal, 0.3),
    "two processes, one preparation": (partial(scenarios.write_together, desks=2), 0.02),
    "eight processes, one preparation": (partial(scenarios.write_together, desks=8), 0.01),
    "backup in use": (scenarios.back_up_in_use, 0.02),
}


def run_all(runs: int, folder: Path, keep: Callable[[str, Figures], object], only: list[str] | None = None) -> None:
    """Every scenario, each in a folder of its own; `runs` kills, and of the others a part of as many."""
    wanted = [name for name in (*SCENARIOS, *JUMPS) if not only or any(name.startswith(each) for each in only)]
    for at, name in enumerate(wanted):
        made = folder / str(at)
        made.mkdir()
        started = time.monotonic()
        if name in JUMPS:
            figures = turn_the_clock(made, *JUMPS[name])
        else:
            scenario, part = SCENARIOS[name]
            figures = scenario(made, max(1, round(runs * part)))
        keep(name, figures | {"seconds": round(time.monotonic() - started)})


def main() -> None:
    """Run, and keep the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--only", nargs="+", metavar="NAME", help="scenarios by the beginning of their names")
    parser.add_argument("--no-figures", action="store_true", help="leave docs/trust-crash.json as it is")
    given = parser.parse_args()

    def keep(name: str, figures: Figures) -> None:
        sys.stdout.write(f"{name}: {figures}\n")
        sys.stdout.flush()
        if not given.no_figures:
            kept = json.loads(FIGURES.read_text("utf-8")) if FIGURES.exists() else {}
            kept[name] = {"day": time.strftime("%Y-%m-%d")} | figures
            in_order = {each: kept[each] for each in (*SCENARIOS, *JUMPS) if each in kept}
            FIGURES.write_text(json.dumps(in_order, indent=2) + "\n", "utf-8")

    with tempfile.TemporaryDirectory() as folder:
        run_all(given.runs, Path(folder), keep, given.only)


if __name__ == "__main__":
    main()
