"""The connection goes: what was acknowledged is there, what was not is said not to be, and the store goes on."""

import os
import signal
import threading
import time
from collections.abc import Iterator

import pytest
from attributed import attribute
from contract import CLOSE, TICK, append
from pg_cut import Network, run_network
from pg_server import Server

from prepkit.errors import Conflict, StoreLost, StoreUnsure
from prepkit.store import check_store
from prepkit.store.postgres import connection
from prepkit.store.postgres import store as store_module
from prepkit.store.postgres.store import PostgresStore, open_postgres
from prepkit.store.records import is_kept


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """The server is tried again at once, not after a second."""
    monkeypatch.setattr(connection, "_TRY_EVERY", 0.02)


@pytest.fixture
def network(pg_server: Server) -> Iterator[Network]:
    with run_network(pg_server.port) as network:
        yield network


@pytest.fixture
def login(pg_server: Server) -> str:
    return pg_server.make_ward()


@pytest.fixture
def store(pg_server: Server, network: Network, login: str) -> Iterator[PostgresStore]:
    """A device behind the network, which does not wait long for it."""
    with open_postgres(pg_server.address(login, network.port), patience=0.1) as store:
        append(store, "a", 0, TICK)
        yield store


@pytest.fixture
def near(pg_server: Server, login: str) -> Iterator[PostgresStore]:
    """Another device, whose network is sound."""
    with open_postgres(pg_server.address(login), poll_every=0) as store:
        yield store


def wait_until_back(store: PostgresStore) -> bool:
    """Ask for news as a screen does until the connection is back; the answer."""
    for _ in range(600):
        try:
            return store.has_news()
        except StoreLost:
            time.sleep(0.02)
    raise AssertionError("the connection did not come back")


def wait_until_lost(store: PostgresStore) -> None:
    """Ask for news as a screen does until the connection is known to be gone; the server is asked nothing for it."""
    for _ in range(600):
        try:
            store.has_news()
        except StoreLost:
            return
        time.sleep(0.01)
    raise AssertionError("the connection is still there")


def is_append(towards: bool, chunk: bytes) -> bool:
    return towards and b"cot side 2" in chunk


def test_a_lost_connection_is_noticed_without_asking_and_comes_back_by_itself(
    store: PostgresStore, near: PostgresStore, network: Network
) -> None:
    network.cut()
    wait_until_lost(store)
    for _ in range(2):
        with pytest.raises(StoreLost, match="cannot be reached: nothing is written until"):
            store.has_news()
        with pytest.raises(StoreLost):
            append(store, "a", 1, TICK)
        with pytest.raises(StoreLost):
            store.read("a")
    append(near, "a", 1, TICK)
    network.mend()
    assert wait_until_back(store)
    assert not store.has_news()
    append(store, "a", 2, CLOSE)
    assert check_store(store) == ()
    assert [record.kind for record in near.read("a")] == ["line.ticked", "line.ticked", "closed"]


@pytest.mark.thorough
def test_what_was_cut_off_before_the_server_had_it_is_not_kept_and_not_called_kept(
    store: PostgresStore, near: PostgresStore, network: Network
) -> None:
    network.watch = lambda towards, chunk: "cut" if is_append(towards, chunk) else "pass"
    with pytest.raises(StoreUnsure, match="whether it was is said when the connection is back") as caught:
        append(store, "a", 1, CLOSE)
    network.mend()
    wait_until_back(store)
    assert not is_kept(store.read("a", caught.value.expected), caught.value.contents)
    assert len(near.read("a")) == 1


def test_what_the_server_kept_before_its_answer_was_cut_off_is_not_called_lost(
    store: PostgresStore, near: PostgresStore, network: Network
) -> None:
    network.watch = lambda towards, chunk: "pass then cut" if is_append(towards, chunk) else "pass"
    with pytest.raises(StoreUnsure) as caught:
        append(store, "a", 1, CLOSE)
    network.mend()
    wait_until_back(store)
    for _ in range(200):
        if is_kept(store.read("a", caught.value.expected), caught.value.contents):
            break
        time.sleep(0.01)
    else:
        raise AssertionError("the server had it and does not keep it")
    with pytest.raises(Conflict):
        append(store, "a", 1, CLOSE)


@pytest.mark.parametrize("verdict", ["cut", "pass then cut"])
def test_where_the_connection_is_back_at_once_a_record_is_kept_once_and_told_as_kept(
    pg_server: Server, network: Network, login: str, near: PostgresStore, verdict: str
) -> None:
    with open_postgres(pg_server.address(login, network.port), patience=10) as store:
        append(store, "a", 0, TICK)
        cuts = []

        def cut_once(towards: bool, chunk: bytes) -> str:
            if cuts or not is_append(towards, chunk):
                return "pass"
            cuts.append(chunk)
            threading.Timer(0.3, network.mend).start()
            return verdict

        network.watch = cut_once
        written = append(store, "a", 1, TICK, CLOSE)
        assert cuts
        assert near.read("a", 1) == written
        assert not store.has_news()
        assert near.read_last() == 3


@pytest.mark.thorough
def test_a_connection_that_goes_again_before_the_answer_is_known_leaves_it_open(
    pg_server: Server, network: Network, login: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_postgres(pg_server.address(login, network.port), patience=10) as store:
        append(store, "a", 0, TICK)
        cuts = []

        def cut_once(towards: bool, chunk: bytes) -> str:
            if cuts or not is_append(towards, chunk):
                return "pass"
            cuts.append(chunk)
            # Not before the server has done it, so that what is sent again meets it.
            threading.Timer(0.3, network.mend).start()
            return "pass then cut"

        def lose(prep: str, after: int = 0) -> tuple[()]:
            raise StoreLost("gone again")

        network.watch = cut_once
        monkeypatch.setattr(store, "read", lose)
        with pytest.raises(StoreUnsure):
            append(store, "a", 1, CLOSE)


@pytest.mark.thorough
def test_another_devices_record_in_that_moment_is_a_conflict_and_not_taken_for_ones_own(
    pg_server: Server, network: Network, login: str, near: PostgresStore
) -> None:
    with open_postgres(pg_server.address(login, network.port), patience=10) as store:

        def let_the_other_in(towards: bool, chunk: bytes) -> str:
            if not is_append(towards, chunk):
                return "pass"
            near.append("a", 0, [TICK], attribute("2031-05-04T03:12:00Z", "CD", "other"))
            threading.Timer(0.1, network.mend).start()
            return "cut"

        network.watch = let_the_other_in
        with pytest.raises(Conflict):
            append(store, "a", 0, TICK)
        assert [record.who for record in store.read("a")] == ["CD"]


@pytest.mark.thorough
def test_a_server_that_falls_silent_is_taken_for_lost_and_holds_nobody_up_for_long(
    store: PostgresStore, network: Network, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store_module, "QUICKLY", 0.2)
    network.watch = lambda _towards, _chunk: "silence"
    with pytest.raises(StoreLost):
        store.read("a")
    with pytest.raises(StoreLost):
        store.has_news()
    network.mend()
    wait_until_back(store)
    assert len(store.read("a")) == 1


def test_a_note_alone_brings_news_and_polling_alone_does_too(
    pg_server: Server, login: str, near: PostgresStore
) -> None:
    with (
        open_postgres(pg_server.address(login), poll_every=3600) as told,
        open_postgres(pg_server.address(login), poll_every=0.05) as polling,
    ):
        polling._server.ask("UNLISTEN *", within=8)
        append(near, "a", 0, TICK)
        for store in (told, polling):
            for _ in range(500):
                if store.has_news():
                    break
                time.sleep(0.01)
            else:
                raise AssertionError("no news came")
            assert not store.has_news()
        append(told, "a", 1, TICK)
        time.sleep(0.1)
        assert not told.has_news()


@pytest.mark.thorough
def test_a_note_that_somebody_else_sent_is_no_news(pg_server: Server, login: str) -> None:
    with open_postgres(pg_server.address(login), poll_every=3600) as store, pg_server.admin() as admin:
        ward = store._server.ask("SELECT prepkit.my_ward()", within=8)[0][0]
        admin.execute("SELECT pg_notify(%s, %s)", [f"prepkit_{ward}", "999; DROP"])
        time.sleep(0.1)
        assert not store.has_news()


@pytest.mark.thorough
def test_a_store_closed_while_it_is_away_stays_closed(store: PostgresStore, network: Network) -> None:
    network.cut()
    wait_until_lost(store)
    store.close()
    names = [thread for thread in threading.enumerate() if thread.name == "prepkit-reconnect"]
    for thread in names:
        thread.join(10)
        assert not thread.is_alive()


@pytest.mark.thorough
def test_a_backend_ended_by_the_servers_keeper_is_a_lost_connection(
    store: PostgresStore, pg_server: Server, login: str
) -> None:
    with pg_server.admin() as admin:
        admin.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = %s", [login])
    wait_until_lost(store)
    wait_until_back(store)
    append(store, "a", 1, TICK)


def test_a_backend_that_says_it_is_ended_is_not_taken_for_one_that_did_nothing(
    store: PostgresStore, near: PostgresStore, pg_server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It may have said so after it had committed: the record is sent again under its number, and kept once."""
    store._patience = 10
    real = store._server.ask
    told = []

    def end_after(sql: str, values: object = (), *, within: float) -> object:
        rows = real(sql, values, within=within)  # type: ignore[arg-type]
        if "append" in sql and not told:
            told.append(sql)
            number = real("SELECT pg_backend_pid()", within=8)[0][0]
            with pg_server.admin() as admin:
                admin.execute("SELECT pg_terminate_backend(%s)", [number])
            while True:
                real(
                    "SELECT pg_sleep(0.01)", within=8
                )  # until the server's word that it ends comes instead of an answer
        return rows

    monkeypatch.setattr(store._server, "ask", end_after)
    written = append(store, "a", 1, CLOSE)
    assert near.read("a", 1) == written
    assert near.read_last() == 2


@pytest.mark.thorough
def test_an_immediate_shutdown_between_two_ticks_loses_nothing(
    store: PostgresStore, network: Network, pg_server: Server
) -> None:
    written = append(store, "a", 1, TICK)
    pg_server.stop(signal.SIGQUIT)
    wait_until_lost(store)
    with pytest.raises(StoreLost):
        append(store, "a", 2, TICK)
    pg_server.start()
    wait_until_back(store)
    assert store.read("a", 1) == written
    append(store, "a", 2, TICK)
    assert check_store(store) == ()


@pytest.mark.thorough
def test_a_statement_that_hangs_in_the_server_is_sent_again_and_carried_out_once(
    pg_server: Server, store: PostgresStore, near: PostgresStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The part of the server that has it stops still, and goes on after the device has sent it again."""
    monkeypatch.setattr(store_module, "QUICKLY", 0.3)
    store._patience = 10
    number = store._server.ask("SELECT pg_backend_pid()", within=8)[0][0]
    os.kill(number, signal.SIGSTOP)
    try:
        written = append(store, "a", 1, CLOSE)
    finally:
        os.kill(number, signal.SIGCONT)
    while near._server.ask("SELECT count(*) FROM pg_stat_activity WHERE pid = %s", [number], within=8) != [(0,)]:
        time.sleep(0.01)
    assert near.read("a", 1) == written
    assert near.read_last() == 2
    assert check_store(near) == ()
