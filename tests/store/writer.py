"""A writer in a process of its own: `writer.py FILE PREPARATION COUNT`, COUNT 0 for without end.

Says "open" when it has the store and each position when it is acknowledged, one a line. Goes on after a conflict, as a
person at a second device would.
"""

import os
import sys
from pathlib import Path

from prepkit.errors import Conflict
from prepkit.store import Draft, open_sqlite


def say(word: object) -> None:
    os.write(1, f"{word}\n".encode())


def main(path: str, prep: str, count: int) -> None:
    with open_sqlite(Path(path), wait_ms=30_000) as store:
        say("open")
        written = 0
        while written < count or not count:
            seq = len(store.read(prep))
            drafts = [Draft("note", 1, f'"{os.getpid()}"')] * (1 + seq % 3)
            try:
                records = store.append(prep, seq, drafts, at="2031-05-04T03:12:00Z", who="AB", where="")
            except Conflict:
                continue
            written += len(records)
            for record in records:
                say(record.position)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
