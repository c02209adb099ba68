"""A session's state while it has no program: who signed in, whether the screen is locked, how long it was idle.

The server tells each program before its screens open, and the program tells the server after they have closed: on the
program's own standard input and output, which have no name, and nowhere else.
"""

import json
import math
from typing import Any

from msgspec import Struct

from prepkit.app.staff import VerifiedPerson


class SessionState(Struct, frozen=True):
    """The state of one session."""

    signed: VerifiedPerson | None = None
    """Who gave the right PIN; None where no PIN was asked for."""
    locked: bool = False
    idle: float = 0.0
    """Seconds since somebody touched the screen."""


class Opening(Struct, frozen=True):
    """What the server tells a program before its screens open."""

    place: str = ""
    """Where to open, as `prepkit.tui.place` writes it."""
    state: SessionState = SessionState()


def write_opening(opening: Opening) -> str:
    """An opening as text."""
    return json.dumps({"type": "open", "place": opening.place, "standing": _write(opening.state)})


def write_session_state(state: SessionState) -> str:
    """A session state as text."""
    return json.dumps({"type": "standing", "standing": _write(state)})


def read_opening(text: bytes) -> Opening:
    """Read an opening. Raises `ValueError` for anything else: a program that is told nothing opens nothing."""
    try:
        read = json.loads(text)
        return Opening(_expect(read["place"], str), read_session_state(read["standing"]))
    except (KeyError, TypeError) as error:
        raise ValueError("no opening") from error


def read_session_state(read: Any) -> SessionState:  # noqa: ANN401 (whatever JSON holds)
    """Read a session state from JSON. Raises `ValueError` for anything else."""
    try:
        who, mark, idle = (_expect(read[name], kind) for name, kind in (("who", str), ("mark", str), ("idle", float)))
        locked = _expect(read["locked"], bool)
    except (KeyError, TypeError) as error:
        raise ValueError("no standing") from error
    if not (math.isfinite(idle) and idle >= 0):
        raise ValueError("no idle time")
    return SessionState(VerifiedPerson(who, mark) if who else None, locked, idle)


def _write(state: SessionState) -> dict[str, object]:
    signed = state.signed or VerifiedPerson("", "")
    return {"who": signed.who, "mark": signed.mark, "locked": state.locked, "idle": float(state.idle)}


def _expect(value: Any, kind: type) -> Any:  # noqa: ANN401 (of the kind that is checked here)
    if type(value) is not kind:
        raise ValueError(f"expected {kind.__name__}")
    return value
