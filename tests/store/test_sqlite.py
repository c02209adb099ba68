import sqlite3
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest
from contract import CLOSING, TICK, OpenStore, StoreContract, append
from scenes import plain_client, read_opening_error

from prepkit.errors import StoreBusy, StoreFailed
from prepkit.store import check_store, open_sqlite
from prepkit.store.sqlite import compute_open_query


class TestSqlite(StoreContract):
    @pytest.fixture
    def open_store(self, path: Path) -> OpenStore:
        return lambda: open_sqlite(path)

    @pytest.fixture
    def fresh(self, tmp_path: Path) -> Callable[[], OpenStore]:
        numbers = count()

        def make() -> OpenStore:
            path = tmp_path / f"{next(numbers)}.db"
            return lambda: open_sqlite(path)

        return make


def read_mode(path: Path) -> str:
    with plain_client(path) as client:
        return str(client.execute("PRAGMA journal_mode").fetchone()[0])


def test_what_is_recorded_stands_in_the_one_file(path: Path) -> None:
    with open_sqlite(path) as store:
        append(store, "a", 0, TICK)
        assert [each.name for each in path.parent.iterdir()] == [path.name]
        assert read_mode(path) == "delete"


def test_a_store_that_another_program_put_into_wal_is_taken_back(path: Path) -> None:
    with open_sqlite(path) as store:
        append(store, "a", 0, TICK)
    with plain_client(path) as client:
        client.execute("PRAGMA journal_mode = WAL")
    with open_sqlite(path) as store:
        assert read_mode(path) == "delete"
        append(store, "a", 1, TICK)
        assert check_store(store) == ()


def test_a_store_that_another_program_uses_in_wal_is_not_joined(path: Path) -> None:
    open_sqlite(path).close()
    with plain_client(path) as client:
        client.execute("PRAGMA journal_mode = WAL")
        client.execute("SELECT * FROM record").fetchall()
        read_opening_error(path, StoreBusy)
    open_sqlite(path).close()


def test_nothing_is_recorded_into_a_wal_file_that_another_program_made_meanwhile(path: Path) -> None:
    with open_sqlite(path) as store:
        append(store, "a", 0, TICK)
        with plain_client(path) as client:
            client.execute("PRAGMA journal_mode = WAL")
            with pytest.raises(StoreBusy, match="nothing was written: close that program"):
                append(store, "a", 1, TICK)
        assert store.read_last() == 1
    with open_sqlite(path) as store:
        append(store, "a", 1, TICK)
        assert check_store(store) == ()


def test_commits_are_synced_with_their_folder_and_replace_asks_the_triggers(path: Path) -> None:
    with open_sqlite(path) as store:
        settings = {
            name: store._connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("synchronous", "recursive_triggers", "trusted_schema", "busy_timeout")
        }
    assert settings == {"synchronous": 3, "recursive_triggers": 1, "trusted_schema": 0, "busy_timeout": 5000}


def test_a_python_with_too_old_a_sqlite_is_told_so(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 0))
    assert "3.37" in read_opening_error(path, StoreFailed)


def test_open_preparations_are_read_from_two_indexes_alone(path: Path) -> None:
    with open_sqlite(path) as store:
        sql, values = compute_open_query(CLOSING)
        plan = [row[3] for row in store._connection.execute(f"EXPLAIN QUERY PLAN {sql}", values)]
    assert plan == [
        "SCAN beginning USING COVERING INDEX record_first",
        "CORRELATED SCALAR SUBQUERY 1",
        "SEARCH record USING COVERING INDEX record_kind (kind=? AND prep=?)",
    ]


def test_one_preparation_is_found_without_looking_at_the_others(path: Path) -> None:
    with open_sqlite(path) as store:
        plan = store._connection.execute(
            "EXPLAIN QUERY PLAN SELECT * FROM record WHERE prep = 'a' AND seq > 0 ORDER BY seq"
        )
        assert [row[3] for row in plan] == ["SEARCH record USING INDEX sqlite_autoindex_record_1 (prep=? AND seq>?)"]
