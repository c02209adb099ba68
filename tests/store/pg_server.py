"""A real PostgreSQL on loopback in a temporary folder, as Debian ships it, for tests and benchmarks alone.

The server refuses to run as root, so that it runs as "nobody" where the tests do.
"""

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from itertools import count
from pathlib import Path

import psycopg

from prepkit.store.postgres.setup import write_setup, write_ward

ABSENT = "PostgreSQL's server is not installed here (apt-get install postgresql): its tests are skipped."
_NOBODY = 65534


@cache
def find_programs() -> Path | None:
    """The folder with `initdb` and `postgres`; None where there is none."""
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    on_path = [Path(found).resolve().parent for found in [shutil.which("postgres")] if found]
    return next((path for path in (*debian, *on_path) if (path / "initdb").exists()), None)


class Server:
    """One cluster: started, stopped, killed, and asked for wards of its own."""

    def __init__(self, folder: Path, programs: Path) -> None:
        self.folder = folder
        self.port = _find_port()
        self._programs = programs
        self._numbers = count(1)
        self._wards: psycopg.Connection[tuple[object, ...]] | None = None
        self._process: subprocess.Popen[bytes] | None = None

    def make(self) -> None:
        """Make the cluster and start it, with the store's tables."""
        self._run("initdb", "--no-sync", "--no-instructions", "--auth=trust", "--username=postgres", "--encoding=UTF8",
                  "--locale=C", "--pgdata", str(self._data))  # fmt: skip
        hba = (
            "local all all trust\nhost all with_password 127.0.0.1/32 scram-sha-256\nhost all all 127.0.0.1/32 trust\n"
        )
        (self._data / "pg_hba.conf").write_text(hba)
        self.start()
        with self.admin() as admin:
            admin.execute(write_setup().encode())

    @property
    def _data(self) -> Path:
        return self.folder / "data"

    @property
    def pid(self) -> int:
        """The server's first process."""
        assert self._process is not None
        return self._process.pid

    def start(self) -> None:
        """Start it, and wait until it takes connections."""
        words = ["-D", str(self._data), "-k", str(self.folder), "-p", str(self.port), "-h", "127.0.0.1",
                 "-c", "max_connections=200", "-c", "logging_collector=off"]  # fmt: skip
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [str(self._programs / "postgres"), *words], stdout=log, stderr=log, cwd=self.folder, **_as_nobody()
            )
        for _ in range(600):
            if self._process.poll() is not None:
                raise RuntimeError((self.folder / "log").read_text()[-2000:])
            try:
                self.admin().close()
            except psycopg.OperationalError:
                time.sleep(0.05)
            else:
                return
        raise RuntimeError("PostgreSQL did not start within half a minute")

    def stop(self, how: int = signal.SIGINT) -> None:
        """Stop it: SIGINT ends every connection, SIGQUIT is the immediate shutdown, as a crash leaves it."""
        if self._wards is not None:
            self._wards.close()
            self._wards = None
        if self._process is not None:
            self._process.send_signal(how)
            self._process.wait(30)
            self._process = None

    def kill(self) -> None:
        """Kill the first process at once, as a system out of memory does; its children follow by themselves."""
        self.stop(signal.SIGKILL)
        # The children notice that it is gone when they next look; a new one does not start before.
        time.sleep(0.2)

    def admin(self) -> "psycopg.Connection[tuple[object, ...]]":
        """A superuser's connection."""
        return psycopg.connect(f"host={self.folder} port={self.port} user=postgres dbname=postgres", autocommit=True)

    def make_ward(self) -> str:
        """A ward of its own; the name of its login."""
        number = next(self._numbers)
        login = f"ward_{number}"
        if self._wards is None or self._wards.closed or self._wards.broken:
            self._wards = self.admin()
        self._wards.execute(write_ward(f"Ward {number}", login).encode())
        return login

    def address(self, login: str, port: int | None = None) -> str:
        """Where a ward's devices find it."""
        return f"postgresql://{login}@127.0.0.1:{port or self.port}/postgres"

    def make_address(self) -> str:
        """The address of a new ward."""
        return self.address(self.make_ward())

    def _run(self, program: str, *words: str) -> None:
        done = subprocess.run(
            [str(self._programs / program), *words], capture_output=True, cwd=self.folder, check=False, **_as_nobody()
        )
        if done.returncode:
            raise RuntimeError(done.stderr.decode())


@contextmanager
def run_server() -> Iterator[Server]:
    """A server that is there until the end of this."""
    programs = find_programs()
    assert programs is not None, ABSENT
    folder = Path(tempfile.mkdtemp(prefix="prepkit-pg-", dir="/tmp"))  # a socket's path has to be short
    if os.geteuid() == 0:
        os.chown(folder, _NOBODY, _NOBODY)
    server = Server(folder, programs)
    try:
        server.make()
        yield server
    finally:
        server.stop(signal.SIGQUIT)
        shutil.rmtree(folder, ignore_errors=True)


def _as_nobody() -> dict[str, object]:
    return {"user": _NOBODY, "group": _NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}


def _find_port() -> int:
    with closing(socket.socket()) as line:
        line.bind(("127.0.0.1", 0))
        return int(line.getsockname()[1])
