"""A store of many ended preparations, about a hundred events each, for benchmarks.

Real ones, worked through the desk, are replayed with another cot, day and pace, each through the store's own chain;
what is kept of them beside the records is made from the real ones and looked at again in a sample.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from itertools import islice
from pathlib import Path
from unittest import mock

from msgspec import structs

from demo import worked_night
from prepkit.app.demo import CHOSEN
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.projections.kinds import AUDIT_ROW, COT_LABEL, make_label_key, make_time_key
from prepkit.app.workstation import Workstation
from prepkit.attribution import Attribution
from prepkit.documents.audit import AuditRow, read_audit_row, write_audit_row
from prepkit.paths import find_shipped
from prepkit.store import START, Draft, Projection, Record, SqliteStore, open_sqlite
from prepkit.store.chain import compute_records

OPEN = 6
"""Preparations in progress in every store, so that there is something to show, to resume and to tick."""
_NIGHTS = 3
_COTS = 40
_BATCH = 500
_SAMPLE = 20
_DAY_ALONE = len("2026-11-25")
_A_DAY = 130
"""Preparations of one day. Each is moved by whole days: days of birth and of weighing move with its moments."""
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:[+-]\d\d:\d\d)?)?\b")
_NOW = worked_night.BEGUN + timedelta(days=1)


@dataclass(frozen=True)
class Cut:
    """A day or a moment in a body, written as finely as it stands there."""

    at: date
    timespec: str
    """Empty for a day alone."""

    @classmethod
    def read(cls, text: str) -> "Cut":
        if len(text) == _DAY_ALONE:
            return cls(date.fromisoformat(text), "")
        has_seconds = text[16:17] == ":"
        timespec = "milliseconds" if "." in text else "seconds" if has_seconds else "minutes"
        return cls(datetime.fromisoformat(text), timespec)

    def write(self, move: timedelta) -> str:
        moved = self.at + move
        return moved.isoformat(timespec=self.timespec) if isinstance(moved, datetime) else moved.isoformat()


@dataclass(frozen=True)
class Real:
    """One preparation that was worked through the desk and closed."""

    records: tuple[Record, ...]
    case: AuditRow
    bodies: tuple[tuple[str | Cut, ...], ...]
    """Each body, cut at the days and moments in it."""
    times: tuple[datetime, ...]


def fill(path: Path, count: int) -> None:
    """Write so many ended preparations into a new store, then those in progress."""
    with open_sqlite(path) as store:
        if count:
            real = make_real(path.parent)
            # Nothing else is at this file, and one that is not finished is thrown away.
            store._connection.execute("PRAGMA synchronous = OFF")
            _write(store, real, count)
            _check_sample(store, count)
    lay_out(path)


def make_real(folder: Path) -> tuple[Real, ...]:
    """Work a few nights, each a little otherwise."""
    return tuple(real for night in range(_NIGHTS) for real in _work(folder / f"night-{night}", night))


def lay_out(path: Path) -> None:
    """Start the preparations in progress; half of the lines of each are ticked."""
    with open_sqlite(path) as store:
        desk = make_desk(store)
        for cot in range(OPEN):
            opened = start(desk, f"Bay {cot}")
            lines = [line.id for line in opened.session.state.lines if not line.blocked]
            for line in lines[: len(lines) // 2]:
                assert opened.lines.tick(line, CHOSEN.get(line, "")) == ""


def start(desk: Workstation, cot: str) -> OpenPreparation:
    """Start one preparation with all its facts."""
    opened = desk.start(worked_night.KIT, cot)
    assert isinstance(opened, OpenPreparation), opened
    for fact, typed in worked_night._COT_4.items():
        assert opened.baby.give_fact(fact, typed) == ""
    return opened


def make_desk(store: SqliteStore) -> Workstation:
    """A desk on the day after, with the demo ward."""
    return Workstation(store, WorkstationFiles(find_shipped("demo") / "ward.toml", None), who="RA", clock=lambda: _NOW)


def make_id(number: int) -> str:
    """The id of one of the ended preparations."""
    return sha256(f"{number}".encode()).hexdigest()[:32]


def _work(folder: Path, night: int) -> Iterator[Real]:
    folder.mkdir()
    steps = tuple(_vary(step, night) for step in worked_night.STEPS)
    with mock.patch.object(worked_night, "STEPS", steps):
        worked_night.work_the_night(folder)
    with open_sqlite(folder / "preparations.sqlite") as store:
        for gist in store.read_projections(AUDIT_ROW.name, AUDIT_ROW.builder):
            if gist.body:
                yield _cut(store.read(gist.prep), read_audit_row(gist.body))


def _vary(step: worked_night.Step, night: int) -> worked_night.Step:
    """Other pace, and another volume given."""
    what = step.what
    if "volume_given" in what:
        what = (*what[:-1], str(Decimal(what[-1]) - night * Decimal("0.2")))
    return replace(step, after=step.after + 3 * night, what=what)


def _cut(records: tuple[Record, ...], case: AuditRow) -> Real:
    bodies = tuple(tuple(_cut_body(record)) for record in records)
    return Real(records, case, bodies, tuple(datetime.fromisoformat(record.at) for record in records))


def _cut_body(record: Record) -> Iterator[str | Cut]:
    """The texts of kit and ward, in the first, have no moment of this preparation in them."""
    at = 0
    for found in () if record.seq == 1 else _MOMENT.finditer(record.body):
        yield record.body[at : found.start()]
        yield Cut.read(found[0])
        at = found.end()
    yield record.body[at:]


def _write(store: SqliteStore, real: tuple[Real, ...], count: int) -> None:
    numbers = iter(range(count))
    position, before = 0, START
    while batch := tuple(islice(numbers, _BATCH)):
        records: list[Record] = []
        gists: dict[str, list[Projection]] = {AUDIT_ROW.name: [], COT_LABEL.name: []}
        for number in batch:
            one = real[number % len(real)]
            written = tuple(_replay(one, number, position, before))
            position, before = written[-1].position, written[-1].hash
            records += written
            gists[AUDIT_ROW.name].append(_make_case(one, number, written))
            gists[COT_LABEL.name].append(_make_label(number, written))
        store._connection.execute("BEGIN IMMEDIATE")
        store._insert(records)
        store._connection.execute("COMMIT")
        for sort in (AUDIT_ROW, COT_LABEL):
            store.write_projections(sort.name, sort.builder, gists[sort.name])


def _replay(real: Real, number: int, position: int, before: str) -> Iterator[Record]:
    """The same events on another day at another cot; from the first tick on, some minutes later."""
    back = timedelta(days=-(number // _A_DAY))
    late = timedelta(minutes=number % 37)
    prep, ticked = make_id(number), False
    for seq, (record, body, at) in enumerate(zip(real.records, real.bodies, real.times, strict=True)):
        ticked = ticked or record.kind == "ticked"
        move = back + late if ticked else back
        text = "".join(part if isinstance(part, str) else part.write(move) for part in body)
        if seq == 0:
            text = text.replace('"cot":"Cot ', f'"cot":"Cot {number % _COTS}0', 1)
        (written,) = compute_records(
            [Draft(record.kind, record.form, text)],
            Attribution(record.who, at + move, record.where, bool(record.verified)),
            prep=prep,
            seq=seq,
            position=position,
            before=before,
        )
        position, before = written.position, written.hash
        yield written


def _make_case(real: Real, number: int, written: tuple[Record, ...]) -> Projection:
    minutes = None if real.case.minutes is None else real.case.minutes + number % 37
    day = written[0].at[:10]
    return Projection(
        written[0].prep, written[-1].hash, day, write_audit_row(structs.replace(real.case, minutes=minutes))
    )


def _make_label(number: int, written: tuple[Record, ...]) -> Projection:
    cot = re.search(r'"cot":"([^"]*)"', written[0].body)
    assert cot
    started = datetime.fromisoformat(written[0].at)
    return Projection(written[0].prep, written[-1].hash, make_label_key(cot[1]), make_time_key(started))


def _check_sample(store: SqliteStore, count: int) -> None:
    """What was kept for the replayed ones is what is made from them."""
    for number in range(0, count, max(1, count // _SAMPLE)):
        for sort in (AUDIT_ROW, COT_LABEL):
            made = sort.build(store, make_id(number))
            assert isinstance(made, Projection), made
            assert made in store.read_projections(sort.name, sort.builder, made.key, made.key), made
