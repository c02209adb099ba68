"""What any SQLite client does to a store is found by `prepkit verify`, which names it."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from attributed import attribute
from papers_scene import Run

from prepkit.store import Draft, SqliteStore

DROP = "DROP TRIGGER record_no_update; DROP TRIGGER record_no_delete;"
COLUMNS = 'position, prep, seq, kind, form, at, who, verified, "where", body, "before", hash'


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


def read_last_event(said: str) -> str:
    return said.splitlines()[-1].removeprefix("Last event: ")


def test_an_event_that_was_kept_elsewhere_by_its_hash_is_found_or_said_to_be_missing(
    run: Run, store: SqliteStore, kept: Path, tmp_path: Path
) -> None:
    """An older copy is whole, and so is a store that was written anew: no chain by itself shows that."""
    older = read_last_event(run("verify").out)
    assert run("backup", str(tmp_path / "older.sqlite")).code == 0
    note = Draft("note", 1, "{}")
    store.append("later", 0, [note], attribute("2031-05-04T03:12:00+01:00", "AB", ""))
    store.close()
    newer = read_last_event(run("verify").out)
    assert run("verify", "--holds", older, "--holds", newer.upper()).out.splitlines()[0].startswith("Chain:")
    kept.write_bytes((tmp_path / "older.sqlite").read_bytes())
    assert run("verify").code == 0
    done = run("verify", "--holds", older, "--holds", newer)
    assert done.code == 4
    missing, *others = done.out.splitlines()
    assert missing == f"MISSING: no event is {newer}. This store was put back to before it, or written anew."
    assert others[0].startswith("Chain:")
