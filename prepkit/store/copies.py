"""A store's records in another place: copied to a new file, restored from a backup, moved into another store.

Nothing here overwrites a file, and the store that is read is never changed.
"""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from itertools import islice
from pathlib import Path

from prepkit.errors import StoreDamaged, StoreError, StoreUnfit, StoreUnreachable
from prepkit.store.chain import check_store
from prepkit.store.interface import Store
from prepkit.store.records import Record
from prepkit.store.sqlite.files import make_folders, make_new_file, name_os_error, sync_file
from prepkit.store.sqlite.store import SqliteStore, open_sqlite

_BESIDE = ("-journal", "-wal", "-shm")
"""What SQLite keeps beside a file; it belongs to the file and moves with it."""


@contextmanager
def open_backup(backup: Path, beside: Path) -> Iterator[SqliteStore]:
    """Open a private copy of a backup, in a folder beside `beside` that is removed afterwards.

    The backup itself is only read, so it may lie on a read-only medium. Raises a StoreError where it is not a store,
    is empty, or cannot be read.
    """
    if not backup.is_file():
        raise StoreUnreachable(f'"{backup}" is not there, or is not a file: name the backup that was written')
    make_folders(beside)
    with tempfile.TemporaryDirectory(prefix=".prepkit-", dir=beside.parent) as folder:
        with _in_our_words(backup):
            copy = Path(folder) / "restored.sqlite"
            _copy_private(backup, copy)
            for suffix in ("-journal", "-wal"):
                if (found := Path(f"{backup}{suffix}")).is_file():
                    _copy_private(found, Path(f"{copy}{suffix}"))
        with _open_as(copy, backup) as store:
            if store.is_new:
                raise StoreDamaged(f'"{backup}" is an empty file and no backup: name another one')
            yield store


def write_file(target: Path, records: Iterable[Record], last: int) -> None:
    """Write all records of a store on a server into a new file; where that fails, nothing is left at `target`.

    `last` is the last position that the store ever gave out. Raises StoreUnreachable where `target` is there already.
    """
    make_new_file(target)
    try:
        with open_sqlite(target) as copy:
            copy.fill(records, last)
        with _in_our_words(target):
            sync_file(target)
    except BaseException:
        for suffix in ("", *_BESIDE):
            Path(f"{target}{suffix}").unlink(missing_ok=True)
        raise


def put_in_place(store: SqliteStore, path: Path, aside: Path) -> bool:
    """Put a copy of `store` at `path`; a file that is there is renamed to `aside` first. True where one was.

    Whoever has the old file open is told at their next tick that it was replaced, so nothing is written to it unseen.
    """
    fresh = store.path.with_name("fresh.sqlite")
    store.write_copy(fresh)
    with _in_our_words(path):
        was_there = _move_aside(path, aside)
        _put(fresh, path)
    return was_there


def _put(fresh: Path, path: Path) -> None:
    """Link, not rename: a link never replaces a file that somebody made meanwhile."""
    try:
        os.link(fresh, path)
    except FileExistsError:
        raise
    except OSError:  # a disk that has no links
        if path.exists():
            raise
        fresh.rename(path)
    sync_file(path)


def _move_aside(path: Path, aside: Path) -> bool:
    names = [("", path)] + [(suffix, Path(f"{path}{suffix}")) for suffix in _BESIDE]
    taken = [Path(f"{aside}{suffix}") for suffix, _ in names if Path(f"{aside}{suffix}").exists()]
    if taken:
        raise StoreUnreachable(f'"{taken[0]}" is there already: nothing was moved; try again in a second')
    if not path.exists():
        return False
    _settle(path)
    for suffix, found in names:
        if found.exists():
            found.rename(f"{aside}{suffix}")
    return True


def _settle(path: Path) -> None:
    """Let SQLite write into the file what still lies beside it. A damaged store is moved as it is."""
    with suppress(StoreError):
        open_sqlite(path).close()


@contextmanager
def _open_as(copy: Path, backup: Path) -> Iterator[SqliteStore]:
    """Open the copy. An error, now or while it is read, names the backup, because that is what a person knows."""
    try:
        with open_sqlite(copy) as store:
            yield store
    except StoreError as error:
        raise type(error)(str(error).replace(str(copy), str(backup))) from error


@contextmanager
def _in_our_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise name_os_error(path, error) from error


def _copy_private(source: Path, target: Path) -> None:
    shutil.copyfile(source, target)
    target.chmod(0o600)


_AT_ONCE = 500


def move_records(source: Store, target: Store) -> int:
    """Add to `target` every record of `source` that it does not have yet, to the letter; return how many.

    A move that was broken off goes on where it stopped when it is run again. Raises StoreUnfit, before anything is
    written, where `source` is not as it was written, or `target` holds anything that is not the beginning of it.
    """
    for problem in check_store(source):
        if not problem.is_derived:
            raise StoreUnfit(f'nothing was moved: "{source.name}" is not as it was written. {problem.words}')
    count = 0
    missing = _skip_present(source, target)
    while batch := tuple(islice(missing, _AT_ONCE)):
        target.import_records(batch)
        count += len(batch)
    return count


def _skip_present(source: Store, target: Store) -> Iterator[Record]:
    kept = target.read_all()
    words = f'nothing was moved: "{target.name}" holds other records; name an empty store'
    for record in source.read_all():
        found = next(kept, None)
        if found is None:
            yield record
        elif found != record:
            raise StoreUnfit(f"{words} (record {found.position} differs)")
    found = next(kept, None)
    if found is not None and found.position > source.read_last():
        raise StoreUnfit(f"{words} (record {found.position} is not in the first)")
