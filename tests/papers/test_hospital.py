"""A hospital's server: the same commands over the same preparations print the same as over a file."""

from pathlib import Path

import psycopg
import pytest
from papers_scene import Run
from pg_server import Server

from prepkit.store import SqliteStore, open_sqlite, open_store


@pytest.fixture
def address(pg_server: Server, run: Run, kept: Path) -> str:
    """A ward on a server with the worked night in it, moved there by the command."""
    address = pg_server.make_address()
    done = run("move", str(kept), address)
    assert done.code == 0, done.err
    assert "Moved: " in done.out
    assert "lists worked out again" in done.out
    return address


def test_every_command_prints_over_a_server_what_it_prints_over_the_file(
    store: SqliteStore, run: Run, kept: Path, address: str
) -> None:
    cot = run("record", store.read_open()[0] if store.read_open() else store.read_ended(1)[0].prep)
    assert cot.code == 0
    named = store.read_ended(1)[0].prep
    for words in (
        ("verify",),
        ("audit",),
        ("audit", "--format", "csv"),
        ("record", named),
        ("mine", "RA"),
        ("staff", "list"),
    ):
        over_file = run(*words, "--store", str(kept))
        over_server = run(*words, "--store", address)
        assert over_server.code == over_file.code
        assert over_server.out == over_file.out
        assert over_file.out or words == ("staff", "list")


def test_the_environment_names_a_server_too(run: Run, address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREPKIT_STORE", address)
    assert run("verify").code == 0
    assert run("staff", "add", "ZZ", "--role", "nurse", "--no-pin").code == 0
    assert "ZZ" in run("staff", "list").out


@pytest.mark.thorough
def test_a_backup_of_a_ward_is_a_checked_file_that_can_be_moved_back(
    store: SqliteStore, run: Run, address: str, pg_server: Server, tmp_path: Path
) -> None:
    backup = tmp_path / "backup.sqlite"
    done = run("backup", str(backup), "--store", address)
    assert done.code == 0, done.err
    assert backup.stat().st_mode & 0o777 == 0o600
    assert list(backup.parent.glob("backup.sqlite-*")) == []
    with open_sqlite(backup) as copy:
        assert tuple(copy.read_all()) == tuple(store.read_all())
    again = pg_server.make_address()
    assert run("move", str(backup), again).code == 0
    with open_store(again) as restored:
        assert tuple(restored.read_all()) == tuple(store.read_all())
    refused = run("restore", str(backup), "--store", address)
    assert refused.code == 4
    assert "prepkit move BACKUP TO" in refused.err


@pytest.mark.thorough
def test_a_move_back_into_a_file_and_again_moves_nothing_twice(run: Run, address: str, tmp_path: Path) -> None:
    back = tmp_path / "back" / "store.sqlite"
    assert run("move", address, str(back)).code == 0
    again = run("move", address, str(back))
    assert "Moved: 0 events" in again.out
    assert run("verify", "--store", str(back)).out == run("verify", "--store", address).out


@pytest.mark.thorough
def test_a_move_into_a_ward_that_holds_anything_else_is_refused(run: Run, address: str, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    assert run("staff", "add", "AB", "--role", "nurse", "--no-pin", "--store", str(other)).code == 0
    done = run("move", str(other), address)
    assert done.code == 4
    assert "nothing was moved" in done.err
    assert run("move", str(tmp_path / "nowhere.sqlite"), address).code == 4
    assert not (tmp_path / "nowhere.sqlite").exists()


def test_store_setup_prints_sql_that_makes_a_ward_whatever_it_is_called(run: Run, pg_server: Server) -> None:
    assert "CREATE FUNCTION prepkit.append" in run("store-setup").out
    ward, login = """O'Neill's "3 East"; --""", """ward"3 east' """
    sql = run("store-setup", "--ward", ward, "--login", login).out
    with pg_server.admin() as admin:
        admin.execute(sql.encode())
        row = admin.execute("SELECT name FROM prepkit.ward JOIN prepkit.member ON ward = id WHERE login = %s", [login])
        assert row.fetchone() == (ward,)
        with pytest.raises(psycopg.Error):
            admin.execute(sql.encode())
    half = run("store-setup", "--ward", ward)
    assert half.code == 2
    assert "--login" in half.err


def test_a_password_on_the_command_line_is_refused_and_not_repeated(run: Run) -> None:
    for address in ("postgresql://x:secret-word@h/db", "postgresql://h/db?user=x&password=secret-word"):
        done = run("verify", "--store", address)
        assert done.code == 2
        assert "seen by everybody" in done.err
        assert "secret-word" not in done.err


def test_a_server_that_is_not_there_is_said_in_one_line(run: Run) -> None:
    done = run("verify", "--store", "postgresql://nobody@127.0.0.1:1/prepkit")
    assert done.code == 4
    assert "cannot be reached" in done.err
    assert done.err.count("\n") == 1
