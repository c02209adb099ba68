"""A hospital's PostgreSQL beside a ward's SQLite file, in one run on one machine and one disk.

`PREPKIT_BENCH_DEVICE_SECONDS` is how long fifty devices tick (60), `PREPKIT_BENCH_HOME` over how many preparations home
is read (100,000).
"""

import os
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

import psycopg

from demo import worked_night
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.errors import Conflict, StoreBusy
from prepkit.paths import find_shipped
from prepkit.store import START, Draft, Record, Store, StoreAt, check_store, open_store
from prepkit.store.chain import compute_records
from tests.bench.figure import Figure, alternate, find_median, find_percentile, make_bound, make_ratio
from tests.store.attributed import attribute
from tests.store.pg_server import Server, run_server

DEVICES = 50
A_SECOND = 2
_PREPARATIONS = 10
_OPEN = 6
_RUNS = 300
_TIMES = 40
_AT = "2031-05-04T03:12:00.000+01:00"
_TICK = Draft("ticked", 1, '{"line":"drape","seen":"0123456789abcdef","who":"RA"}')
_PLAIN = """CREATE TABLE public.plain (a bigint GENERATED ALWAYS AS IDENTITY, b text, c text);
    GRANT INSERT ON public.plain TO PUBLIC"""


def measure() -> list[Figure]:
    """Each on the server and in a file, the two in turn."""
    with ExitStack() as stack:
        server = stack.enter_context(run_server())
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="prepkit-bench-")))
        return [
            *_measure_append(server, folder / "append.sqlite"),
            *_measure_news(server, folder / "news.sqlite"),
            *_measure_devices(server, folder / "devices.sqlite"),
            *_measure_home(server, folder),
        ]


def _measure_append(server: Server, file: Path) -> list[Figure]:
    """One tick made durable; the plain insert is the least that the same server can do for the same promise."""
    login = server.make_ward()
    with server.admin() as admin:
        admin.execute(_PLAIN.encode())
    with (
        open_store(server.address(login)) as there,
        open_store(file) as here,
        psycopg.connect(server.address(login), autocommit=True) as plain,
    ):
        found = alternate(
            _RUNS,
            {
                "server": _time_ticks(there),
                "file": _time_ticks(here),
                "plain": lambda: _time(
                    lambda: plain.execute("INSERT INTO plain (b, c) VALUES (%s, %s)", [_AT, _TICK.body])
                ),
            },
        )
    middle = {name: find_median(times) for name, times in found.items()}
    note = f"99 in 100: {find_percentile(found['server'], 99):.1f} ms; in a file {middle['file']:.2f} ms"
    name = "server: a tick made durable"
    return [
        make_ratio(name, middle["server"], "ms", "a plain INSERT on the same server", middle["plain"], 3, note),
        make_ratio(
            f"{name}, beside a file", middle["server"], "ms", "a tick in SQLite on the same disk", middle["file"], 3
        ),
    ]


def _measure_news(server: Server, file: Path) -> list[Figure]:
    """From a tick's return on one device until another one, which is asked without pause, has news of it."""
    address = server.make_address()
    with (
        open_store(address) as there,
        open_store(address) as other,
        open_store(file) as here,
        open_store(file) as beside,
    ):
        found = alternate(_RUNS // 3, {"server": _time_news(there, other), "file": _time_news(here, beside)})
    middle = {name: find_median(times) for name, times in found.items()}
    note = f"99 in 100: {find_percentile(found['server'], 99):.1f} ms; a screen looks four times a second"
    floor = "the same with a SQLite file"
    return [
        make_bound("server: news of a tick on another device", middle["server"], "ms", floor, middle["file"], 50, note)
    ]


def _measure_devices(server: Server, file: Path) -> list[Figure]:
    """Fifty devices of one ward at ten preparations, two ticks a second each; counted from when each tick was due.

    The target: a tick is durable before the same device's next one is due.
    """
    seconds = int(os.environ.get("PREPKIT_BENCH_DEVICE_SECONDS", "60"))
    runs = {"server": _run_devices(server.make_address(), seconds), "file": _run_devices(file, seconds)}
    late = {name: find_percentile(run.times, 99) for name, run in runs.items()}
    run = runs["server"]
    note = (
        f"{len(run.times)} ticks in {seconds} s, {run.conflicts} first met by another's, {run.not_taken} not taken;"
        f" middle {find_median(run.times):.1f} ms; in a file {late['file']:.0f} ms, {runs['file'].not_taken} not taken"
    )
    name, floor = (
        f"server: {DEVICES} devices at {A_SECOND} ticks a second, 99 in 100 within",
        "the same with a SQLite file",
    )
    return [make_bound(name, late["server"], "ms", floor, late["file"], 1000 / A_SECOND, note)]


def _measure_home(server: Server, folder: Path) -> list[Figure]:
    """Home with six preparations in progress and all the others ended, beside a store without any ended."""
    count = int(os.environ.get("PREPKIT_BENCH_HOME", "100000"))
    places: dict[str, StoreAt] = {
        "server": server.make_address(), "file": folder / "home.sqlite",
        "server without": server.make_address(), "file without": folder / "without.sqlite",
    }  # fmt: skip
    with ExitStack() as stack:
        stores = {name: stack.enter_context(open_store(at)) for name, at in places.items()}
        for name in ("server", "file"):
            _fill(stores[name], count)
        for store in stores.values():
            _lay_out(store)
        desks = {name: _make_desk(store) for name, store in stores.items()}
        found = alternate(_TIMES, {name: _time_home(desk) for name, desk in desks.items()})
    middle = {name: find_median(times) for name, times in found.items()}
    note = f"in a file {middle['file']:.1f} ms, without any ended {middle['file without']:.1f} ms"
    name = f"server: home over {count:,} ended preparations"
    return [
        make_ratio(name, middle["server"], "ms", "home on a server without any", middle["server without"], 1.5, note)
    ]


def _time(act: Callable[[], object]) -> float:
    begun = time.perf_counter()
    act()
    return (time.perf_counter() - begun) * 1000


def _time_ticks(store: Store) -> Callable[[], float]:
    seqs = iter(range(1_000_000))
    return lambda: _time(lambda: store.append("a", next(seqs), [_TICK], attribute(_AT, "RA", "bench")))


def _time_news(one: Store, other: Store) -> Callable[[], float]:
    seqs = iter(range(1_000_000))

    def wait() -> None:
        while not other.has_news():
            pass

    def tick() -> float:
        one.append("a", next(seqs), [_TICK], attribute(_AT, "RA", "bench"))
        return _time(wait)

    return tick


def _time_home(desk: Workstation) -> Callable[[], float]:
    return lambda: _time(desk.show_home)


@dataclass
class Run:
    """What fifty devices met."""

    times: list[float] = field(default_factory=list)
    """Milliseconds from when a tick was due until it was durable."""
    conflicts: int = 0
    not_taken: int = 0
    guard: threading.Lock = field(default_factory=threading.Lock)


def _run_devices(at: StoreAt, seconds: int) -> Run:
    """Run them; what was acknowledged is looked for in the store afterwards, and the chain checked."""
    run, begun = Run(), time.perf_counter() + 1
    kept: list[tuple[str, int]] = []
    starts = [(f"prep-{number % _PREPARATIONS}", begun + number / DEVICES / A_SECOND) for number in range(DEVICES)]
    devices = [threading.Thread(target=_tick_on, args=(at, *start, seconds, run, kept)) for start in starts]
    with open_store(at) as store:
        for device in devices:
            device.start()
        for device in devices:
            device.join()
        found = {(record.prep, record.seq) for record in store.read_all()}
        assert set(kept) == found, "a tick that was acknowledged is not there"
        assert len(kept) == len(found) == len(run.times)
        assert check_store(store) == ()
    return run


def _tick_on(at: StoreAt, prep: str, begun: float, seconds: int, run: Run, kept: list[tuple[str, int]]) -> None:
    """One device: ticks when it is due, and looks for news four times a second as a screen does.

    What the store is too busy for is counted as not taken, and so is what is still to come when it is late by the whole
    time again.
    """
    seq, ticks = 0, iter(range(seconds * A_SECOND))
    with _open_patiently(at) as store:
        for number in ticks:
            due = begun + number / A_SECOND
            if time.perf_counter() > begun + 2 * seconds:
                with run.guard:
                    run.not_taken += 1 + len(tuple(ticks))
                return
            try:
                seq = _wait_until(due, store, prep, seq)
                seq = _tick(store, prep, seq, due, run, kept)
            except StoreBusy:
                with run.guard:
                    run.not_taken += 1


def _open_patiently(at: StoreAt) -> Store:
    while True:
        try:
            return open_store(at)
        except StoreBusy:
            continue


def _wait_until(due: float, store: Store, prep: str, seq: int) -> int:
    while (left := due - time.perf_counter()) > 0:
        time.sleep(min(left, 0.25))
        if store.has_news():
            seq += len(store.read(prep, seq))
    return seq


def _tick(store: Store, prep: str, seq: int, due: float, run: Run, kept: list[tuple[str, int]]) -> int:
    while True:
        try:
            (record,) = store.append(prep, seq, [_TICK], attribute(_AT, "RA", "bench"))
        except Conflict:
            seq += len(store.read(prep, seq))
            with run.guard:
                run.conflicts += 1
            continue
        with run.guard:
            run.times.append((time.perf_counter() - due) * 1000)
            kept.append((prep, record.seq))
        return record.seq


def _fill(store: Store, count: int) -> None:
    """So many preparations of two records, each ended."""
    batch: list[Record] = []
    for record in _make_ended(count):
        batch.append(record)
        if len(batch) == 2000:
            store.import_records(batch)
            batch = []
    store.import_records(batch)


def _make_ended(count: int) -> Iterator[Record]:
    position, before = 0, START
    for number in range(count):
        drafts = [_TICK, Draft("closed", 1, "{}")]
        records = compute_records(
            drafts, attribute(_AT, "RA", "bench"), prep=f"ended-{number}", seq=0, position=position, before=before
        )
        position, before = records[-1].position, records[-1].hash
        yield from records


def _lay_out(store: Store) -> None:
    desk = _make_desk(store)
    for cot in range(_OPEN):
        opened = desk.start(worked_night.KIT, f"Bay {cot}")
        assert isinstance(opened, OpenPreparation), opened
        for fact, typed in worked_night._COT_4.items():
            assert opened.baby.give_fact(fact, typed) == ""


def _make_desk(store: Store) -> Workstation:
    return Workstation(
        store, WorkstationFiles(find_shipped("demo") / "ward.toml", None), who="RA", clock=lambda: worked_night.BEGUN
    )


if __name__ == "__main__":
    for each in measure():
        print(f"{each.name}: {float(each.value):.2f} {each.unit} ({each.floor_name}: {each.floor:.2f}; {each.target},"  # noqa: T201
              f" {'met' if each.met else 'MISSED'}) {each.note}")  # fmt: skip
