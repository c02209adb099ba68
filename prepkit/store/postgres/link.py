"""The connection to the server: asked, lost, and made again in the background so that no screen waits for it.

May import: psycopg and `driver` of this package, `prepkit.errors`.
"""

import os
import socket
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, TypeAlias

import psycopg

from prepkit.errors import StoreError, StoreFailed
from prepkit.store.postgres.driver import report_lost, report_no_entry, translate

Connection: TypeAlias = psycopg.Connection[tuple[Any, ...]]

_TRY_EVERY = 1.0
"""Seconds between two tries to reach the server again."""


class Link:
    """One connection that outlives the server's being away. It belongs to one thread; a second one only reconnects."""

    def __init__(self, conninfo: str, name: str, settle: Callable[[Connection, str], None]) -> None:
        """Connect; `settle` looks at each new connection and makes it ready, or raises a StoreError.

        Raises StoreUnreachable where no server answers.
        """
        self.name = name
        self._conninfo = conninfo
        self._settle = settle
        self._closed = threading.Event()
        self._guard = threading.Lock()
        self._back = threading.Event()
        self._fresh: Connection | None = None
        self._connection: Connection | None = self._connect()
        self.times_lost = 0
        """How often the connection went; whoever remembers the number sees that it went since."""

    def ask(self, sql: str, values: Sequence[object] = (), *, within: float) -> list[tuple[Any, ...]]:
        """Run one statement, which is a transaction of its own; its rows.

        Raises StoreLost where the connection goes meanwhile, or where the server takes longer than `within` seconds.
        """
        connection = self._take()
        try:
            with _cut_after(connection, within):
                cursor = connection.execute(sql.encode(), values)
                return cursor.fetchall() if cursor.description else []
        except (psycopg.Error, UnicodeEncodeError) as error:
            self._note(connection)
            with translate(self.name):
                raise error from error.__cause__

    def hear(self) -> list[tuple[int, str]]:
        """What the server has told so far, without asking it: for each note, who sent it, and what. Never waits."""
        connection = self._take()
        try:
            return [(note.pid, note.payload) for note in connection.notifies(timeout=0)]
        except psycopg.Error as error:
            self._note(connection)
            with translate(self.name):
                raise error from None

    @property
    def own_number(self) -> int:
        """The number by which the server names this connection; 0 while there is none."""
        return self._connection.info.backend_pid if self._connection is not None else 0

    def wait(self, seconds: float) -> bool:
        """Wait for a lost connection to come back, so long at most; True where it has."""
        return self._connection is not None or self._back.wait(seconds)

    def close(self) -> None:
        """Let go of it for good."""
        self._closed.set()
        with self._guard:
            fresh, self._fresh = self._fresh, None
        for connection in (fresh, self._connection):
            if connection is not None:
                connection.close()

    def _take(self) -> Connection:
        if self._closed.is_set():
            raise StoreFailed(f'"{self.name}" cannot be used from here: it was closed')
        if self._connection is None:
            with self._guard:
                self._connection, self._fresh = self._fresh, None
        if self._connection is None:
            raise report_lost(self.name)
        return self._connection

    def _note(self, connection: Connection) -> None:
        """After an error: where the connection is gone, begin to make another one."""
        if not connection.broken and not connection.closed:
            return
        connection.close()
        self._connection = None
        self.times_lost += 1
        self._back.clear()
        threading.Thread(target=self._reconnect, name="prepkit-reconnect", daemon=True).start()

    def _reconnect(self) -> None:
        while not self._closed.is_set():
            with suppress(StoreError):
                connection = self._connect()
                with self._guard:
                    if self._closed.is_set():
                        connection.close()
                        return
                    self._fresh = connection
                self._back.set()
                return
            self._closed.wait(_TRY_EVERY)

    def _connect(self) -> Connection:
        try:
            connection = psycopg.Connection.connect(self._conninfo, autocommit=True)
        except psycopg.Error as error:
            raise report_no_entry(self.name, error) from None
        try:
            with translate(self.name):
                self._settle(connection, self.name)
        except BaseException:
            connection.close()
            raise
        return connection


@contextmanager
def _cut_after(connection: Connection, seconds: float) -> Iterator[None]:
    """Cut the connection where what is done inside takes longer: a server that hangs is as good as one that is gone."""
    line = socket.socket(fileno=os.dup(connection.fileno()))
    timer = threading.Timer(seconds, _cut, [line])
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        line.close()


def _cut(line: socket.socket) -> None:
    with suppress(OSError):  # it was closed meanwhile: the answer came at the last moment
        line.shutdown(socket.SHUT_RDWR)
