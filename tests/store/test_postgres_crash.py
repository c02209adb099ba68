"""Clients killed, the server killed, the network cut, at random moments: nothing acknowledged is lost.

PREPKIT_KILLS says how often, as for the file.
"""

import os
import secrets
import select
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from kills import ENVIRONMENT, WRITER, kill_writers
from pg_cut import Network, run_network
from pg_server import Server

from prepkit.store import check_store, open_store

pytestmark = pytest.mark.thorough

KILLS = int(os.environ.get("PREPKIT_KILLS", "25"))
CRASHES = max(3, KILLS // 5)


def wait_at_random(longest_ms: int) -> None:
    select.select([], [], [], secrets.randbelow(longest_ms * 1000) / 1e6)


@contextmanager
def run_writers(address: str, folder: Path) -> Iterator[Callable[[], set[int]]]:
    """Three writers, two of them at the same preparation; what they were told is kept is read back at their end."""
    told = [folder / f"told-{number}" for number in range(3)]
    writers = []
    for path, prep in zip(told, ("shared", "shared", "own"), strict=True):
        with path.open("wb") as out:
            writers.append(
                subprocess.Popen([sys.executable, str(WRITER), address, prep, "0"], stdout=out, env=ENVIRONMENT)
            )

    def end() -> set[int]:
        assert [writer.poll() for writer in writers] == [None] * 3, "a writer stopped by itself"
        for writer in writers:
            writer.send_signal(signal.SIGKILL)
            writer.wait()
        lines = [line for path in told for line in path.read_bytes().split(b"\n")[:-1]]
        return {int(line) for line in lines if line != b"open"}

    try:
        while any(len(path.read_bytes()) < 10 for path in told):
            wait_at_random(50)
        yield end
    finally:
        for writer in writers:
            writer.kill()
            writer.wait()


def check_kept(address: str, acknowledged: set[int]) -> int:
    with open_store(address) as store:
        kept = [record.position for record in store.read_all()]
        assert acknowledged <= set(kept), f"lost {sorted(acknowledged - set(kept))}"
        assert kept == list(range(1, len(kept) + 1))
        assert check_store(store) == ()
    return len(kept)


def test_a_killed_client_loses_nothing_it_was_told_is_kept_and_holds_nobody_up(pg_server: Server) -> None:
    assert kill_writers(pg_server.make_address(), KILLS) > 0


@pytest.mark.parametrize("how", ["immediate shutdown", "kill"])
def test_a_server_that_crashes_loses_nothing_that_it_acknowledged_and_the_clients_go_on(
    pg_server: Server, tmp_path: Path, how: str
) -> None:
    address = pg_server.make_address()
    with run_writers(address, tmp_path) as end:
        before = 0
        for _ in range(CRASHES):
            wait_at_random(400)
            if how == "kill":
                pg_server.kill()
            else:
                pg_server.stop(signal.SIGQUIT)
            pg_server.start()
            before = wait_for_more(address, before)
        acknowledged = end()
    assert acknowledged
    check_kept(address, acknowledged)


def test_a_network_cut_again_and_again_loses_nothing_and_doubles_nothing(pg_server: Server, tmp_path: Path) -> None:
    login = pg_server.make_ward()
    with run_network(pg_server.port) as network, run_writers(pg_server.address(login, network.port), tmp_path) as end:
        before = 0
        for _ in range(CRASHES):
            wait_at_random(200)
            cut_in_the_middle(network)
            network.mend()
            before = wait_for_more(pg_server.address(login), before)
        acknowledged = end()
    kept = check_kept(pg_server.address(login), acknowledged)
    assert kept >= len(acknowledged)


def cut_in_the_middle(network: Network) -> None:
    """Cut when the next answer of the server's comes by: it has done what the client is not told."""
    seen: list[bytes] = []

    def watch(towards: bool, chunk: bytes) -> str:
        seen.append(chunk)
        return "pass" if towards else "cut"

    network.watch = watch
    while not network.is_down:
        wait_at_random(5)


def wait_for_more(address: str, before: int) -> int:
    """Until the writers have written again, so that each crash meets them at work."""
    with open_store(address) as store:
        while (last := store.read_last()) <= before + 5:
            wait_at_random(20)
    return last
