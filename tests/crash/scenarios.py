"""What is done to a store in use, and what has to be true after each: nothing shown as done is gone, and what is wrong
is said.

Each scenario takes a folder and how often, and gives its figures; what must never be stops it with an AssertionError.
"""

import os
import secrets
import select
import shutil
import signal
import sqlite3
import subprocess
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from unittest import mock

from worker import KIT, NOBODY, WARD, Worker, begin, start_worker

from prepkit.desk.desk import Desk
from prepkit.desk.files import Files
from prepkit.desk.ledger import read_preparation
from prepkit.desk.opened import OpenPreparation
from prepkit.desk.verifying import verify_store
from prepkit.desk.whole import list_ids
from prepkit.errors import StoreDamaged, StoreError
from prepkit.store import Record, SqliteStore, check_store, open_backup, open_sqlite

Figures = dict[str, Any]
STORE = "preparations.sqlite"
_RUNS_ON_ONE_STORE = 25


def kill_at_random(folder: Path, runs: int) -> Figures:
    """SIGKILL at a random moment within 250 ms of being ready to tick."""
    told = 0
    for run in range(runs):
        path = folder / str(run // _RUNS_ON_ONE_STORE) / STORE
        prep = begin(path) if run % _RUNS_ON_ONE_STORE == 0 else prep  # noqa: F821  (bound in the first run)
        worker = start_worker(path, prep, "KM")
        worker.wait_for("open\n")
        pause(250)
        worker.kill()
        told += check_kept(path, prep, [worker])
    return {"runs": runs, "shown as done": told, "lost": 0}


def cut_the_power(folder: Path, runs: int) -> Figures:
    """The program stopped at a random moment, every file copied as it then is, and the copy opened."""
    told = 0
    path = folder / STORE
    prep = begin(path)
    worker = start_worker(path, prep, "KM")
    worker.wait_for("open\n")
    for run in range(runs):
        pause(25)
        os.kill(worker.pid, signal.SIGSTOP)
        os.waitpid(worker.pid, os.WUNTRACED)
        worker.listen(0)
        copy = copy_files(path, folder / f"copy-{run}")
        os.kill(worker.pid, signal.SIGCONT)
        told += check_kept(copy, prep, [worker])
        shutil.rmtree(copy.parent)
    worker.kill()
    return {"runs": runs, "shown as done, looked for in the copies": told, "lost": 0}


def copy_while_running(folder: Path, runs: int) -> Figures:
    """The files copied one after the other by another program while the store is written: no way to make a backup."""
    path = folder / STORE
    prep = begin(path)
    worker = start_worker(path, prep, "KM")
    worker.wait_for("open\n")
    found: Counter[str] = Counter()
    for run in range(runs):
        pause(10)
        worker.listen(0)
        told = worker.list_told()
        copy = copy_files(path, folder / f"copy-{run}")
        found += judge(copy, lambda records, told=told: holds(records, prep, told))
        shutil.rmtree(copy.parent)
    worker.kill()
    assert not found["different, and not noticed"]
    return {"runs": runs, **found}


def fill_the_disk(folder: Path, runs: int) -> Figures:
    """A small file system in memory, filled up while a desk ticks; room made; the desk goes on."""
    disk = folder / "disk"
    disk.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", disk], capture_output=True, check=False)  # noqa: S607
    if made.returncode:
        return {"runs": 0, "not run": "this machine does not let us make a small file system"}
    refused = told = 0
    try:
        for run in range(runs):
            path = disk / str(run) / STORE
            prep = begin(path)
            worker = start_worker(path, prep, "KM")
            worker.wait_for("did ")
            filler = disk / "filler"
            with filler.open("wb", buffering=0) as file, _room_ends():
                while True:
                    file.write(b"x" * 4096)
            worker.wait_for("no room left")
            filler.unlink()
            heard = len(worker.heard)
            while b"did " not in worker.heard[heard:]:
                worker.listen(20)
            worker.kill()
            refused += sum("no room left" in words for words in worker.list_said())
            told += check_kept(path, prep, [worker])
            shutil.rmtree(path.parent)
    finally:
        subprocess.run(["umount", "--lazy", disk], check=True)  # noqa: S607
    return {"runs": runs, "shown as done": told, "lost": 0, "ticks refused in words": refused}


def make_it_read_only(folder: Path, runs: int) -> Figures:
    """The folder made read-only while a desk without rights of its own ticks; then writable again."""
    for each in (folder.parent, folder):
        each.chmod(0o755)
    refused = told = 0
    for run in range(runs):
        path = folder / str(run) / STORE
        prep = begin(path)
        for each in (path.parent, path):
            os.chown(each, NOBODY if os.geteuid() == 0 else -1, -1)
        worker = start_worker(path, prep, "KM", as_nobody=True)
        worker.wait_for("did ")
        path.parent.chmod(0o555)
        # In the middle of a commit the words are those of a failing disk, else those of a folder without rights.
        worker.wait_for("said ")
        path.parent.chmod(0o755)
        heard = len(worker.heard)
        while b"did " not in worker.heard[heard:]:
            worker.listen(20)
        worker.kill()
        refused += len(worker.list_said())
        told += check_kept(path, prep, [worker])
    return {"runs": runs, "shown as done": told, "lost": 0, "ticks refused in words": refused}


def take_the_file_away(folder: Path, runs: int) -> Figures:
    """The file renamed while a desk ticks; then put back."""
    refused = told = 0
    path = folder / STORE
    prep = begin(path)
    for _ in range(runs):
        worker = start_worker(path, prep, "KM")
        worker.wait_for("did ")
        path.rename(folder / "away.sqlite")
        worker.wait_for("has been moved, deleted or replaced")
        (folder / "away.sqlite").rename(path)
        heard = len(worker.heard)
        while b"did " not in worker.heard[heard:]:
            worker.listen(20)
        worker.kill()
        refused += len(worker.list_said())
        told += check_kept(path, prep, [worker])
    return {"runs": runs, "shown as done": told, "lost": 0, "ticks refused in words": refused}


def damage(folder: Path, runs: int, *, cut: bool) -> Figures:
    """A closed store cut short, or with one to eight bits flipped, at random."""
    path = folder / STORE
    for _ in range(3):
        prep = begin(path)
        worker = start_worker(path, prep, "KM", times=12)
        worker.end()
    whole = path.read_bytes()
    with open_sqlite(path) as store:
        before = tuple(store.read_all())
    found: Counter[str] = Counter()
    for _ in range(runs):
        path.write_bytes(whole[: secrets.randbelow(len(whole) - 1) + 1] if cut else flip(whole))
        found += judge(path, lambda records: records == before)
    assert not found["different, and not noticed"]
    return {"runs": runs, **found}


def lose_the_wal(folder: Path, runs: int) -> Figures:
    """A store in WAL mode whose program was killed, opened without its WAL file."""
    lost = whole = 0
    with mock.patch.object(sqlite3, "sqlite_version_info", (3, 51, 3)):
        for run in range(runs):
            path = folder / str(run) / STORE
            prep = begin(path)
            worker = start_worker(path, prep, "KM")
            worker.wait_for("did ")
            pause(40)
            worker.kill()
            check_kept(copy_files(path, folder / f"{run}-with"), prep, [worker])
            Path(f"{path}-wal").unlink()
            with open_sqlite(path) as store:
                kept = {record.seq for record in store.read(prep)}
                whole += check_store(store) == ()
            lost += any(seq not in kept for seq, _ in worker.list_told())
    words = {
        "with the WAL, ticks lost": 0,
        "without it, runs that lost ticks": lost,
        "of which the chain was whole": whole,
    }
    return {"runs": runs, **words}


def write_together(folder: Path, runs: int, *, desks: int) -> Figures:
    """Several processes ticking one preparation at once."""
    told = refused = 0
    for run in range(runs):
        path = folder / str(run) / STORE
        prep = begin(path)
        workers = [start_worker(path, prep, f"K{chr(65 + at)}", times=15) for at in range(desks)]
        for worker in workers:
            worker.end()
        told += check_kept(path, prep, workers)
        refused += sum(len(worker.list_said()) for worker in workers)
    return {"runs": runs, "shown as done": told, "lost": 0, "told that another was first": refused}


def turn_the_clock(folder: Path, first: datetime, second: datetime) -> Figures:
    """Half the ticks before the clock's jump and half after, on one preparation."""
    now = [first]
    with open_sqlite(folder / STORE) as store:
        opened = Desk(store, Files(WARD, None), who="RA", clock=lambda: now[0]).start(KIT, "Cot 4")
        assert isinstance(opened, OpenPreparation), opened
        assert opened.give_fact("weight", "1450") == opened.give_fact("gestation", "30+2") == ""
        lines = [line.id for line in opened.state.lines if not line.blocked]
        for at, line in enumerate(lines):
            now[0] = (first if at < len(lines) // 2 else second) + timedelta(seconds=at)
            assert opened.tick(line) == ""
        again = Desk(store, Files(WARD, None), who="KM", clock=lambda: now[0]).resume(opened.prep)
        assert isinstance(again, OpenPreparation), again
        assert all(again.state.is_ticked(line) for line in lines)
        found = verify_store(store)
        assert (found.chain, found.wrong) == ((), ())
    return {"runs": 1, "shown as done": len(lines), "lost": 0}


def back_up_in_use(folder: Path, runs: int) -> Figures:
    """Backups written while two desks tick; each checked, then damaged and refused."""
    path = folder / STORE
    prep = begin(path)
    workers = [start_worker(path, prep, who) for who in ("KM", "TO")]
    for worker in workers:
        worker.wait_for("did ")
    told = 0
    for run in range(runs):
        for worker in workers:
            worker.listen(0)
        with open_sqlite(path, wait_ms=30_000) as store:
            store.write_copy(folder / f"{run}.sqlite")
        told += check_kept(folder / f"{run}.sqlite", prep, workers)
    for worker in workers:
        worker.kill()
    refused = sum(_is_refused(folder / f"{run}.sqlite", folder) for run in range(runs))
    return {"runs": runs, "shown as done, looked for in the backups": told, "lost": 0, "damaged and refused": refused}


def pause(most_ms: int) -> None:
    """Wait for a random while."""
    select.select([], [], [], secrets.randbelow(most_ms * 1000) / 1e6)


def check_kept(path: Path, prep: str, workers: list[Worker]) -> int:
    """Everything that was shown as done is there, each as it was shown, and the chain is whole; how many."""
    with open_sqlite(path) as store:
        assert check_store(store) == ()
        records = store.read(prep)
    told = [each for worker in workers for each in worker.list_told()]
    assert holds(records, prep, told), "something that was shown as done is not there"
    return len(told)


def holds(records: tuple[Record, ...], prep: str, told: list[tuple[int, str]]) -> bool:
    """Whether every change that was shown stands in these records."""
    kept = {record.seq: record.body for record in records if record.prep == prep}
    return all(f'"{line}"' in kept.get(seq, "") for seq, line in told)


def copy_files(path: Path, folder: Path) -> Path:
    """Copy a store with what lies beside it."""
    folder.mkdir()
    for each in path.parent.glob(f"{path.name}*"):
        try:
            shutil.copyfile(each, folder / each.name)
        except FileNotFoundError:  # a journal that ended meanwhile
            continue
    return folder / path.name


def flip(whole: bytes) -> bytes:
    """Flip one to eight bits."""
    changed = bytearray(whole)
    for _ in range(1 + secrets.randbelow(8)):
        changed[secrets.randbelow(len(changed))] ^= 1 << secrets.randbelow(8)
    return bytes(changed)


def judge(path: Path, is_whole: Callable[[tuple[Record, ...]], bool]) -> Counter[str]:
    """What comes of opening and checking a store that something was done to."""
    try:
        with open_sqlite(path) as store:
            if not _is_found_damaged(store):
                is_same = is_whole(tuple(store.read_all()))
                return Counter(["whole, nothing lost" if is_same else "different, and not noticed"])
    except StoreError:
        return Counter(["not opened, in words"])
    return Counter(["opened, the damage named"]) + _count_readable(path)


def _is_found_damaged(store: SqliteStore) -> bool:
    try:
        return check_store(store) != ()
    except StoreDamaged:
        return True


def _count_readable(path: Path) -> Counter[str]:
    """Of the preparations in a damaged store, those that can still be opened, and those that say why not."""
    found: Counter[str] = Counter()
    with open_sqlite(path) as store:
        try:
            preps = list_ids(store)
        except StoreError:
            return Counter(["of which without a list of preparations, in words"])
        for prep in preps:
            try:
                read_preparation(store, prep)
            except StoreError:
                found["preparations in these that say why they cannot be read"] += 1
            else:
                found["preparations in these that can still be read"] += 1
    return found


def _is_refused(backup: Path, folder: Path) -> bool:
    with closing(sqlite3.connect(backup, isolation_level=None)) as other:
        other.execute("DROP TRIGGER record_no_update")
        other.execute("UPDATE record SET who = 'ZZ' WHERE position = 5")
    with open_backup(backup, folder / "restored.sqlite") as store:
        return verify_store(store).chain != ()


class _room_ends:  # noqa: N801 - reads as a sentence
    """Ends a loop of writing when there is no room left."""

    def __enter__(self) -> None: ...

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> bool:
        return kind is OSError


WINTER, SUMMER = timezone(timedelta(hours=1)), timezone(timedelta(hours=2))
JUMPS = {
    "clock an hour back": (datetime(2026, 11, 25, 3, 0, tzinfo=WINTER), datetime(2026, 11, 25, 2, 5, tzinfo=WINTER)),
    "midnight": (datetime(2026, 11, 25, 23, 59, 50, tzinfo=WINTER), datetime(2026, 11, 26, 0, 0, tzinfo=WINTER)),
    "clocks go forward": (datetime(2027, 3, 28, 1, 59, tzinfo=WINTER), datetime(2027, 3, 28, 3, 0, tzinfo=SUMMER)),
    "clocks go back": (datetime(2026, 10, 25, 2, 59, tzinfo=SUMMER), datetime(2026, 10, 25, 2, 0, tzinfo=WINTER)),
    "leap day": (datetime(2028, 2, 28, 23, 59, tzinfo=WINTER), datetime(2028, 2, 29, 0, 1, tzinfo=WINTER)),
}
