"""A store moved into another: to the letter, again after an interruption, and never over anything else."""

from collections.abc import Callable
from pathlib import Path

import pytest
from attributed import attribute
from contract import CLOSE, TICK, append
from pg_server import Server
from store_scenes import drop_triggers, fill, plain_client

from prepkit.errors import StoreFailed, StoreUnfit
from prepkit.store import Store, check_store, copies, move_records, open_sqlite, open_store

OTHER_PAIRS = (("server", "file"), ("server", "server"), ("file", "file"))

Make = Callable[[str], Callable[[], Store]]


@pytest.fixture
def make(tmp_path: Path, pg_server: Server) -> Make:
    """Makes a new store of one sort, and gives the function that opens it."""

    def make(sort: str) -> Callable[[], Store]:
        at = pg_server.make_address() if sort == "server" else tmp_path / f"{len(list(tmp_path.iterdir()))}.sqlite"
        if isinstance(at, Path):
            open_sqlite(at).close()
        return lambda: open_store(at)

    return make


@pytest.mark.parametrize(
    ("first", "second"),
    [("file", "server"), *(pytest.param(*pair, marks=pytest.mark.thorough) for pair in OTHER_PAIRS)],
)
def test_a_moved_store_is_the_same_to_the_letter_and_goes_on(make: Make, first: str, second: str) -> None:
    with make(first)() as source, make(second)() as target:
        append(source, "a", 0, *[TICK] * 700)
        source.append("µ", 0, [TICK], attribute("1999-01-01T00:00:00Z", "CD", "", verified=True))
        append(source, "a", 700, CLOSE)
        before = tuple(source.read_all())
        assert move_records(source, target) == 702
        assert tuple(target.read_all()) == tuple(source.read_all()) == before
        assert target.read_stream_index() == source.read_stream_index()
        assert move_records(source, target) == 0
        append(source, "b", 0, TICK)
        assert move_records(source, target) == 1
        assert check_store(target) == ()
        append(target, "b", 1, CLOSE)
        with pytest.raises(StoreUnfit, match="holds other records"):
            move_records(source, target)


@pytest.mark.parametrize("sort", ["server", pytest.param("file", marks=pytest.mark.thorough)])
def test_a_move_that_was_broken_off_goes_on_where_it_stopped(
    make: Make, sort: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(copies, "_AT_ONCE", 10)
    with make("file")() as source, make(sort)() as target:
        append(source, "a", 0, *[TICK] * 45)
        real, calls = target.import_records, []

        def break_off(records: "tuple[object, ...]") -> None:
            calls.append(records)
            if len(calls) == 3:
                raise StoreFailed("the cable was pulled")
            real(records)

        monkeypatch.setattr(target, "import_records", break_off)
        with pytest.raises(StoreFailed):
            move_records(source, target)
        assert target.read_last() == 20
        assert check_store(target) == ()
        assert move_records(source, target) == 25
        assert tuple(target.read_all()) == tuple(source.read_all())


@pytest.mark.thorough
@pytest.mark.parametrize("sort", ["file", "server"])
def test_a_store_with_other_records_is_left_as_it_is(make: Make, sort: str) -> None:
    with make("file")() as source, make(sort)() as target:
        append(source, "a", 0, TICK)
        append(target, "a", 0, CLOSE)
        with pytest.raises(StoreUnfit, match=r"holds other records; name an empty store \(record 1 differs"):
            move_records(source, target)
        assert target.read_last() == 1


@pytest.mark.thorough
def test_a_store_that_is_not_as_it_was_written_is_not_moved(make: Make, tmp_path: Path) -> None:
    path = tmp_path / "changed.sqlite"
    fill(path)
    with plain_client(path) as client:
        drop_triggers(client)
        client.execute("UPDATE record SET who = 'ZZ' WHERE position = 2")
    with open_sqlite(path) as source, make("server")() as target:
        with pytest.raises(StoreUnfit, match=r"nothing was moved: .* record 2 "):
            move_records(source, target)
        assert target.read_last() == 0
