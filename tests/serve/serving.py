"""A server for a test: its options, its application on a free port, and who asks it."""

import socket
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, replace
from typing import Any

from aiohttp import ClientSession, DummyCookieJar, web

from prepkit.serve.options import Options
from prepkit.serve.server import Server

SECRET = "heron over the reeds"  # noqa: S105 (an invented one)
# A program that says it is one of ours, then that it is somewhere, and draws how it was started.
STAND_IN = """
import json, os, sys
def say(kind, words):
    sys.stdout.buffer.write(kind + len(words).to_bytes(4, "big") + words)
    sys.stdout.buffer.flush()
print("__GANGLION__", flush=True)
say(b"D", json.dumps({"pid": str(os.getpid())} | {name: os.environ.get(name) for name in
    ("COLUMNS", "ROWS", "PREPKIT_PLACE", "PREPKIT_PASSPHRASE", "TEXTUAL_DRIVER")}).encode())
while kind := sys.stdin.buffer.read(1):
    words = sys.stdin.buffer.read(int.from_bytes(sys.stdin.buffer.read(4), "big"))
    if words == b'{"type": "quit"}' or words == b"q":
        break
    if words == b"x":
        sys.exit(1)
    if words == b"p":
        say(b"M", b'{"type": "place", "place": {"who": "RA"}}')
    say(b"D", kind + words)
say(b"M", b'{"type": "exit"}')
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

    async def sign_in(self, passphrase: str = SECRET) -> str:
        """Sign in; the cookie as the browser would send it."""
        answer = await self.post("/sign-in", {"passphrase": passphrase})
        assert answer.status == 303, (answer.status, await answer.text())
        return str(answer.headers["Set-Cookie"].partition(";")[0])

    def connect(self, cookie: str, **headers: str) -> Any:  # noqa: ANN401 (aiohttp's own context)
        given = {"Origin": self.origin, "Cookie": cookie} | headers
        return self.session.ws_connect(f"{self.address}/screens?width=41&height=39", headers=given)


@asynccontextmanager
async def serve(options: Options) -> AsyncIterator[Asker]:
    port, clock = find_port(), Clock()
    server = Server(replace(options, port=port), (sys.executable, "-c", STAND_IN), clock)
    running = web.AppRunner(server.make_app(), access_log=None)
    await running.setup()
    await web.TCPSite(running, "127.0.0.1", port).start()
    async with ClientSession(cookie_jar=DummyCookieJar()) as session:
        try:
            yield Asker(session, port, server, clock, "https" if options.is_encrypted else "http")
        finally:
            await running.cleanup()
