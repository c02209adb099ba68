"""The store on a server: the contract that every store keeps, and what is its own."""

from collections.abc import Callable

import pytest
from contract import OpenStore, StoreContract
from pg_server import Server

from prepkit.store.postgres.store import PostgresStore, open_postgres


def open_at_once(address: str) -> PostgresStore:
    """A store that asks the server each time it is asked for news, so that a test need not wait for a note."""
    return open_postgres(address, poll_every=0)


class TestPostgres(StoreContract):
    @pytest.fixture
    def open_store(self, pg_server: Server) -> OpenStore:
        address = pg_server.make_address()
        return lambda: open_at_once(address)

    @pytest.fixture
    def fresh(self, pg_server: Server) -> Callable[[], OpenStore]:
        def make() -> OpenStore:
            address = pg_server.make_address()
            return lambda: open_at_once(address)

        return make
