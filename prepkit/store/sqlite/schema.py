"""The SQLite file's tables, and how a connection is made safe before anything is read from it."""

import sqlite3
from pathlib import Path

from prepkit.errors import StoreBusy, StoreError, StoreFailed, StoreForeign, StoreNewer
from prepkit.store.sqlite.derived import DERIVED, catch_up, rebuild_stream_index
from prepkit.store.sqlite.driver import report_damaged, transaction

APPLICATION_ID = 0x70726570
"""Marks the file as ours in its header: the letters "prep"."""
FORMAT = 2
"""The file's format, kept as SQLite's user_version. No other is read: format 1 was a draft's, never released."""
COLUMNS = 'position, prep, seq, kind, form, at, who, verified, "where", body, "before", hash'
"""In the order of the fields of `Record`."""

_LEAST_SQLITE = (3, 37, 0)  # the first with STRICT tables
_TABLE = """CREATE TABLE record (
    position INTEGER PRIMARY KEY AUTOINCREMENT,
    prep TEXT NOT NULL,
    seq INTEGER NOT NULL,
    kind TEXT NOT NULL,
    form INTEGER NOT NULL,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    verified INTEGER NOT NULL CHECK (verified IN (0, 1)),
    "where" TEXT NOT NULL,
    body TEXT NOT NULL,
    "before" TEXT NOT NULL,
    hash TEXT NOT NULL,
    UNIQUE (prep, seq)
) STRICT"""
# AUTOINCREMENT keeps the last position given out, so that a record removed from the very end is missed.

_AROUND = {
    **DERIVED,
    "record_no_update": "CREATE TRIGGER record_no_update BEFORE UPDATE ON record"
    " BEGIN SELECT RAISE(ABORT, 'a record is never changed'); END",
    "record_no_delete": "CREATE TRIGGER record_no_delete BEFORE DELETE ON record"
    " BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END",
}
_SETTINGS = (
    # Without it INSERT OR REPLACE deletes a record without asking the trigger. Holds for this connection only.
    "PRAGMA recursive_triggers = ON",
    # Also syncs the folder after a commit, so that the journal is gone for good.
    "PRAGMA synchronous = EXTRA",
    # On one operating system a plain sync leaves the last writes in the disk's own cache.
    "PRAGMA fullfsync = ON",
    # Others may have changed the file: let it call no harmful function, and check cells on reading.
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
)


def prepare_connection(connection: sqlite3.Connection, path: Path) -> bool:
    """Make the connection safe and the file a store; return whether the file was empty before.

    Raises StoreForeign, StoreNewer or StoreDamaged where it is not a store of ours, and then leaves it alone.
    """
    if sqlite3.sqlite_version_info < _LEAST_SQLITE:
        raise StoreFailed(f'"{path}" needs SQLite 3.37 or later, and this Python has {sqlite3.sqlite_version}')
    for setting in _SETTINGS:
        connection.execute(setting)
    with transaction(connection, "BEGIN"):
        _read_format(connection, path)  # before anything is changed: it may not be a store of ours
    _settle_journal(connection, path)
    with transaction(connection, "BEGIN IMMEDIATE"):
        # Asked again under the lock: two programs may make the same store at the same moment, and one of them is first.
        form = _read_format(connection, path)
        if form == _NEW:
            connection.execute(_TABLE)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        mended = _mend(connection, path)
        # An index that was removed is rebuilt in the transaction that restores its table, or not at all.
        if mended & {"head", "record_added"}:
            rebuild_stream_index(connection)
        if form == _NEW:
            connection.execute(f"PRAGMA user_version = {FORMAT}")
    catch_up(connection)
    _try_writing(connection)
    return form == _NEW


def _try_writing(connection: sqlite3.Connection) -> None:
    """Begin to write, then roll back: a store that refuses has to say so now and not at the first tick.

    Nobody else sees what was rolled back as news.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute(f"PRAGMA user_version = {FORMAT}")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def _read_format(connection: sqlite3.Connection, path: Path) -> int:
    """Read which format the file has: this one, or `_NEW` where it is empty."""
    owner, form, parts, page = (_read_number(connection, sql) for sql in _IDENTITY)
    if owner == APPLICATION_ID and form == FORMAT:
        return form
    if owner == APPLICATION_ID:
        raise _report_format(path, form)
    # Neither empty nor one empty page: the rest of something that is not ours to overwrite.
    if owner or form or parts or path.stat().st_size not in {0, page}:
        raise StoreForeign(f'"{path}" is a database of another program; name another file, or move this one away')
    return _NEW


_NEW = 0
_DRAFT = 1
_IDENTITY = ("PRAGMA application_id", "PRAGMA user_version", "SELECT count(*) FROM sqlite_master", "PRAGMA page_size")


def _read_number(connection: sqlite3.Connection, sql: str) -> int:
    return int(connection.execute(sql).fetchone()[0])


def _report_format(path: Path, form: int) -> StoreError:
    if form > FORMAT:
        words = f"expected format {FORMAT}, got {form}; install the later prepkit, or name another file"
        return StoreNewer(f'"{path}" was made by a later prepkit: {words}')
    if form == _DRAFT:
        words = "it was never released, and is not read any more; name another file"
        return StoreForeign(f'"{path}" was made by a draft of prepkit, in format {_DRAFT}: {words}')
    return report_damaged(path, f"expected format {FORMAT}, got {form}")


def _settle_journal(connection: sqlite3.Connection, path: Path) -> None:
    """Take a file that another program put into mode WAL back to mode DELETE."""
    if _read_mode(connection) != "delete":
        connection.execute("PRAGMA journal_mode = DELETE")
        check_journal(connection, path)


def check_journal(connection: sqlite3.Connection, path: Path) -> None:
    """Raise where the next commit would not go into the file itself.

    In mode WAL it goes into a second file. If that is lost (left out of a copy, tidied away), what was shown as done is
    gone while the chain is whole, and nobody can tell afterwards. SQLite up to 3.51.2 can also damage such a file when
    two connections use it. So there is one mode, DELETE, on every machine: a commit is in the one file before it is
    shown. See docs/decisions/one-journal-mode.md.
    """
    if _read_mode(connection) != "delete":
        raise StoreBusy(
            f'"{path}" was put into a mode by another program in which what is recorded can be lost (WAL);'
            " nothing was written: close that program, then start prepkit again"
        )


def _read_mode(connection: sqlite3.Connection) -> str:
    return str(connection.execute("PRAGMA journal_mode").fetchone()[0])


def _mend(connection: sqlite3.Connection, path: Path) -> frozenset[str]:
    """Restore what belongs around the records if it was changed, removed or never made; return what was restored.

    The chain checks what the triggers guard.
    """
    rows = connection.execute(
        "SELECT name, type, sql FROM sqlite_master WHERE tbl_name IN ('record', 'head', 'gist') AND sql IS NOT NULL"
    ).fetchall()
    found = {str(name): (str(sort), str(sql)) for name, sort, sql in rows}
    if found.pop("record", None) != ("table", _TABLE):
        raise report_damaged(path, 'its table "record" is missing or was altered')
    for name, (sort, sql) in found.items():
        if _AROUND.get(name) != sql:
            # IF EXISTS: an index goes with its table.
            connection.execute('DROP {} IF EXISTS "{}"'.format(sort, name.replace('"', '""')))
    left = {str(name) for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    missing = [name for name in _AROUND if name not in left]
    for name in missing:
        connection.execute(_AROUND[name])
    return frozenset(missing)
