"""No PIN in anything that prepkit writes, however it is encoded; and what a restore does to PINs and waits is said."""

import base64
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path
from types import ModuleType

import pytest
from argon2 import PasswordHasher, profiles
from papers_scene import Run

import prepkit.app.staff
from prepkit.app.staff import StaffList
from prepkit.people.decide import NO_MATCH
from prepkit.people.pin import Pin
from prepkit.people.staff import TRIES_BEFORE_WAIT
from prepkit.store import SqliteStore, open_sqlite

PIN, OTHER_PIN, WRONG = "73914625", "40285137", "86420975"
MONDAY = datetime(2026, 11, 25, 12, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture(autouse=True)
def cheap_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The hash itself is tested elsewhere; here its least profile will do."""
    hasher = PasswordHasher.from_parameters(profiles.CHEAPEST)
    monkeypatch.setattr("prepkit.people.pin._make_hasher", lambda: hasher)
    monkeypatch.setattr(prepkit.app.staff, "NOBODYS", hasher.hash(b"nobody's"))


def list_staff(store: SqliteStore) -> StaffList:
    return StaffList(store, lambda: MONDAY, "office")


@pytest.fixture
def with_pins(kept: Path) -> Path:
    """The night's store with two people on the staff list, one signed in, one kept waiting."""
    with open_sqlite(kept) as store:
        staff = list_staff(store)
        assert (
            staff.add("KM", "registrar", Pin(PIN), "admin") == staff.add("RA", "nurse", Pin(OTHER_PIN), "admin") == ""
        )
        assert staff.try_pin("KM", Pin(PIN)) == ""
        assert [staff.try_pin("RA", Pin(WRONG)) for _ in range(TRIES_BEFORE_WAIT)] == [NO_MATCH] * TRIES_BEFORE_WAIT
    return kept


def encode_pin(pin: str) -> Iterator[bytes]:
    """A PIN as a careless program would keep it: as text of any width, as a number, in hex or base64, back to front."""
    raw = pin.encode()
    yield from (raw, raw[::-1], pin.encode("utf-16-le"), pin.encode("utf-16-be"), pin.encode("utf-32-le"))
    yield from (raw.hex().encode(), bytes.fromhex(pin), int(pin).to_bytes(4, "big"), int(pin).to_bytes(4, "little"))
    for start in range(3):  # wherever in a longer text it stood, these characters of its base64 are the same
        yield base64.b64encode(b"x" * start + raw)[4 if start else 0 : -4]


def find_pins(kept: bytes) -> list[str]:
    return [pin for pin in (PIN, OTHER_PIN, WRONG) if any(form in kept for form in encode_pin(pin))]


def test_a_pin_in_any_of_these_forms_would_be_found() -> None:
    for form in encode_pin(PIN):
        assert find_pins(b"something " + form + b" else") == [PIN]
    assert find_pins(base64.b64encode(b"the PIN is 73914625, they said")) == [PIN]


def test_no_pin_is_in_the_store_its_journal_or_a_backup(with_pins: Path, run: Run, tmp_path: Path) -> None:
    assert run("backup", str(tmp_path / "backup.sqlite")).code == 0
    with closing(sqlite3.connect(with_pins, isolation_level=None)) as other:
        # A change of every page that is then taken back puts every page into the journal.
        other.executescript("PRAGMA cache_size = 1; DROP TRIGGER record_no_update; BEGIN; UPDATE record SET who = 'ZZ'")
        journal = Path(f"{with_pins}-journal").read_bytes()
        other.execute("ROLLBACK")
    for kept in (with_pins.read_bytes(), journal, (tmp_path / "backup.sqlite").read_bytes()):
        assert b"$argon2id$" in kept
        assert find_pins(kept) == []


def test_no_pin_is_in_any_paper_or_export(with_pins: Path, night: ModuleType, tmp_path: Path) -> None:
    written = tmp_path / "papers"
    written.mkdir()
    (written / "preparations.sqlite").write_bytes(with_pins.read_bytes())
    night.print_papers(written)
    papers = [path for path in written.iterdir() if path.suffix != ".sqlite"]
    assert {path.suffix for path in papers} >= {".txt", ".html", ".csv", ".json"}
    for path in papers:
        kept = path.read_bytes()
        assert find_pins(kept) == [], path.name
        assert b"argon2" not in kept, f"{path.name}: a hash stays in the store"


def test_restoring_brings_pins_and_waits_back_as_they_were(with_pins: Path, run: Run, tmp_path: Path) -> None:
    backup = tmp_path / "backup.sqlite"
    assert run("backup", str(backup)).code == 0
    with_pins.unlink()
    done = run("restore", str(backup))
    assert done.code == 0, done.err
    assert "The staff list and its PINs are those of the backup" in done.out
    with open_sqlite(with_pins) as store:
        staff = list_staff(store)
        assert staff.try_pin("KM", Pin(PIN)) == ""
        assert "Too many refused PINs for RA" in staff.try_pin("RA", Pin(OTHER_PIN))


def reset_km(staff: StaffList) -> str:
    return staff.reset("KM", Pin(OTHER_PIN), "admin")


def remove_km(staff: StaffList) -> str:
    return staff.remove("KM", "admin")


def refuse_km(staff: StaffList) -> str:
    assert [staff.try_pin("KM", Pin(WRONG)) for _ in range(TRIES_BEFORE_WAIT)] == [NO_MATCH] * TRIES_BEFORE_WAIT
    return ""


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (reset_km, "KM has their PIN of then again. To give another one: prepkit staff reset KM"),
        (remove_km, "KM is on the staff list again (registrar), as then. To take them off: prepkit staff remove KM"),
        (refuse_km, "The wait of KM after refused PINs is over with it."),
    ],
    ids=["reset", "removed", "waiting"],
)
def test_a_restore_says_whose_pin_is_an_older_one_then(
    with_pins: Path, run: Run, tmp_path: Path, change: Callable[[StaffList], str], said: str
) -> None:
    backup = tmp_path / "backup.sqlite"
    assert run("backup", str(backup)).code == 0
    with open_sqlite(with_pins) as store:
        assert change(list_staff(store)) == ""
    done = run("restore", str(backup))
    assert done.code == 0, done.err
    assert said in done.out.splitlines()


def test_a_restore_over_a_store_that_cannot_be_read_says_that_pins_are_the_backups(
    with_pins: Path, run: Run, tmp_path: Path
) -> None:
    assert run("backup", str(tmp_path / "backup.sqlite")).code == 0
    with_pins.write_bytes(b"\xa5" * 9000)
    done = run("restore", str(tmp_path / "backup.sqlite"))
    assert done.code == 0, done.err
    assert "set every PIN anew that was changed after it" in done.out
