"""A workstation's kits and ward file: listed at once, read and checked when first needed.

Screens ask after these files at every redraw, so their bytes are cached: read again when they change, and every few
seconds regardless.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, TypeAlias, TypeVar

import tomli
from msgspec import Struct

from prepkit.errors import FileUnreadable
from prepkit.paths import KitFile, find_kits, load_all_kits, load_kit, load_ward
from prepkit.view.home import KitChoice

if TYPE_CHECKING:
    from prepkit.kit.kit import Kit
    from prepkit.kit.problems import Problem
    from prepkit.kit.read import ParsedFile
    from prepkit.kit.ward import People, Ward

AGAIN_AFTER = 2.0
"""Seconds after which a file is read though nothing about it differs: a program may put times back."""


class _CachedFile(Struct, frozen=True):
    seen: tuple[int, int, int, int]
    """Time of its last change in ns, size in bytes, inode and device, from just before it was read."""
    at: float
    raw: bytes


class FileCache:
    """The bytes of some files, as they are now or at most a few seconds ago."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        """Nothing is read yet; `clock` gives seconds."""
        self._clock = clock
        self._kept: dict[Path, _CachedFile] = {}

    def read(self, path: Path, *, again: bool = False) -> bytes | None:
        """What a file holds; None where it cannot be read. With `again` it is read whatever its times say."""
        try:
            found = path.stat()
            seen = (found.st_mtime_ns, found.st_size, found.st_ino, found.st_dev)
            kept, now = self._kept.get(path), self._clock()
            if kept is not None and not again and kept.seen == seen and 0 <= now - kept.at < AGAIN_AFTER:
                return kept.raw
            raw = path.read_bytes()
        except OSError:
            self._kept.pop(path, None)
            return None
        self._kept[path] = _CachedFile(seen, now, raw)
        return raw


_Read = TypeVar("_Read")
_Loaded: TypeAlias = "tuple[_Read | None, tuple[Problem, ...]]"

_NO_WARD = "No ward file: devices stand on their label alone, and medicines are blocked. Name one with --ward FILE."


class KitAndWard(Struct, frozen=True):
    """A kit and the ward file beside it, as read."""

    kit: "ParsedFile[Kit]"
    ward: "ParsedFile[Ward] | None"


class FileFault(Struct, frozen=True):
    """What is wrong with a file as it was read, which says nothing of the file once it is another one."""

    words: str
    raw: bytes | None
    """What it held; None where it could not be read."""


class WorkstationFiles:
    """The kits and the ward file of one desk."""

    def __init__(self, ward: Path | None, kits: Path | None) -> None:
        """Find the files; nothing is read yet.

        Args:
            ward: the ward file; None where there is none.
            kits: a folder of further kits; None where none was named.
        """
        self._ward = ward
        self._kits = find_kits(kits)
        self._problems: dict[Path, FileFault] = {}
        self._people: tuple[bytes, People | None] | None = None
        self._cache = FileCache()

    @property
    def ward_name(self) -> str:
        """The ward's name as the file has it, not checked; or that there is no ward file."""
        return self._peek(self._ward).get("name", "ward file unreadable") if self._ward else "no ward file"

    def list_kits(self) -> tuple[KitChoice, ...]:
        """What a preparation may be started from: first what the ward file puts first, then the others by id."""
        raw = self._cache.read(self._ward) if self._ward else None
        first = _list_first(raw) if raw else ()
        places = {kit: at for at, kit in enumerate(first)}
        ordered = sorted(self._kits, key=lambda file: (places.get(file.id, len(places)), file.id))
        return tuple(self._show_kit(file) for file in ordered)

    def list_notices(self) -> tuple[str, ...]:
        """What is wrong with the ward file, as far as known."""
        if self._ward is None:
            return (_NO_WARD,)
        problem = self._find_known(load_ward, self._ward)
        return (f"The ward file is not used: {problem}",) if problem else ()

    def find_problems(self) -> dict[Path, FileFault]:
        """Read and check every file; what is wrong with each that cannot be used. Nothing here is changed by it."""
        found = {file.path: _find_wrong(load_kit, file.path) for file in self._kits}
        if self._ward is not None:
            found[self._ward] = _find_wrong(load_ward, self._ward)
        return {path: wrong for path, wrong in found.items() if wrong is not None}

    def note_problems(self, problems: dict[Path, FileFault]) -> bool:
        """Say these from now on; True where that is news."""
        before, self._problems = self._problems, dict(problems)
        return self._problems != before

    def load(self, kit: str) -> KitAndWard | str:
        """Read a kit and the ward file as they are now; a refusal in words where either has problems."""
        from prepkit.kit.read import check_beside  # noqa: PLC0415  (what reads kits loads with the first one)

        file = next((file for file in self._kits if file.id == kit), None)
        if file is None:
            return f'There is no kit "{kit}" on this machine.'
        read = self._read_kit(file)
        if read is None:
            return f"The kit cannot be used: {self._problems[file.path].words}"
        ward = self._read_ward()
        if self._ward is not None and ward is None:
            return f"The ward file cannot be used: {self._problems[self._ward].words}"
        others = tuple(each for each in self._kits if each is not file)
        problems = check_beside(ward, (read, *load_all_kits(others))) if ward else ()
        return f"The ward file does not fit this kit: {_say(problems)}" if problems else KitAndWard(read, ward)

    def load_all(self) -> "tuple[ParsedFile[Kit], ...]":
        """Read every kit that has no problem."""
        return load_all_kits(self._kits)

    def find_people(self) -> "People | None":
        """How people sign in, from the ward file as it is now; None where that part of it cannot be read.

        The rest of the file may have problems: one typing error in a recipe does not turn the PINs off.
        """
        from prepkit.kit.ward import People  # noqa: PLC0415  (what reads kits loads with the first one)

        if self._ward is None:
            return People()
        raw = self._cache.read(self._ward)
        if raw is None:
            return None
        if self._people is None or self._people[0] != raw:
            self._people = (raw, _read_people(raw))
        return self._people[1]

    def find_news(self, kit: str, kit_text: str, ward_text: str | None, *, again: bool = False) -> str:
        """That the kit or the ward file is no longer what a preparation was started from; empty where it is.

        With `again` both are read whatever their times say: for what may not wait for the next look.
        """
        file = next((file for file in self._kits if file.id == kit), None)
        changed = []
        if file is not None and self._read_quietly(file.path, again=again) not in {None, kit_text}:
            changed.append("kit")
        if self._ward is not None and self._read_quietly(self._ward, again=again) not in {None, ward_text}:
            changed.append("ward file")
        return f"The {' and the '.join(changed)} changed since this was started." if changed else ""

    def _read_quietly(self, path: Path, *, again: bool) -> str | None:
        raw = self._cache.read(path, again=again)
        try:
            return None if raw is None else raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            return None

    def _peek(self, path: Path) -> dict[str, str]:
        """The texts at the top of a TOML file; nothing where it cannot be read, which its reading will say."""
        raw = self._cache.read(path)
        return {} if raw is None else _peek(raw)

    def _show_kit(self, file: KitFile) -> KitChoice:
        problem = self._find_known(load_kit, file.path)
        peeked = self._peek(file.path)
        note = problem or f"edition {peeked.get('edition', '?')}"
        return KitChoice(file.id, peeked.get("name", file.id), note, usable=not problem)

    def _find_known(self, load: "Callable[[Path], _Loaded[object]]", path: Path) -> str:
        """What is wrong with a file, as far as known; one that is another file by now is looked at again."""
        wrong = self._problems.get(path)
        if wrong is not None and self._cache.read(path) != wrong.raw:
            wrong = self._note(path, _find_wrong(load, path))
        return wrong.words if wrong else ""

    def _read_kit(self, file: KitFile) -> "ParsedFile[Kit] | None":
        kit, wrong = _load(load_kit, file.path)
        self._note(file.path, wrong)
        return kit

    def _read_ward(self) -> "ParsedFile[Ward] | None":
        if self._ward is None:
            return None
        ward, wrong = _load(load_ward, self._ward)
        self._note(self._ward, wrong)
        return ward

    def _note(self, path: Path, wrong: FileFault | None) -> FileFault | None:
        if wrong is None:
            self._problems.pop(path, None)
        else:
            self._problems[path] = wrong
        return wrong


def _read_people(raw: bytes) -> "People | None":
    from prepkit.kit.fields import read_table  # noqa: PLC0415  (as above)
    from prepkit.kit.ward import People  # noqa: PLC0415  (as above)

    try:
        return read_table(tomli.loads(raw.decode("utf-8-sig")).get("people", {}), People)
    except (ValueError, RecursionError):
        return None


def _find_wrong(load: "Callable[[Path], _Loaded[object]]", path: Path) -> FileFault | None:
    return _load(load, path)[1]


def _load(load: "Callable[[Path], _Loaded[_Read]]", path: Path) -> "tuple[_Read | None, FileFault | None]":
    """What a file gives, or what is wrong with it; its bytes are from before that, should it change meanwhile."""
    try:
        raw = path.read_bytes()
    except OSError:
        raw = None
    try:
        read, problems = load(path)
    except FileUnreadable as error:
        return None, FileFault(str(error), raw)
    return read, FileFault(_say(problems), raw) if problems else None


def _say(problems: "tuple[Problem, ...]") -> str:
    first = problems[0].headline()
    more = len(problems) - 1
    return f"{first} ({more} more)" if more else first


def _peek(raw: bytes) -> dict[str, str]:
    """The texts at the top of a TOML file, unchecked."""
    return {key: value for key, value in _parse(raw).items() if isinstance(value, str) and value.isprintable()}


def _list_first(raw: bytes) -> tuple[str, ...]:
    """The ids of the kits that a ward file puts first, unchecked."""
    ids = _parse(raw).get("kits_first")
    return tuple(each for each in ids if isinstance(each, str)) if isinstance(ids, list) else ()


@lru_cache(maxsize=16)
def _parse(raw: bytes) -> Mapping[str, object]:
    """A TOML file; nothing where it cannot be read, which its reading will say."""
    try:
        return tomli.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return {}
