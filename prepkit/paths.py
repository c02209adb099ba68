"""Where kits, the ward file and the store are on this machine.

Kits come from three places, a later one overriding an earlier one with the same id: those shipped with prepkit, the
user's own folder, and a folder named on the command line. A fragment that a kit names lies in `fragments/` beside it or
is shipped.
"""

import os
from collections.abc import Callable
from pathlib import Path

from msgspec import Struct
from platformdirs import user_config_path, user_data_path

from prepkit.errors import FileUnreadable

FRAGMENTS = "fragments"
"""The folder beside kits that holds what several of them share."""
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


def list_fragments(kit: Path) -> dict[str, Path]:
    """The files of the fragments that a kit may name, by name: those shipped, and over them those beside its file."""
    folders = [folder for folder in _find_fragments(kit)[::-1] if folder.is_dir()]
    return {path.stem: path for folder in folders for path in sorted(folder.glob("*.toml"))}


def find_fragment(kit: Path, name: str) -> Path | None:
    """The file of one of them; None where there is none."""
    paths = (folder / f"{name}.toml" for folder in _find_fragments(kit))
    return next((path for path in paths if path.exists()), None)


def _find_fragments(kit: Path) -> tuple[Path, ...]:
    return (kit.parent / FRAGMENTS, find_shipped("kits") / FRAGMENTS)


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
    return user_data_path("prepkit") / "preparations.sqlite"


def _is_there(path: Path, ask: Callable[[Path], bool]) -> bool:
    """Ask the disk. A folder above that may not be looked into is an error, not a missing file."""
    try:
        return ask(path)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise FileUnreadable(f'"{path}" cannot be looked for: {reason}. Allow reading the folders above it.') from error


def _find_user_folder() -> Path:
    return user_config_path("prepkit")
