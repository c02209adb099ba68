"""The driver of served screens: it ends with the server, and reports the session's state."""

import os
import sys

from textual.drivers.web_driver import WebDriver
from textual.messages import ExitApp

from prepkit.serve.session_state import Opening, SessionState, read_opening, write_session_state
from prepkit.tui.place import Place, write_place

META = b"M"
"""The kind of packet that is about the program and not for the screen."""
_STDIN = 0


class ServedDriver(WebDriver):
    """Reads what the browser sends until nobody is left to send anything."""

    def run_input_thread(self) -> None:
        """Read until the server is gone, then leave: a program that nobody can see must not go on."""
        super().run_input_thread()
        if not self.exit_event.is_set():
            self.send_message(ExitApp())


def take_opening() -> Opening:
    """Read the server's first message, and not a byte further: the rest is the driver's.

    Raises:
        ValueError: where the server says something else, or nothing.
    """
    head = _read(5)
    if head[:1] != META:
        raise ValueError("no opening")
    return read_opening(_read(int.from_bytes(head[1:], "big")))


def tell_place(place: Place) -> None:
    """Tell the server where the person is, between what is drawn."""
    _tell(f'{{"type": "place", "place": {write_place(place)}}}')


def tell_session_state(state: SessionState) -> None:
    """Tell the server the session's state, as the last thing."""
    _tell(write_session_state(state))


def _tell(words: str) -> None:
    if sys.__stdout__ is not None:
        told = words.encode()
        os.write(sys.__stdout__.fileno(), META + len(told).to_bytes(4, "big") + told)


def _read(size: int) -> bytes:
    """Read straight from the pipe: the driver would never see what Python reads ahead."""
    read = b""
    while len(read) < size:
        more = os.read(_STDIN, size - len(read))
        if not more:
            raise ValueError("nobody is there")
        read += more
    return read
