"""What is done to a store in use, and what has to be true after each: nothing shown as done is gone, and what is wrong
is said.

Each scenario takes a folder and how often, and gives its figures; what must never be stops it with an AssertionError.
"""

import os
import secrets
import shutil
import sqlite3
import subprocess
from collections import Counter
from contextlib import closing, suppress
from pathlib import Path

from aftermath import STORE, Figures, check_kept, copy_files, holds, judge
from worker import NOBODY, begin, pause, start_worker, stopped

from prepkit.app.verification import verify_store
from prepkit.store import open_backup, open_sqlite

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
        with stopped(worker):
            copy = copy_files(path, folder / f"copy-{run}")
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
        found += judge(path, lambda records: records == before, before)
    assert not found["different, and not noticed"]
    return {"runs": runs, **found}


def lose_the_wal(folder: Path, runs: int) -> Figures:
    """The program killed, and what would be a WAL file taken away: there is none, what was recorded is in the file."""
    told = 0
    for run in range(runs):
        path = folder / str(run) / STORE
        prep = begin(path)
        worker = start_worker(path, prep, "KM")
        worker.wait_for("did ")
        pause(40)
        worker.kill()
        assert not Path(f"{path}-wal").exists()
        told += check_kept(path, prep, [worker])
    return {"runs": runs, "WAL files to lose": 0, "shown as done": told, "lost": 0}


def turn_to_wal(folder: Path, runs: int) -> Figures:
    """Another program puts the store into mode WAL while a desk ticks; then the WAL file is taken away."""
    told = refused = 0
    for run in range(runs):
        path = folder / str(run) / STORE
        prep = begin(path)
        worker = start_worker(path, prep, "KM")
        worker.wait_for("did ")
        with closing(sqlite3.connect(path, isolation_level=None, timeout=60)) as other:
            while not _is_turned(other):
                pause(1)
            worker.wait_for("close that program")
        worker.kill()
        Path(f"{path}-wal").unlink(missing_ok=True)
        refused += bool(worker.list_said())
        told += check_kept(path, prep, [worker])
    return {"runs": runs, "shown as done": told, "lost": 0, "runs with ticks refused in words": refused}


def _is_turned(other: sqlite3.Connection) -> bool:
    """Whether the store is in mode WAL now; the desk may be in a commit, and SQLite does not wait here."""
    with suppress(sqlite3.OperationalError):
        other.execute("PRAGMA journal_mode = WAL")
        return True
    return False


def lose_the_journal(folder: Path, runs: int) -> Figures:
    """The program stopped at a random moment, in a commit or not, and the file copied without its journal."""
    path = folder / STORE
    prep = begin(path)
    worker = start_worker(path, prep, "KM")
    worker.wait_for("open\n")
    found: Counter[str] = Counter()
    for run in range(runs):
        pause(10)
        with stopped(worker):
            told = worker.list_told()
            found["stopped in the middle of a commit"] += Path(f"{path}-journal").exists()
            copy = copy_files(path, folder / f"copy-{run}")
        Path(f"{copy}-journal").unlink(missing_ok=True)
        found += judge(copy, lambda records, told=told: holds(records, prep, told))
        shutil.rmtree(copy.parent)
    worker.kill()
    assert not found["different, and not noticed"]
    return {"runs": runs, **found}


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


def flip(whole: bytes) -> bytes:
    """Flip one to eight bits."""
    changed = bytearray(whole)
    for _ in range(1 + secrets.randbelow(8)):
        changed[secrets.randbelow(len(changed))] ^= 1 << secrets.randbelow(8)
    return bytes(changed)


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
