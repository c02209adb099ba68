"""What any SQLite client does to a store is found by `prepkit verify`, which names it."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from papers_scene import Run

DROP = "DROP TRIGGER record_no_update; DROP TRIGGER record_no_delete;"
COLUMNS = 'position, prep, seq, kind, version, at, who, verified, "where", body, "before", hash'


SWAP = """UPDATE record SET position = -1 WHERE position = 5; UPDATE record SET position = 5 WHERE position = 6;
UPDATE record SET position = 6 WHERE position = -1"""
REPLACED = "INSERT OR REPLACE INTO record SELECT {} FROM record WHERE position = 5".format(
    COLUMNS.replace("who", "'ZZ'")
)
ADDED = "INSERT INTO record SELECT {} FROM record WHERE position = 5".format(
    COLUMNS.replace("position", "(SELECT max(position) FROM record) + 1").replace("seq", "seq + 900")
)


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE record SET body = replace(body, 'kit', 'kat') WHERE position = 1", "record 1 "),
        ("UPDATE record SET at = '2026-11-25T02:00:00.000+01:00' WHERE position = 9", "record 9 "),
        ("UPDATE record SET verified = 1 - verified WHERE position = 9", "record 9 "),
        ("DELETE FROM record WHERE position = 5", "record 5 is missing"),
        ("DELETE FROM record WHERE position BETWEEN 5 AND 8", "records 5 to 8 are missing"),
        ("DELETE FROM record WHERE position = (SELECT max(position) FROM record)", "missing at the end of the store"),
        (SWAP, "record 5 "),
        (REPLACED, "record 5 "),
        (ADDED, "went on from number"),
    ],
    ids=["edited", "time", "verified", "deleted", "several", "last", "reordered", "replaced", "added"],
)
def test_what_another_client_did_is_found_and_named(run: Run, kept: Path, sql: str, named: str) -> None:
    with closing(sqlite3.connect(kept, isolation_level=None)) as other:
        other.executescript(DROP + sql)
    done = run("verify")
    assert done.code == 4
    assert "CHAIN BROKEN" in done.out
    assert named in done.out


def test_a_store_written_anew_from_some_record_on_shows_only_in_its_last_hash(run: Run) -> None:
    """What no chain by itself can show; the last hash is printed so that a copy can be kept elsewhere."""
    assert run("verify").out.splitlines()[-1].startswith("Last event: ")
