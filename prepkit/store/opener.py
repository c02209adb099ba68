"""Opens a store, whatever is behind it: a path is a SQLite file, an address a PostgreSQL server.

What a server needs is loaded only when one is named.
"""

import re
from importlib.util import find_spec
from pathlib import Path
from typing import TypeAlias

from prepkit.errors import StoreUnreachable, say_install
from prepkit.store.interface import Store
from prepkit.store.sqlite.store import open_sqlite

StoreAt: TypeAlias = Path | str
"""Where a store is: a file's path, or a server's address "postgresql://login@host/database"."""

_NOT_INSTALLED = f"this prepkit cannot use a server's store: {say_install('postgres')}"
_NEARLY = re.compile(
    r"\s*(postgres(ql)?:|(host|hostaddr|port|dbname|user|password|passfile|service)\s*=)", re.IGNORECASE
)
"""How a text begins that was meant as a server's address. As a file's name it would show a password, and the file would
hold work that no other device sees."""


def is_address(at: StoreAt) -> bool:
    """Whether this names a server and not a file."""
    return isinstance(at, str) and "://" in at


def open_store(at: StoreAt, *, is_made: bool = True) -> Store:
    """Open a store.

    `is_made` says whether to make a file that is missing; a server's store is never made here. Raises a StoreError,
    with one sentence for a person, where there is no store.
    """
    if is_address(at) or _NEARLY.match(str(at)):
        if find_spec("psycopg") is None:
            raise StoreUnreachable(_NOT_INSTALLED)
        from prepkit.store.postgres.store import open_postgres  # noqa: PLC0415  (91 ms, and the driver may not be installed)

        return open_postgres(str(at))
    path = Path(at)
    if not is_made and not path.exists():
        raise StoreUnreachable(f'"{path}" is not there: name the preparations\' database with --store PATH.')
    return open_sqlite(path)
