import sqlite3
from pathlib import Path

import pytest
from contract import TICK, append
from store_scenes import drop_triggers, fill, plain_client

from prepkit.errors import StoreDamaged
from prepkit.store import check_store, open_sqlite

REPLACE = (
    "INSERT OR REPLACE INTO record SELECT position, prep, seq, kind, form, at, 'ZZ', verified,"
    ' "where", body, "before", hash FROM record WHERE position = 2'
)
REORDER = (
    "UPDATE record SET position = 99 WHERE position = 2;"
    "UPDATE record SET position = 2 WHERE position = 3;"
    "UPDATE record SET position = 3 WHERE position = 99;"
)
PUT_IN = (
    "UPDATE record SET position = position + 100 WHERE position > 2;"
    "UPDATE record SET position = position - 99 WHERE position > 2;"
    "INSERT INTO record SELECT 3, 'c', 1, kind, form, at, who, verified, \"where\", body, hash, hash FROM record"
    " WHERE position = 2;"
)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE record SET body = '{}' WHERE position = 2",
        "DELETE FROM record WHERE position = 2",
        "DELETE FROM record",
        REPLACE,
        "UPDATE OR REPLACE record SET position = 1 WHERE position = 2",
    ],
)
def test_the_triggers_refuse_to_change_or_delete_a_record(path: Path, sql: str) -> None:
    fill(path)
    with open_sqlite(path) as store:
        before = tuple(store.read_all())
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            store._connection.execute(sql)
        assert tuple(store.read_all()) == before


@pytest.mark.parametrize("sql", ["UPDATE record SET body = '{}'", "DELETE FROM record"])
def test_the_triggers_hold_for_any_other_program_too(path: Path, sql: str) -> None:
    fill(path)
    with plain_client(path) as client, pytest.raises(sqlite3.IntegrityError, match="never"):
        client.execute(sql)


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE record SET who = 'ZZ' WHERE position = 2", "record 2 "),
        ("UPDATE record SET verified = 1 WHERE position = 2", "record 2 "),
        ('UPDATE record SET body = \'{"line":"tube"}\' WHERE position = 4', "record 4 "),
        ("UPDATE record SET hash = upper(hash) WHERE position = 2", "record 2 "),
        ("UPDATE record SET prep = 'b', seq = 9 WHERE position = 1", "record 1 "),
        ("UPDATE record SET body = body || char(0) WHERE position = 3", "record 3 "),
        ("UPDATE record SET body = CAST(x'7bff' AS TEXT) WHERE position = 3", "record 3 "),
        ("DELETE FROM record WHERE position = 1", "record 1 is missing before it"),
        ("DELETE FROM record WHERE position IN (2, 3)", "records 2 to 3 are missing before it"),
        ("DELETE FROM record WHERE position = 4", "record 4 is missing at the end"),
        ("DELETE FROM record", "records 1 to 4 are missing at the end"),
        (REPLACE, "record 2 "),
        (REORDER, "record 2 "),
        (PUT_IN, "record 3 "),
        ("UPDATE record SET position = -5 WHERE position = 2", "record -5 "),
    ],
)
def test_what_another_program_did_is_found_and_named(path: Path, sql: str, named: str) -> None:
    fill(path)
    with plain_client(path) as client:
        drop_triggers(client)
        client.executescript(sql)
    with open_sqlite(path) as store:
        assert any(named in problem.words for problem in check_store(store))


def test_replace_walks_past_the_triggers_of_another_program_but_not_past_the_check(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        client.execute(REPLACE)
    with open_sqlite(path) as store:
        (problem,) = check_store(store)
        assert problem.position == 2


def test_a_record_taken_from_the_end_is_missed_even_after_others_were_added(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        drop_triggers(client)
        client.execute("DELETE FROM record WHERE position = 4")
    with open_sqlite(path) as store:
        append(store, "b", 1, TICK)
        problem, head = check_store(store)
        assert "record 4 is missing before it" in problem.words
        assert "'a' is kept as ended with record 4" in head.words


@pytest.mark.parametrize(
    "name", ["prep", "seq", "kind", "form", "at", "who", "verified", "where", "body", "before", "hash"]
)
@pytest.mark.parametrize("value", ["NULL", "x'00ff'", "1.5"])
def test_a_value_of_another_type_is_found_named_and_kept_from_those_who_rely_on_it(
    path: Path, name: str, value: str
) -> None:
    """STRICT refuses these; somebody who edits the table's definition for a while gets past that."""
    fill(path)
    with plain_client(path) as client:
        drop_triggers(client)
        client.execute("PRAGMA writable_schema = ON")
        (strict,) = client.execute("SELECT sql FROM sqlite_master WHERE name = 'record'").fetchone()
        loose = strict.replace("NOT NULL", "").replace("STRICT", "").replace("TEXT", "BLOB")
        loose = loose.replace("CHECK (verified IN (0, 1))", "")
        client.execute("UPDATE sqlite_master SET sql = ? WHERE name = 'record'", (loose,))
    with plain_client(path) as client:
        client.execute(f'UPDATE record SET "{name}" = {value} WHERE position = 2')  # noqa: S608  our own words
        client.execute("PRAGMA writable_schema = ON")
        client.execute("UPDATE sqlite_master SET sql = ? WHERE name = 'record'", (strict,))
    with open_sqlite(path) as store:
        (first, *_) = check_store(store)
        assert "record 2" in first.words
        assert f'"{name}" should be' in first.words
        assert set(store.read_open()) >= {"b"}
        if name not in {"prep", "seq"}:
            with pytest.raises(StoreDamaged, match="record 2 was changed"):
                store.read("a")
        assert len(store.read("b")) == 1


def test_a_last_record_without_a_hash_stops_appending_with_a_clear_error(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        drop_triggers(client)
        client.execute("UPDATE record SET position = 9007199254740993 WHERE position = 4")
    with open_sqlite(path) as store, pytest.raises(StoreDamaged, match="last record was changed"):
        append(store, "b", 1, TICK)


@pytest.mark.parametrize("counted", ["NULL", "'x'", "9223372036854775807", "-1"])
def test_a_counter_set_to_nonsense_stops_nobody(path: Path, counted: str) -> None:
    fill(path)
    with plain_client(path) as client:
        client.execute(f"UPDATE sqlite_sequence SET seq = {counted}")  # noqa: S608  our own words
    with open_sqlite(path) as store:
        append(store, "b", 1, TICK)
        assert check_store(store) == ()


@pytest.mark.parametrize(
    "sql",
    [
        "DROP TRIGGER record_no_update; DROP TRIGGER record_no_delete",
        "DROP INDEX head_open; DROP INDEX gist_key",
        "DROP TABLE gist; DROP TABLE head",
        "DROP TRIGGER record_added",
        "DROP TRIGGER record_no_update; CREATE TRIGGER record_no_update BEFORE UPDATE ON record BEGIN SELECT 1; END",
        'CREATE TRIGGER "a ""b""" AFTER INSERT ON record BEGIN DELETE FROM sqlite_sequence; END',
    ],
)
def test_triggers_and_indexes_are_put_right_on_opening(path: Path, sql: str) -> None:
    fill(path)
    schema = "SELECT type, name, sql FROM sqlite_master ORDER BY name"
    with plain_client(path) as client:
        before = client.execute(schema).fetchall()
        client.executescript(sql)
        assert client.execute(schema).fetchall() != before
    open_sqlite(path).close()
    with plain_client(path) as client:
        assert client.execute(schema).fetchall() == before


def test_damage_that_leaves_the_chain_whole_is_found_by_the_check_of_the_medium(path: Path) -> None:
    """A leaf that says it holds fewer records than it does, and a counter that was lost with them."""
    fill(path)
    with plain_client(path) as client:
        page = client.execute("SELECT rootpage FROM sqlite_master WHERE name = 'record'").fetchone()[0]
        client.execute("DELETE FROM sqlite_sequence")
        size = client.execute("PRAGMA page_size").fetchone()[0]
    with path.open("r+b") as file:
        file.seek((page - 1) * size + 3)  # the page's number of cells
        file.write((2).to_bytes(2, "big"))
    with open_sqlite(path) as store:
        assert len(list(store.read_all())) == 2
        assert "the file itself is damaged" in check_store(store)[-1].words
