"""The store on a PostgreSQL server: one ward's chain.

A store belongs to the thread that opened it, as a SQLite store does. Two stores of the same ward, on one machine or on
twenty, see each other's records; another ward's records do not exist for them (row-level security, in setup.sql).

What is appended goes to the server as one statement. If the connection is lost in the middle of it, the same statement
is sent again as soon as the server is back, within a second or two: it names the number that it expects, so that it is
carried out once or refused, never twice. If the server stays away, StoreUnsure says so.
"""

import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

from prepkit.attribution import Attribution
from prepkit.errors import Conflict, StoreDamaged, StoreError, StoreLost, StoreUnfit, StoreUnsure
from prepkit.store.chain import compute_hash, compute_records
from prepkit.store.copies import write_file
from prepkit.store.postgres.connection import ServerConnection, prepare_connection, read_address
from prepkit.store.postgres.derived import QUICKLY, SLOWLY, PostgresDerived
from prepkit.store.postgres.driver import MovedOn, report_damaged
from prepkit.store.records import Draft, Record, check_fit, is_kept, list_contents

_COLUMNS = 'position, prep, seq, kind, form, at, who, verified, "where", body, "before", hash'
_APPEND = (
    "SELECT * FROM prepkit.append(%s::text[], %s::bigint[], %s::text[], %s::integer[], %s::text[], %s::text[],"
    " %s::integer[], %s::text[], %s::text[], %s::bigint, %s::text)"
)
# The sum of all lengths needs every row itself; the numbers alone come from the index.
_COUNT_ROWS = "SELECT count(*), max(position) FROM prepkit.record WHERE length(body) >= 0"
_COUNT_INDEX = "SELECT count(*), max(position) FROM prepkit.record WHERE position > 0"
_PAGE = 500

_POLL = 2.0
"""Seconds allowed for the look that is taken in case a note was lost."""


def open_postgres(address: str, *, poll_every: float = 5.0, patience: float = 2.0) -> "PostgresStore":
    """Open a ward's store on a server; the address's login says which ward.

    `poll_every` is how many seconds a device may go without asking the server itself, notes or no notes. `patience` is
    how many to wait for a connection that was lost while something was being saved. Raises a StoreError, with one
    sentence for a person and no password in it, where there is no store.
    """
    conninfo, name = read_address(address)
    return PostgresStore(ServerConnection(conninfo, name, prepare_connection), poll_every=poll_every, patience=patience)


class PostgresStore(PostgresDerived):
    """One connection to one ward's store on a server; made by `open_postgres`."""

    is_new = False
    """A server's store is made by whoever looks after it, and never by opening it."""

    def __init__(self, server: ServerConnection, *, poll_every: float, patience: float) -> None:
        super().__init__(server)
        self.name = server.name
        self._poll_every = poll_every
        self._patience = patience
        self._times_lost = 0
        self._asked = time.monotonic()
        self._others_wrote = False
        self._seen = 0
        """The last position that this store knows of."""
        self._seen = self.read_last()

    def append(
        self, prep: str, expected_seq: int, drafts: Sequence[Draft], attribution: Attribution
    ) -> tuple[Record, ...]:
        """See `Store.append`. Raises StoreUnsure where the connection was lost meanwhile and did not come back soon."""
        problems = check_fit(prep, drafts, attribution)
        if problems:
            raise StoreUnfit(f'"{self.name}" cannot keep this, nothing was written: {"; ".join(problems)}')
        lost_before = self._server.times_lost

        def add() -> tuple[Record, ...]:
            return self._add(prep, expected_seq, drafts, attribution)

        try:
            return add()
        except StoreLost as error:
            if self._server.times_lost == lost_before:
                raise  # it was away already: nothing was sent
            words = "went out of reach while this was being saved: whether it was is said when the connection is back"
            unsure = StoreUnsure(f'"{self.name}" {words}', prep, expected_seq, list_contents(drafts, attribution))
            if not self._server.wait(self._patience):
                raise unsure from error
        try:
            return self._add_again(add, unsure)
        except Conflict:
            raise
        except StoreError as error:
            raise unsure from error  # whatever it says of the second attempt, the first is still unknown

    def import_records(self, records: Sequence[Record]) -> None:
        """See `Store.import_records`. The server makes each hash again, and gets the same from the same position."""
        if not records:
            return
        first = records[0]
        problems = [each.position for each in records if compute_hash(each) != each.hash]
        if problems:
            raise StoreUnfit(f'"{self.name}" takes no record that is not as it was written: record {problems[0]}')
        columns = ("prep", "seq", "kind", "form", "at", "who", "verified", "where", "body")
        values = [[getattr(each, column) for each in records] for column in columns]
        try:
            rows = self._server.ask(_APPEND, [*values, first.position - 1, first.before], within=SLOWLY)
        except MovedOn as error:
            words = "nothing was written: the records do not follow the last one there"
            raise StoreUnfit(f'"{self.name}" {words}') from error
        self._take_note(records)
        if [(given, made) for given, _, made in rows] != [(each.position, each.hash) for each in records]:
            raise report_damaged(self.name, "it makes hashes in another way")

    def read(self, prep: str, after: int = 0, most: int | None = None) -> tuple[Record, ...]:
        """See `Store.read`."""
        return self._select("prep = %s AND seq > %s ORDER BY seq LIMIT %s", prep, after, most)

    def read_all(self) -> Iterator[Record]:
        """See `Store.read_all`. Read in pages, each of them as it is at that moment."""
        last = 0
        while page := self._select("position > %s ORDER BY position LIMIT %s", last, _PAGE):
            yield from page
            last = page[-1].position

    def read_last(self) -> int:
        """See `Store.read_last`."""
        return self._read_end(QUICKLY)

    def check_medium(self) -> tuple[str, ...]:
        """See `Store.check_medium`: every row is read from the table, and counted from its index.

        A page whose checksum is wrong stops the first (where the server keeps checksums).
        """
        try:
            ((in_table, last_in_table),) = self._server.ask(_COUNT_ROWS, within=SLOWLY)
            ((in_index, last_in_index),) = self._server.ask(_COUNT_INDEX, within=SLOWLY)
        except StoreDamaged as error:
            return (str(error),)
        if (in_table, last_in_table) == (in_index, last_in_index):
            return ()
        return (f"the server's table has {in_table} records and its index {in_index}: it is damaged",)

    def has_news(self) -> bool:
        """See `Store.has_news`. A note from the server says when to look; without one the server is asked now and then.

        A note is never more than a hint: anybody who can log in could send one.
        """
        told = any(sender != self._server.own_number for sender, _ in self._server.hear())
        is_due = time.monotonic() - self._asked >= self._poll_every
        if told or is_due or self._times_lost != self._server.times_lost:
            head = self._read_end(_POLL)
            self._asked, self._times_lost = time.monotonic(), self._server.times_lost
            if head < self._seen:
                words = f"went back from record {self._seen} to {head}: an older copy took its place"
                raise report_damaged(self.name, words)
            self._others_wrote = self._others_wrote or head > self._seen
            self._seen = head
        news, self._others_wrote = self._others_wrote, False
        return news

    def write_copy(self, target: Path) -> None:
        """See `Store.write_copy`: the ward's records in a SQLite file, everything up to the moment of asking."""
        last = self.read_last()
        write_file(target, (record for record in self.read_all() if record.position <= last), last)

    def close(self) -> None:
        """See `Store.close`."""
        self._server.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _add_again(self, add: Callable[[], tuple[Record, ...]], unsure: StoreUnsure) -> tuple[Record, ...]:
        """Send again what may have been carried out; if it was, the conflict is with these very records."""
        try:
            return add()
        except Conflict:
            records = self.read(unsure.prep, unsure.expected)
            if not is_kept(records, unsure.contents):
                raise
            kept = records[: len(unsure.contents)]
            self._take_note(kept)
            return kept

    def _add(self, prep: str, expected: int, drafts: Sequence[Draft], attribution: Attribution) -> tuple[Record, ...]:
        count = len(drafts)
        values = [
            [prep] * count,
            [expected + step for step in range(1, count + 1)],
            [draft.kind for draft in drafts],
            [draft.form for draft in drafts],
            [attribution.recorded_at] * count,
            [attribution.who] * count,
            [int(attribution.verified)] * count,
            [attribution.where] * count,
            [draft.body for draft in drafts],
        ]
        if not drafts:
            self._check_expected(prep, expected)
            return ()
        try:
            rows = self._server.ask(_APPEND, [*values, None, None], within=QUICKLY)
        except MovedOn as error:
            raise Conflict(prep, expected, error.found) from None
        position, before, _ = rows[0]
        place = {"prep": prep, "seq": expected, "position": position - 1, "before": before}
        records = compute_records(drafts, attribution, **place)
        if records[-1].hash != rows[-1][2]:
            raise report_damaged(self.name, "it makes hashes in another way")
        self._take_note(records)
        return records

    def _check_expected(self, prep: str, expected: int) -> None:
        rows = self._server.ask("SELECT max(seq) FROM prepkit.record WHERE prep = %s", [prep], within=QUICKLY)
        found = rows[0][0] or 0
        if found != expected:
            raise Conflict(prep, expected, found)

    def _take_note(self, records: Sequence[Record]) -> None:
        """Note our own records; if they do not follow the last one known, others wrote in between."""
        self._others_wrote = self._others_wrote or records[0].position > self._seen + 1
        self._seen = max(self._seen, records[-1].position)

    def _read_end(self, within: float) -> int:
        rows = self._server.ask("SELECT position FROM prepkit.chain_end", within=within)
        if len(rows) != 1:
            raise report_damaged(self.name, "its count of records is missing")
        return int(rows[0][0])

    def _select(self, condition: str, *values: str | int | None) -> tuple[Record, ...]:
        sql = f"SELECT {_COLUMNS} FROM prepkit.record WHERE {condition}"  # noqa: S608  conditions are this module's own
        return tuple(Record(*row) for row in self._server.ask(sql, values, within=QUICKLY))
