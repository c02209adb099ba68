"""Every error of prepkit, in one tree.

An error is for stopping. What is wrong in a file is a problem, what belongs to a list is a caution, what may not be
done now is a refusal: those are values, and not here.

    PrepkitError
    ├── FileUnreadable          a kit or a ward file that cannot be read from the disk
    └── StoreError              the store could not do what was asked; what it keeps is as it was
        ├── StoreForeign        the file is not a prepkit store
        ├── StoreNewer          the store was made by a later prepkit
        ├── StoreDamaged        the store cannot be read as it stands
        ├── StoreUnreachable    the file, its folder or the server cannot be opened, made or found
        │   └── StoreLost       the connection to a server is gone, and is being made again
        ├── StoreReadOnly       the store can be read, but not written to
        ├── StoreFull           there is no room left
        ├── StoreBusy           somebody else kept the store locked for too long
        ├── StoreFailed         the disk or the database failed in another way
        │   └── StoreUnsure     the connection went while something was being saved
        ├── StoreUnfit          a text that no store may keep
        └── Conflict            the preparation has moved on since it was read

Each message is whole: where, what is wrong, what to do. A front end shows `str(error)` as it stands.
"""

# ruff: noqa: N818  "StoreFull" says what happened; "StoreFullError" says it no better


class PrepkitError(Exception):
    """What all errors of prepkit have in common."""


class FileUnreadable(PrepkitError):
    """A kit or a ward file that cannot be read from the disk at all."""


class StoreError(PrepkitError):
    """The store could not do what was asked."""


class StoreForeign(StoreError):
    """The file is not a prepkit store: another program's database, another sort of file, a folder."""


class StoreNewer(StoreError):
    """The store was made by a later prepkit, which may mean things by it that this one does not know."""


class StoreDamaged(StoreError):
    """The store, or a record in it, cannot be read as it stands."""


class StoreUnreachable(StoreError):
    """The file or its folder cannot be opened or made, or is no longer where it was; or no server answers."""


class StoreLost(StoreUnreachable):
    """The connection to a server is gone. It is being made again; nothing is written meanwhile."""


class StoreReadOnly(StoreError):
    """The store can be read, but nothing can be added to it."""


class StoreFull(StoreError):
    """There is no room left where the store is kept."""


class StoreBusy(StoreError):
    """Somebody else kept the store locked for longer than the store waits; trying again is safe."""


class StoreFailed(StoreError):
    """The disk or the database failed in a way that has no error of its own.

    What was to be added may have been added all the same: read again.
    """


class StoreUnsure(StoreFailed):
    """The connection went while something was being saved, and did not come back at once: it may be there or not.

    `prep` is the preparation, `expected` the number of its last record before, `contents` what was to follow; see
    `prepkit.store.records.is_kept`.
    """

    def __init__(self, words: str, prep: str, expected: int, contents: tuple[tuple[str | int, ...], ...]) -> None:
        super().__init__(words)
        self.prep = prep
        self.expected = expected
        self.contents = contents


class StoreUnfit(StoreError):
    """A text or a time that no store may keep: half a character, a NUL, a time without an offset."""


class Conflict(StoreError):
    """The preparation has moved on since the caller read it; nothing was written.

    `expected` is the number of the last record that the caller knew, `found` that of the last one there is.
    """

    def __init__(self, prep: str, expected: int, found: int) -> None:
        super().__init__(
            f'preparation "{prep}" has changed since it was read: expected {expected} records, found {found}; '
            "look at what changed, then do it again if it is still right"
        )
        self.prep = prep
        self.expected = expected
        self.found = found


def say_install(extra: str) -> str:
    """How to install an optional part, as README prints it: from the source folder, never by a name in an index."""
    return f"install it in the folder of prepkit's source: .venv/bin/pip install --quiet '.[{extra}]'"
