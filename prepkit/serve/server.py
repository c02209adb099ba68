"""The server: its routes, how it starts and ends, and how it ends idle sessions."""

import asyncio
import ssl
import sys
import time
from collections.abc import AsyncIterator, Callable
from contextlib import suppress
from urllib.parse import parse_qsl

from aiohttp import web

from prepkit.app.staff import VerifiedPerson
from prepkit.serve.guard import SESSION, Guard
from prepkit.serve.options import ServeOptions
from prepkit.serve.pages import find_file, write_screens, write_sign_in
from prepkit.serve.rate_limiter import RateLimiter
from prepkit.serve.sessions import BrowserSession, BrowserSessions
from prepkit.serve.sign_in import Authenticator, NotAdmitted, SignIn
from prepkit.serve.terminal_socket import CloseCode, TerminalSocket, read_size

MOST_FORM_BYTES = 4096
MOST_FIELDS = 8
FORM_WITHIN = 10.0
"""Seconds in which a browser has to send the sign-in, once it has begun."""
STILL_FOR = 75.0
"""Seconds that an idle connection may stay open; the pages ask sooner."""
SWEEP_EVERY = 10.0
"""Seconds between looks for sessions in which nobody does anything."""


class Server:
    """Serves everything: pages, sign-in and the sockets of the screens."""

    def __init__(
        self,
        options: ServeOptions,
        command: tuple[str, ...],
        authenticator: Authenticator,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """Make a server.

        Args:
            options: how to serve.
            command: the words that start the program of a session.
            authenticator: where PINs are tried, if the ward asks for them.
            clock: any that only goes forward, in seconds.
        """
        self._command = command
        self._authenticator = authenticator
        alone = options.is_loopback
        self._sign_in = SignIn(options.passphrase, authenticator, RateLimiter(clock), alone=alone, report=_report)
        self.sessions = BrowserSessions(options.most_sessions, options.idle_minutes * 60.0, clock)
        self._guard = Guard(options, self.sessions)

    def make_app(self) -> web.Application:
        """The application, for aiohttp to run."""
        app = web.Application(middlewares=[self._guard.make_middleware()], client_max_size=MOST_FORM_BYTES)
        app.add_routes(
            [
                web.get("/", self._show_page),
                web.post("/sign-in", self._take_sign_in),
                web.post("/sign-out", self._take_sign_out),
                web.get("/alive", self._say_alive),
                web.get("/screens", self._show_screens),
                web.get("/page/{name}", self._give_file),
            ]
        )
        app.on_response_prepare.append(self._guard.put_headers)
        app.on_shutdown.append(self._end_all)
        app.on_cleanup.append(self._close_authenticator)
        app.cleanup_ctx.append(self._sweep)
        return app

    async def _show_page(self, request: web.Request) -> web.Response:
        """The screens' page with a session, the sign-in page without."""
        return _page(write_screens() if SESSION in request else write_sign_in(await self._sign_in.find_asked()))

    async def _take_sign_in(self, request: web.Request) -> web.StreamResponse:
        form = await _read_form(request)
        found = await self._sign_in.try_to_enter(self._guard.find_address(request), form)
        if isinstance(found, NotAdmitted):
            return self._refuse(found, form)
        place = await self._end_before(request, found.signed)
        token = self.sessions.open(found.signed, place)
        if token is None:
            full = f"All {self.sessions.most} places are taken. Leave prepkit on another device, then try again."
            return self._refuse(NotAdmitted(503, full, 60), form)
        answer = _lead_to_page()
        self._guard.give_cookie(answer, token)
        return answer

    async def _end_before(self, request: web.Request, signed: VerifiedPerson | None) -> str:
        """End the session that this browser already has; return its place if it is the same person's."""
        if SESSION not in request:
            return ""
        before = request[SESSION]
        who = before.signed
        await self._end(before, CloseCode.ELSEWHERE)
        return before.place if (who and who.who) == (signed and signed.who) else ""

    def _refuse(self, why: NotAdmitted, form: dict[str, str]) -> web.Response:
        asked = self._sign_in.asked
        headers = {"Retry-After": str(why.wait)} if why.wait else None
        return _page(write_sign_in(asked, why.sentence, form.get("initials", "")), why.status, headers)

    async def _take_sign_out(self, request: web.Request) -> web.StreamResponse:
        await self._end(request[SESSION], CloseCode.LEFT)
        answer = _lead_to_page()
        self._guard.take_cookie(answer)
        return answer

    async def _say_alive(self, _: web.Request) -> web.Response:
        """Answer a page that lost its connection and asks until somebody does."""
        return web.Response(status=204)

    async def _give_file(self, request: web.Request) -> web.StreamResponse:
        path = find_file(request.match_info["name"])
        if path is None:
            raise web.HTTPNotFound
        # The same for everybody, with nothing about a baby: the browser keeps it and asks each time whether it changed.
        return web.FileResponse(path, headers={"Cache-Control": "private, no-cache"})

    async def _show_screens(self, request: web.Request) -> web.StreamResponse:
        """Run the socket of a session's screens until they end; whoever left is signed out."""
        if not web.WebSocketResponse().can_prepare(request).ok:
            raise web.HTTPUpgradeRequired(headers={"Upgrade": "websocket"}) from None
        session = request[SESSION]
        screens = TerminalSocket(session, self._command, self.sessions)
        size = read_size(request.query.get("width"), request.query.get("height"))
        answer = await screens.show(request, size)
        if screens.why == CloseCode.LEFT:
            self.sessions.end(session)
        return answer

    async def _end(self, session: BrowserSession, why: CloseCode) -> None:
        self.sessions.end(session)
        if session.terminal is not None:
            await session.terminal.close(why)

    async def sweep(self) -> None:
        """End the sessions that have been idle too long."""
        for session in self.sessions.take_idle():
            await self._end(session, CloseCode.IDLE)

    async def _sweep(self, _: web.Application) -> AsyncIterator[None]:
        async def go_on() -> None:
            while True:
                await asyncio.sleep(SWEEP_EVERY)
                await self.sweep()

        sweeping = asyncio.create_task(go_on())
        yield
        sweeping.cancel()
        with suppress(asyncio.CancelledError):
            await sweeping

    async def _close_authenticator(self, _: web.Application) -> None:
        await self._authenticator.close()

    async def _end_all(self, _: web.Application) -> None:
        terminal = [session.terminal for session in self.sessions.list_with_terminal() if session.terminal is not None]
        await asyncio.gather(*(screens.close(CloseCode.GOING) for screens in terminal))


def _page(text: str, status: int = 200, headers: dict[str, str] | None = None) -> web.Response:
    return web.Response(text=text, status=status, headers=headers, content_type="text/html")


def _lead_to_page() -> web.Response:
    return web.Response(status=303, headers={"Location": "/"})


async def _read_form(request: web.Request) -> dict[str, str]:
    """What the page sent. Nobody waits for a browser that sends something else, too much, or too slowly."""
    if request.content_type != "application/x-www-form-urlencoded":
        raise web.HTTPUnsupportedMediaType
    try:
        async with asyncio.timeout(FORM_WITHIN):
            raw = await request.read()
        given = parse_qsl(raw.decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=MOST_FIELDS)
    except TimeoutError:
        raise web.HTTPRequestTimeout from None
    except ValueError:
        raise web.HTTPBadRequest from None
    return dict(given)


def _report(sentence: str) -> None:
    sys.stderr.write(f"prepkit serve: {sentence}\n")
    sys.stderr.flush()


def run_server(
    options: ServeOptions,
    command: tuple[str, ...],
    authenticator: Authenticator,
    tls: ssl.SSLContext | None,
    tell: Callable[[], None],
) -> None:
    """Serve until it is stopped; `tell` is called once it listens.

    Raises:
        OSError: where the address or the port is not available.
    """
    app = Server(options, command, authenticator).make_app()
    web.run_app(
        app,
        host=options.host,
        port=options.port,
        ssl_context=tls,
        shutdown_timeout=5.0,
        keepalive_timeout=STILL_FOR,
        access_log=None,
        print=lambda *_: tell(),
    )
