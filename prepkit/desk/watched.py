"""Files that a screen asks after at every redraw: read again where they changed, and now and then all the same.

May import: msgspec and the standard library.
"""

from collections.abc import Callable
from pathlib import Path
from time import monotonic

from msgspec import Struct

AGAIN_AFTER = 2.0
"""Seconds after which a file is read though nothing about it differs: a program may put times back."""


class _Kept(Struct, frozen=True):
    seen: tuple[int, int, int, int]
    """Time of its last change in ns, size in bytes, inode and device, from just before it was read."""
    at: float
    raw: bytes


class Watched:
    """The bytes of some files, as they are now or at most a few seconds ago."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        """Nothing is read yet; `clock` gives seconds."""
        self._clock = clock
        self._kept: dict[Path, _Kept] = {}

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
        self._kept[path] = _Kept(seen, now, raw)
        return raw
