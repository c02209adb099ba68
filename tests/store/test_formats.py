"""A store of every format there was, kept as it was written: each one opens, whole, in this edition.

A format gets its file here on the day a version with it is released; none is ever changed. What is newer than this
edition is refused: `test_a_store_of_a_later_format_is_left_alone`.
"""

import shutil
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from contract import TICK, append
from kills import ENVIRONMENT
from store_scenes import fill, plain_client

from prepkit.store import check_store, open_backup, open_sqlite, schema
from prepkit.store.schema import FORMAT

FORMATS = Path(__file__).with_name("formats")
LAST_HASHES = {
    1: "a849685f235077a475bbe6932260ebf0849867af3b834a9d4655812a816c81c1",
    2: "1689f5e9aef5319ca5a23b04b8ee1710614b51140f449b6233073f2ec394ede1",
}
# What the first format had around its records.
FIRST_INDEXES = """
CREATE INDEX record_first ON record (position, prep, seq) WHERE seq = 1;
CREATE INDEX record_kind ON record (kind, prep);
"""


def make_first(path: Path) -> None:
    """A store of the first format: "a" ended and then gone on with, "b" open."""
    fill(path)
    with open_sqlite(path) as store:
        append(store, "a", 3, TICK)
    with plain_client(path) as client:
        client.executescript(f"DROP TRIGGER record_added; DROP TABLE head; DROP TABLE gist; {FIRST_INDEXES}")
        client.execute("PRAGMA user_version = 1")


def read_parts(path: Path) -> list[tuple[str, ...]]:
    with plain_client(path) as client:
        parts = client.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name").fetchall()
        return [*parts, *client.execute("PRAGMA user_version")]


def test_every_format_up_to_this_one_is_kept() -> None:
    assert sorted(path.name for path in FORMATS.iterdir()) == [f"format-{n}.sqlite" for n in range(1, FORMAT + 1)]
    assert LAST_HASHES.keys() == set(range(1, FORMAT + 1))


@pytest.mark.parametrize("form", LAST_HASHES)
def test_a_store_of_an_older_format_opens_whole_and_goes_on(path: Path, form: int) -> None:
    path.parent.mkdir()
    shutil.copyfile(FORMATS / f"format-{form}.sqlite", path)
    with open_sqlite(path) as store:
        assert check_store(store) == ()
        assert [record.hash for record in store.read_all()][-1] == LAST_HASHES[form]
        append(store, "b", 1, TICK)
        assert check_store(store) == ()


@pytest.mark.parametrize("form", LAST_HASHES)
def test_a_backup_of_an_older_format_can_be_restored(path: Path, form: int) -> None:
    with open_backup(FORMATS / f"format-{form}.sqlite", path) as store:
        assert check_store(store) == ()
        assert store.read_last() == 4


def test_a_store_of_the_first_format_is_made_what_a_new_one_is(path: Path) -> None:
    make_first(path)
    with plain_client(path) as client:
        before = client.execute("SELECT * FROM record").fetchall()
    with open_sqlite(path) as store:
        assert not store.is_new
        assert (store.read_open(), [head.prep for head in store.read_ended(9)]) == (("b",), ["a"])
        assert check_store(store) == ()
    fill(path.with_name("new.db"))
    assert read_parts(path) == read_parts(path.with_name("new.db"))
    with plain_client(path) as client:
        assert client.execute("SELECT * FROM record").fetchall() == before


def test_what_stops_a_store_from_being_brought_up_to_date_leaves_it_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_first(path)
    before = read_parts(path)

    def stop(connection: sqlite3.Connection) -> None:
        connection.execute("INSERT INTO head VALUES ('a', 1, 1, '', NULL)")
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(schema, "rebuild_heads", stop)
        with pytest.raises(KeyboardInterrupt):
            open_sqlite(path)
    assert read_parts(path) == before
    with open_sqlite(path) as store:
        assert store.read_open() == ("b",)


KILLED = """
import os, signal, sys
from pathlib import Path
from prepkit.store import open_sqlite, schema

real = schema.rebuild_heads

def rebuild_and_die(connection):
    real(connection)
    if sys.argv[2] == "dirty":
        connection.execute("PRAGMA cache_spill = 1")
        connection.execute("PRAGMA cache_size = 1")
        connection.executemany("INSERT INTO gist VALUES ('', ?, '', '', '', ?)", ((n, "x" * 900) for n in range(500)))
    os.kill(os.getpid(), signal.SIGKILL)

schema.rebuild_heads = rebuild_and_die
open_sqlite(Path(sys.argv[1]))
"""


@pytest.mark.parametrize("how", ["clean", "dirty"])
def test_a_program_killed_while_it_brings_a_store_up_to_date_leaves_it_as_it_was(path: Path, how: str) -> None:
    """ "dirty": after SQLite had to write pages of the unfinished transaction into the file itself."""
    make_first(path)
    before, size = read_parts(path), path.stat().st_size
    killed = subprocess.run([sys.executable, "-c", KILLED, path, how], env=ENVIRONMENT, check=False)
    assert killed.returncode == -signal.SIGKILL
    assert (path.stat().st_size > size) == (how == "dirty")
    assert read_parts(path) == before
    with open_sqlite(path) as store:
        assert store.read_open() == ("b",)
        assert check_store(store) == ()


def test_somebody_who_has_the_older_format_open_goes_on_and_keeps_the_heads(path: Path) -> None:
    """An older prepkit that was running all the while asks no format again; it only adds records."""
    make_first(path)
    with plain_client(path) as older:
        older.execute("SELECT count(*) FROM record").fetchone()
        with open_sqlite(path) as store:
            assert store.read_open() == ("b",)
            older.execute(
                "INSERT INTO record SELECT 6, 'b', 2, 'closed', 1, at, who, verified, \"where\", body, hash, '0'"
                " FROM record WHERE position = 5"
            )
            assert store.read_open() == ()
