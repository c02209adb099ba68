"""Browser sessions: who has signed in, until when, and where each one is.

A session is known by a token that only its browser has; only the token's hash is kept here. Everything is in memory
and goes when the server stops: what people did is in the store.
"""

import hashlib
import secrets
from collections.abc import Awaitable, Callable
from typing import Protocol

from msgspec import Struct, field

from prepkit.app.staff import VerifiedPerson
from prepkit.serve.session_state import Opening, SessionState


class OpenTerminal(Protocol):
    """The screens of a session, on one socket."""

    def close(self, why: int) -> Awaitable[None]:
        """End the program and the socket, with the code that tells the page why."""
        ...


class BrowserSession(Struct):
    """One browser that has signed in."""

    key: str
    used_at: float
    place: str = ""
    """Where it is, as its program reports it; never anything typed."""
    signed: VerifiedPerson | None = None
    """Who gave the right PIN, at the sign-in or in the program since."""
    is_locked: bool = False
    is_over: bool = False
    """Whether it has ended: requests made before that are no longer answered."""
    terminal: OpenTerminal | None = None


class BrowserSessions(Struct):
    """All browser sessions, up to a given number."""

    most: int
    idle_seconds: float
    clock: Callable[[], float]
    _open: dict[str, BrowserSession] = field(default_factory=dict)

    def __len__(self) -> int:
        self.take_idle()
        return len(self._open)

    def open(self, signed: VerifiedPerson | None = None, place: str = "") -> str | None:
        """Open a session; return the token for its browser, or None where the server is full."""
        if len(self) >= self.most:
            return None
        token = secrets.token_urlsafe(32)
        key = _hash(token)
        self._open[key] = BrowserSession(key, self.clock(), place, signed)
        return token

    def find(self, token: str | None) -> BrowserSession | None:
        """The session of a token; None where there is none, or where it has ended."""
        session = self._open.get(_hash(token)) if token else None
        return None if session is None or self._is_idle(session) else session

    def use(self, session: BrowserSession) -> None:
        """Note that somebody did something in it."""
        session.used_at = self.clock()

    def start(self, session: BrowserSession) -> Opening:
        """What its next program is told. The session counts as locked until that program reports how it was left."""
        idle = max(self.clock() - session.used_at, 0.0)
        opening = Opening(session.place, SessionState(session.signed, session.is_locked, idle))
        session.is_locked = session.signed is not None
        return opening

    def leave(self, session: BrowserSession, state: SessionState) -> None:
        """Keep the state in which its program was left. What the browser sent by itself does not count as use."""
        if session.is_over:
            return
        if state.signed is not None or not state.locked:
            session.signed = state.signed
        session.is_locked = state.locked
        session.used_at = min(session.used_at, self.clock() - state.idle)

    def end(self, session: BrowserSession) -> None:
        """Forget a session and who signed in to it; from now on its token opens nothing."""
        session.is_over, session.signed = True, None
        self._open.pop(session.key, None)

    def take_idle(self) -> tuple[BrowserSession, ...]:
        """Forget the sessions that have been idle too long; return those whose screens are still shown."""
        idle = [session for session in self._open.values() if self._is_idle(session)]
        for session in idle:
            if session.terminal is None:
                self.end(session)
        return tuple(session for session in idle if session.terminal is not None)

    def list_with_terminal(self) -> tuple[BrowserSession, ...]:
        """The sessions whose screens are shown now."""
        return tuple(session for session in self._open.values() if session.terminal is not None)

    def _is_idle(self, session: BrowserSession) -> bool:
        return self.clock() - session.used_at >= self.idle_seconds


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
