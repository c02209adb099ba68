import os
import sqlite3
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from contract import TICK, append
from kills import ENVIRONMENT, WRITER, kill_makers, kill_writers
from store_scenes import fill

from prepkit.errors import StoreBusy
from prepkit.store import check_store, open_sqlite
from prepkit.store.sqlite import schema

KILLS = int(os.environ.get("PREPKIT_KILLS", "25"))


def start_writer(path: Path, prep: str, number: int) -> subprocess.Popen[str]:
    command = [sys.executable, str(WRITER), str(path), prep, str(number)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=ENVIRONMENT)


def test_programs_that_make_and_write_one_store_at_the_same_moment_lose_nothing(path: Path) -> None:
    """Three writers, two of them at the same preparation; nobody has made the store before them."""
    writers = [start_writer(path, prep, 60) for prep in ("shared", "shared", "own")]
    told = [writer.communicate()[0].split()[1:] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0, 0]
    positions = sorted(int(position) for lines in told for position in lines)
    assert positions == list(range(1, len(positions) + 1))
    assert len(positions) >= 180
    with open_sqlite(path) as store:
        assert [record.position for record in store.read_all()] == positions
        assert check_store(store) == ()


def test_a_store_made_by_another_just_before_ours_is_used_and_not_made_again(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = schema._settle_journal

    def let_the_other_in(connection: sqlite3.Connection, path: Path) -> None:
        monkeypatch.setattr(schema, "_settle_journal", real)
        fill(path)
        real(connection, path)

    monkeypatch.setattr(schema, "_settle_journal", let_the_other_in)
    with open_sqlite(path) as store:
        assert not store.is_new
        assert store.read_last() == 4
        assert not store.has_news()


def test_a_store_that_another_is_making_while_we_look_is_not_taken_for_something_else(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = schema._read_number
    asked: list[str] = []

    def let_the_other_in(connection: sqlite3.Connection, sql: str) -> int:
        found = real(connection, sql)
        asked.append(sql)
        if len(asked) == 1:
            with suppress(StoreBusy):  # as it should be: we are looking
                open_sqlite(path, wait_ms=20).close()
        return found

    monkeypatch.setattr(schema, "_read_number", let_the_other_in)
    with open_sqlite(path) as store:
        append(store, "a", 0, TICK)
        assert check_store(store) == ()


def test_what_another_program_wrote_is_news(path: Path) -> None:
    with open_sqlite(path) as store:
        assert not store.has_news()
        start_writer(path, "a", 1).communicate()
        assert store.has_news()
        assert not store.has_news()
        assert len(store.read("a")) == 1


def test_a_killed_writer_loses_nothing_it_was_told_is_kept(path: Path) -> None:
    assert kill_writers(path, KILLS) > 0


def test_a_program_killed_while_making_a_store_leaves_one_that_opens(tmp_path: Path) -> None:
    kill_makers(tmp_path, max(5, KILLS // 5))
