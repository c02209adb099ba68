"""`python -m tests.bench [NAME ...]`: run the benchmarks in turn, print each figure, write docs/speed.md.

Each module `bench_NAME.py` runs in a program of its own; with names, only those, beside the figures kept of the others.
Without names all but those of `LONG`, in under ten minutes together.
"""

import argparse
import json
import subprocess
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from tests.bench import page

HERE = Path(__file__).parent
LONG = ("postgres", "store")
"""Run only where named: fifty devices tick for a minute on a server of their own; a store of many is filled first."""


def main() -> int:
    """Run them; 1 where one could not be run."""
    known = list_names()
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(known))
    parser.add_argument("--no-figures", action="store_true", help="leave docs/speed.json and docs/speed.md as they are")
    given = parser.parse_args()
    unknown = set(given.names) - set(known)
    if unknown:
        parser.error(f"no such benchmark: {', '.join(sorted(unknown))}")
    failed = 0
    for name in choose(given.names):
        failed += not _run(name, keep=not given.no_figures)
    return min(failed, 1)


def list_names() -> list[str]:
    """Every benchmark there is."""
    return sorted(path.stem.removeprefix("bench_") for path in HERE.glob("bench_*.py"))


def choose(named: Sequence[str]) -> list[str]:
    """The named ones; where none is, all that do not take long."""
    return list(named) or [name for name in list_names() if name not in LONG]


def _run(name: str, *, keep: bool) -> bool:
    """Run one, print its figures, keep them."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.one", name], stdout=subprocess.PIPE, check=False, text=True
    )
    if done.returncode:
        sys.stdout.write(f"{name}: stopped\n")
        return False
    run = json.loads(done.stdout.splitlines()[-1])
    run["day"] = datetime.now(UTC).date().isoformat()  # noqa: TID251  (the day of the run)
    for figure in run["figures"]:
        sys.stdout.write(page.show_line(figure))
    sys.stdout.flush()
    if keep:
        page.keep(name, run)
    return True


if __name__ == "__main__":
    sys.exit(main())
