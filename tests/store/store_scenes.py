"""What the tests of the SQLite store share: a store with something in it, and other programs beside it."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from contract import CLOSE, TICK, append

from prepkit.errors import StoreError
from prepkit.store import open_sqlite


def fill(path: Path) -> None:
    """Four records of two preparations."""
    with open_sqlite(path) as store:
        append(store, "a", 0, TICK, TICK)
        append(store, "b", 0, TICK)
        append(store, "a", 2, CLOSE)


@contextmanager
def plain_client(path: Path) -> Iterator[sqlite3.Connection]:
    """Any other program that has the file open: no settings of ours."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


def drop_triggers(connection: sqlite3.Connection) -> None:
    connection.execute("DROP TRIGGER record_no_update")
    connection.execute("DROP TRIGGER record_no_delete")


def mode_of(path: Path) -> int:
    return path.stat().st_mode & 0o777


@contextmanager
def umask(mask: int) -> Iterator[None]:
    before = os.umask(mask)
    try:
        yield
    finally:
        os.umask(before)


def read_opening_error(path: Path, kind: type[StoreError]) -> str:
    """The sentence with which opening fails; every such sentence names the file."""
    with pytest.raises(kind) as caught:
        open_sqlite(path, wait_ms=20)
    assert type(caught.value) is kind
    assert f'"{path}"' in str(caught.value)
    assert "\n" not in str(caught.value)
    return str(caught.value)
