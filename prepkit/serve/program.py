"""The program of one session as the server sees it: started without a shell, told its size, listened to, ended."""

import asyncio
import json
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable
from contextlib import suppress

from msgspec import Struct
from msgspec.structs import force_setattr
from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

from prepkit.serve.options import PASSPHRASE_VARIABLE
from prepkit.serve.session_state import Opening, SessionState, read_session_state, write_opening

DRIVER = "prepkit.serve.driver:ServedDriver"
END_WITHIN = 5.0
"""Seconds in which a program has to end by itself."""


class Size(Struct, frozen=True):
    """The size of a terminal in cells; no more than a screen can have, whatever a browser says."""

    columns: int
    rows: int

    def __post_init__(self) -> None:
        force_setattr(self, "columns", min(max(self.columns, 20), 500))
        force_setattr(self, "rows", min(max(self.rows, 8), 200))


class Program(AppService):
    """One program, from its start to its end."""

    def __init__(
        self,
        command: tuple[str, ...],
        opening: Opening,
        *,
        show: Callable[[bytes], Awaitable[None]],
        keep_place: Callable[[str], None],
        leave: Callable[[SessionState], None],
    ) -> None:
        super().__init__(
            command[0], write_bytes=show, write_str=_ignore, close=_close, download_manager=DownloadManager()
        )
        self._words = command
        self._opening = opening
        self._keep_place = keep_place
        self._leave = leave

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        """Start it. Who signed in and where goes through its own pipe: others may see words and environment."""
        environment = self._build_environment(width=width, height=height)
        environment.pop(PASSPHRASE_VARIABLE, None)
        environment.pop("NO_COLOR", None)  # about the server's own terminal, not the browser's
        environment |= {"TEXTUAL_DRIVER": DRIVER, "PYTHONUNBUFFERED": "1"}
        self._process = await asyncio.create_subprocess_exec(
            *self._words, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=environment
        )
        self._stdin = self._process.stdin
        opening = write_opening(self._opening).encode()
        with suppress(ConnectionError):  # wait for one that ended at once, as for any other
            self.stdin.write(self.encode_packet(b"M", opening))
            await self.stdin.drain()
        return self._process

    async def on_meta(self, data: bytes) -> None:
        """Keep the place and the state in which the program was left; ours says nothing else that matters."""
        told = json.loads(data)
        if told.get("type") == "place":
            self._keep_place(json.dumps(told["place"], ensure_ascii=False))
        elif told.get("type") == "standing":
            self._leave(read_session_state(told["standing"]))

    async def on_packed(self, payload: bytes) -> None:
        """Ignore it: nothing is handed over in pieces."""

    async def wait(self) -> int:
        """Wait until it has ended; its exit code."""
        return await self._process.wait() if self._process is not None else 0

    async def end(self) -> None:
        """Ask it to end; kill it if it does not, or if there is no time to wait."""
        if self._process is None:
            return
        try:
            await asyncio.wait_for(self.stop(), END_WITHIN)
            await asyncio.wait_for(self._process.wait(), END_WITHIN)
        except TimeoutError:
            pass
        finally:
            if self._process.returncode is None:
                self._process.kill()
                await self._process.wait()


async def _ignore(_: str) -> None:
    """Links and downloads are not passed on."""


async def _close() -> None:
    """The socket is closed when the program has ended, not when it says so."""
