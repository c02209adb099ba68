"""Reads kits and ward files from this machine: whole, or every problem; or how people sign in alone.

The first screen does without it: `WorkstationFiles` imports it when the first file has to be read.
"""

from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Generic, TypeAlias, TypeVar

import tomli
from msgspec import Struct

from prepkit.errors import FileUnreadable
from prepkit.kit.fields import read_table
from prepkit.kit.fragments import FragmentFile, list_wanted
from prepkit.kit.kit import Kit
from prepkit.kit.parts import TextPart, join_texts
from prepkit.kit.problems import Problem
from prepkit.kit.read import MOST_BYTES, ParsedFile, check_beside, read_kit, read_text, read_ward
from prepkit.kit.ward import People, Ward
from prepkit.paths import KitFile, find_fragment, list_fragments

_Model = TypeVar("_Model", Kit, Ward)
_Parsed: TypeAlias = "tuple[ParsedFile[_Model] | None, tuple[Problem, ...]]"


class LoadedFile(Struct, Generic[_Model], frozen=True):
    """What came of reading a file."""

    parsed: ParsedFile[_Model] | None
    fault: str
    """What is wrong with it, in a sentence; empty where nothing is."""
    held: tuple[bytes, ...] | None
    """See `hold`."""


def load_kit(path: Path) -> tuple[ParsedFile[Kit] | None, tuple[Problem, ...]]:
    """Read a kit's file, or every problem of it.

    Raises:
        FileUnreadable: where the file cannot be read at all.
    """
    return _parse(_read_bytes(path), path, _read_kit)


def load_fragment(path: Path) -> FragmentFile:
    """Read a fragment's file; where it cannot be read, what is given says why."""
    try:
        text, problems = read_text(_read_bytes(path), str(path))
    except FileUnreadable as error:
        text, problems = "", (Problem(str(path), 0, "", str(error)),)
    return FragmentFile(TextPart(str(path), text), problems)


def load_ward(path: Path) -> tuple[ParsedFile[Ward] | None, tuple[Problem, ...]]:
    """Read a ward file, or every problem of it.

    Raises:
        FileUnreadable: where the file cannot be read at all.
    """
    return _parse(_read_bytes(path), path, read_ward)


def load_all_kits(files: Iterable[KitFile]) -> tuple[ParsedFile[Kit], ...]:
    """Read every kit that has no problem; the others are left out, and say so where they are used or checked."""
    read = []
    for file in files:
        with suppress(FileUnreadable):
            read.append(load_kit(file.path)[0])
    return tuple(kit for kit in read if kit is not None)


def hold(path: Path, raw: bytes | None, read: Callable[[Path], bytes | None]) -> tuple[bytes, ...] | None:
    """What a file holds, and each fragment that it names as a kit; None where one of them cannot be read."""
    wanted = list_wanted(raw.decode("utf-8-sig", "replace")) if raw else ()
    files = [find_fragment(path, name) for name in wanted]
    held = [raw, *(None if file is None else read(file) for file in files)]
    return None if None in held else tuple(each for each in held if each is not None)


class KitReader:
    """What a workstation asks of this module; its files come with bytes that were read already, or are read here."""

    def load_kit(self, path: Path) -> LoadedFile[Kit]:
        """A kit as its file is now, or what is wrong with it."""
        return _load(path, None, _read_kit)

    def hold(self, path: Path, raw: bytes | None, read: Callable[[Path], bytes | None]) -> tuple[bytes, ...] | None:
        """See the function of this name."""
        return hold(path, raw, read)

    def find_text(self, path: Path, raw: bytes | None, read: Callable[[Path], bytes | None]) -> str | None:
        """A kit's text as a preparation keeps it, with those of its fragments; None where one cannot be read."""
        held = hold(path, raw, read)
        try:
            return None if held is None else join_texts([each.decode("utf-8-sig") for each in held])
        except UnicodeDecodeError:
            return None

    def load_ward(self, path: Path, raw: bytes | None = None) -> LoadedFile[Ward]:
        """A ward file as it is now, or as these bytes of it have it; or what is wrong with it."""
        return _load(path, raw, read_ward)

    def load_all(self, files: Iterable[KitFile]) -> tuple[ParsedFile[Kit], ...]:
        """See `load_all_kits`."""
        return load_all_kits(files)

    def check_beside(self, ward: ParsedFile[Ward], kit: ParsedFile[Kit], others: Iterable[KitFile]) -> str:
        """What is wrong with a ward file beside a kit and the others; empty where nothing is."""
        problems = check_beside(ward, (kit, *load_all_kits(others)))
        return _say(problems) if problems else ""

    def read_people(self, raw: bytes | None) -> People | None:
        """How people sign in, from a ward file's bytes; None where that part of it cannot be read."""
        try:
            return None if raw is None else read_table(tomli.loads(raw.decode("utf-8-sig")).get("people", {}), People)
        except (ValueError, RecursionError):
            return None


def _load(path: Path, raw: bytes | None, read: Callable[[str, str], "_Parsed[_Model]"]) -> LoadedFile[_Model]:
    try:
        raw = path.read_bytes() if raw is None else raw
    except OSError as error:
        return LoadedFile(None, _say_unreadable(path, error), None)
    held = hold(path, raw, _read_quietly)
    parsed, problems = _parse(raw, path, read)
    return LoadedFile(parsed, _say(problems) if problems else "", held)


def _read_kit(text: str, name: str) -> "_Parsed[Kit]":
    fragments = list_fragments(Path(name)) if list_wanted(text) else {}
    return read_kit(text, name, {fragment: load_fragment(path) for fragment, path in fragments.items()})


def _parse(raw: bytes, path: Path, read: Callable[[str, str], "_Parsed[_Model]"]) -> "_Parsed[_Model]":
    text, problems = read_text(raw, str(path))
    return (None, problems) if problems else read(text, str(path))


def _read_bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as error:
        raise FileUnreadable(_say_unreadable(path, error)) from error


def _read_quietly(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None


def _say_unreadable(path: Path, error: OSError) -> str:
    reason = error.strerror or str(error)
    return f'"{path}" cannot be read: {reason.lower()}. Check the path and its permissions.'


def _say(problems: tuple[Problem, ...]) -> str:
    first = problems[0].headline()
    more = len(problems) - 1
    return f"{first} ({more} more)" if more else first
