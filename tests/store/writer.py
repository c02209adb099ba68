"""A writer in a process of its own: `writer.py STORE PREPARATION COUNT`, COUNT 0 for without end.

Says "open" when it has the store and each position when it is acknowledged, one a line. Goes on after a conflict, as a
person at a second device would, and waits for a server that is away.
"""

import os
import sys
import time
from pathlib import Path

from attributed import attribute

from prepkit.errors import Conflict, StoreLost, StoreUnsure
from prepkit.paths import read_store_location
from prepkit.store import Draft, Store, is_address, open_sqlite, open_store


def say(word: object) -> None:
    os.write(1, f"{word}\n".encode())


def open_patiently(text: str) -> Store:
    at = read_store_location(text)
    return open_store(at) if is_address(at) else open_sqlite(Path(at), wait_ms=30_000)


def main(text: str, prep: str, count: int) -> None:
    with open_patiently(text) as store:
        say("open")
        written = 0
        while written < count or not count:
            try:
                written += write_once(store, prep)
            except Conflict:
                continue
            except (StoreLost, StoreUnsure):
                time.sleep(0.02)


def write_once(store: Store, prep: str) -> int:
    seq = len(store.read(prep))
    drafts = [Draft("note", 1, f'"{os.getpid()}"')] * (1 + seq % 3)
    records = store.append(prep, seq, drafts, attribute("2031-05-04T03:12:00Z", "AB", ""))
    for record in records:
        say(record.position)
    return len(records)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
