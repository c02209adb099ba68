"""What is derived from the records, changed by another program: found, named, put right."""

from pathlib import Path

import pytest
from contract import CLOSE, TICK, append
from store_scenes import fill, plain_client

from prepkit.app.eventlog.stream_index import read_open
from prepkit.preparation.bedside.events import Closed
from prepkit.preparation.events import StoodDown
from prepkit.store import CLOSING, Projection, StreamIndexEntry, check_store, open_sqlite
from prepkit.store.derived import StreamIndexBuilder, check_stream_index


def test_what_ends_a_preparation_to_the_store_is_what_ends_it_to_everybody() -> None:
    assert {StoodDown.KIND, Closed.KIND} == CLOSING


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE head SET ended = 3 WHERE prep = 'b'", "'b' is kept as ended with record 3"),
        ("UPDATE head SET ended = NULL WHERE prep = 'a'", "'a' is kept as open (records 1 to 4"),
        ("UPDATE head SET last = 3, hash = '' WHERE prep = 'a'", "'a' is kept as ended with record 4 (records 1 to 3"),
        ("UPDATE head SET first = 9 WHERE prep = 'b'", "'b' is kept as open (records 9 to 3"),
        ("UPDATE head SET hash = 'ff' WHERE prep = 'b'", "'b' is kept as open (records 3 to 3, 'ff')"),
        ("DELETE FROM head WHERE prep = 'b'", "'b' is kept as unknown; its records say open"),
        (
            "INSERT INTO head VALUES ('c', 1, 2, '', NULL)",
            "'c' is kept as open (records 1 to 2, ''); its records say unkn",
        ),
    ],
)
def test_a_changed_head_is_named_and_made_anew_from_the_records(path: Path, sql: str, named: str) -> None:
    fill(path)
    with open_sqlite(path) as store:
        before = store.read_stream_index()
        with plain_client(path) as client:
            client.execute(sql)
        (problem,) = check_store(store)
        assert named in problem.words
        assert problem.is_derived
        store.rebuild_stream_index()
        assert store.read_stream_index() == before
        assert check_store(store) == ()


def test_a_preparation_whose_last_record_no_head_knows_is_put_right_on_opening(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        client.executescript("DROP TRIGGER record_added; UPDATE head SET ended = NULL, last = 2 WHERE prep = 'a'")
    with open_sqlite(path) as store:
        assert (store.read_open(), check_store(store)) == (("b",), ())
    with plain_client(path) as client:
        client.execute("UPDATE head SET last = 2 WHERE prep = 'a'")
    with open_sqlite(path) as store:
        assert check_store(store) == ()


def test_what_is_written_while_a_store_is_checked_is_no_difference(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(path)
    with open_sqlite(path) as store, open_sqlite(path) as other:
        real = store.read_all

        def write_meanwhile() -> object:
            append(other, "b", 1, CLOSE)
            append(other, "c", 0, TICK)
            return real()

        monkeypatch.setattr(store, "read_all", write_meanwhile)
        assert check_store(store) == ()
        assert store.read_open() == ("c",)


def test_a_preparation_without_its_first_record_is_still_offered(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        client.executescript("DROP TRIGGER record_no_delete; DELETE FROM record WHERE position = 3; DELETE FROM head")
    with open_sqlite(path) as store:
        append(store, "b", 0, TICK)
        store.rebuild_stream_index()
        assert read_open(store) == ("b",)


@pytest.mark.parametrize("column", ["hash", "maker", "key", "body"])
def test_a_gist_is_not_mended_by_the_store_but_a_changed_hash_or_maker_makes_it_count_no_more(
    path: Path, column: str
) -> None:
    fill(path)
    with open_sqlite(path) as store:
        store.write_projections("day", "we", [Projection("b", store.read("b")[-1].hash, "1", "kept")])
        with plain_client(path) as client:
            client.execute(f"UPDATE gist SET {column} = 'x'")  # noqa: S608  our own words
        assert ("b" in store.read_unprojected("day", "we")) == (column in {"hash", "maker"})


def test_the_walk_takes_whatever_a_changed_file_may_hold(path: Path) -> None:
    walk = StreamIndexBuilder()
    for position, prep, kind, found in [
        (1, "a", "x", "1"), (2, None, "x", "2"), (3, "\udcff", "x", "3"), (4, "a", None, b"\xff"),
    ]:  # fmt: skip
        walk.take(position, prep, kind, found)  # type: ignore[arg-type]
    assert walk.entries == {"a": StreamIndexEntry("a", 1, 4, "", None)}
    odd = StreamIndexEntry("a", None, b"", 1.5, "")  # type: ignore[arg-type]
    (words,) = check_stream_index([odd], walk.entries)
    assert words.isascii()
