"""The store in one SQLite file: opened, appended to, read, copied.

A store belongs to the thread that opened it: SQLite's driver refuses any other, and `has_news` means "another
connection", which a connection shared between threads would blur. A thread that needs the store opens its own. Two
stores on the same file, in one program or in two, see each other's records and wait for each other.
"""

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from types import TracebackType
from typing import Self

from prepkit.attribution import Attribution
from prepkit.errors import Conflict, StoreDamaged, StoreUnfit
from prepkit.store.chain import START, check_fields, compute_hash, compute_records
from prepkit.store.derived import is_text
from prepkit.store.records import Draft, Record, check_fit
from prepkit.store.sqlite.derived import SqliteDerived
from prepkit.store.sqlite.driver import report_damaged, report_moved, transaction, translate
from prepkit.store.sqlite.files import check_file, identify_file, make_file, make_new_file, sync_file
from prepkit.store.sqlite.schema import COLUMNS, check_journal, prepare_connection

_LAST_POSITION = 2**52  # RFC 8785 writes whole numbers exactly up to twice this
_BEFORE_ALL = -(2**63)
_PAGE = 500


def open_sqlite(path: Path, *, wait_ms: int = 5000) -> "SqliteStore":
    """Open the store in the file at `path`, making the file and its folders where there are none.

    `wait_ms` is how long to wait, in milliseconds, while somebody else has the store locked. Raises a StoreError, with
    one sentence for a person, where there is no store.
    """
    if identify_file(path) is None:
        make_file(path)
    check_file(path)
    with translate(path):
        connection = sqlite3.connect(_name_uri(path), uri=True, timeout=wait_ms / 1000, isolation_level=None)
        try:
            connection.text_factory = _read_text
            is_new = prepare_connection(connection, path)
            return SqliteStore(path, connection, is_new=is_new)
        except BaseException:
            connection.close()
            raise


class SqliteStore(SqliteDerived):
    """One connection to a store in a SQLite file; made by `open_sqlite`."""

    name: str
    is_new: bool
    """Whether the file was empty or missing when it was opened: worth saying, in case the wrong file was named."""

    def __init__(self, path: Path, connection: sqlite3.Connection, *, is_new: bool) -> None:
        super().__init__(path, connection)
        self.name = str(path)
        self.is_new = is_new
        self._file = identify_file(path)
        self._seen = self._read_change()

    def append(
        self, prep: str, expected_seq: int, drafts: Sequence[Draft], attribution: Attribution
    ) -> tuple[Record, ...]:
        """See `Store.append`."""
        problems = check_fit(prep, drafts, attribution)
        if problems:
            raise StoreUnfit(f'"{self.path}" cannot keep this, nothing was written: {"; ".join(problems)}')
        self._check_in_place()
        with translate(self.path), transaction(self._connection, "BEGIN IMMEDIATE"):
            # Again under the lock: a restore may have moved the file aside while we waited for our turn.
            self._check_in_place()
            check_journal(self._connection, self.path)
            found = self._read_seq(prep)
            if found != expected_seq:
                raise Conflict(prep, expected_seq, found)
            position, before = self._read_end()
            records = compute_records(drafts, attribution, prep=prep, seq=found, position=position, before=before)
            self._insert(records)
        return records

    def import_records(self, records: Sequence[Record]) -> None:
        """See `Store.import_records`."""
        if not records:
            return
        self._check_in_place()
        with translate(self.path), transaction(self._connection, "BEGIN IMMEDIATE"):
            self._check_in_place()
            follows = [
                *((each.position - 1, each.before) for each in records),
                (records[-1].position, records[-1].hash),
            ]
            ends = [self._read_end(), *((each.position, each.hash) for each in records)]
            if follows != ends or any(compute_hash(each) != each.hash for each in records):
                raise StoreUnfit(
                    f'"{self.path}" takes only records that follow the last one there, as they were written'
                )
            self._insert(records)

    def fill(self, records: Iterable[Record], last: int) -> None:
        """Put records into an empty store exactly as they are, faults included: for a copy of a store on a server.

        `last` is the last position that the other store ever gave out.
        """
        with translate(self.path), transaction(self._connection, "BEGIN IMMEDIATE"):
            self._insert(records)
            # An empty store has no counter yet, or one that is too low.
            self._connection.execute("DELETE FROM sqlite_sequence WHERE name = 'record' AND seq < ?", (last,))
            sql = "INSERT INTO sqlite_sequence SELECT 'record', ? WHERE NOT EXISTS (SELECT * FROM sqlite_sequence)"
            self._connection.execute(sql, (last,))

    def read(self, prep: str, after: int = 0, most: int | None = None) -> tuple[Record, ...]:
        """See `Store.read`."""
        limit = -1 if most is None else most
        records = tuple(self._select("prep = ? AND seq > ? ORDER BY seq LIMIT ?", prep, after, limit))
        for record in records:
            self._check_form(record)
        return records

    def read_all(self) -> Iterator[Record]:
        """See `Store.read_all`. Read in pages, so that a slow reader keeps nobody from writing.

        In a damaged file a position may stand where it does not belong, so that a later page comes before it. Such
        records are yielded, for the check to name, and then reading ends instead of going on for ever.
        """
        last = _BEFORE_ALL
        while page := self._select("position > ? ORDER BY position LIMIT ?", last, _PAGE):
            yield from page
            highest = max(record.position for record in page)
            if highest <= last:
                return
            last = highest

    def read_last(self) -> int:
        """See `Store.read_last`."""
        with translate(self.path):
            return self._read_end()[0]

    def check_medium(self) -> tuple[str, ...]:
        """See `Store.check_medium`: SQLite's own check of its pages, and of indexes against rows."""
        try:
            with translate(self.path):
                rows = self._connection.execute("PRAGMA integrity_check(5)").fetchall()
        except StoreDamaged as error:
            return (str(error),)
        return tuple(f"the file itself is damaged: {_make_line(found)}" for (found,) in rows if found != "ok")

    def has_news(self) -> bool:
        """See `Store.has_news`."""
        with translate(self.path):
            seen, self._seen = self._seen, self._read_change()
        return seen != self._seen

    def write_copy(self, target: Path) -> None:
        """See `Store.write_copy`. SQLite copies page by page, under a read lock of its own."""
        make_new_file(target)
        try:
            with translate(target), closing(sqlite3.connect(_name_uri(target), uri=True, isolation_level=None)) as copy:
                self._connection.backup(copy)
                # One file by itself, whatever mode another program put the store into.
                copy.execute("PRAGMA journal_mode = DELETE")
            sync_file(target)
        except BaseException:
            target.unlink(missing_ok=True)
            raise

    def close(self) -> None:
        """See `Store.close`."""
        with translate(self.path):
            self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _select(self, condition: str, *values: str | int) -> list[Record]:
        sql = f"SELECT {COLUMNS} FROM record WHERE {condition}"  # noqa: S608  conditions are this module's own words
        with translate(self.path):
            return [Record(*row) for row in self._connection.execute(sql, values)]

    def _insert(self, records: Iterable[Record]) -> None:
        marks = ", ".join("?" * len(COLUMNS.split(",")))
        self._connection.executemany(
            f"INSERT INTO record ({COLUMNS}) VALUES ({marks})",  # noqa: S608  columns and question marks
            (
                (
                    r.position,
                    r.prep,
                    r.seq,
                    r.kind,
                    r.form,
                    r.at,
                    r.who,
                    r.verified,
                    r.where,
                    r.body,
                    r.before,
                    r.hash,
                )
                for r in records
            ),
        )

    def _read_seq(self, prep: str) -> int:
        sql = "SELECT seq FROM record WHERE prep = ? ORDER BY seq DESC LIMIT 1"
        row = self._connection.execute(sql, (prep,)).fetchone()
        found: object = row[0] if row else 0
        if type(found) is not int:
            raise report_damaged(self.path, f"a record of preparation {prep!a} has no number")
        return found

    def _read_end(self) -> tuple[int, str]:
        """Read the last position given out and the last hash; a gap left at the end is never closed again."""
        row = self._connection.execute("SELECT position, hash FROM record ORDER BY position DESC LIMIT 1").fetchone()
        position, last_hash = row or (0, START)
        if type(last_hash) is not str or position > _LAST_POSITION:
            raise report_damaged(self.path, "its last record was changed")
        counted = self._connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'record'").fetchone()
        is_ahead = counted and type(counted[0]) is int and position < counted[0] <= _LAST_POSITION
        return (counted[0] if is_ahead else position), last_hash

    def _read_change(self) -> int:
        return int(self._connection.execute("PRAGMA data_version").fetchone()[0])

    def _check_in_place(self) -> None:
        """Raise where the file no longer has its name: anything written to it then would be lost without a word."""
        if identify_file(self.path) != self._file:
            raise report_moved(self.path)

    def _check_form(self, record: Record) -> None:
        """Raise for a record that has not even the right types, before anybody relies on it."""
        odd = check_fields(record)
        texts = (record.prep, record.kind, record.at, record.who, record.where, record.body)
        if odd or not all(is_text(text) for text in texts):
            raise report_damaged(self.path, f"record {record.position!a} was changed")


def _name_uri(path: Path) -> str:
    """The file as a URI with mode=rw: SQLite itself must never make the file, because it would not make it private."""
    return f"{path.absolute().as_uri()}?mode=rw"


def _read_text(raw: bytes) -> str:
    """Decode text. Bytes that are not UTF-8 can only come from outside; they reach the check without an error here."""
    return raw.decode("utf-8", "surrogateescape")


def _make_line(found: object) -> str:
    """SQLite's words about damage, on one line and without unprintable parts of the damage itself."""
    return "".join(char if char.isprintable() else " " for char in str(found))
