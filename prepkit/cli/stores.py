"""The store as commands that only read it open it. May import: `prepkit.shelf`, `prepkit.store`."""

from pathlib import Path

from prepkit.errors import StoreUnreachable
from prepkit.shelf import find_store
from prepkit.store import SqliteStore, open_sqlite


def open_kept(named: Path | None) -> SqliteStore:
    """Open the store that there is; none is made where there is none.

    Raises:
        StoreError: where it cannot be opened.
    """
    path = find_store(named)
    if not path.exists():
        raise StoreUnreachable(f'"{path}" is not there: name the preparations\' database with --store PATH.')
    return open_sqlite(path)
