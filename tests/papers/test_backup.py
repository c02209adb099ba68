"""`prepkit backup` and `prepkit restore`: a copy made in use, checked, and brought back; nothing is lost by it."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from attributed import attribute
from papers_scene import Run

from prepkit.errors import StoreUnreachable
from prepkit.store import Draft, SqliteStore, check_store, open_backup, open_sqlite, put_in_place

AT = "2031-05-04T03:12:00+01:00"


def add_note(store: SqliteStore, number: int) -> None:
    store.append("later", number, [Draft("note", 1, "{}")], attribute(AT, "AB", ""))


@pytest.fixture
def backup(run: Run, tmp_path: Path) -> Path:
    path = tmp_path / "backups" / "monday.sqlite"
    done = run("backup", str(path))
    assert done.code == 0, done.err
    return path


def test_a_backup_made_while_a_desk_writes_holds_every_record_and_is_private(
    store: SqliteStore, run: Run, backup: Path
) -> None:
    with open_sqlite(backup) as copy:
        assert tuple(copy.read_all()) == tuple(store.read_all())
        assert check_store(copy) == ()
    assert backup.stat().st_mode & 0o777 == 0o600
    add_note(store, 0)
    with open_sqlite(backup) as copy:
        assert copy.read_last() == store.read_last() - 1


def test_a_backup_says_what_it_checked_and_never_takes_the_place_of_a_file(
    run: Run, backup: Path, tmp_path: Path
) -> None:
    before = backup.read_bytes()
    done = run("backup", str(backup))
    assert done.code == 4
    assert "is there already: nothing was written" in done.err
    assert backup.read_bytes() == before
    done = run("backup", str(tmp_path / "tuesday.sqlite"))
    assert "lists worked out again" in done.out
    assert done.out.splitlines()[-1].startswith("Last event: ")


def test_a_backup_that_cannot_be_written_leaves_nothing_behind(store: SqliteStore, tmp_path: Path) -> None:
    store.close()
    target = tmp_path / "failed.sqlite"
    with pytest.raises(Exception, match="cannot be used from here"):
        store.write_copy(target)
    assert not target.exists()


def test_restoring_brings_everything_back_and_keeps_what_was_there(run: Run, kept: Path, backup: Path) -> None:
    with open_sqlite(kept) as store:
        before = tuple(store.read_all())
        add_note(store, 0)
    done = run("restore", str(backup))
    assert done.code == 0, done.err
    with open_sqlite(kept) as store:
        assert tuple(store.read_all()) == before
    assert kept.stat().st_mode & 0o777 == 0o600
    (aside,) = kept.parent.glob("*.before-restore-*")
    assert str(aside) in done.out
    with open_sqlite(aside) as store:
        assert len(tuple(store.read_all())) == len(before) + 1
    assert not list(kept.parent.glob(".prepkit-*"))


def test_restoring_where_there_is_no_store_makes_one(run: Run, backup: Path, tmp_path: Path) -> None:
    target = tmp_path / "new" / "store.sqlite"
    done = run("restore", str(backup), "--store", str(target))
    assert done.code == 0
    assert "What was there" not in done.out
    assert target.is_file()


def test_a_desk_that_has_the_old_store_open_is_told_at_its_next_tick(
    store: SqliteStore, run: Run, backup: Path
) -> None:
    assert run("restore", str(backup)).code == 0
    with pytest.raises(StoreUnreachable, match="replaced while in use"):
        add_note(store, 0)


def test_a_desk_that_waited_for_its_turn_while_the_store_was_moved_is_told_too(
    store: SqliteStore, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, asked = SqliteStore._check_in_place, []

    def move_after_the_first_look(self: SqliteStore) -> None:
        real(self)
        asked.append(1)
        if len(asked) == 1:
            kept.rename(kept.with_name("aside.sqlite"))

    monkeypatch.setattr(SqliteStore, "_check_in_place", move_after_the_first_look)
    with pytest.raises(StoreUnreachable, match="replaced while in use"):
        add_note(store, 0)


def spoil_record(path: Path) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("DROP TRIGGER record_no_update")
        other.execute("UPDATE record SET who = 'ZZ' WHERE position = 7")


def cut_short(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def flip_bits(path: Path) -> None:
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(size // 3)
        file.write(b"\xa5" * (size // 3))


def empty_it(path: Path) -> None:
    path.write_bytes(b"")


def make_newer(path: Path) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA user_version = 3")


@pytest.mark.parametrize(
    ("spoil", "named"),
    [
        (spoil_record, "record 7 "),
        (cut_short, "is damaged"),
        (flip_bits, "is damaged"),
        (empty_it, "is an empty file"),
        (make_newer, "made by a later prepkit"),
        (Path.unlink, "is not there"),
    ],
)
def test_a_damaged_backup_is_refused_by_name_and_the_store_stays(
    run: Run, kept: Path, backup: Path, spoil: object, named: str
) -> None:
    before = kept.read_bytes()
    spoil(backup)  # type: ignore[operator]
    done = run("restore", str(backup))
    assert done.code == 4
    assert named in done.err
    assert ".prepkit-" not in done.err, "the name of the copy is nothing to a person"
    assert kept.read_bytes() == before
    assert not list(kept.parent.glob("*.before-restore-*"))


def test_a_backup_of_a_store_with_a_broken_chain_says_so(run: Run, kept: Path, tmp_path: Path) -> None:
    spoil_record(kept)
    done = run("backup", str(tmp_path / "copy.sqlite"))
    assert done.code == 4
    assert "record 7 " in done.err
    assert (tmp_path / "copy.sqlite").is_file()


def test_a_file_that_somebody_made_meanwhile_is_not_overwritten(kept: Path, backup: Path, tmp_path: Path) -> None:
    target = tmp_path / "restored.sqlite"
    with open_backup(backup, target) as store:
        aside = tmp_path / "aside.sqlite"
        aside.touch()
        target.write_text("mine")
        with pytest.raises(StoreUnreachable, match="is there already"):
            put_in_place(store, target, aside)
    assert target.read_text() == "mine"
