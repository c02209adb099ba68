"""The store's file and folder: made so that nobody else can read them, and checked before SQLite opens them."""

import errno
import os
import stat
from pathlib import Path

from prepkit.errors import StoreError, StoreForeign, StoreFull, StoreReadOnly, StoreUnreachable

_PRIVATE_FILE = 0o600
_PRIVATE_FOLDER = 0o700
_SHORTEST = 16
"""Bytes: every SQLite file begins with a header text of this length."""
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT})

FileId = tuple[int, int]
"""Device and inode: what makes a file this very file, whatever it is called."""


def make_file(path: Path) -> None:
    """Make an empty file, and any missing folders above it, that only this person can read.

    SQLite gives its journal beside the file the same mode. An existing file or folder keeps the mode it has.
    """
    try:
        _make_folders(path)
        _make_empty(path)
    except FileExistsError as error:
        # Somebody made it at the same moment, which is fine; or a link leads nowhere, or a file is where a folder goes.
        if identify_file(path) is None:
            raise name_os_error(path, error) from error
    except OSError as error:
        raise name_os_error(path, error) from error


def make_new_file(path: Path) -> None:
    """Make an empty file that only this person can read. Raises StoreUnreachable where there is one already."""
    try:
        _make_folders(path)
        _make_empty(path)
    except FileExistsError as error:
        raise StoreUnreachable(f'"{path}" is there already: nothing was written; name a new file') from error
    except OSError as error:
        raise name_os_error(path, error) from error


def make_folders(path: Path) -> None:
    """Make the missing folders above a file, so that only this person can read them."""
    try:
        _make_folders(path)
    except OSError as error:
        raise name_os_error(path, error) from error


def check_file(path: Path) -> None:
    """Raise a StoreError where the file cannot be a store that can be written to.

    This does not open the file: closing it again would drop the locks that another connection of ours has on it.
    """
    try:
        found = path.stat()
    except OSError as error:
        raise name_os_error(path, error) from error
    if not stat.S_ISREG(found.st_mode):
        kind = "a folder" if stat.S_ISDIR(found.st_mode) else "not an ordinary file"
        raise StoreForeign(f'"{path}" is {kind}; a store is one file, name that')
    if 0 < found.st_size < _SHORTEST:
        # SQLite takes a file of one byte for an empty one, and would start a store over what is left of another.
        raise StoreForeign(f'"{path}" is not a prepkit store ({found.st_size} bytes are too few); name another file')
    if not os.access(path, os.R_OK):
        raise StoreUnreachable(f'"{path}" may not be read by you; allow reading and writing it')
    if not os.access(path, os.W_OK):
        raise StoreReadOnly(f'"{path}" may not be written to by you; allow writing to it')
    if not os.access(path.resolve().parent, os.W_OK | os.X_OK):
        raise StoreReadOnly(f'"{path}" is in a folder that you may not write to, and a store needs that; allow it')


def identify_file(path: Path) -> FileId | None:
    """The identity of the file at `path` now; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def sync_file(path: Path) -> None:
    """Make a file and its name outlast a power cut."""
    opened = os.open(path, os.O_RDWR)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
    _sync_folder(path.parent)


def _make_folders(path: Path) -> None:
    for folder in reversed([p for p in path.parents if not p.exists()]):
        _make_folder(folder)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(mode=_PRIVATE_FOLDER)
    except FileExistsError:
        if not folder.is_dir():
            raise
        return
    folder.chmod(_PRIVATE_FOLDER)  # a umask may have taken our own rights away
    _sync_folder(folder.parent)


def _make_empty(path: Path) -> None:
    opened = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, _PRIVATE_FILE)
    try:
        if os.name == "posix":
            os.fchmod(opened, _PRIVATE_FILE)
    finally:
        os.close(opened)
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Make a new name in a folder outlast a power cut; only where a folder can be opened as a file."""
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def name_os_error(path: Path, error: OSError) -> StoreError:
    """Choose the StoreError for an error of the operating system about the file at `path`."""
    if error.errno in _NO_ROOM:
        return StoreFull(f'"{path}" cannot be made, there is no room left on its disk; make room and try again')
    at = error.filename or path
    words = f"cannot be opened or made ({error.strerror or error} at {at}); name another file, or allow it"
    return StoreUnreachable(f'"{path}" {words}')
