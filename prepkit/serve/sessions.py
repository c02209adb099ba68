"""Browser sessions: who has signed in, until when, and where each one is.

A session is known by a token that only its browser has; only the token's hash is kept here. Everything is in memory
and gone when the server stops: what people did is in the store.
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
    """As its program told it; never anything typed."""
    signed: VerifiedPerson | None = None
    """Whose PIN was right, at the sign-in or in the program since."""
    is_locked: bool = False
    is_over: bool = False
    """Whether it was ended: what was asked for before that is not given any more."""
    terminal: OpenTerminal | None = None


class BrowserSessions(Struct):
    """All of them, no more than a given number."""

    most: int
    idle_seconds: float
    clock: Callable[[], float]
    _open: dict[str, BrowserSession] = field(default_factory=dict)

    def __len__(self) -> int:
        self.take_idle()
        return len(self._open)

    def open(self, signed: VerifiedPerson | None = None, place: str = "") -> str | None:
        """Open a session; the token for its browser, or None where there are as many as there may be."""
        if len(self) >= self.most:
            return None
        token = secrets.token_urlsafe(32)
        key = _hash(token)
        self._open[key] = BrowserSession(key, self.clock(), place, signed)
        return token

    def find(self, token: str | None) -> BrowserSession | None:
        """The session of a token; None where there is none, or none any more."""
        session = self._open.get(_hash(token)) if token else None
        return None if session is None or self._is_idle(session) else session

    def use(self, session: BrowserSession) -> None:
        """Somebody did something in it."""
        session.used_at = self.clock()

    def start(self, session: BrowserSession) -> Opening:
        """What its next program is told. Until that one says how it was left it counts as locked, should it be lost."""
        idle = max(self.clock() - session.used_at, 0.0)
        opening = Opening(session.place, SessionState(session.signed, session.is_locked, idle))
        session.is_locked = session.signed is not None
        return opening

    def leave(self, session: BrowserSession, state: SessionState) -> None:
        """Keep how its program was left; what reached it from the browser by itself was no use."""
        if session.is_over:
            return
        if state.signed is not None or not state.locked:
            session.signed = state.signed
        session.is_locked = state.locked
        session.used_at = min(session.used_at, self.clock() - state.idle)

    def end(self, session: BrowserSession) -> None:
        """Forget a session and who signed in to it; its token opens nothing from now on."""
        session.is_over, session.signed = True, None
        self._open.pop(session.key, None)

    def take_idle(self) -> tuple[BrowserSession, ...]:
        """Forget the sessions in which nobody did anything for long; returns those whose screens are still shown."""
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
