"""A desk over a real store in a temporary folder, and the app at it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from argon2 import PasswordHasher, profiles
from tui_samples import IN_HAND, NIGHT, PEOPLE, STAFF, write_ward
from workstation_scene import Clock, answer_all, check_all, start, tick_all

from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.staff import StaffList
from prepkit.app.workstation import Workstation
from prepkit.paths import find_shipped
from prepkit.people.pin import Pin
from prepkit.store import open_sqlite
from prepkit.tui.screens.cot import CotScreen


def _make_desk(path: Path, who: str) -> Workstation:
    return Workstation(
        open_sqlite(path), WorkstationFiles(find_shipped("demo") / "ward.toml", None), who=who, clock=lambda: NIGHT
    )


def _close(desk: Workstation) -> None:
    desk.store.close()  # type: ignore[attr-defined]


@pytest.fixture
def store_path(tmp_path: Path) -> Path:
    return tmp_path / "store" / "preparations.sqlite"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pins_desk(store_path: Path, tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Iterator[Workstation]:
    """A desk of a ward with PINs, to which nobody has signed on; two people and a student are on its list."""
    hasher = PasswordHasher.from_parameters(profiles.CHEAPEST)
    monkeypatch.setattr("prepkit.people.pin._make_hasher", lambda: hasher)
    monkeypatch.setattr("prepkit.app.staff.NOBODYS", hasher.hash(b"nobody's"))
    desk = Workstation(
        open_sqlite(store_path), WorkstationFiles(write_ward(tmp_path / "ward.toml", more=PEOPLE), None), clock=clock
    )
    staff = StaffList(desk.store, clock, "office")
    for initials, (role, pin) in STAFF.items():
        assert staff.add(initials, role, Pin(pin), "admin") == ""
    yield desk
    _close(desk)


@pytest.fixture
def hand_desk(store_path: Path, tmp_path: Path) -> Iterator[Workstation]:
    """A desk of a ward that asks for batch and expiry, with RA at it."""
    ward = write_ward(tmp_path / "ward.toml", *IN_HAND)
    desk = Workstation(open_sqlite(store_path), WorkstationFiles(ward, None), who="RA", clock=lambda: NIGHT)
    yield desk
    _close(desk)


@pytest.fixture
def begun_with_pins(pins_desk: Workstation) -> OpenPreparation:
    """A preparation made by RA, who has signed in."""
    assert pins_desk.identity.sign_on("RA", STAFF["RA"][1]) == ""
    return start(pins_desk)


@pytest.fixture
def begun_in_hand(hand_desk: Workstation) -> OpenPreparation:
    """A preparation of a ward that asks for batch and expiry."""
    return start(hand_desk)


@pytest.fixture
def desk(store_path: Path) -> Iterator[Workstation]:
    """A desk that nobody has signed on to."""
    desk = _make_desk(store_path, "")
    yield desk
    _close(desk)


@pytest.fixture
def other_desk(store_path: Path) -> Iterator[Workstation]:
    """Another device over the same store."""
    desk = _make_desk(store_path, "KM")
    yield desk
    _close(desk)


@pytest.fixture
def begun(desk: Workstation) -> OpenPreparation:
    """A preparation with its list, made at the desk by RA, of a baby born today."""
    desk.identity.who = "RA"
    return start(desk)


@pytest.fixture
def unborn(desk: Workstation) -> OpenPreparation:
    """The same, but nobody said yet when the baby was born."""
    desk.identity.who = "RA"
    opened = desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(opened, str), opened
    assert opened.baby.give_fact("birth_weight", "1450") == ""
    assert opened.baby.give_fact("birth_gestation", "30+2") == ""
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


@pytest.fixture
def unresting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Steps at the cot may follow each other as fast as a test types."""
    monkeypatch.setattr(CotScreen, "REST", 0.0)
