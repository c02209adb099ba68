"""SQLite's own errors in prepkit's words, and a transaction that is all or nothing.

The only place that looks at an error code of SQLite.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Literal

from prepkit.errors import (
    StoreBusy,
    StoreDamaged,
    StoreError,
    StoreFailed,
    StoreForeign,
    StoreFull,
    StoreReadOnly,
    StoreUnfit,
    StoreUnreachable,
)

_MOVED = (StoreUnreachable, "has been moved, deleted or replaced while in use; put it back, or start prepkit again")
_DAMAGED = (StoreDamaged, "is damaged; keep the file as it is, and go on with the last good copy of it or a new store")

_EXTENDED: dict[int, tuple[type[StoreError], str]] = {
    sqlite3.SQLITE_READONLY_DBMOVED: _MOVED,
}
_PRIMARY: dict[int, tuple[type[StoreError], str]] = {
    sqlite3.SQLITE_BUSY: (StoreBusy, "was kept locked by somebody else for too long; nothing was written, try again"),
    sqlite3.SQLITE_LOCKED: (StoreBusy, "was kept locked by somebody else for too long; nothing was written, try again"),
    sqlite3.SQLITE_FULL: (StoreFull, "has no room left on its disk; nothing was written, make room and try again"),
    sqlite3.SQLITE_READONLY: (StoreReadOnly, "cannot be written to; allow writing to the file and to its folder"),
    sqlite3.SQLITE_PERM: (StoreReadOnly, "cannot be written to; allow writing to the file and to its folder"),
    sqlite3.SQLITE_CANTOPEN: (StoreUnreachable, "cannot be opened; allow reading and writing the file and its folder"),
    sqlite3.SQLITE_NOTADB: (StoreForeign, "is not a prepkit store; name another file, or move this one away"),
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    # Our statements are fixed and valid, so one that SQLite refuses means that the tables are not ours.
    sqlite3.SQLITE_ERROR: _DAMAGED,
    sqlite3.SQLITE_CONSTRAINT: _DAMAGED,
    sqlite3.SQLITE_MISMATCH: _DAMAGED,
    sqlite3.SQLITE_TOOBIG: (StoreUnfit, "cannot keep a text as long as this one; nothing was written"),
}
_PRIMARY_BITS = 0xFF


@contextmanager
def translate(path: Path) -> Iterator[None]:
    """Turn what SQLite and its driver raise into a StoreError about the store at `path`."""
    try:
        yield
    except sqlite3.Error as error:
        raise translate_error(path, error) from error
    except UnicodeDecodeError as error:
        # The driver quotes a damaged schema in its message, and stumbles over bytes that are not UTF-8.
        raise report_damaged(path, "its schema is no text") from error
    except MemoryError as error:
        # An overwritten length asks for more memory than there is.
        raise report_damaged(path, "a record claims to be longer than memory") from error
    except UnicodeEncodeError as error:
        raise StoreUnfit(f'"{path}" cannot keep half a character; nothing was written') from error


def translate_error(path: Path, error: sqlite3.Error) -> StoreError:
    """Choose the StoreError for one error of the driver."""
    # Errors of the driver itself (a closed connection, another thread) carry no code.
    code = getattr(error, "sqlite_errorcode", None)
    if code is None:
        return StoreFailed(f'"{path}" cannot be used from here: {error}')
    found = _EXTENDED.get(code) or _PRIMARY.get(code & _PRIMARY_BITS)
    if found is None:
        words = f"could not be read or written ({error}); look at what was recorded before going on"
        return StoreFailed(f'"{path}" {words}')
    kind, words = found
    return kind(f'"{path}" {words}')


def report_moved(path: Path) -> StoreError:
    """Make the error for a file that is no longer the one that was opened."""
    kind, words = _MOVED
    return kind(f'"{path}" {words}')


def report_damaged(path: Path, what: str) -> StoreError:
    """Make the error for a store in which `what` is not as it should be."""
    kind, words = _DAMAGED
    return kind(f'"{path}" {words} ({what})')


@contextmanager
def transaction(connection: sqlite3.Connection, begin: Literal["BEGIN", "BEGIN IMMEDIATE"]) -> Iterator[None]:
    """Do all of the body or none of it, and see the store as it was at one moment.

    "BEGIN" is for reading only. A transaction that starts by reading and then writes fails at once, without waiting,
    when another connection wrote in between; "BEGIN IMMEDIATE" takes the write lock first and so waits its turn.
    """
    connection.execute(begin)
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        # Report what went wrong first; if the rollback fails too, whoever opens the store next completes it.
        with suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        raise
