"""`python -m tests.bench.one NAME`: run one benchmark, write its figures as one line of JSON. For the runner."""

import importlib
import json
import platform
import sqlite3
import sys
import time
from importlib.metadata import version
from os import getloadavg, sched_getaffinity

from tests.bench.figure import Figure


def main() -> None:
    """Run it."""
    begun = time.monotonic()
    measured: list[Figure] = importlib.import_module(f"tests.bench.bench_{sys.argv[1]}").measure()
    run = {
        "machine": find_machine(),
        "load": round(getloadavg()[0], 1),
        "seconds": round(time.monotonic() - begun),
        "figures": [write_figure(each) for each in measured],
    }
    sys.stdout.write(json.dumps(run, ensure_ascii=False) + "\n")


def find_machine() -> str:
    """What it ran on, in words; no name and no path."""
    libraries = ", ".join(f"{name} {version(name)}" for name in ("textual", "pint", "msgspec"))
    return (
        f"{len(sched_getaffinity(0))} cores, {platform.system()} on {platform.machine()},"
        f" Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, {libraries}"
    )


def write_figure(figure: Figure) -> dict[str, object]:
    """A figure as it is kept."""
    return {
        "name": figure.name,
        "value": float(figure.value),
        "unit": figure.unit,
        "floor_name": figure.floor_name,
        "floor": figure.floor,
        "ratio": figure.ratio,
        "target": figure.target,
        "met": figure.met,
        "note": figure.note,
    }


if __name__ == "__main__":
    main()
