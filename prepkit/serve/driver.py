"""The driver of screens that are served: as the library's own, but it ends with the server, and tells where it is.

May import: the terminal library's driver.
"""

import os
import sys

from textual.drivers.web_driver import WebDriver
from textual.messages import ExitApp

from prepkit.tui.place import Place, write_place

META = b"M"
"""Kind of a packet that is about the program, not for the screen."""


class ServedDriver(WebDriver):
    """Reads what the browser sends until there is nobody left to send it."""

    def run_input_thread(self) -> None:
        """Read until the server is gone, then leave: a program that nobody can see must not stay."""
        super().run_input_thread()
        if not self.exit_event.is_set():
            self.send_message(ExitApp())


def tell_place(place: Place) -> None:
    """Tell the server where the person is, between what is drawn."""
    if sys.__stdout__ is None:
        return
    words = b'{"type": "place", "place": %s}' % write_place(place).encode()
    os.write(sys.__stdout__.fileno(), META + len(words).to_bytes(4, "big") + words)
