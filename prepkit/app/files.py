"""A workstation's kits and ward file: listed at once, read and checked when first needed.

Screens ask after these files at every redraw, so their bytes are cached: read again when they change, and every few
seconds regardless.
"""

from collections.abc import Callable, Mapping
from functools import cached_property, lru_cache, partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

import tomli
from msgspec import Struct

from prepkit.paths import KitFile, find_kits
from prepkit.view.home import KitChoice

if TYPE_CHECKING:
    from prepkit.app.kit_files import KitReader, LoadedFile
    from prepkit.kit.kit import Kit
    from prepkit.kit.read import ParsedFile
    from prepkit.kit.ward import People, Ward

AGAIN_AFTER = 2.0
"""Seconds after which a file is read again although it looks the same: a program may put its times back."""


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
        self._cached: dict[Path, _CachedFile] = {}

    def read(self, path: Path, *, again: bool = False) -> bytes | None:
        """What a file holds; None where it cannot be read. With `again` it is read whatever its times say."""
        try:
            found = path.stat()
            seen = (found.st_mtime_ns, found.st_size, found.st_ino, found.st_dev)
            cached, now = self._cached.get(path), self._clock()
            if cached is not None and not again and cached.seen == seen and 0 <= now - cached.at < AGAIN_AFTER:
                return cached.raw
            raw = path.read_bytes()
        except OSError:
            self._cached.pop(path, None)
            return None
        self._cached[path] = _CachedFile(seen, now, raw)
        return raw


_NO_WARD = "No ward file: devices stand on their label alone, and medicines are blocked. Name one with --ward FILE."


class KitAndWard(Struct, frozen=True):
    """A kit and the ward file beside it, as read."""

    kit: "ParsedFile[Kit]"
    ward: "ParsedFile[Ward] | None"


class FileFault(Struct, frozen=True):
    """What is wrong with a file as it was read; once the file changes, this no longer counts."""

    words: str
    held: tuple[bytes, ...] | None
    """What it held, and each fragment that it names; None where one of them could not be read."""


class WardFile(Struct, frozen=True):
    """The ward file at one moment; it answers everything that one act or one redraw asks of it."""

    path: Path | None
    """None where there is no ward file."""
    raw: bytes | None
    """What it held; None where it could not be read."""

    @property
    def name(self) -> str:
        """The ward's name as the file has it, not checked; or that there is no ward file."""
        return _peek(self.raw).get("name", "ward file unreadable") if self.path else "no ward file"

    def list_first(self) -> tuple[str, ...]:
        """The ids of the kits that the ward puts first, not checked."""
        ids = _parse(self.raw).get("kits_first")
        return tuple(each for each in ids if isinstance(each, str)) if isinstance(ids, list) else ()


class WorkstationFiles:
    """The kits and the ward file of one workstation."""

    def __init__(self, ward: Path | None, kits: Path | None) -> None:
        """Find the files; nothing is read yet.

        Args:
            ward: the ward file; None where there is none.
            kits: a folder of further kits; None where none was named.
        """
        self._ward = ward
        self._kits = find_kits(kits)
        self._problems: dict[Path, FileFault] = {}
        self._people: tuple[WardFile, People | None] | None = None
        self._cache = FileCache()

    def look_at_ward(self, *, again: bool = False) -> WardFile:
        """The ward file as it is now; with `again` it is read whatever its times say."""
        return WardFile(self._ward, self._cache.read(self._ward, again=again) if self._ward else None)

    @property
    def ward_name(self) -> str:
        """See `WardFile.name`."""
        return self.look_at_ward().name

    def list_kits(self) -> tuple[KitChoice, ...]:
        """What a preparation may be started from: first what the ward file puts first, then the others by id."""
        places = {kit: at for at, kit in enumerate(self.look_at_ward().list_first())}
        ordered = sorted(self._kits, key=lambda file: (places.get(file.id, len(places)), file.id))
        return tuple(self._show_kit(file) for file in ordered)

    def list_notices(self, ward: WardFile) -> tuple[str, ...]:
        """What is wrong with the ward file, as far as known."""
        if ward.path is None:
            return (_NO_WARD,)
        problem = self._find_known(ward.path, ward.raw)
        return (f"The ward file is not used: {problem}",) if problem else ()

    def find_problems(self) -> dict[Path, FileFault]:
        """Read and check every file; what is wrong with each that cannot be used. Changes nothing here."""
        paths = [*(file.path for file in self._kits), *([self._ward] if self._ward else [])]
        found = {path: self._load(path) for path in paths}
        return {path: FileFault(each.fault, each.held) for path, each in found.items() if each.fault}

    def note_problems(self, problems: dict[Path, FileFault]) -> bool:
        """Show these from now on; True if that is news."""
        before, self._problems = self._problems, dict(problems)
        return self._problems != before

    def load(self, kit: str, ward: WardFile) -> KitAndWard | str:
        """Read a kit as it is now, beside this ward file; a refusal in words where either has problems."""
        file = next((file for file in self._kits if file.id == kit), None)
        if file is None:
            return f'There is no kit "{kit}" on this machine.'
        loaded = self._reader.load_kit(file.path)
        self._note(file.path, loaded)
        if loaded.parsed is None:
            return f"The kit cannot be used: {loaded.fault}"
        if ward.path is None:
            return KitAndWard(loaded.parsed, None)
        beside = self._reader.load_ward(ward.path, ward.raw)
        self._note(ward.path, beside)
        if beside.parsed is None:
            return f"The ward file cannot be used: {beside.fault}"
        others = tuple(each for each in self._kits if each is not file)
        if problem := self._reader.check_beside(beside.parsed, loaded.parsed, others):
            return f"The ward file does not fit this kit: {problem}"
        return KitAndWard(loaded.parsed, beside.parsed)

    def load_all(self) -> "tuple[ParsedFile[Kit], ...]":
        """Read every kit that has no problem."""
        return self._reader.load_all(self._kits)

    def find_people(self, ward: WardFile) -> "People | None":
        """How people sign in, by this ward file; None where that part of it cannot be read.

        The rest of the file may have problems: one typing error in a recipe does not turn the PINs off.
        """
        if self._people is None or self._people[0] != ward:
            self._people = (ward, self._reader.read_people(ward.raw if ward.path else b""))
        return self._people[1]

    def find_news(
        self, kit: str, kit_text: str, ward_text: str | None, ward: WardFile | None = None, *, again: bool = False
    ) -> str:
        """That the kit or the ward file is no longer what a preparation was started from; empty where it is.

        With `again` both are read whatever their times say: for what may not wait for the next look.
        """
        file = next((file for file in self._kits if file.id == kit), None)
        ward = ward or self.look_at_ward(again=again)
        changed = []
        if file is not None:
            read = partial(self._cache.read, again=again)
            if self._reader.find_text(file.path, read(file.path), read) not in {None, kit_text}:
                changed.append("kit")
        if _decode(ward.raw) not in {None, ward_text}:
            changed.append("ward file")
        return f"The {' and the '.join(changed)} changed since this was started." if changed else ""

    @cached_property
    def _reader(self) -> "KitReader":
        from prepkit.app.kit_files import KitReader  # noqa: PLC0415  (59 ms, which the first screen does without)

        return KitReader()

    def _show_kit(self, file: KitFile) -> KitChoice:
        raw = self._cache.read(file.path)
        problem, peeked = self._find_known(file.path, raw), _peek(raw)
        note = problem or f"edition {peeked.get('edition', '?')}"
        return KitChoice(file.id, peeked.get("name", file.id), note, usable=not problem)

    def _find_known(self, path: Path, raw: bytes | None) -> str:
        """What is wrong with a file, as far as known; a file that has changed is checked again."""
        known = self._problems.get(path)
        if known is None or known.held == self._reader.hold(path, raw, self._cache.read):
            return known.words if known else ""
        loaded = self._load(path)
        self._note(path, loaded)
        return loaded.fault

    def _load(self, path: Path) -> "LoadedFile[Kit] | LoadedFile[Ward]":
        return self._reader.load_ward(path) if path == self._ward else self._reader.load_kit(path)

    def _note(self, path: Path, loaded: "LoadedFile[Kit] | LoadedFile[Ward]") -> None:
        if loaded.fault:
            self._problems[path] = FileFault(loaded.fault, loaded.held)
        else:
            self._problems.pop(path, None)


def _decode(raw: bytes | None) -> str | None:
    """A file's text; None where it cannot be read."""
    try:
        return None if raw is None else raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None


def _peek(raw: bytes | None) -> dict[str, str]:
    """The texts at the top of a TOML file, unchecked."""
    return {key: value for key, value in _parse(raw).items() if isinstance(value, str) and value.isprintable()}


@lru_cache(maxsize=16)
def _parse(raw: bytes | None) -> Mapping[str, object]:
    """A TOML file; nothing where it cannot be read, which its reading will say."""
    try:
        return tomli.loads((raw or b"").decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return {}
