"""A desk over a real store in a temporary folder, with a clock that the test moves."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from workstation_scene import WARD, Clock, MakeDesk

from prepkit.app.files import WorkstationFiles
from prepkit.app.workstation import Workstation
from prepkit.store import SqliteStore, open_sqlite


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

    def make(who: str = "RA", ward: Path | None = ward_file, kits: Path | None = None) -> Workstation:
        stores.append(open_sqlite(tmp_path / "store" / "preparations.sqlite"))
        return Workstation(stores[-1], WorkstationFiles(ward, kits), who=who, clock=clock)

    yield make
    for store in stores:
        store.close()


@pytest.fixture
def desk(make_desk: MakeDesk) -> Workstation:
    return make_desk()
