"""A network between a device and the server that can be cut, or fall silent, at a chosen byte."""

import contextlib
import select
import socket
import threading
from collections.abc import Callable, Iterator

Watch = Callable[[bool, bytes], str]
"""Is shown what passes (True: towards the server) and says "pass", "cut" (before it), "pass then cut", or "silence"."""


class Network:
    """Carries bytes both ways, one connection after another, until it is told not to."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self._lines: list[socket.socket] = []
        self.port = int(self._listening.getsockname()[1])
        self.watch: Watch = lambda _towards, _chunk: "pass"
        self.is_down = False
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        """Cut every connection there is, and take no new one until `mend`."""
        self.is_down = True
        self._cut_all()

    def mend(self) -> None:
        """Carry everything again."""
        self.watch = lambda _towards, _chunk: "pass"
        self.is_down = False

    def close(self) -> None:
        """End."""
        self.cut()
        with contextlib.suppress(OSError):
            self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()

    def _cut_all(self) -> None:
        for line in self._lines:
            with contextlib.suppress(OSError):
                line.shutdown(socket.SHUT_RDWR)
        self._lines.clear()

    def _accept(self) -> None:
        while True:
            try:
                line, _ = self._listening.accept()
            except OSError:
                return
            if self.is_down:
                line.close()
                continue
            threading.Thread(target=self._carry, args=(line,), daemon=True).start()

    def _carry(self, line: socket.socket) -> None:
        with contextlib.suppress(OSError), line, socket.create_connection(("127.0.0.1", self._to)) as server:
            self._lines += [line, server]
            while True:
                for ready in select.select([line, server], [], [])[0]:
                    chunk = ready.recv(65536)
                    if not chunk:
                        return
                    verdict = self.watch(ready is line, chunk)
                    if verdict in {"pass", "pass then cut"}:
                        (server if ready is line else line).sendall(chunk)
                    if verdict in {"cut", "pass then cut"}:
                        self.cut()
                        return


@contextlib.contextmanager
def run_network(port: int) -> Iterator[Network]:
    """A network to the server at this port."""
    network = Network(port)
    try:
        yield network
    finally:
        network.close()
