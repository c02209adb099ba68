"""A real browser without a window, as a phone: driven over its own protocol, on a socket of aiohttp.

The phone is 390 × 844 CSS pixels at three device pixels each, with fingers for a mouse.
"""

import asyncio
import base64
import itertools
import json
import shutil
from asyncio.subprocess import DEVNULL, PIPE, Process
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
WIDTH, HEIGHT, DENSITY = 390, 844, 3
AGENT = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/124.0.0.0 Mobile Safari/537.36"

# The letters on the screen are a picture: the terminal's own memory of them is reached through a hook of this page.
READ = """(() => {
  const terminal = window.seenTerminal;
  if (!terminal) return "";
  const buffer = terminal.buffer.active;
  return Array.from({length: terminal.rows}, (_, row) => buffer.getLine(row).translateToString(true)).join("\\n");
})()"""


class Phone:
    """One page in the browser."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket = socket
        self._numbers = itertools.count(1)
        self._answers: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self.asked_for: list[str] = []
        """Every address that was fetched."""
        self.complaints: list[str] = []
        """What the page's scripts and its policy complained of."""
        self._listening = asyncio.create_task(self._listen())

    async def _listen(self) -> None:
        async for message in self._socket:
            told = json.loads(message.data)
            if "id" in told:
                self._answers.pop(told["id"]).set_result(told)
            elif told["method"] == "Network.requestWillBeSent":
                self.asked_for.append(told["params"]["request"]["url"])
            elif told["method"] == "Network.webSocketCreated":
                self.asked_for.append(told["params"]["url"])
            elif told["method"] in ("Runtime.exceptionThrown", "Log.entryAdded"):
                self.complaints.append(json.dumps(told["params"]))

    async def ask(self, method: str, **given: object) -> dict[str, Any]:
        number = next(self._numbers)
        self._answers[number] = asyncio.get_running_loop().create_future()
        await self._socket.send_json({"id": number, "method": method, "params": given})
        told = await asyncio.wait_for(self._answers[number], 30)
        assert "error" not in told, (method, told["error"])
        result: dict[str, Any] = told["result"]
        return result

    async def set_up(self) -> None:
        for part in ("Page", "Network", "Runtime", "Log"):
            await self.ask(f"{part}.enable")
        await self.be_sized(WIDTH, HEIGHT)
        await self.ask("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=5)
        await self.ask("Emulation.setUserAgentOverride", userAgent=AGENT)
        await self.ask("Page.addScriptToEvaluateOnNewDocument", source=WATCH)

    async def close(self) -> None:
        self._listening.cancel()
        await self._socket.close()

    async def evaluate(self, script: str) -> Any:  # noqa: ANN401 (whatever the page says)
        told = await self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    async def go(self, address: str) -> None:
        await self.ask("Page.navigate", url=address)

    async def see(self) -> str:
        """What the screens show, a line a row; what the page says where there are none."""
        return str(await self.evaluate(f"{READ} || document.body.innerText"))

    async def wait_for(self, *words: str, fresh: bool = False) -> str:
        """Wait until every one of these is seen on the screens; `fresh`: on a page that was loaded anew."""
        if fresh:
            await self._wait_until("!document.getElementById('cover') || document.getElementById('cover').hidden", ())
        return await self._wait_until(f"{READ} || document.body.innerText", words)

    async def wait_until_gone(self, words: str) -> None:
        """Wait until these are not seen on the screens any more."""
        await self._wait_until(f"{READ}.includes({json.dumps(words)}) ? '' : 'gone'", ())

    async def wait_for_page(self, *words: str) -> str:
        """Wait until every one of these is seen on the page, over the screens or instead of them."""
        return await self._wait_until("document.readyState == 'complete' ? document.body.innerText : ''", words)

    async def _wait_until(self, script: str, words: tuple[str, ...]) -> str:
        seen = ""
        for _ in range(300):
            try:
                seen = str(await self.evaluate(script))
            except AssertionError:  # between two pages
                seen = ""
            if all(each in seen for each in words) and seen not in ("", "False"):
                return seen
            await asyncio.sleep(0.1)
        raise AssertionError(f"waited for {words} in:\n{seen}\n{self.complaints}")

    async def touch(self, x: float, y: float) -> None:
        await self.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        await self.ask("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    async def swipe(self, x: float, start: float, end: float) -> None:
        await self.ask("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": start}])
        for step in range(1, 11):
            y = start + (end - start) * step / 10
            await self.ask("Input.dispatchTouchEvent", type="touchMove", touchPoints=[{"x": x, "y": y}])
        await self.ask("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    async def touch_words(self, words: str, *, at: int | None = None) -> None:
        """Touch where these words stand on the screens, or at a column of their row."""
        rows = (await self.wait_for(words)).split("\n")
        row = next(number for number, text in enumerate(rows) if words in text)
        column = rows[row].index(words) + len(words) // 2 if at is None else at
        await self.touch_cell(column, row)

    async def touch_cell(self, column: int, row: int) -> None:
        box = await self.evaluate(
            """(() => {
              const {left, top, width, height} = document.querySelector(".xterm-screen").getBoundingClientRect();
              return [left, top, width / window.seenTerminal.cols, height / window.seenTerminal.rows];
            })()"""
        )
        left, top, wide, high = box
        await self.touch(left + (column + 0.5) * wide, top + (row + 0.5) * high)

    async def touch_element(self, selector: str) -> None:
        x, y = await self.evaluate(
            f"""(() => {{
              const box = document.querySelector({json.dumps(selector)}).getBoundingClientRect();
              return [box.x + box.width / 2, box.y + box.height / 2];
            }})()"""
        )
        await self.touch(x, y)

    async def be_sized(self, width: int, height: int) -> None:
        await self.ask(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=0, mobile=True
        )

    async def be_offline(self, *, offline: bool) -> None:
        await self.ask(
            "Network.emulateNetworkConditions", offline=offline, latency=0, downloadThroughput=-1, uploadThroughput=-1
        )

    async def keep_picture(self, path: Path) -> None:
        told = await self.ask("Page.captureScreenshot", format="png")
        await asyncio.to_thread(_keep, path, base64.b64decode(told["data"]))


def _keep(path: Path, picture: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(picture)


# The terminal keeps itself to itself; but each of its parts is handed it, as `_terminal`, and there a test can see it.
WATCH = """Object.defineProperty(Object.prototype, "_terminal", {
  configurable: true,
  get() { return undefined; },
  set(value) {
    if (value && value.buffer && value.buffer.active) window.seenTerminal = value;
    Object.defineProperty(this, "_terminal", {value, writable: true, configurable: true, enumerable: true});
  },
});"""


async def start_chromium(folder: Path) -> tuple[Process, str]:
    """Start it; the address of its own socket."""
    assert CHROMIUM is not None
    process = await asyncio.create_subprocess_exec(
        CHROMIUM,
        "--headless=new",
        "--no-sandbox",  # the tests may run as root, which its sandbox refuses
        "--disable-dev-shm-usage",
        "--disable-background-networking",
        "--disable-component-update",
        "--no-first-run",
        # Given to the page alone, the density is not known to what measures a canvas in device pixels.
        f"--force-device-scale-factor={DENSITY}",
        "--remote-debugging-port=0",
        f"--user-data-dir={folder}",
        "about:blank",
        stdout=DEVNULL,
        stderr=PIPE,
    )
    assert process.stderr is not None
    while line := await asyncio.wait_for(process.stderr.readline(), 60):
        if line.startswith(b"DevTools listening on "):
            return process, line.decode().removeprefix("DevTools listening on ").strip()
    raise AssertionError("the browser did not start")


@asynccontextmanager
async def open_phone(folder: Path) -> AsyncIterator[Phone]:
    """A phone with one empty page."""
    process, address = await start_chromium(folder)
    drained = asyncio.create_task(process.stderr.read())  # type: ignore[union-attr]
    try:
        async with aiohttp.ClientSession() as session:
            root = address.split("/devtools")[0].replace("ws://", "http://")
            async with session.get(f"{root}/json/list") as listed:
                pages = await listed.json(content_type=None)
            page = next(each for each in pages if each["type"] == "page")
            async with session.ws_connect(page["webSocketDebuggerUrl"], max_msg_size=0) as socket:
                phone = Phone(socket)
                await phone.set_up()
                yield phone
                await phone.close()
    finally:
        process.terminate()
        await process.wait()
        drained.cancel()
