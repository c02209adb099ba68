"""The terminal of one session over one socket: what is sent each way, and how it ends.

Whatever a browser sends is read strictly, and ignored if it is not understood. The socket closes with a code for the
page, which says why and whether to try again.
"""

import asyncio
import json
from contextlib import suppress
from enum import IntEnum

from aiohttp import WSMsgType, web

from prepkit.serve.program import Program, Size
from prepkit.serve.session_state import SessionState
from prepkit.serve.sessions import BrowserSession, BrowserSessions

MOST_BYTES = 65_536
"""The longest message from a browser, in bytes; a long paste is shorter."""
HEARTBEAT = 10.0
"""Seconds between checks that the browser is still there."""
CLOSE_WITHIN = 1.0
"""Seconds in which a browser has to say goodbye; one whose network is gone never does."""


class CloseCode(IntEnum):
    """Why a socket was closed; `page/phone.js` has a sentence for each."""

    LEFT = 4000
    FAULT = 4001
    IDLE = 4002
    ELSEWHERE = 4003
    GOING = 1001
    """The server stops; the page tries again."""


class TerminalSocket:
    """One program and one socket, until either ends."""

    def __init__(self, session: BrowserSession, command: tuple[str, ...], sessions: BrowserSessions) -> None:
        self._session = session
        self._command = command
        self._sessions = sessions
        self._socket = web.WebSocketResponse(timeout=CLOSE_WITHIN, heartbeat=HEARTBEAT, max_msg_size=MOST_BYTES)
        self._why: int | None = None
        self._ended = asyncio.Event()

    @property
    def why(self) -> int | None:
        """Why this side ended it; None where the connection was lost."""
        return self._why

    async def show(self, request: web.Request, size: Size) -> web.WebSocketResponse:
        """Take over the session, show its screens, and return when they have ended."""
        await self._socket.prepare(request)
        before, self._session.terminal = self._session.terminal, self
        try:
            if before is not None:
                await before.close(CloseCode.ELSEWHERE)
            if self._session.is_over:  # the session ended while this socket was on its way
                await self._close_socket(CloseCode.LEFT)
            if self._why is None and not self._socket.closed:
                await self._run(size)
        finally:
            if self._session.terminal is self:
                self._session.terminal = None
            self._ended.set()
        return self._socket

    async def _run(self, size: Size) -> None:
        opening = self._sessions.start(self._session)
        program = Program(self._command, opening, show=self._send, keep_place=self._keep_place, leave=self._leave)
        await program.start(size.columns, size.rows)
        watching = asyncio.create_task(self._watch(program))
        try:
            with suppress(ConnectionError):
                async for message in self._socket:
                    if message.type is WSMsgType.TEXT:
                        await self._take(program, message.data)
        finally:
            watching.cancel()
            await program.end()

    async def _watch(self, program: Program) -> None:
        """Close the socket when the program has ended by itself."""
        code = await program.wait()
        await self._close_socket(CloseCode.FAULT if code else CloseCode.LEFT)

    async def close(self, why: int) -> None:
        """End the screens, and wait until their program has gone."""
        await self._close_socket(why)
        await self._ended.wait()

    async def _close_socket(self, why: int) -> None:
        if self._why is None:
            self._why = why
        with suppress(ConnectionError):
            await self._socket.close(code=why)

    async def _send(self, drawn: bytes) -> None:
        """Send what was drawn. If nobody is there any more, the program must still be able to reach its end."""
        with suppress(ConnectionError):
            await self._socket.send_bytes(drawn)

    def _keep_place(self, place: str) -> None:
        self._session.place = place

    def _leave(self, state: SessionState) -> None:
        self._sessions.leave(self._session, state)

    async def _take(self, program: Program, text: str) -> None:
        try:
            kind, *rest = json.loads(text)
        except (ValueError, TypeError):
            return
        given = rest[0] if rest else None
        if kind == "stdin" and isinstance(given, str):
            self._sessions.use(self._session)
            await program.send_bytes(given.encode("utf-8", "replace"))
        elif kind == "resize" and isinstance(given, dict):
            size = read_size(given.get("width"), given.get("height"))
            await program.set_terminal_size(size.columns, size.rows)
        elif kind == "ping" and isinstance(given, str):
            await self._socket.send_json(["pong", given])
        elif kind in ("focus", "blur"):
            await (program.focus() if kind == "focus" else program.blur())


def read_size(columns: object, rows: object) -> Size:
    """A size as a browser gives it, in numbers or in digits; a small phone's if it makes no sense."""
    return Size(_read_count(columns, 40), _read_count(rows, 24))


def _read_count(given: object, otherwise: int) -> int:
    if isinstance(given, str) and given.isascii() and given.isdigit() and len(given) < 6:  # noqa: PLR2004
        return int(given)
    return given if type(given) is int else otherwise
