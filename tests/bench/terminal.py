"""A program under a pseudo-terminal: started, typed to, read until it shows something, timed."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import termios
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import TracebackType
from typing import Self

COLUMNS, ROWS = 80, 24
PATIENCE = 20.0
"""Seconds after which what was waited for will not come."""
LAST_ROW = f"\x1b[{ROWS};1H".encode()
"""How the library begins the last row of a whole frame."""
_CPU_OF_ALL_ITS_THREADS = 2
"""How the system numbers a program's own clock: its id, turned over, then which of its clocks."""
_ESCAPE = re.compile(rb"\x1b(?:\[[0-9;?<>=]*[a-zA-Z$]+[a-zA-Z]?|\][^\x07]*\x07|[=>78])")


class NotShownError(Exception):
    """The program did not show what was waited for."""


@dataclass(frozen=True)
class Used:
    """What a program took from its start to a moment."""

    wall: float
    """Milliseconds."""
    cpu: float
    """Milliseconds of user and system time."""
    rss: int
    """Bytes in memory then."""


@dataclass
class Terminal:
    """One program and what it wrote since the last look."""

    words: Sequence[str]
    environment: Mapping[str, str]
    written: bytes = b""
    started: float = field(default_factory=time.perf_counter)

    def __post_init__(self) -> None:
        """Start it."""
        self.pid, self._end = pty.fork()
        if self.pid == 0:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
            os.execvpe(self.words[0], list(self.words), dict(self.environment))  # noqa: S606  (our own program)

    def wait(self, is_there: Callable[[bytes], bool]) -> float:
        """Read until what was written since the last look is what is waited for; milliseconds since the start."""
        last = time.perf_counter() + PATIENCE
        while not is_there(self.written):
            if not select.select([self._end], [], [], max(last - time.perf_counter(), 0))[0]:
                raise NotShownError(read_words(self.written)[-2000:])
            try:
                self.written += os.read(self._end, 1 << 16)
            except OSError as error:  # the program ended
                raise NotShownError(read_words(self.written)[-2000:]) from error
        return (time.perf_counter() - self.started) * 1000

    def time_key(self, keys: str, is_there: Callable[[bytes], bool]) -> float:
        """Type something; milliseconds until what is waited for is shown."""
        self.look_away()
        pressed = time.perf_counter()
        os.write(self._end, keys.encode())
        self.wait(is_there)
        return (time.perf_counter() - pressed) * 1000

    def settle(self, quiet: float = 0.15) -> None:
        """Read on until nothing was written for so many seconds."""
        while select.select([self._end], [], [], quiet)[0]:
            self.written += os.read(self._end, 1 << 16)

    def read_cpu(self) -> float:
        """Milliseconds of user and system time so far, finer than `read_used` has them (Linux)."""
        return time.clock_gettime((~self.pid << 3) | _CPU_OF_ALL_ITS_THREADS) * 1000

    def look_away(self) -> None:
        """Forget what was written so far."""
        while select.select([self._end], [], [], 0)[0]:
            os.read(self._end, 1 << 16)
        self.written = b""

    def read_used(self, wall: float = 0.0) -> Used:
        """What it has taken so far."""
        with open(f"/proc/{self.pid}/stat") as file:  # noqa: PTH123  (a file of the system's own)
            fields = file.read().rpartition(")")[2].split()
        cpu = sum(map(int, fields[11:13])) * 1000 / os.sysconf("SC_CLK_TCK")
        return Used(wall, cpu, read_rss(self.pid))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self._end)


def read_rss(pid: int) -> int:
    """Bytes that a program has in memory now."""
    with open(f"/proc/{pid}/statm") as file:  # noqa: PTH123  (as above)
        return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def read_words(written: bytes) -> str:
    """What was written, without the signs that move and colour it."""
    return _ESCAPE.sub(b"", written).decode("utf-8", "replace")


def shows(*texts: str) -> Callable[[bytes], bool]:
    """Whether all of these were written."""
    wanted = [text.encode() for text in texts]
    return lambda written: all(text in written for text in wanted)


def shows_frame(*texts: str) -> Callable[[bytes], bool]:
    """Whether a whole frame was written, its last row in full, and in it all of these."""
    has_texts = shows(*texts)

    def is_there(written: bytes) -> bool:
        last = written.rpartition(LAST_ROW)
        return bool(last[1]) and len(read_words(last[2]).strip("\r\n")) >= COLUMNS and has_texts(written)

    return is_there
