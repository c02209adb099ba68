"""A desk in a process of its own, forked so that a thousand of them cost minutes: it ticks, and says what it ticked."""

import os
import secrets
import select
import signal
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.errors import StoreError
from prepkit.paths import find_shipped
from prepkit.store import open_sqlite

KIT = "surfactant-supraglottic"
WARD = find_shipped("demo") / "ward.toml"
NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
NOBODY = 65534


@dataclass
class Worker:
    """A child that ticks: its number, the end of its pipe, and what came through."""

    pid: int
    pipe: int
    heard: bytearray = field(default_factory=bytearray)

    def listen(self, seconds: float) -> None:
        """Take in what it says for so long at most, or until it ends."""
        while select.select([self.pipe], [], [], seconds)[0]:
            chunk = os.read(self.pipe, 65536)
            if not chunk:
                return
            self.heard += chunk
            if seconds:
                return

    def wait_for(self, word: str) -> None:
        """Listen until it has said this word."""
        while word.encode() not in self.heard:
            before = len(self.heard)
            self.listen(20)
            assert len(self.heard) > before, f"it ended, or is stuck, after {bytes(self.heard[-200:])!r}"

    def kill(self) -> None:
        """SIGKILL; everything it had said by then is taken in."""
        os.kill(self.pid, signal.SIGKILL)
        self.end()

    def end(self) -> None:
        """Wait until it is gone."""
        while chunk := os.read(self.pipe, 65536):
            self.heard += chunk
        os.close(self.pipe)
        os.waitpid(self.pid, 0)

    def list_told(self) -> list[tuple[int, str]]:
        """Every change that it showed as done: the event's number, and the line."""
        rows = [row.split() for row in self.heard.decode().split("\n")[:-1]]
        return [(int(row[1]), row[2]) for row in rows if row[0] == "did"]

    def list_said(self) -> list[str]:
        """Every sentence that it was refused with."""
        return [row[5:] for row in self.heard.decode().split("\n")[:-1] if row.startswith("said ")]


def begin(path: Path) -> str:
    """A preparation with a list; its id."""
    with open_sqlite(path) as store:
        opened = Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=lambda: NOW).start(KIT, "Cot 4")
        assert isinstance(opened, OpenPreparation), opened
        for fact, typed in (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("born", "today")):
            assert opened.baby.give_fact(fact, typed) == ""
        return opened.session.prep


def start_worker(path: Path, prep: str, who: str, *, times: int = 0, as_nobody: bool = False) -> Worker:
    """Fork a child that ticks and un-ticks line after line, `times` times or without end."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid:
        os.close(writing)
        return Worker(pid, reading)
    try:
        os.close(reading)
        if as_nobody and os.geteuid() == 0:
            os.environ["HOME"] = os.environ["XDG_CONFIG_HOME"] = str(path.parent)
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        _work(path, prep, who, times, lambda word: os.write(writing, f"{word}\n".encode()))
    except BaseException:  # noqa: BLE001 - a child of ours: what stops it is shown, and goes no further
        traceback.print_exc()
    finally:
        os._exit(0)


@contextmanager
def stopped(worker: Worker) -> Iterator[None]:
    """A worker that stands still, wherever it was; what it had said by then is taken in."""
    os.kill(worker.pid, signal.SIGSTOP)
    os.waitpid(worker.pid, os.WUNTRACED)
    worker.listen(0)
    yield
    os.kill(worker.pid, signal.SIGCONT)


def pause(most_ms: int) -> None:
    """Wait for a random while."""
    select.select([], [], [], secrets.randbelow(most_ms * 1000) / 1e6)


def _work(path: Path, prep: str, who: str, times: int, say: Callable[[str], object]) -> None:
    try:
        with open_sqlite(path, wait_ms=30_000) as store:
            opened = Workstation(store, WorkstationFiles(WARD, None), who=who, clock=lambda: NOW).resume(prep)
            assert isinstance(opened, OpenPreparation), opened
            lines = [line.id for line in opened.session.state.lines if not line.blocked]
            say("open")
            done = 0
            while done < times or not times:
                _tick(opened, lines[(done * 7 + os.getpid()) % len(lines)], say)
                done += 1
    except StoreError as error:
        say(f"said {error}")
    say("end")


def _tick(opened: OpenPreparation, line: str, say: Callable[[str], object]) -> None:
    try:
        refusal = opened.lines.tick(line)
    except StoreError as error:
        say(f"said {error}")
        select.select([], [], [], 0.02)
        return
    say(f"said {refusal}" if refusal else f"did {opened.session.state.seq} {line}")
