"""How long a refused sign-in takes: `python tests/people/measure_pins.py [--tries 200]`; no part of the ordinary tests.

Each way to be refused is tried at a real desk over a real store with the real hash, in an order drawn anew for each
round, so that what else the machine does falls on all alike. Writes `docs/trust-pins.json`, from which
`docs/make_trust.py` writes `docs/trust.md`. Exit code 1 where two ways that have to look alike differ.
"""

import argparse
import json
import secrets
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import NormalDist, median, quantiles
from typing import Any

from prepkit.app.files import WorkstationFiles
from prepkit.app.staff import StaffList
from prepkit.app.workstation import Workstation
from prepkit.paths import find_shipped
from prepkit.people.pin import Pin
from prepkit.people.staff import LONGEST_WAIT, TRIES_BEFORE_WAIT
from prepkit.store import SqliteStore, open_sqlite

FIGURES = Path(__file__).parents[2] / "docs" / "trust-pins.json"
PIN, WRONG, MALFORMED = "73914625", "86420975", "12"
PEOPLE = "\n[people]\npins = true\n"
WAITING = ("KW", "ZW")
GROUPS = {
    "refused after the PIN was compared": {
        "known, wrong PIN": ("KM", WRONG),
        "unknown": ("ZZ", WRONG),
        "taken off the list, their own PIN": ("OL", PIN),
        "on the list without a PIN": ("NP", WRONG),
    },
    "refused for its form": {"known, malformed PIN": ("KM", MALFORMED), "unknown, malformed PIN": ("ZZ", MALFORMED)},
    "refused during a wait": {"known, waiting": ("KW", PIN), "unknown, waiting": ("ZW", PIN)},
}
LEVEL = 0.01
"""Under this a difference counts as one, over all comparisons together (each at its share)."""


@dataclass
class Clock:
    """Goes on by hand."""

    now: datetime = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


def main() -> int:
    """Measure, compare, keep the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tries", type=int, default=200, help="of each way to be refused")
    parser.add_argument("--no-figures", action="store_true", help="leave docs/trust-pins.json as it is")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, open_sqlite(Path(folder) / "preparations.sqlite") as store:
        measured = measure(*make_desk(store, Path(folder)), given.tries)
    rows = {name: compare(name, measured) for name in measured}
    for name, row in rows.items():
        sys.stdout.write(f"{name}: {row}\n")
    if not given.no_figures:
        FIGURES.write_text(json.dumps(rows, indent=2) + "\n", "utf-8")
    return 1 if any(row["differs"] for row in rows.values()) else 0


def make_desk(store: SqliteStore, folder: Path) -> tuple[Workstation, Clock]:
    """A desk of a ward with PINs; two sets of initials, one known and one not, have used up their tries."""
    ward, clock = folder / "ward.toml", Clock()
    ward.write_text((find_shipped("demo") / "ward.toml").read_text("utf-8") + PEOPLE, "utf-8")
    staff = StaffList(store, clock, "office")
    for initials in ("KM", "OL", WAITING[0]):
        assert staff.add(initials, "nurse", Pin(PIN), "admin") == ""
    assert staff.add("NP", "nurse", None, "admin") == staff.remove("OL", "admin") == ""
    return Workstation(store, WorkstationFiles(ward, None), clock=clock), clock


def measure(desk: Workstation, clock: Clock, tries: int) -> dict[str, list[float]]:
    """Milliseconds of every try, by the way to be refused."""
    ways = {name: way for group in GROUPS.values() for name, way in group.items()}
    measured: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(tries):
        clock.now += LONGEST_WAIT + timedelta(seconds=1)  # no wait of the round before keeps a PIN from being compared
        for initials in WAITING:
            _keep_waiting(desk, initials)
        for name in sorted(ways, key=lambda _: secrets.randbits(64)):
            measured[name].append(_time(lambda way=ways[name]: desk.identity.sign_on(*way)))
    return measured


def _keep_waiting(desk: Workstation, initials: str) -> None:
    """Until it is refused without a look at the PIN; after the first round one wrong PIN does it."""
    for _ in range(TRIES_BEFORE_WAIT + 1):
        if "Too many" in desk.identity.sign_on(initials, WRONG):
            return


def _time(refused: Callable[[], str]) -> float:
    started = time.perf_counter()
    words = refused()
    took = time.perf_counter() - started
    assert words, "it was let in"
    return took * 1000


def compare(name: str, measured: dict[str, list[float]]) -> dict[str, Any]:
    """The median of one way, and how it stands to the first way of its group."""
    group, first = next((group, next(iter(ways))) for group, ways in GROUPS.items() if name in ways)
    mine, others = measured[name], measured[first]
    low, _, high = (round(each, 2) for each in quantiles(mine, n=4))
    row = {"group": group, "tries": len(mine), "median": round(median(mine), 2), "half": [low, high], "differs": False}
    if name != first:
        row["difference"] = round(median(mine) - median(others), 2)
        row["p"] = round(rank_sum(mine, others), 3)
        row["differs"] = row["p"] < LEVEL / (len(measured) - len(GROUPS))
    return row | {"day": time.strftime("%Y-%m-%d")}


def rank_sum(one: list[float], two: list[float]) -> float:
    """The two-sided p of the rank-sum test of Mann and Whitney (1947), by its normal approximation, without ties.

    How likely a difference at least as clear is where both are times of the same thing.
    """
    below = sum(a < b for a in one for b in two)
    mean = len(one) * len(two) / 2
    deviation = (len(one) * len(two) * (len(one) + len(two) + 1) / 12) ** 0.5
    return 2 * NormalDist().cdf(-abs(below - mean) / deviation)


if __name__ == "__main__":
    sys.exit(main())
