"""A desk over a real store in a temporary folder, and the app at it."""

from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from desk_scene import answer_all, check_all, tick_all

from prepkit.desk.desk import Desk
from prepkit.desk.files import Files
from prepkit.desk.opened import OpenPreparation
from prepkit.shelf import find_shipped
from prepkit.store import open_sqlite

NIGHT = datetime(2026, 11, 25, 3, 12, tzinfo=timezone(timedelta(hours=1)))


def _make_desk(path: Path, who: str) -> Desk:
    return Desk(open_sqlite(path), Files(find_shipped("demo") / "ward.toml", None), who=who, clock=lambda: NIGHT)


def _close(desk: Desk) -> None:
    desk.store.close()  # type: ignore[attr-defined]


@pytest.fixture
def store_path(tmp_path: Path) -> Path:
    return tmp_path / "store" / "preparations.sqlite"


@pytest.fixture
def desk(store_path: Path) -> Iterator[Desk]:
    """A desk that nobody has signed on to."""
    desk = _make_desk(store_path, "")
    yield desk
    _close(desk)


@pytest.fixture
def other_desk(store_path: Path) -> Iterator[Desk]:
    """Another device over the same store."""
    desk = _make_desk(store_path, "KM")
    yield desk
    _close(desk)


@pytest.fixture
def begun(desk: Desk) -> OpenPreparation:
    """A preparation with its list, made at the desk by RA."""
    desk.who = "RA"
    opened = desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(opened, str), opened
    assert opened.give_fact("weight", "1450") == ""
    assert opened.give_fact("gestation", "30+2") == ""
    return opened


@pytest.fixture
def done(begun: OpenPreparation) -> OpenPreparation:
    """A preparation of which everything is ticked, answered and confirmed; nobody has checked it."""
    tick_all(begun)
    answer_all(begun)
    return begun


@pytest.fixture
def checked(done: OpenPreparation) -> OpenPreparation:
    """A preparation that a second person has checked too."""
    check_all(done)
    return done
