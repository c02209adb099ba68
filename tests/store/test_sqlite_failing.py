import resource
import threading
from pathlib import Path

import pytest
from contract import TICK, append
from store_scenes import fill, plain_client

from prepkit.errors import PrepkitError, StoreBusy, StoreFailed, StoreFull, StoreUnreachable
from prepkit.store import Draft, SqliteStore, check_store, open_sqlite


def test_a_full_disk_loses_nothing_and_the_store_goes_on_when_there_is_room(path: Path) -> None:
    fill(path)
    with open_sqlite(path) as store:
        before = tuple(store.read_all())
        pages = store._connection.execute("PRAGMA page_count").fetchone()[0]
        store._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(StoreFull, match="no room"):
            append(store, "b", 1, TICK, Draft("note", 1, "x" * 50_000))
        assert tuple(store.read_all()) == before
        store._connection.execute("PRAGMA max_page_count = 100000")
        append(store, "b", 1, TICK)
        assert check_store(store) == ()


def test_a_disk_that_fails_during_the_commit_leaves_nothing_half_written(path: Path) -> None:
    fill(path)
    with open_sqlite(path) as store:
        before = tuple(store.read_all())
        limits = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 4096, limits[1]))
        try:
            with pytest.raises((StoreFailed, StoreFull)):
                append(store, "b", 1, TICK, Draft("note", 1, "x" * 500_000))
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        assert tuple(store.read_all()) == before
        append(store, "b", 1, TICK)
        assert check_store(store) == ()


def test_a_store_kept_locked_says_so_and_goes_on_afterwards(path: Path) -> None:
    fill(path)
    with open_sqlite(path, wait_ms=20) as store, plain_client(path) as client:
        client.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreBusy, match="locked"):
            append(store, "b", 1, TICK)
        assert len(store.read("b")) == 1
        client.execute("ROLLBACK")
        append(store, "b", 1, TICK)


def test_a_reader_that_holds_up_the_commit_leaves_nothing_half_written(path: Path) -> None:
    fill(path)
    with open_sqlite(path, wait_ms=20) as store, plain_client(path) as client:
        client.execute("BEGIN")
        client.execute("SELECT * FROM record").fetchone()
        with pytest.raises(StoreBusy):
            append(store, "b", 1, TICK)
        client.execute("COMMIT")
        assert store.read_last() == 4
        append(store, "b", 1, TICK)
        assert check_store(store) == ()


def test_an_interruption_leaves_nothing_half_written(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(path)
    with open_sqlite(path) as store:

        def interrupt(*_: object) -> None:
            store._connection.execute("UPDATE sqlite_sequence SET seq = 99")
            raise KeyboardInterrupt

        with monkeypatch.context() as patch:
            patch.setattr(store, "_insert", interrupt)
            with pytest.raises(KeyboardInterrupt):
                append(store, "b", 1, TICK)
        assert store.read_last() == 4
        append(store, "b", 1, TICK)
        assert store.read_last() == 5


def test_a_store_whose_file_was_moved_or_replaced_says_so_instead_of_losing_records(path: Path) -> None:
    fill(path)
    with open_sqlite(path) as store:
        path.rename(path.with_name("elsewhere.db"))
        with pytest.raises(StoreUnreachable, match="moved"):
            append(store, "b", 1, TICK)
        path.write_bytes(path.with_name("elsewhere.db").read_bytes())
        with pytest.raises(StoreUnreachable, match="moved"):
            append(store, "b", 1, TICK)
        path.unlink()
        path.with_name("elsewhere.db").rename(path)
        append(store, "b", 1, TICK)


def test_a_file_taken_away_between_the_look_and_the_writing_is_still_noticed(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(path)
    with open_sqlite(path) as store:
        monkeypatch.setattr(SqliteStore, "_check_in_place", lambda _: path.unlink(missing_ok=True))
        with pytest.raises(StoreUnreachable, match="moved"):
            append(store, "b", 1, TICK)


def test_a_store_used_from_another_thread_says_so(path: Path) -> None:
    caught: list[BaseException] = []

    def use(store: SqliteStore) -> None:
        try:
            append(store, "a", 0, TICK)
        except PrepkitError as error:
            caught.append(error)

    with open_sqlite(path) as store:
        thread = threading.Thread(target=use, args=(store,))
        thread.start()
        thread.join()
        assert [type(error) for error in caught] == [StoreFailed]
        append(store, "a", 0, TICK)
