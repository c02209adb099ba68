"""A server for a test: its options, its application on a free port, and who asks it."""

import socket
import sys
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from aiohttp import ClientSession, DummyCookieJar, web
from msgspec.structs import replace

from prepkit.app.clock import read_clock
from prepkit.app.staff import StaffList
from prepkit.paths import find_shipped
from prepkit.people.pin import Pin
from prepkit.serve.options import ServeOptions
from prepkit.serve.server import Server
from prepkit.serve.sign_in import Authenticator
from prepkit.store import Record, open_sqlite

SECRET = "heron over the reeds"  # noqa: S105 (an invented one)
PEOPLE = '\n[people]\npins = true\nlock_after = "5 min"\n'
STAFF = {"KM": ("registrar", "73914625"), "RA": ("nurse", "40285137")}
"""By initials: role and PIN, all invented."""
# A program that says it is one of ours, and draws how it was started; then it does what it is told with one letter.
STAND_IN = """
import json, os, sys
def say(kind, words):
    sys.stdout.buffer.write(kind + len(words).to_bytes(4, "big") + words)
    sys.stdout.buffer.flush()
def stand(who, mark, locked, idle):
    say(b"M", json.dumps({"type": "standing", "standing":
        {"who": who, "mark": mark, "locked": locked, "idle": idle}}).encode())
print("__GANGLION__", flush=True)
assert sys.stdin.buffer.read(1) == b"M"
opening = json.loads(sys.stdin.buffer.read(int.from_bytes(sys.stdin.buffer.read(4), "big")))
say(b"D", json.dumps({"pid": str(os.getpid()), "opening": opening} | {name: os.environ.get(name) for name in
    ("COLUMNS", "ROWS", "PREPKIT_PASSPHRASE", "TEXTUAL_DRIVER")}).encode())
standing = opening["standing"]
while kind := sys.stdin.buffer.read(1):
    words = sys.stdin.buffer.read(int.from_bytes(sys.stdin.buffer.read(4), "big"))
    if words == b'{"type": "quit"}' or words == b"q":
        break
    if words == b"x":
        sys.exit(1)
    if words == b"l":
        standing |= {"locked": True, "idle": 300.0}
    if words == b"w":
        standing |= {"who": "RA", "mark": "of RA", "locked": False}
    if words == b"i":
        standing |= {"idle": 120.0, "locked": False}
    if words == b"p":
        say(b"M", b'{"type": "place", "place": {"who": "RA"}}')
    say(b"D", kind + words)
say(b"M", b'{"type": "exit"}')
stand(**standing)
"""


def find_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@dataclass
class Clock:
    """A clock that goes when it is told to."""

    now: float = 0.0

    def __call__(self) -> float:
        return self.now


@dataclass
class Asker:
    """Somebody who asks a server, with headers of their own choice; keeps no cookie but the one given."""

    session: ClientSession
    port: int
    server: Server
    clock: Clock
    folder: Path
    """Where its store and its ward file lie."""
    scheme: str = "http"

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def origin(self) -> str:
        return f"{self.scheme}://127.0.0.1:{self.port}"

    async def get(self, path: str, **headers: str) -> Any:  # noqa: ANN401 (an answer of aiohttp's)
        answer = await self.session.get(f"{self.address}{path}", headers=headers, allow_redirects=False)
        await answer.read()
        return answer

    async def post(self, path: str, form: dict[str, str] | None = None, **headers: str) -> Any:  # noqa: ANN401
        given = {"Origin": self.origin} | headers
        answer = await self.session.post(f"{self.address}{path}", data=form or {}, headers=given, allow_redirects=False)
        await answer.read()
        return answer

    async def sign_in(self, passphrase: str = SECRET, who: str = "", **headers: str) -> str:
        """Sign in; the cookie as the browser would send it."""
        answer = await self.post("/sign-in", {"passphrase": passphrase} | (give(who) if who else {}), **headers)
        assert answer.status == 303, (answer.status, await answer.text())
        return str(answer.headers["Set-Cookie"].partition(";")[0])

    def connect(self, cookie: str, **headers: str) -> Any:  # noqa: ANN401 (aiohttp's own context)
        given = {"Origin": self.origin, "Cookie": cookie} | headers
        return self.session.ws_connect(f"{self.address}/screens?width=41&height=39", headers=given)

    def read_staff(self) -> list[Record]:
        """The records of the staff list since its people were put on it."""
        with open_sqlite(self.folder / "store.sqlite") as store:
            return list(store.read("staff"))[len(STAFF) :]


def give(who: str, pin: str = "") -> dict[str, str]:
    """What somebody types who signs in with a PIN: theirs, unless another is given."""
    return {"initials": who, "pin": pin or STAFF[who][1]}


def lay_out(folder: Path, *, pins: bool) -> tuple[Path, Path]:
    """A ward and its store, with people on the staff list where it wants PINs."""
    ward, path = folder / "ward.toml", folder / "store.sqlite"
    ward.write_text((find_shipped("demo") / "ward.toml").read_text("utf-8") + PEOPLE * pins, "utf-8")
    with open_sqlite(path) as store:
        staff = StaffList(store, read_clock, "office")
        for initials, (role, pin) in STAFF.items() if pins else ():
            assert staff.add(initials, role, Pin(pin), "admin") == ""
    return path, ward


@asynccontextmanager
async def serve(options: ServeOptions, *, pins: bool = False) -> AsyncIterator[Asker]:
    port, clock = find_port(), Clock()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        door = Authenticator(*lay_out(folder, pins=pins), None)
        server = Server(replace(options, port=port), (sys.executable, "-c", STAND_IN), door, clock)
        running = web.AppRunner(server.make_app(), access_log=None)
        await running.setup()
        await web.TCPSite(running, "127.0.0.1", port).start()
        async with ClientSession(cookie_jar=DummyCookieJar()) as session:
            try:
                yield Asker(session, port, server, clock, folder, "https" if options.is_encrypted else "http")
            finally:
                await running.cleanup()
