"""Kill a writer at random moments and look whether anything that it was told is kept has gone."""

import os
import secrets
import select
import signal
import subprocess
import sys
from pathlib import Path

from prepkit.store import StoreAt, check_store, open_sqlite, open_store

WRITER = Path(__file__).with_name("writer.py")
# A program that a test starts finds prepkit where the test found it, installed or not.
ENVIRONMENT = {**os.environ, "PYTHONPATH": os.pathsep.join(part for part in sys.path if part)}
LONGEST_LIFE_MS = 40
LONGEST_OPENING_MS = 120


def kill_writers(at: StoreAt, runs: int) -> int:
    """Start and kill `runs` writers one after another on one store, checking it after each.

    Returns how many positions were acknowledged in all.
    """
    acknowledged: set[int] = set()
    for run in range(runs):
        acknowledged |= run_and_kill(at, f"prep-{run % 3}", wait_for=b"open\n", longest_ms=LONGEST_LIFE_MS)
        with open_store(at) as store:
            kept = {record.position for record in store.read_all()}
            assert acknowledged <= kept, f"run {run}: lost {sorted(acknowledged - kept)}"
            assert check_store(store) == (), f"run {run}"
    return len(acknowledged)


def kill_makers(folder: Path, runs: int) -> None:
    """Kill `runs` writers while they make a store of their own; what they leave must open, whole, at once."""
    for run in range(runs):
        path = folder / f"folder-{run}" / "store.db"
        acknowledged = run_and_kill(path, "a", wait_for=b"", longest_ms=LONGEST_OPENING_MS)
        with open_sqlite(path) as store:
            assert acknowledged <= {record.position for record in store.read_all()}, f"run {run}"
            assert check_store(store) == (), f"run {run}"


def run_and_kill(at: StoreAt, prep: str, *, wait_for: bytes, longest_ms: int) -> set[int]:
    """Kill a writer at a random moment at most `longest_ms` after it said `wait_for`; return what it was told."""
    command = [sys.executable, str(WRITER), str(at), prep, "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=ENVIRONMENT) as writer:
        assert writer.stdout
        if wait_for:
            assert writer.stdout.readline() == wait_for
        select.select([], [], [], secrets.randbelow(longest_ms * 1000) / 1e6)
        writer.send_signal(signal.SIGKILL)
        lines = writer.stdout.read().split(b"\n")
    assert writer.returncode == -signal.SIGKILL
    return {int(line) for line in lines[:-1] if line != b"open"}
