"""In front of every request: which Host and Origin are answered, whose session it is, each answer's headers."""

import ipaddress
import socket
from collections.abc import Awaitable, Callable

from aiohttp import hdrs, web
from aiohttp.typedefs import Middleware
from yarl import URL

from prepkit.serve.options import ServeOptions, is_loopback
from prepkit.serve.sessions import BrowserSession, BrowserSessions

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]

SESSION = web.RequestKey("session", BrowserSession)
"""The session of a request that has one."""

OPEN_PATHS = frozenset({"/", "/sign-in", "/page/page.css", "/page/icon.svg"})
"""Answered without a session: the sign-in page and the files it is drawn with."""

HEADERS = {
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), clipboard-read=()",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
# The terminal in the page writes style sheets of its own, hence 'unsafe-inline' for styles; scripts only come from us.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; font-src 'self'; img-src 'self';"
    " connect-src 'self' {socket}; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)


class Guard:
    """The checks that every request goes through."""

    def __init__(self, options: ServeOptions, sessions: BrowserSessions) -> None:
        self._options = options
        self._sessions = sessions
        self._names = frozenset(name.lower() for name in (*options.names, options.host, socket.gethostname()))

    @property
    def cookie(self) -> str:
        """The cookie's name; over TLS one that a browser accepts only from this very host."""
        return "__Host-prepkit" if self._options.is_encrypted else f"prepkit-{self._options.port}"

    def give_cookie(self, answer: web.StreamResponse, token: str) -> None:
        """Let the browser keep the token, for this host alone and until it is closed."""
        secure = self._options.is_encrypted
        answer.set_cookie(self.cookie, token, path="/", httponly=True, samesite="Strict", secure=secure)

    def take_cookie(self, answer: web.StreamResponse) -> None:
        """Let the browser forget the token."""
        secure = self._options.is_encrypted
        answer.del_cookie(self.cookie, path="/", httponly=True, samesite="Strict", secure=secure)

    def find_address(self, request: web.Request) -> str:
        """The address of whoever is guessing; behind a proxy, the one that the proxy itself put last."""
        forwarded = request.headers.get(hdrs.X_FORWARDED_FOR, "").rpartition(",")[2].strip()
        return forwarded[:64] if self._options.behind_proxy and forwarded else request.remote or "?"

    def make_middleware(self) -> Middleware:
        """The middleware."""

        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            if not self._is_our_name(request):
                return _refuse(421, "This server does not answer to that name. Start it with --name NAME to add one.")
            if not self._is_our_page(request):
                return _refuse(403, "Another page asked for this. Open prepkit by its own address.")
            session = self._sessions.find(request.cookies.get(self.cookie))
            if session is not None:
                request[SESSION] = session
            elif request.path not in OPEN_PATHS:
                return _refuse(401, "Sign in first.")
            return await handler(request)

        return guard

    async def put_headers(self, request: web.Request, answer: web.StreamResponse) -> None:
        """Put the headers on every answer, errors included."""
        answer.headers.update(HEADERS)
        answer.headers.setdefault(hdrs.CACHE_CONTROL, "no-store")
        scheme = "wss" if self._options.is_encrypted else "ws"
        place = f"{scheme}://{request.headers.get(hdrs.HOST, '')}" if self._is_our_name(request) else ""
        answer.headers["Content-Security-Policy"] = POLICY.format(socket=place).replace(" ;", ";")
        answer.headers.pop(hdrs.SERVER, None)

    def _is_our_name(self, request: web.Request) -> bool:
        """Whether the browser used one of this server's own names: a page of another name may have led it here."""
        try:
            called = URL(f"http://{request.headers.get(hdrs.HOST, '')}")
            name, port = (called.host or "").lower(), called.explicit_port
        except ValueError:
            return False
        if called.path != "/" or called.user is not None or called.query_string or called.fragment:
            return False
        if not self._options.behind_proxy and (port or self._usual_port) != self._options.port:
            return False
        return name in self._names or self._is_our_address(request, name)

    @property
    def _usual_port(self) -> int:
        return 443 if self._options.is_encrypted else 80

    def _is_our_address(self, request: web.Request, name: str) -> bool:
        """Whether it is the very address that the connection came in at; this machine's own has several spellings."""
        here: tuple[str, int] = request.get_extra_info("sockname", ("", 0))
        if is_loopback(here[0]) and is_loopback(name):
            return True
        try:
            return _read_address(name) == _read_address(here[0])
        except ValueError:
            return False

    def _is_our_page(self, request: web.Request) -> bool:
        """Whether a page of ours or the person asked for it; a request that changes something must say which page."""
        origin = request.headers.get(hdrs.ORIGIN)
        changes = request.method not in ("GET", "HEAD") or hdrs.UPGRADE in request.headers
        if origin is None:
            return not changes
        scheme = "https" if self._options.is_encrypted else "http"
        return origin.lower() == f"{scheme}://{request.headers.get(hdrs.HOST, '')}".lower()


def _read_address(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address:
    """An address; IPv4 that arrived as IPv6 is IPv4."""
    address = ipaddress.ip_address(text)
    return getattr(address, "ipv4_mapped", None) or address


def _refuse(status: int, sentence: str) -> web.Response:
    return web.Response(status=status, text=f"{sentence}\n")
