"""What the server itself refuses, whatever program asks: changes, forgeries, and other wards' records."""

from pathlib import Path
from typing import TYPE_CHECKING

import psycopg
import pytest
from contract import CLOSE, TICK, append
from pg_server import Server

from prepkit.errors import StoreDamaged, StoreFailed, StoreForeign, StoreNewer, StoreUnreachable
from prepkit.store import Projection, check_store, open_sqlite
from prepkit.store.postgres.store import open_postgres

if TYPE_CHECKING:
    from collections.abc import Iterator

APPEND = "SELECT prepkit.append('{a}', '{1}', '{k}', '{1}', '{t}', '{w}', '{0}', '{x}', '{b}', NULL, NULL)"


@pytest.fixture
def login(pg_server: Server) -> str:
    """A ward with four records of two preparations."""
    login = pg_server.make_ward()
    with open_postgres(pg_server.address(login)) as store:
        append(store, "a", 0, TICK, TICK)
        append(store, "b", 0, TICK)
        append(store, "a", 2, CLOSE)
    return login


@pytest.fixture
def device(pg_server: Server, login: str) -> "Iterator[psycopg.Connection[tuple[object, ...]]]":
    """Any other program that logs in as the ward."""
    with psycopg.connect(pg_server.address(login), autocommit=True) as connection:
        yield connection


@pytest.fixture
def ward(pg_server: Server, login: str) -> int:
    with pg_server.admin() as admin:
        row = admin.execute("SELECT ward FROM prepkit.member WHERE login = %s", [login]).fetchone()
        return int(str(row[0])) if row else 0


CHANGES = [
    "UPDATE prepkit.record SET body = '{}' WHERE position = 2",
    "DELETE FROM prepkit.record WHERE position = 2",
    "DELETE FROM prepkit.record WHERE false",
    "TRUNCATE prepkit.record",
    "TRUNCATE prepkit.record, prepkit.chain_end",
    "DELETE FROM prepkit.chain_end",
    "UPDATE prepkit.chain_end SET position = 0",
]


NOT_ALLOWED = [
    *CHANGES,
    "DELETE FROM prepkit.head",
    "UPDATE prepkit.gist SET body = ''",
    "INSERT INTO prepkit.record VALUES (1, 99, 'a', 99, 'k', 1, 't', 'w', 1, 'x', 'b', 'h', 'h')",
    "INSERT INTO prepkit.chain_end VALUES (1, 0, '')",
    "INSERT INTO prepkit.member VALUES (session_user, 1)",
    "INSERT INTO prepkit.ward (name) VALUES ('mine')",
    "SELECT * FROM prepkit.member",
    "SELECT * FROM prepkit.ward",
    "SELECT * FROM prepkit.record FOR UPDATE",
    "DO 'BEGIN LOCK TABLE prepkit.record IN EXCLUSIVE MODE; END'",
    "DROP TABLE prepkit.record",
    "ALTER TABLE prepkit.record DISABLE TRIGGER ALL",
    "ALTER TABLE prepkit.record DISABLE ROW LEVEL SECURITY",
    "CREATE OR REPLACE FUNCTION prepkit.my_ward() RETURNS bigint LANGUAGE sql AS 'SELECT 1::bigint'",
    "CREATE TABLE prepkit.mine (a int)",
    "SET ROLE prepkit_owner",
    "SET SESSION AUTHORIZATION postgres",
    "SELECT prepkit.refuse()",
]


def test_the_role_that_devices_log_in_as_has_no_right_but_to_read_and_to_append(
    device: "psycopg.Connection[tuple[object, ...]]",
) -> None:
    for sql in NOT_ALLOWED:
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            device.execute(sql.encode())


@pytest.mark.parametrize("role", ["prepkit_owner", "postgres"])
def test_the_triggers_refuse_the_owner_and_a_superuser_too(pg_server: Server, login: str, role: str) -> None:
    with pg_server.admin() as admin:
        if role == "postgres":
            admin.execute("SET session_replication_role = replica")  # which ordinary triggers would not see
        admin.execute(f"SET ROLE {role}".encode())
        # Row-level security hides every count from the owner, so that there is none for it to change.
        for sql in [sql for sql in CHANGES if role == "postgres" or "chain_end SET" not in sql]:
            with pytest.raises(psycopg.Error, match="never"):
                admin.execute(sql.encode())
        if role == "prepkit_owner":
            assert admin.execute("UPDATE prepkit.chain_end SET position = 0").rowcount == 0
    with open_postgres(pg_server.address(login)) as store:
        assert store.read_last() == 4
        assert check_store(store) == ()


def test_a_ward_sees_its_own_records_alone_and_hears_of_its_own_alone(pg_server: Server, login: str) -> None:
    other = pg_server.make_ward()
    with (
        open_postgres(pg_server.address(login), poll_every=0) as east,
        open_postgres(pg_server.address(other), poll_every=0) as west,
        psycopg.connect(pg_server.address(other), autocommit=True) as device,
    ):
        append(west, "a", 0, TICK)
        assert [record.position for record in west.read_all()] == [1]
        assert not east.has_news()
        append(east, "a", 3, TICK)
        assert not west.has_news()
        assert len(west.read("a")) == 1
        assert [head.last for head in west.read_stream_index()] == [1]
        head = east.read_stream_index()[1]
        east.write_projections("day", "we", [Projection(head.prep, head.hash, "1", "east")])
        west.write_projections("day", "we", [Projection(head.prep, head.hash, "1", "west")])
        assert [gist.body for gist in east.read_projections("day", "we")] == ["east"]
        west.rebuild_stream_index()
        assert len(east.read_stream_index()) == 2
        assert device.execute("SELECT count(*) FROM prepkit.head").fetchone() == (1,)
        assert device.execute("SELECT count(*) FROM prepkit.gist").fetchone() == (1,)
        assert west.read("b") == ()
        assert device.execute("SELECT count(*), min(ward) = max(ward) FROM prepkit.record").fetchone() == (1, True)
        assert device.execute("SELECT count(*) FROM prepkit.chain_end").fetchone() == (1,)
        assert check_store(east) == check_store(west) == ()


def test_the_owner_sees_nothing_and_a_login_without_a_ward_is_told_so(pg_server: Server, login: str) -> None:
    with pg_server.admin() as admin:
        admin.execute("SET ROLE prepkit_owner")
        assert admin.execute("SELECT count(*) FROM prepkit.record").fetchone() == (0,)
        admin.execute("RESET ROLE")
        admin.execute("CREATE ROLE wardless LOGIN IN ROLE prepkit_app")
        admin.execute("CREATE ROLE nobody_here LOGIN")
        try:
            with pytest.raises(StoreForeign, match="knows no ward for this login"):
                open_postgres(pg_server.address("wardless"))
            with pytest.raises(StoreForeign, match="no store of prepkit's that this login may use"):
                open_postgres(pg_server.address("nobody_here"))
            with psycopg.connect(pg_server.address("wardless"), autocommit=True) as device:
                assert device.execute("SELECT count(*) FROM prepkit.record").fetchone() == (0,)
                with pytest.raises(psycopg.Error, match="belongs to no ward"):
                    device.execute(APPEND)
        finally:
            admin.execute("DROP ROLE wardless")
            admin.execute("DROP ROLE nobody_here")


def test_a_login_that_may_do_anything_is_not_let_in(pg_server: Server) -> None:
    with pytest.raises(StoreForeign, match="log in as a ward's own role"):
        open_postgres(pg_server.address("postgres"))


@pytest.mark.parametrize(
    ("sql", "named"),
    [
        ("UPDATE prepkit.record SET who = 'ZZ' WHERE ward = {} AND position = 2", "record 2 "),
        ("UPDATE prepkit.record SET verified = 1 WHERE ward = {} AND position = 2", "record 2 "),
        ("UPDATE prepkit.record SET hash = upper(hash) WHERE ward = {} AND position = 2", "record 2 "),
        ("DELETE FROM prepkit.record WHERE ward = {} AND position IN (2, 3)", "records 2 to 3 are missing before it"),
        ("DELETE FROM prepkit.record WHERE ward = {} AND position = 4", "record 4 is missing at the end"),
        ("DELETE FROM prepkit.record WHERE ward = {}", "records 1 to 4 are missing at the end"),
    ],
)
def test_what_somebody_did_who_took_the_triggers_away_is_found_and_named_and_copied_as_it_is(
    pg_server: Server, login: str, ward: int, sql: str, named: str, tmp_path: Path
) -> None:
    with pg_server.admin() as admin:
        admin.execute("ALTER TABLE prepkit.record DISABLE TRIGGER record_kept")
        admin.execute(sql.format(ward).encode())
        admin.execute("ALTER TABLE prepkit.record ENABLE ALWAYS TRIGGER record_kept")
    with open_postgres(pg_server.address(login)) as store:
        found = check_store(store)
        assert any(named in problem.words for problem in found)
        store.write_copy(tmp_path / "copy.sqlite")
    with open_sqlite(tmp_path / "copy.sqlite") as copy:
        # The heads are worked out again for the copy.
        assert check_store(copy) == tuple(problem for problem in found if not problem.is_derived)


def test_a_record_taken_from_the_end_is_missed_even_after_others_were_added(
    pg_server: Server, login: str, ward: int
) -> None:
    with pg_server.admin() as admin:
        admin.execute("ALTER TABLE prepkit.record DISABLE TRIGGER record_kept")
        admin.execute("DELETE FROM prepkit.record WHERE ward = %s AND position = 4", [ward])
        admin.execute("ALTER TABLE prepkit.record ENABLE ALWAYS TRIGGER record_kept")
    with open_postgres(pg_server.address(login)) as store:
        append(store, "b", 1, TICK)
        assert any("record 4 is missing before it" in problem.words for problem in check_store(store))


def test_a_server_that_went_back_to_an_older_copy_is_said_and_not_taken_for_nothing_new(
    pg_server: Server, login: str, ward: int
) -> None:
    with open_postgres(pg_server.address(login), poll_every=0) as store, pg_server.admin() as admin:
        admin.execute("ALTER TABLE prepkit.chain_end DISABLE TRIGGER end_forward")
        admin.execute("UPDATE prepkit.chain_end SET position = 2 WHERE ward = %s", [ward])
        admin.execute("ALTER TABLE prepkit.chain_end ENABLE ALWAYS TRIGGER end_forward")
        with pytest.raises(StoreDamaged, match="went back from record 4 to 2"):
            store.has_news()


def test_an_append_is_synced_whatever_the_login_has_set(pg_server: Server, login: str) -> None:
    """The function sets it for its own transaction; seen from inside one, as it stands when it commits."""
    with psycopg.connect(pg_server.address(login), options="-c synchronous_commit=off") as device:
        device.execute(APPEND.replace("{a}", "{c}"))
        assert device.execute("SHOW synchronous_commit").fetchone() == ("on",)
    with open_postgres(pg_server.address(login)) as store:
        assert store._server.ask("SHOW synchronous_commit", within=8) == [("on",)]


@pytest.mark.parametrize("setting", ["fsync", "full_page_writes"])
def test_a_server_that_may_lose_what_it_acknowledged_is_refused(pg_server: Server, login: str, setting: str) -> None:
    with pg_server.admin() as admin:
        admin.execute(f"ALTER SYSTEM SET {setting} = off".encode())
        admin.execute("SELECT pg_reload_conf()")
        try:
            wait_for(admin, setting, "off")
            with pytest.raises(StoreFailed, match="set fsync and full_page_writes to on"):
                open_postgres(pg_server.address(login))
        finally:
            admin.execute(f"ALTER SYSTEM RESET {setting}".encode())
            admin.execute("SELECT pg_reload_conf()")
            wait_for(admin, setting, "on")


def wait_for(admin: "psycopg.Connection[tuple[object, ...]]", setting: str, value: str) -> None:
    while True:
        with psycopg.connect(admin.info.dsn, autocommit=True) as fresh:
            if fresh.execute("SELECT current_setting(%s)", [setting]).fetchone() == (value,):
                return


def test_a_store_of_a_later_prepkit_is_told_so(pg_server: Server, login: str) -> None:
    with pg_server.admin() as admin:
        change = "CREATE OR REPLACE FUNCTION prepkit.format() RETURNS integer LANGUAGE sql IMMUTABLE AS 'SELECT {}'"
        admin.execute(change.format(2).encode())
        try:
            with pytest.raises(StoreNewer, match="expected format 1, got 2"):
                open_postgres(pg_server.address(login))
        finally:
            admin.execute(change.format(1).encode())


def test_no_error_names_a_password(pg_server: Server) -> None:
    with pg_server.admin() as admin:
        admin.execute("CREATE ROLE with_password LOGIN PASSWORD 'right-secret' IN ROLE prepkit_app")
        try:
            base = f"postgresql://with_password:%s@127.0.0.1:{pg_server.port}/postgres"
            broken = [
                "postgresql://x:wrong-secret@[::1/db",
                "postgresql://x:wrong-secret%zz@h/db",
                base % "wrong-secret",
            ]
            for address in (*broken, base.replace(str(pg_server.port), "1") % "wrong-secret"):
                with pytest.raises(StoreUnreachable) as caught:
                    open_postgres(address)
                assert "secret" not in f"{caught.value!r} {caught.value.__cause__!r}"
                assert "\n" not in str(caught.value)
            with pytest.raises(StoreForeign) as foreign:
                open_postgres(base % "right-secret")
            assert "secret" not in str(foreign.value)
        finally:
            admin.execute("DROP ROLE with_password")
