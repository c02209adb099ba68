import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import pytest
from contract import TICK, append
from kills import ENVIRONMENT
from msgspec.structs import replace
from store_scenes import fill, mode_of, plain_client, read_opening_error, umask

from prepkit.errors import StoreDamaged, StoreForeign, StoreNewer, StoreUnreachable
from prepkit.store import Draft, check_chain, open_sqlite
from prepkit.store.sqlite.driver import translate
from prepkit.store.sqlite.schema import APPLICATION_ID, FORMAT


@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077, 0o377])
def test_the_file_what_lies_beside_it_and_new_folders_are_for_one_person_only(tmp_path: Path, mask: int) -> None:
    path = tmp_path / "new" / "ward" / "store.db"
    with umask(mask), open_sqlite(path) as store:
        append(store, "a", 0, TICK)
        store._connection.execute("BEGIN IMMEDIATE")
        store._connection.execute("PRAGMA user_version = 1")
        beside = sorted(path.parent.iterdir())
        assert {mode_of(p) for p in beside} == {0o600}
        assert len(beside) > 1, "expected a journal to look at"
        store._connection.execute("ROLLBACK")
    assert mode_of(tmp_path / "new") == mode_of(tmp_path / "new" / "ward") == 0o700


def test_there_is_no_moment_at_which_a_new_file_is_wider(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The call that brings the file into being already gives it its mode, and SQLite never makes one itself."""
    made: list[tuple[int, int]] = []
    real_open = os.open

    def spy(name: Path, flags: int, mode: int = 0o777) -> int:
        number = real_open(name, flags, mode)
        if Path(name) == path:
            made.append((flags & os.O_EXCL, os.fstat(number).st_mode & 0o777))
        return number

    monkeypatch.setattr(os, "open", spy)
    with umask(0), open_sqlite(path):
        assert made == [(os.O_EXCL, 0o600)]
    path.unlink()
    monkeypatch.setattr("prepkit.store.sqlite.store.make_file", lambda _: None)
    monkeypatch.setattr("prepkit.store.sqlite.store.check_file", lambda _: None)
    read_opening_error(path, StoreUnreachable)
    assert not path.exists()


def test_an_existing_folder_and_file_keep_the_modes_they_have(tmp_path: Path) -> None:
    tmp_path.chmod(0o750)
    path = tmp_path / "store.db"
    fill(path)
    path.chmod(0o660)
    fill_again = open_sqlite(path)
    fill_again.close()
    assert (mode_of(tmp_path), mode_of(path)) == (0o750, 0o660)


def test_a_new_store_says_that_it_is_new_and_only_then(path: Path) -> None:
    with open_sqlite(path) as store:
        assert store.is_new
        with open_sqlite(path) as other:
            assert not other.is_new


@pytest.mark.parametrize("name", ["with space.db", "100%41.db", "what?mode=memory.db", "#1.db", "Zoë.db", "a'b\".db"])
def test_any_file_name_is_taken_as_it_stands(tmp_path: Path, name: str) -> None:
    fill(tmp_path / name)
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_a_name_from_the_working_folder_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    fill(Path("store.db"))
    assert (tmp_path / "store.db").is_file()


def test_the_file_is_marked_as_ours_in_its_header(path: Path) -> None:
    fill(path)
    header = path.read_bytes()[:100]
    assert header[68:72] == b"prep"
    assert header[60:64] == (2).to_bytes(4, "big")


def test_a_text_file_is_not_a_store_and_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("shopping\n" * 200)
    read_opening_error(path, StoreForeign)
    assert path.read_text() == "shopping\n" * 200


def test_another_programs_database_is_not_a_store_and_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with plain_client(path) as client:
        client.execute("CREATE TABLE mine (x)")
    before = path.read_bytes()
    read_opening_error(path, StoreForeign)
    assert path.read_bytes() == before


def test_another_programs_mark_is_enough_to_leave_a_database_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with plain_client(path) as client:
        client.execute("PRAGMA application_id = 12345")
    assert "another program" in read_opening_error(path, StoreForeign)


def test_another_programs_wal_database_stays_wal(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with plain_client(path) as client:
        client.execute("PRAGMA journal_mode = WAL")
        client.execute("CREATE TABLE mine (x)")
    read_opening_error(path, StoreForeign)
    with plain_client(path) as client:
        assert client.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_a_store_of_a_later_format_is_left_alone(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        client.execute("PRAGMA user_version = 3")
    before = path.read_bytes()
    assert "expected format 2, got 3" in read_opening_error(path, StoreNewer)
    assert path.read_bytes() == before


@pytest.mark.parametrize("form", [0, -3])
def test_a_store_of_a_format_that_never_was_is_damaged(path: Path, form: int) -> None:
    fill(path)
    with plain_client(path) as client:
        client.execute(f"PRAGMA user_version = {form}")
    read_opening_error(path, StoreDamaged)


def test_a_store_without_its_table_is_damaged(path: Path) -> None:
    fill(path)
    with plain_client(path) as client:
        client.execute("DROP TABLE record")
    assert "missing" in read_opening_error(path, StoreDamaged)


def test_a_store_whose_table_was_made_anew_is_damaged(tmp_path: Path) -> None:
    path = tmp_path / "store.db"
    with plain_client(path) as client:
        client.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        client.execute(f"PRAGMA user_version = {FORMAT}")
        client.execute("CREATE TABLE record (position, prep)")
    read_opening_error(path, StoreDamaged)


@pytest.mark.parametrize("left", [300, 4096, 5000, 8192])
def test_a_store_cut_short_is_damaged(path: Path, left: int) -> None:
    fill(path)
    os.truncate(path, left)
    read_opening_error(path, StoreDamaged)


@pytest.mark.parametrize("left", [1, 2, 15])
def test_the_first_bytes_of_a_store_are_no_store_and_none_is_begun_over_them(path: Path, left: int) -> None:
    """SQLite itself takes a file of one byte for a new database."""
    fill(path)
    os.truncate(path, left)
    read_opening_error(path, StoreForeign)
    assert path.stat().st_size == left


@pytest.mark.parametrize("left", [122, 600, 4096 + 1, 8192])
def test_a_store_whose_first_page_was_wiped_is_no_new_store(path: Path, left: int) -> None:
    fill(path)
    os.truncate(path, left)
    with path.open("r+b") as file:
        for place, length in ((60, 4), (68, 4), (103, 2)):  # its version, its mark, how much its schema holds
            file.seek(place)
            file.write(b"\0" * length)
    with pytest.raises((StoreForeign, StoreDamaged)):
        open_sqlite(path)
    assert path.stat().st_size == left


def test_an_empty_file_becomes_a_store_that_says_it_is_new(tmp_path: Path) -> None:
    path = tmp_path / "store.db"
    path.touch()
    with open_sqlite(path) as store:
        assert store.is_new
        append(store, "a", 0, TICK)


def test_a_page_overwritten_with_rubbish_is_reported_when_it_is_read(path: Path) -> None:
    with open_sqlite(path) as store:
        append(store, "a", 0, *[Draft("note", 1, '"' + "x" * 900 + '"')] * 50)
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(size // 2)
        file.write(b"\xa5" * (size - size // 2))
    with open_sqlite(path) as store, pytest.raises(StoreDamaged):
        list(store.read_all())


def test_reading_everything_ends_where_damage_has_put_positions_out_of_order(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A leaf overwritten in its middle, as SQLite gives it: whatever it is asked for, it goes on behind the damage."""
    with open_sqlite(path) as store:
        records = append(store, "a", 0, *[TICK] * 8)
        rest = [replace(records[3], position=2**56), *records[4:]]
        monkeypatch.setattr(store, "_select", lambda _, last, __: rest if last > 0 else [*records[:3], *rest])
        found = list(islice(store.read_all(), 100))
    assert len(found) < 100
    assert check_chain(found)


def test_a_schema_that_is_no_text_any_more_is_damage(path: Path) -> None:
    fill(path)
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"RAISE(ABORT, 'a record", b"RAISE(ABORT, \xff\xff record"))
    assert path.read_bytes() != whole
    read_opening_error(path, StoreDamaged)


def test_a_length_past_all_memory_is_damage(path: Path) -> None:
    """What SQLite reports as being out of memory, the driver raises as Python's own error."""
    with pytest.raises(StoreDamaged, match="longer than memory"), translate(path):
        raise MemoryError


def test_a_folder_is_not_a_store(tmp_path: Path) -> None:
    assert "is a folder" in read_opening_error(tmp_path, StoreForeign)


def test_a_pipe_is_not_a_store_and_nobody_waits_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    read_opening_error(tmp_path / "pipe", StoreForeign)


def test_a_link_that_leads_nowhere_is_unreachable_and_makes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "store.db"
    path.symlink_to(tmp_path / "gone.db")
    read_opening_error(path, StoreUnreachable)
    assert not (tmp_path / "gone.db").exists()


def test_a_link_to_a_store_opens_the_store(tmp_path: Path, path: Path) -> None:
    fill(path)
    link = tmp_path / "link.db"
    link.symlink_to(path)
    with open_sqlite(link) as store:
        append(store, "a", 3, TICK)


def test_a_folder_below_a_file_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    read_opening_error(tmp_path / "file" / "ward" / "store.db", StoreUnreachable)


def test_a_name_too_long_for_the_disk_is_unreachable(tmp_path: Path) -> None:
    read_opening_error(tmp_path / ("x" * 300), StoreUnreachable)


DENIED = """
import os, sys
from pathlib import Path
import prepkit.store.sqlite.store as sqlite
from prepkit.errors import StoreError
if "blindly" in sys.argv:
    sqlite.check_file = lambda path: None
if os.geteuid() == 0:
    os.setgroups([]); os.setgid(65534); os.setuid(65534)
try:
    sqlite.open_sqlite(Path(sys.argv[1]))
except StoreError as error:
    print(type(error).__name__, error)
"""


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that somebody without any rights of their own can reach (pytest's are closed to others)."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    try:
        yield folder
    finally:
        for part in (folder, *folder.rglob("*")):
            if part.is_dir():
                part.chmod(0o755)
        shutil.rmtree(folder)


@pytest.mark.parametrize(
    ("file_mode", "folder_mode", "error"),
    [
        (0o000, 0o777, "StoreUnreachable"),
        (0o444, 0o777, "StoreReadOnly"),
        (0o666, 0o555, "StoreReadOnly"),
        (None, 0o555, "StoreUnreachable"),
        (0o666, 0o000, "StoreUnreachable"),
    ],
    ids=["unreadable", "file read-only", "folder read-only", "folder read-only, no file", "folder closed"],
)
def test_what_a_person_without_rights_is_told(
    open_folder: Path, file_mode: int | None, folder_mode: int, error: str
) -> None:
    ward = open_folder / "ward"
    ward.mkdir()
    path = ward / "store.db"
    if file_mode is not None:
        fill(path)
        path.chmod(file_mode)
    ward.chmod(folder_mode)
    told = subprocess.run(
        [sys.executable, "-c", DENIED, path], capture_output=True, text=True, check=True, env=ENVIRONMENT
    )
    assert told.stdout.startswith(f'{error} "{path}"')
    assert told.stderr == ""


def test_a_folder_that_takes_no_journal_is_found_on_opening_by_trying(open_folder: Path) -> None:
    """Rights are not all that keeps a journal away; so the look at them is left out here."""
    path = open_folder / "store.db"
    fill(path)
    path.chmod(0o666)
    open_folder.chmod(0o555)
    command = [sys.executable, "-c", DENIED, str(path), "blindly"]
    told = subprocess.run(command, capture_output=True, text=True, check=True, env=ENVIRONMENT)
    assert told.stdout.startswith(f'StoreReadOnly "{path}"')
