"""PostgreSQL's own errors in prepkit's words.

The driver's own messages could quote an address, and a password with it, so none of those is passed on.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import psycopg

from prepkit.errors import (
    StoreBusy,
    StoreDamaged,
    StoreError,
    StoreFailed,
    StoreForeign,
    StoreFull,
    StoreLost,
    StoreReadOnly,
    StoreUnfit,
    StoreUnreachable,
)

CONFLICT = "PK001"
"""Raised by prepkit.append; its message is the number of the preparation's last record."""

_NO_WARD = (StoreForeign, "knows no ward for this login; see prepkit store-setup --ward NAME --login ROLE")
_NO_TABLES = (StoreForeign, "has no store of prepkit's that this login may use; see prepkit store-setup")
_BUSY = (StoreBusy, "was kept locked by somebody else for too long; nothing was written, try again")
_FULL = (StoreFull, "has no room left on its disk; nothing was written, make room and try again")
_READ_ONLY = (StoreReadOnly, "takes no changes (a standby, or set to read only); name the server that does")
_DAMAGED = (StoreDamaged, "is damaged; keep the server's files as they are, and tell whoever looks after it")
_UNFIT = (StoreUnfit, "cannot keep a text as long as this one; nothing was written")

_BY_STATE: dict[str, tuple[type[StoreError], str]] = {
    "PK002": _NO_WARD,
    "3F000": _NO_TABLES,  # no such schema
    "42P01": _NO_TABLES,  # no such table
    "42883": _NO_TABLES,  # no such function
    "42501": _NO_TABLES,  # may not
    "55P03": _BUSY,  # waited for a lock for too long
    "57014": _BUSY,  # took longer than the server lets a statement take
    "40001": _BUSY,
    "40P01": _BUSY,
    "53100": _FULL,
    "53200": _BUSY,  # out of memory
    "25006": _READ_ONLY,
    "54000": _UNFIT,
    "XX000": _DAMAGED,
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
}
_LOST_STATES = frozenset({"57P01", "57P02", "57P03", "57P05"})
"""The server ends the connection: shut down, crashed, starting, idle for too long."""


class MovedOn(StoreError):  # noqa: N818  as in prepkit.errors
    """A preparation, or the store, has moved on from where prepkit.append was told it is, to `found`."""

    def __init__(self, found: int) -> None:
        super().__init__(f"moved on to {found}")
        self.found = found


@contextmanager
def translate(name: str) -> Iterator[None]:
    """Turn what psycopg raises into a StoreError about the store called `name`."""
    try:
        yield
    except psycopg.Error as error:
        raise translate_error(name, error) from error
    except UnicodeEncodeError as error:
        raise StoreUnfit(f'"{name}" cannot keep half a character; nothing was written') from error


def translate_error(name: str, error: psycopg.Error) -> StoreError:
    """Choose the StoreError that stands for one error of the driver or the server."""
    if is_lost(error):
        return report_lost(name)
    state = error.sqlstate
    if state is None and isinstance(error, psycopg.DataError):
        return StoreUnfit(f'"{name}" cannot keep a NUL; nothing was written')
    if state == CONFLICT:
        return MovedOn(int(error.diag.message_primary or 0))
    if state in _BY_STATE:
        kind, words = _BY_STATE[state]
        return kind(f'"{name}" {words}')
    said = error.diag.message_primary or type(error).__name__
    return StoreFailed(f'"{name}" could not be read or written ({said}); look at what was recorded before going on')


def is_lost(error: psycopg.Error) -> bool:
    """Whether the connection is gone with this error."""
    if error.sqlstate is None:
        return isinstance(error, psycopg.OperationalError)
    return error.sqlstate in _LOST_STATES or error.sqlstate.startswith("08")


def report_lost(name: str) -> StoreLost:
    """Make the error for a connection that is gone and is being made again."""
    return StoreLost(f'"{name}" cannot be reached: nothing is written until the connection is back')


def report_damaged(name: str, what: str) -> StoreDamaged:
    """Make the error for a store in which `what` is not as it should be."""
    return StoreDamaged(f'"{name}" {_DAMAGED[1]} ({what})')


def report_no_entry(name: str, error: psycopg.Error) -> StoreError:
    """Make the error for a connection that could not be made at all."""
    said = str(error).strip().splitlines()
    # The driver's words are "connection failed: connection to server at HOST, port N failed: REASON"; no password.
    reason = said[-1].rpartition("failed: ")[2].strip() if said else ""
    return StoreUnreachable(f'"{name}" cannot be reached ({reason or "no answer"}); check the address and the network')
