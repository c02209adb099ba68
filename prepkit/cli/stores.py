"""Opens the store that a command names; a command that only reads never creates one."""

from pathlib import Path

from prepkit.errors import StoreUnreachable
from prepkit.paths import find_store
from prepkit.store import Store, StoreAt, open_store


def open_existing_store(named: StoreAt | None) -> Store:
    """Open a store that exists; never make one.

    Raises:
        StoreError: where it cannot be opened.
    """
    return open_store(find_store(named), is_made=False)


def find_store_file(named: StoreAt | None) -> Path:
    """The store's file, for commands that work on a file alone.

    Raises:
        StoreUnreachable: where it is on a server.
    """
    at = find_store(named)
    if isinstance(at, str):
        words = "a backup is not restored over a server's store: move it into a new ward with: prepkit move BACKUP TO"
        raise StoreUnreachable(words)
    return at
