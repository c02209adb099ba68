"""The stream index and the projections in the SQLite file.

Their tables, the trigger that keeps the index current whoever adds a record, and their queries.
"""

import sqlite3
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from prepkit.store.derived import CLOSING, Projection, StreamIndexBuilder, StreamIndexEntry
from prepkit.store.sqlite.driver import transaction, translate

_CLOSING = ", ".join(f"'{kind}'" for kind in sorted(CLOSING))
_INDEX_COLUMNS = "prep, first, last, hash, ended"
DERIVED = {
    "head": """CREATE TABLE head (
    prep TEXT NOT NULL PRIMARY KEY,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL,
    hash TEXT NOT NULL,
    ended INTEGER
) STRICT, WITHOUT ROWID""",
    "gist": """CREATE TABLE gist (
    sort TEXT NOT NULL,
    prep TEXT NOT NULL,
    maker TEXT NOT NULL,
    hash TEXT NOT NULL,
    key TEXT NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (sort, prep)
) STRICT, WITHOUT ROWID""",
    "head_first": "CREATE INDEX head_first ON head (first)",
    "head_open": "CREATE INDEX head_open ON head (first) WHERE ended IS NULL",
    "head_ended": "CREATE INDEX head_ended ON head (ended) WHERE ended IS NOT NULL",
    "gist_key": "CREATE INDEX gist_key ON gist (sort, key)",
    # A trigger, so that whoever adds a record updates the index: an older prepkit with the file open, another program.
    "record_added": "CREATE TRIGGER record_added AFTER INSERT ON record BEGIN"  # noqa: S608  our own words
    " INSERT INTO head (prep, first, last, hash, ended) VALUES (NEW.prep, NEW.position, NEW.position, NEW.hash,"
    f" CASE WHEN NEW.kind IN ({_CLOSING}) THEN NEW.position END)"
    " ON CONFLICT (prep) DO UPDATE SET"
    " last = excluded.last, hash = excluded.hash, ended = coalesce(ended, excluded.ended); END",
}
"""The SQL that makes each part, by name and in this order."""

QUERIES = {
    "open": "SELECT prep FROM head WHERE ended IS NULL ORDER BY first",
    "ended": f"SELECT {_INDEX_COLUMNS} FROM head WHERE ended IS NOT NULL AND ended < ? ORDER BY ended DESC LIMIT ?",  # noqa: S608
    "heads": f"SELECT {_INDEX_COLUMNS} FROM head ORDER BY first",  # noqa: S608  our own words
    "behind": "SELECT head.last IS NOT newest.position OR head.hash IS NOT newest.hash FROM"
    " (SELECT prep, position, hash FROM record ORDER BY position DESC LIMIT 1) AS newest LEFT JOIN head USING (prep)",
    # "+": heads and gists lie in the same order, so both are read in sequence; only the few results are sorted.
    "wanting": "SELECT prep FROM head WHERE NOT EXISTS (SELECT 1 FROM gist"
    " WHERE sort = ? AND prep = head.prep AND maker = ? AND hash = head.hash) ORDER BY +first",
    "all gists": "SELECT prep, gist.hash, key, body FROM gist CROSS JOIN head USING (prep)"
    " WHERE sort = ? AND maker = ? AND gist.hash = head.hash ORDER BY +key, prep",
    "gists": "SELECT prep, gist.hash, key, body FROM gist CROSS JOIN head USING (prep)"
    " WHERE sort = ? AND maker = ? AND gist.hash = head.hash AND key BETWEEN ? AND ?"
    " ORDER BY key, prep",
}
_LAST_OF_ALL = 2**63 - 1
_ABOVE_ALL = b""  # to SQLite, bytes come after any text
_PRIMARY_BITS = 0xFF


class SqliteDerived:
    """The part of a SQLite store that keeps the stream index and the projections."""

    path: Path

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    def read_open(self) -> tuple[str, ...]:
        """See `Store.read_open`."""
        return tuple(str(prep) for (prep,) in self._ask("open"))

    def read_ended(self, most: int, before: int | None = None) -> tuple[StreamIndexEntry, ...]:
        """See `Store.read_ended`."""
        return tuple(
            StreamIndexEntry(*row) for row in self._ask("ended", _LAST_OF_ALL if before is None else before, most)
        )

    def read_stream_index(self) -> tuple[StreamIndexEntry, ...]:
        """See `Store.read_stream_index`."""
        return tuple(StreamIndexEntry(*row) for row in self._ask("heads"))

    def rebuild_stream_index(self) -> None:
        """See `Store.rebuild_stream_index`."""
        with translate(self.path), transaction(self._connection, "BEGIN IMMEDIATE"):
            rebuild_stream_index(self._connection)

    def read_unprojected(self, kind: str, builder: str) -> tuple[str, ...]:
        """See `Store.read_unprojected`."""
        return tuple(str(prep) for (prep,) in self._ask("wanting", kind, builder))

    def read_projections(
        self, kind: str, builder: str, first: str = "", last: str | None = None
    ) -> tuple[Projection, ...]:
        """See `Store.read_projections`."""
        if not first and last is None:
            return tuple(Projection(*row) for row in self._ask("all gists", kind, builder))
        return tuple(
            Projection(*row) for row in self._ask("gists", kind, builder, first, _ABOVE_ALL if last is None else last)
        )

    def write_projections(self, kind: str, builder: str, projections: Iterable[Projection]) -> None:
        """See `Store.write_projections`."""
        with translate(self.path), transaction(self._connection, "BEGIN IMMEDIATE"):
            self._connection.executemany(
                "INSERT OR REPLACE INTO gist (sort, prep, maker, hash, key, body) VALUES (?, ?, ?, ?, ?, ?)",
                (
                    (kind, projection.prep, builder, projection.hash, projection.key, projection.body)
                    for projection in projections
                ),
            )

    def _ask(self, query: str, *values: str | int | bytes) -> list[tuple[Any, ...]]:
        with translate(self.path):
            return self._connection.execute(QUERIES[query], values).fetchall()


def rebuild_stream_index(connection: sqlite3.Connection) -> None:
    """Rebuild the index from the records, inside the caller's transaction."""
    walk = StreamIndexBuilder()
    for position, prep, kind, found in connection.execute("SELECT position, prep, kind, hash FROM record ORDER BY 1"):
        walk.take(position, prep, kind, found)
    connection.execute("DELETE FROM head")
    connection.executemany(
        f"INSERT INTO head ({_INDEX_COLUMNS}) VALUES (?, ?, ?, ?, ?)",  # noqa: S608  our own words
        ((entry.prep, entry.first, entry.last, entry.hash, entry.ended) for entry in walk.entries.values()),
    )


def catch_up(connection: sqlite3.Connection) -> None:
    """Rebuild the index if it does not know the last record: a quick look; `check_store` looks at all of it.

    A damaged file is opened all the same, so that people can read what is left; checking it names the damage.
    """
    try:
        if _is_behind(connection):
            with transaction(connection, "BEGIN IMMEDIATE"):
                rebuild_stream_index(connection)
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode & _PRIMARY_BITS != sqlite3.SQLITE_CORRUPT:
            raise


def _is_behind(connection: sqlite3.Connection) -> bool:
    """Ask in one statement, so that what somebody writes at this moment is in both or in neither."""
    row = connection.execute(QUERIES["behind"]).fetchone()
    return bool(row and row[0])
