import sqlite3
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest
from contract import TICK, OpenStore, StoreContract, append
from store_scenes import plain_client, read_opening_error

from prepkit.errors import StoreBusy, StoreFailed
from prepkit.store import SqliteStore, check_store, open_sqlite
from prepkit.store.sqlite.derived import QUERIES


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


def read_plan(store: SqliteStore, sql: str) -> list[str]:
    """How SQLite would answer, a step each. No statement here may look at every record, nor home's at every head."""
    values = [""] * sql.count("?")
    return [str(row[3]) for row in store._connection.execute(f"EXPLAIN QUERY PLAN {sql}", values)]


@pytest.mark.parametrize(
    ("query", "plan"),
    [
        ("open", ["SCAN head USING INDEX head_open"]),
        (
            "behind",
            [
                "CO-ROUTINE newest",
                "SCAN record",
                "SCAN newest",
                "SEARCH head USING PRIMARY KEY (prep=?) LEFT-JOIN",
            ],
        ),
        ("ended", ["SEARCH head USING INDEX head_ended (ended>? AND ended<?)"]),
        ("heads", ["SCAN head USING INDEX head_first"]),
        (
            "wanting",
            [
                "SCAN head",
                "CORRELATED SCALAR SUBQUERY 1",
                "SEARCH gist USING PRIMARY KEY (sort=? AND prep=?)",
                "USE TEMP B-TREE FOR ORDER BY",
            ],
        ),
        (
            "all gists",
            [
                "SEARCH gist USING PRIMARY KEY (sort=?)",
                "SEARCH head USING PRIMARY KEY (prep=?)",
                "USE TEMP B-TREE FOR ORDER BY",
            ],
        ),
        (
            "gists",
            [
                "SEARCH gist USING INDEX gist_key (sort=? AND key>? AND key<?)",
                "SEARCH head USING PRIMARY KEY (prep=?)",
            ],
        ),
    ],
)
def test_what_is_derived_is_read_from_its_index(path: Path, query: str, plan: list[str]) -> None:
    with open_sqlite(path) as store:
        assert read_plan(store, QUERIES[query]) == plan


def test_every_statement_of_an_append_and_of_a_resume_finds_its_rows_by_an_index(path: Path) -> None:
    """Those that a whole append and a whole read really send, as SQLite's own trace tells them."""
    told: list[str] = []
    with open_sqlite(path) as store:
        append(store, "a", 0, TICK)
        store._connection.set_trace_callback(told.append)
        append(store, "a", 1, TICK)
        store.read("a", after=1)
        store.read_last()
        store._connection.set_trace_callback(None)
        asked = [sql for sql in told if sql.startswith(("SELECT", "INSERT", "UPDATE"))]
        plans = {sql: read_plan(store, sql) for sql in asked if "sqlite_sequence" not in sql}
    assert len(plans) >= 4
    # The last record is the first step of a scan from the end, along the table itself.
    whole = {sql for sql, plan in plans.items() if any(step.startswith("SCAN record") for step in plan)}
    assert all(sql.endswith("ORDER BY position DESC LIMIT 1") for sql in whole)
    assert not [plan for plan in plans.values() if any("TEMP B-TREE" in step or "SCAN head" in step for step in plan)]
    assert ["SEARCH record USING INDEX sqlite_autoindex_record_1 (prep=? AND seq>?)"] in plans.values()
