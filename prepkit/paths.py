"""Where kits, the ward file and the store are on this machine. Reads files; decides nothing.

Kits come from three places, a later one overriding an earlier one with the same id: those shipped with prepkit, the
user's own folder, and a folder named on the command line.
"""

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from prepkit.errors import FileUnreadable

if TYPE_CHECKING:
    from prepkit.kit.kit import Kit
    from prepkit.kit.problems import Problem
    from prepkit.kit.read import ParsedFile
    from prepkit.kit.ward import Ward

_PACKAGE = Path(__file__).parent


class KitFile(Struct, frozen=True):
    """A kit's file, not read yet."""

    id: str
    """The file's stem, which is the kit's id."""
    path: Path


def find_kits(extra: Path | None = None) -> tuple[KitFile, ...]:
    """The kit files on this machine, by id.

    Raises:
        FileUnreadable: where the folder named is not there; one of the others may be missing.
    """
    if extra is not None and not extra.is_dir():
        raise FileUnreadable(f'"{extra}" is not a folder. Check the path given with --kits.')
    found: dict[str, KitFile] = {}
    for folder in (find_shipped("kits"), _find_user_folder() / "kits", extra):
        if folder is not None and _is_there(folder, Path.is_dir):
            found |= {path.stem: KitFile(path.stem, path) for path in sorted(folder.glob("*.toml"))}
    return tuple(found.values())


def find_shipped(name: str) -> Path:
    """The folder of shipped files: inside the package when installed, beside it in a checkout."""
    installed = _PACKAGE / "shipped" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name


def find_ward(named: Path | None) -> Path | None:
    """The ward file: the one named, the one in PREPKIT_WARD, or the user's own; None where there is none."""
    if named is not None:
        return named
    if os.environ.get("PREPKIT_WARD"):
        return Path(os.environ["PREPKIT_WARD"])
    own = _find_user_folder() / "ward.toml"
    return own if _is_there(own, Path.is_file) else None


def read_store_location(text: str) -> Path | str:
    """Where a store is: a server's address as it stands, or a file's path."""
    return text if "://" in text else Path(text)


def find_store(named: Path | str | None) -> Path | str:
    """The store: the one named, the one in PREPKIT_STORE, or the file under the user's data folder."""
    if named is not None:
        return named
    if os.environ.get("PREPKIT_STORE"):
        return read_store_location(os.environ["PREPKIT_STORE"])
    return find_own_store()


def find_own_store() -> Path:
    """The store's file where nothing names another one: under the user's data folder."""
    from platformdirs import user_data_path  # noqa: PLC0415  (only where no path was named)

    return user_data_path("prepkit") / "preparations.sqlite"


def load_kit(path: Path) -> "tuple[ParsedFile[Kit] | None, tuple[Problem, ...]]":
    """Read a kit's file, or every problem of it.

    Raises:
        FileUnreadable: where the file cannot be read at all.
    """
    from prepkit.kit.read import read_kit, read_text  # noqa: PLC0415  (what reads kits loads with the first one)

    text, problems = read_text(_read_bytes(path), str(path))
    return (None, problems) if problems else read_kit(text, str(path))


def load_all_kits(files: tuple[KitFile, ...]) -> "tuple[ParsedFile[Kit], ...]":
    """Read every kit that has no problem. The others are left out, and say so when they are used or checked."""
    read = []
    for file in files:
        try:
            kit, _ = load_kit(file.path)
        except FileUnreadable:
            continue
        if kit is not None:
            read.append(kit)
    return tuple(read)


def load_ward(path: Path) -> "tuple[ParsedFile[Ward] | None, tuple[Problem, ...]]":
    """Read a ward file, or every problem of it.

    Raises:
        FileUnreadable: where the file cannot be read at all.
    """
    from prepkit.kit.read import read_text, read_ward  # noqa: PLC0415  (as above)

    text, problems = read_text(_read_bytes(path), str(path))
    return (None, problems) if problems else read_ward(text, str(path))


def _is_there(path: Path, ask: Callable[[Path], bool]) -> bool:
    """Ask the disk. A folder above that may not be looked into is an error, not a missing file."""
    try:
        return ask(path)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise FileUnreadable(f'"{path}" cannot be looked for: {reason}. Allow reading the folders above it.') from error


def _read_bytes(path: Path) -> bytes:
    from prepkit.kit.read import MOST_BYTES  # noqa: PLC0415  (as above)

    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise FileUnreadable(
            f'"{path}" cannot be read: {reason.lower()}. Check the path and its permissions.'
        ) from error


def _find_user_folder() -> Path:
    from platformdirs import user_config_path  # noqa: PLC0415  (costs as much as the rest of this module)

    return user_config_path("prepkit")
