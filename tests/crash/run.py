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
from scenarios import JUMPS, Figures

FIGURES = Path(__file__).parents[2] / "docs" / "trust-crash.json"

SCENARIOS: dict[str, tuple[Callable[..., Figures], float]] = {
    "killed at a random moment": (scenarios.kill_at_random, 1),
    "power cut: files copied at a random moment": (scenarios.cut_the_power, 0.2),
    "copied by another program while written": (scenarios.copy_while_running, 0.2),
    "disk full": (scenarios.fill_the_disk, 0.02),
    "folder made read-only": (scenarios.make_it_read_only, 0.02),
    "file taken away": (scenarios.take_the_file_away, 0.02),
    "file cut short": (partial(scenarios.damage, cut=True), 0.5),
    "bits flipped": (partial(scenarios.damage, cut=False), 0.5),
    "WAL file missing": (scenarios.lose_the_wal, 0.02),
    "two processes, one preparation": (partial(scenarios.write_together, desks=2), 0.02),
    "eight processes, one preparation": (partial(scenarios.write_together, desks=8), 0.01),
    "backup in use": (scenarios.back_up_in_use, 0.02),
}


def run_all(runs: int, folder: Path, say: Callable[[str], object]) -> dict[str, Figures]:
    """Every scenario, each in a folder of its own; `runs` kills, and of the others a part of as many."""
    figures: dict[str, Figures] = {}
    for at, (name, (scenario, part)) in enumerate(SCENARIOS.items()):
        started = time.monotonic()
        figures[name] = scenario(_make_folder(folder, f"{at}"), max(1, round(runs * part)))
        say(f"{name}: {figures[name]} ({time.monotonic() - started:.0f} s)\n")
    for at, (name, (first, second)) in enumerate(JUMPS.items()):
        figures[name] = scenarios.turn_the_clock(_make_folder(folder, f"clock-{at}"), first, second)
        say(f"{name}: {figures[name]}\n")
    return figures


def main() -> None:
    """Run, and keep the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--no-figures", action="store_true", help="leave docs/trust-crash.json as it is")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        figures = run_all(given.runs, Path(folder), sys.stdout.write)
    if not given.no_figures:
        kept = {"day": time.strftime("%Y-%m-%d"), "scenarios": figures}
        FIGURES.write_text(json.dumps(kept, indent=2) + "\n", "utf-8")


def _make_folder(folder: Path, name: str) -> Path:
    made = folder / name
    made.mkdir()
    return made


if __name__ == "__main__":
    main()
