"""Memory of one session with its list open, in a terminal and served, beside an empty app's in the same way."""

import os
import subprocess
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from prepkit.serve.options import make_command
from prepkit.serve.program import DRIVER, Program
from prepkit.serve.session_state import Opening, write_opening
from prepkit.store import open_sqlite
from prepkit.tui.place import Place, write_place
from tests.bench.bench_start import RESUME
from tests.bench.figure import Figure, find_median, make_ratio
from tests.bench.scene import ALL_LEFT, EMPTY, PREPKIT, Scene, make_scene, prepare
from tests.bench.terminal import Terminal, read_rss, shows_frame

RUNS = 3
QUIET = 2.0
"""Seconds after the last frame: what is loaded in the background has come by then."""
MEGABYTE = 1_000_000


def measure() -> list[Figure]:
    """Resident memory once everything is quiet; the median of a few."""
    with tempfile.TemporaryDirectory() as made:
        scene = make_scene(Path(made))
        with open_sqlite(scene.store) as store:
            prep = prepare(store, scene, "Cot 1").session.prep
        place = write_place(Place(who="RA", prep=prep, screen="list"))
        opening = Program.encode_packet(b"M", write_opening(Opening(place)).encode())
        ward = scene.environment["PREPKIT_WARD"]
        session = (PREPKIT[0], "-c", RESUME, str(scene.store), ward, place)
        served = make_command(scene.store, Path(ward), None, practice=False)
        rows = [
            ("memory of a session, its list open", _median(scene, session, ALL_LEFT), _median(scene, EMPTY)),
            ("memory of a served session, its list open", _serve(scene, served, DRIVER, opening, ALL_LEFT),
             _serve(scene, EMPTY, "textual.drivers.web_driver:WebDriver", b"", "")),
        ]  # fmt: skip
    return [make_ratio(name, value, "MB", "an empty app's, the same way", floor, 1.3) for name, value, floor in rows]


def _median(scene: Scene, words: Sequence[str], *texts: str) -> float:
    found = []
    for _ in range(RUNS):
        with Terminal(words, scene.environment) as terminal:
            terminal.wait(shows_frame(*texts))
            terminal.settle(QUIET)
            found.append(terminal.read_used().rss / MEGABYTE)
    return find_median(found)


def _serve(scene: Scene, words: Sequence[str], driver: str, opening: bytes, text: str) -> float:
    """Start it as the server does, on pipes, told first what the server tells it."""
    environment = scene.environment | {
        "TEXTUAL_DRIVER": driver,
        "COLUMNS": "80",
        "ROWS": "24",
        "PYTHONUNBUFFERED": "1",
    }
    found = []
    for _ in range(RUNS):
        with subprocess.Popen(
            words, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        ) as program:
            assert program.stdin is not None
            assert program.stdout is not None
            program.stdin.write(opening)
            program.stdin.flush()
            os.set_blocking(program.stdout.fileno(), False)
            assert text.encode() in _drain(program.stdout.fileno())
            found.append(read_rss(program.pid) / MEGABYTE)
            program.kill()
    return find_median(found)


def _drain(end: int) -> bytes:
    """Read until nothing has come for a while; what came."""
    quiet_since, written = time.monotonic(), b""
    while time.monotonic() - quiet_since < QUIET or not written:
        try:
            read = os.read(end, 1 << 16)
        except BlockingIOError:
            read = b""
        if read:
            quiet_since, written = time.monotonic(), written + read
        time.sleep(0.02)
    return written
