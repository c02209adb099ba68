"""The file's format: a draft's is refused; what stands around the records is put back where somebody took it away.

A format gets a file of its own here on the day a version with it is released. What is newer than this edition is
refused: `test_a_store_of_a_later_format_is_left_alone`.
"""

import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from contract import TICK, append
from kills import ENVIRONMENT
from store_scenes import fill, plain_client

from prepkit.errors import StoreForeign
from prepkit.store import check_store, open_sqlite
from prepkit.store.sqlite import schema


def make_headless(path: Path) -> None:
    """A store whose heads somebody took away: "a" ended and then gone on with, "b" open."""
    fill(path)
    with open_sqlite(path) as store:
        append(store, "a", 3, TICK)
    with plain_client(path) as client:
        client.executescript("DROP TRIGGER record_added; DROP TABLE head; DROP TABLE gist")


def read_parts(path: Path) -> list[tuple[str, ...]]:
    with plain_client(path) as client:
        parts = client.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name").fetchall()
        return [*parts, *client.execute("PRAGMA user_version")]


def test_a_store_of_a_draft_is_refused_in_one_sentence_and_left_as_it_is(path: Path) -> None:
    make_headless(path)
    with plain_client(path) as client:
        client.execute("PRAGMA user_version = 1")
    before = path.read_bytes()
    with pytest.raises(StoreForeign) as refused:
        open_sqlite(path)
    assert str(refused.value) == (
        f'"{path}" was made by a draft of prepkit, in format 1: it was never released, and is not read any more;'
        " name another file"
    )
    assert path.read_bytes() == before


def test_heads_that_were_taken_away_are_what_they_were(path: Path) -> None:
    make_headless(path)
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


def test_what_stops_the_heads_from_being_put_back_leaves_the_store_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_headless(path)
    before = read_parts(path)

    def stop(connection: sqlite3.Connection) -> None:
        connection.execute("INSERT INTO head VALUES ('a', 1, 1, '', NULL)")
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(schema, "rebuild_stream_index", stop)
        with pytest.raises(KeyboardInterrupt):
            open_sqlite(path)
    assert read_parts(path) == before
    with open_sqlite(path) as store:
        assert store.read_open() == ("b",)


KILLED = """
import os, signal, sys
from pathlib import Path
from prepkit.store import open_sqlite
from prepkit.store.sqlite import schema

real = schema.rebuild_stream_index

def rebuild_and_die(connection):
    real(connection)
    if sys.argv[2] == "dirty":
        connection.execute("PRAGMA cache_spill = 1")
        connection.execute("PRAGMA cache_size = 1")
        connection.executemany("INSERT INTO gist VALUES ('', ?, '', '', '', ?)", ((n, "x" * 900) for n in range(500)))
    os.kill(os.getpid(), signal.SIGKILL)

schema.rebuild_stream_index = rebuild_and_die
open_sqlite(Path(sys.argv[1]))
"""


@pytest.mark.parametrize("how", ["clean", "dirty"])
def test_a_program_killed_while_it_puts_the_heads_back_leaves_the_store_as_it_was(path: Path, how: str) -> None:
    """ "dirty": after SQLite had to write pages of the unfinished transaction into the file itself."""
    make_headless(path)
    before, size = read_parts(path), path.stat().st_size
    killed = subprocess.run([sys.executable, "-c", KILLED, path, how], env=ENVIRONMENT, check=False)
    assert killed.returncode == -signal.SIGKILL
    assert (path.stat().st_size > size) == (how == "dirty")
    assert read_parts(path) == before
    with open_sqlite(path) as store:
        assert store.read_open() == ("b",)
        assert check_store(store) == ()


def test_another_program_that_had_the_file_open_meanwhile_goes_on_and_keeps_the_heads(path: Path) -> None:
    make_headless(path)
    with plain_client(path) as older:
        older.execute("SELECT count(*) FROM record").fetchone()
        with open_sqlite(path) as store:
            assert store.read_open() == ("b",)
            older.execute(
                "INSERT INTO record SELECT 6, 'b', 2, 'closed', 1, at, who, verified, \"where\", body, hash, '0'"
                " FROM record WHERE position = 5"
            )
            assert store.read_open() == ()
