"""Write docs/trust.md from the figures of the runs: `docs/trust-crash.json`, `trust-pins.json` and `trust-fuzz.json`."""

import json
from pathlib import Path
from typing import Any

DOCS = Path(__file__).parent
HEAD = """# What was done to it

Written by `docs/make_trust.py` from the figures of the last runs; none is typed. A thing that may never be (something shown as done
and then gone, a change that nobody notices) stops the run, so that a row is there only where it did not happen.

## The store in use

`python tests/crash/run.py`: real processes at a desk tick a preparation, and say each tick when it is shown as done. Then the store is
opened and checked, and everything that was shown has to be there, event for event. The ordinary tests run a few of each.

| What was done | Runs | What came of it | On |
|---|---|---|---|
"""
LIMITS = """
A power cut is simulated by copying every file while the program is stopped: what an operating system had not yet written to the disk
is in those copies, so this shows the order of writing and not the disk's own honesty. A WAL file that is lost takes with it what was
in it, and leaves a whole, shorter chain that nobody can tell from the truth. So no store has one: what is shown as done stands in the
one file (journal mode DELETE, on every machine), and a store that another program put into mode WAL takes no tick until it is out of
it. A journal that is lost in the middle of a commit leaves a whole store or a damage that is named. A store cut short is mostly
refused as a whole: go on with a backup. An older copy put in the place of a store is whole too: only a hash that was kept elsewhere
shows that (each record, `backup` and `verify` print the last one), with `prepkit verify --holds HASH`.
"""
PINS = """
## PINs

`python tests/people/measure_pins.py`: refused sign-ins at a desk over a store on the disk, with the hash that is used, in an order drawn
anew for each round. Each way is compared with the first of its group; p says how often a difference as clear as this one comes of
chance alone (rank-sum test), and the run fails where one is below 0.01 over all comparisons together. A difference
that is small beside the machine's own noise (half of the times lie between the two figures given) would not be seen in so many tries.

| Refused | How | Tries | Median, ms | Half between, ms | Difference, ms | p | On |
|---|---|---|---|---|---|---|---|
"""
INPUT = """
## Hostile input

`python tests/fuzz/run.py` (atheris, guided by coverage): each reader gives a value that holds its law, or says in words why not. The
corpus is kept in `tests/fuzz/corpus/` and goes through the same targets in the ordinary tests; `--nightly` is a minute each.

| Reader | Minutes | Tries | Edges reached | Kept | Open findings | On |
|---|---|---|---|---|---|---|
"""
FOUND = """
Found on the way and mended, each with its test: positions out of order in a damaged store made reading go on for ever; a file of one
byte, and one whose first page was wiped, were taken for new stores; a schema that is no text, and a length past all memory, came out
as errors of the driver; a page that hid its last records left the chain whole, so `verify` now asks the database too.
"""
READERS = {
    "quantity": "amounts",
    "toml": "kits and ward files",
    "scan": "scanned codes",
    "codec": "event bodies",
    "records": "records as found",
    "store": "a store's file, any bytes changed",
}


def main() -> None:
    """Write it anew."""
    (DOCS / "trust.md").write_text(make_text(), "utf-8")


def make_text() -> str:
    """The whole page."""
    crash, pins, fuzz = (_read(DOCS / f"trust-{name}.json") for name in ("crash", "pins", "fuzz"))
    rows = "".join(f"| {name} | {row['runs']} | {_say(row)} | {row['day']} |\n" for name, row in crash.items())
    refused = "".join(_say_pins(name, row) for name, row in pins.items())
    tried = "".join(_say_fuzz(READERS[name], row) for name, row in fuzz.items())
    return HEAD + rows + LIMITS + PINS + refused + INPUT + tried + FOUND


def _say(row: dict[str, Any]) -> str:
    left_out = {"runs", "day", "seconds"}
    return "; ".join(f"{words}: {number}" for words, number in row.items() if words not in left_out)


def _say_pins(name: str, row: dict[str, Any]) -> str:
    compared = (f"{row['difference']:+}", row["p"]) if "p" in row else ("-", "-")
    cells = (name, row["group"], row["tries"], row["median"], "{} and {}".format(*row["half"]), *compared, row["day"])
    return f"| {' | '.join(map(str, cells))} |\n"


def _say_fuzz(name: str, row: dict[str, Any]) -> str:
    cells = (name, row["minutes"], row["tries"], row["edges"], row["kept"], row["findings"], row["day"])
    return f"| {' | '.join(map(str, cells))} |\n"


def _read(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(path.read_text("utf-8")) if path.exists() else {}
    return found


if __name__ == "__main__":
    main()
