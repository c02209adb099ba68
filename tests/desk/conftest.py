"""A desk over a real store in a temporary folder, with a clock that the test moves."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from prepkit.desk.desk import Desk
from prepkit.desk.files import Files
from prepkit.desk.opened import OpenPreparation
from prepkit.shelf import find_shipped
from prepkit.store import SqliteStore, open_sqlite

KIT = "surfactant-supraglottic"
WARD = find_shipped("demo") / "ward.toml"
NIGHT = datetime(2026, 11, 25, 3, 0, tzinfo=timezone(timedelta(hours=1)))


class Clock:
    """The time now, moved by hand."""

    def __init__(self) -> None:
        self.now = NIGHT

    def __call__(self) -> datetime:
        return self.now

    def move(self, **by: float) -> None:
        self.now += timedelta(**by)


MakeDesk = Callable[..., Desk]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def ward_file(tmp_path: Path) -> Path:
    """A copy of the demo ward that a test may rewrite."""
    path = tmp_path / "ward.toml"
    path.write_bytes(WARD.read_bytes())
    return path


@pytest.fixture
def make_desk(tmp_path: Path, clock: Clock, ward_file: Path) -> Iterator[MakeDesk]:
    """Makes desks that share one store file, each with a connection of its own."""
    stores: list[SqliteStore] = []

    def make(who: str = "RA", ward: Path | None = ward_file, kits: Path | None = None) -> Desk:
        stores.append(open_sqlite(tmp_path / "store" / "preparations.sqlite"))
        return Desk(stores[-1], Files(ward, kits), who=who, clock=clock)

    yield make
    for store in stores:
        store.close()


@pytest.fixture
def desk(make_desk: MakeDesk) -> Desk:
    return make_desk()


def start(desk: Desk, weight: str = "1450", gestation: str = "30+2", cot: str = "Cot 4") -> OpenPreparation:
    opened = desk.start(KIT, cot)
    assert not isinstance(opened, str), opened
    assert opened.give_fact("weight", weight) == ""
    assert opened.give_fact("gestation", gestation) == ""
    return opened


def list_lines(opened: OpenPreparation) -> list[str]:
    return [line.id for group in opened.show_list().groups for line in group.lines]


def find_row(opened: OpenPreparation, line: str):
    return next(row for group in opened.show_list().groups for row in group.lines if row.id == line)


def answer_all(opened: OpenPreparation) -> None:
    for row in opened.show_suitability().rows:
        if row.is_question:
            assert opened.answer(row.id, "no") == ""
    assert opened.confirm_facts() == ""


def tick_all(opened: OpenPreparation) -> None:
    for line in list_lines(opened):
        assert opened.tick(line) == ""
