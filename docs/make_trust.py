"""Write docs/trust.md from the figures of the runs: `docs/trust-crash.json`, `trust-pins.json` and `trust-fuzz.json`."""

import json
from pathlib import Path
from typing import Any

DOCS = Path(__file__).parent
HEAD = """# What was done to it

`docs/make_trust.py` writes this page from the figures of the last runs; nobody typed one. If something happens that never may (a thing
shown as done and then gone, a change that nobody notices), the run stops. So a row is here only if it did not happen.

## The store in use

`python tests/crash/run.py`: real processes tick a preparation, and report each tick when it is shown as done. Then the store is
opened and checked: everything that was shown has to be there, event for event. The ordinary tests run a few of each.

| What was done | Runs | What came of it | On |
|---|---|---|---|
"""
LIMITS = """
To simulate a power cut, the run copies every file while the program is stopped. The copies hold what the operating system had not yet
written to the disk, so this shows the order of writing and not the disk's own honesty. A lost WAL file takes its content with it and
leaves a whole, shorter chain that nobody can tell from the truth. So no store has one ([why](decisions/one-journal-mode.md)): what is
shown as done stands in the one file, and a store that another program put into mode WAL takes no tick until it is out of it. A journal
lost in the middle of a commit leaves a whole store, or a damage that is named. A store cut short is mostly refused as a whole: use
a backup. An older copy in the place of a store is whole too. Only a hash kept elsewhere shows that (each record, `backup` and
`verify` print the last one), with `prepkit verify --holds HASH`.
"""
PINS = """
## PINs

`python tests/people/measure_pins.py`: refused sign-ins over a store on the disk, with the hash in use, in a new random order each
round. Each kind is compared with the first of its group. p says how often chance alone gives a difference as clear as this one
(rank-sum test); the run fails if one is below 0.01 over all comparisons together. So many tries would not show a difference that
is small beside the machine's own noise (half of the times lie between the two figures given).

| Refused | How | Tries | Median, ms | Half between, ms | Difference, ms | p | On |
|---|---|---|---|---|---|---|---|
"""
INPUT = """
## Hostile input

`python tests/fuzz/run.py` (atheris, guided by coverage): each reader gives a value that obeys its law, or says in words why not. The
corpus is in `tests/fuzz/corpus/` and goes through the same targets in the ordinary tests; `--nightly` is a minute each.

| Reader | Minutes | Tries | Edges reached | Kept | Open findings | On |
|---|---|---|---|---|---|---|
"""
FOUND = """
Found on the way and mended, each with its test: positions out of order in a damaged store kept the reader reading for ever; a file of
one byte, and one whose first page was wiped, were taken for new stores; a schema that is not text, and a length beyond all memory, came
out as errors of the driver; a page that hid its last records left the chain whole, so `verify` now asks the database too.
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
    """Write the page."""
    (DOCS / "trust.md").write_text(make_text(), "utf-8")


def make_text() -> str:
    """The whole page."""
    crash, pins, fuzz = (_read(DOCS / f"trust-{name}.json") for name in ("crash", "pins", "fuzz"))
    rows = "".join(f"| {name} | {row['runs']} | {_say(row)} | {row['day']} |\n" for name, row in crash.items())
    refused = "".join(_say_pins(name, row) for name, row in pins.items())
    tried = "".join(_say_fuzz(words, fuzz[name]) for name, words in READERS.items())
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
