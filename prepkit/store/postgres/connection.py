"""The connection to a server: its address read, made safe, asked, and remade in the background when it is lost.

A screen never waits for a lost connection, and the password in an address is never in a message.
"""

import os
import re
import socket
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, TypeAlias

import psycopg
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from prepkit.errors import StoreError, StoreFailed, StoreForeign, StoreNewer, StoreReadOnly, StoreUnreachable
from prepkit.store.postgres.driver import is_lost, report_lost, report_no_entry, translate

_SCHEMES = ("postgresql://", "postgres://")
# Keeps a dead network from holding up a screen for long; an address may override it. All in seconds but the last.
_PATIENCE = {
    "connect_timeout": "3",
    "keepalives_idle": "5",
    "keepalives_interval": "2",
    "keepalives_count": "3",
    "tcp_user_timeout": "8000",
    "application_name": "prepkit",
    "client_encoding": "UTF8",
}


def read_address(address: str) -> tuple[str, str]:
    """Read an address like "postgresql://host/database" into what the driver takes, and a name without the password.

    Raises StoreUnreachable where it is not an address. The driver's own words may quote a password, so they are not
    passed on.
    """
    try:
        given = conninfo_to_dict(address) if address.startswith(_SCHEMES) else None
    except psycopg.Error:
        given = None
    if given is None or _is_torn(given):
        words = "the address of the store cannot be read: expected postgresql://LOGIN@HOST:PORT/DATABASE"
        raise StoreUnreachable(f"{words}, with %2F for / and %40 for @ in a password") from None
    place = given.get("host") or given.get("hostaddr") or given.get("service") or "this machine"
    port, database = given.get("port"), given.get("dbname")
    name = f"{place}{f':{port}' if port else ''}{f'/{database}' if database else ''}"
    return make_conninfo(address, **{key: value for key, value in _PATIENCE.items() if key not in given}), name


def _is_torn(given: dict[str, Any]) -> bool:
    """Whether a "/" or "@" in a password split the address: then the rest of the password is in the name."""
    seen = (given.get("host"), given.get("port"), given.get("dbname"))
    return any("@" in (part or "") for part in seen) or not re.fullmatch(r"[\d,]*", given.get("port") or "")


Connection: TypeAlias = psycopg.Connection[tuple[Any, ...]]

_TRY_EVERY = 1.0
"""Seconds between two attempts to reach the server again."""


class ServerConnection:
    """A connection that outlives an absent server. It belongs to one thread; a second thread only reconnects."""

    def __init__(self, conninfo: str, name: str, prepare: Callable[[Connection, str], None]) -> None:
        """Connect. `prepare` checks each new connection and makes it ready, or raises a StoreError.

        Raises StoreUnreachable where no server answers.
        """
        self.name = name
        self._conninfo = conninfo
        self._prepare = prepare
        self._closed = threading.Event()
        self._guard = threading.Lock()
        self._back = threading.Event()
        self._fresh: Connection | None = None
        self._connection: Connection | None = self._connect()
        self.times_lost = 0
        """How often the connection was lost; whoever remembers the number can tell that it was lost since."""

    def ask(self, sql: str, values: Sequence[object] = (), *, within: float) -> list[tuple[Any, ...]]:
        """Run one statement, which is a transaction of its own; its rows.

        Raises StoreLost where the connection is lost meanwhile, or the server takes longer than `within` seconds.
        """
        connection = self._take()
        try:
            with _cut_after(connection, within):
                cursor = connection.execute(sql.encode(), values)
                return cursor.fetchall() if cursor.description else []
        except (psycopg.Error, UnicodeEncodeError) as error:
            self._note(connection, error)
            with translate(self.name):
                raise error from error.__cause__

    def hear(self) -> list[tuple[int, str]]:
        """The notes that the server has sent so far, each with its sender. Asks nothing and never waits."""
        connection = self._take()
        try:
            return [(note.pid, note.payload) for note in connection.notifies(timeout=0)]
        except psycopg.Error as error:
            self._note(connection, error)
            with translate(self.name):
                raise error from None

    @property
    def own_number(self) -> int:
        """The number by which the server names this connection; 0 while there is none."""
        return self._connection.info.backend_pid if self._connection is not None else 0

    def wait(self, seconds: float) -> bool:
        """Wait for a lost connection to come back, but no longer than this; True if it has."""
        return self._connection is not None or self._back.wait(seconds)

    def close(self) -> None:
        """Close it for good."""
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

    def _note(self, connection: Connection, error: Exception) -> None:
        """After an error: if the connection is gone, or is given up because of it, begin to make another one."""
        is_going = isinstance(error, psycopg.Error) and is_lost(error)
        if not (connection.broken or connection.closed or is_going):
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
                self._prepare(connection, self.name)
        except BaseException:
            connection.close()
            raise
        return connection


@contextmanager
def _cut_after(connection: Connection, seconds: float) -> Iterator[None]:
    """Cut the connection if the body takes longer: a server that hangs is no better than one that is gone."""
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


FORMAT = 1
"""The store's format, as prepkit.format() of setup.sql says it."""

_SETTINGS = (
    "SET default_transaction_isolation = 'read committed'; SET default_transaction_read_only = off;"
    " SET synchronous_commit = on; SET idle_session_timeout = 0; SET row_security = on"
)
_ASKED = """SELECT prepkit.format(), prepkit.my_ward(), pg_is_in_recovery(),
    current_setting('fsync') = 'on' AND current_setting('full_page_writes') = 'on',
    (SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = session_user)
        OR pg_has_role(session_user, 'prepkit_owner', 'MEMBER')"""


def prepare_connection(connection: "Connection", name: str) -> None:
    """Make a new connection safe and let it listen for its ward's records.

    Raises StoreForeign, StoreNewer, StoreReadOnly or StoreFailed where the store cannot be relied on.
    """
    connection.execute(_SETTINGS)
    row = connection.execute(_ASKED).fetchone()
    form, ward, is_standby, is_durable, is_above = row or (None,) * 5
    if form != FORMAT:
        words = f"expected format {FORMAT}, got {form}; install the prepkit that fits it"
        raise StoreNewer(f'"{name}" was set up by another prepkit: {words}')
    if is_above:
        # Such a login would see every ward, and could take the triggers away.
        words = "is opened by a login that may do anything there; log in as a ward's own role"
        raise StoreForeign(f'"{name}" {words}')
    if ward is None:
        raise StoreForeign(f'"{name}" knows no ward for this login; see prepkit store-setup --ward NAME --login ROLE')
    if is_standby:
        raise StoreReadOnly(f'"{name}" is a standby that takes no changes; name the server that does')
    if not is_durable:
        words = "may lose what it was told is kept: set fsync and full_page_writes to on in its postgresql.conf"
        raise StoreFailed(f'"{name}" {words}')
    connection.execute(f"LISTEN prepkit_{int(ward)}".encode())
