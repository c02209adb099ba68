"""A session's program: how it is started, replaced, ended, and started again where it was."""

import asyncio
import json
import os
import signal
from collections.abc import Callable
from typing import Any

import pytest
from aiohttp import WSMsgType
from serving import SECRET, Asker, serve

from prepkit.serve.options import PASSPHRASE_VARIABLE, ServeOptions
from prepkit.serve.program import Size
from prepkit.serve.terminal_socket import CloseCode, read_size

Count = Callable[[], int]


async def started_with(socket: Any) -> dict[str, Any]:  # noqa: ANN401 (aiohttp's own)
    read: dict[str, Any] = json.loads((await socket.receive()).data)
    return read


async def wait_until(holds: Callable[[], bool]) -> None:
    for _ in range(100):
        if holds():
            return
        await asyncio.sleep(0.05)
    raise AssertionError("it never came to hold")


async def close_code(socket: Any) -> int | None:  # noqa: ANN401 (aiohttp's own)
    over = (WSMsgType.CLOSE, WSMsgType.CLOSED, WSMsgType.CLOSING)
    while (await asyncio.wait_for(socket.receive(), 20)).type not in over:
        pass
    code: int | None = socket.close_code
    return code


async def test_a_program_is_told_its_size_and_not_the_passphrase(asker: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PASSPHRASE_VARIABLE, SECRET)
    async with asker.connect(await asker.sign_in()) as socket:
        told = await started_with(socket)
    assert (told["COLUMNS"], told["ROWS"]) == ("41", "39")
    assert told["PREPKIT_PASSPHRASE"] is None
    assert told["opening"]["place"] == ""


async def test_what_is_typed_and_a_new_size_reach_the_program(asker: Asker) -> None:
    async with asker.connect(await asker.sign_in()) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "é"])
        assert (await socket.receive()).data == b"D" + "é".encode()
        await socket.send_json(["resize", {"width": 10**9, "height": -1}])
        assert json.loads((await socket.receive()).data[1:]) == {"type": "resize", "width": 500, "height": 8}
        await socket.send_json(["ping", "7"])
        assert (await socket.receive_json()) == ["pong", "7"]


NOT_UNDERSTOOD = """
{
[]
3
null
["stdin"]
["stdin", 3]
["resize", 3]
["resize"]
["quit"]
["ping", {}]
{"a": 1}
[["stdin"], "x"]
"""


@pytest.mark.parametrize("text", NOT_UNDERSTOOD.split("\n")[:-1])
async def test_what_is_not_understood_is_left_out(asker: Asker, text: str) -> None:
    async with asker.connect(await asker.sign_in()) as socket:
        await started_with(socket)
        await socket.send_str(text)
        await socket.send_bytes(b"x")
        await socket.send_json(["stdin", "still there"])
        assert (await socket.receive()).data == b"Dstill there"


async def test_a_lost_connection_ends_the_program_and_the_next_one_opens_at_the_same_place(
    asker: Asker, count_children: Count
) -> None:
    before, cookie = count_children(), await asker.sign_in()
    async with asker.connect(cookie) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "p"])
        await socket.receive()
        assert count_children() == before + 1
        socket._writer.transport.abort()
    await wait_until(lambda: count_children() == before)
    async with asker.connect(cookie) as socket:
        assert (await started_with(socket))["opening"]["place"] == '{"who": "RA"}'


async def test_another_session_does_not_get_the_place(asker: Asker) -> None:
    async with asker.connect(await asker.sign_in()) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "p"])
        await socket.receive()
        async with asker.connect(await asker.sign_in()) as other:
            assert (await started_with(other))["opening"]["place"] == ""


async def test_a_session_has_one_program_however_often_it_connects(asker: Asker, count_children: Count) -> None:
    before, cookie = count_children(), await asker.sign_in()
    async with asker.connect(cookie) as first:
        await started_with(first)
        async with asker.connect(cookie) as second:
            assert await close_code(first) == CloseCode.ELSEWHERE
            await started_with(second)
            assert count_children() == before + 1


async def test_who_leaves_is_signed_out(asker: Asker) -> None:
    cookie = await asker.sign_in()
    async with asker.connect(cookie) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "q"])
        assert await close_code(socket) == CloseCode.LEFT
    assert (await asker.get("/alive", Cookie=cookie)).status == 401


async def test_a_program_that_fails_is_said_to_have_failed_and_can_be_opened_again(asker: Asker) -> None:
    cookie = await asker.sign_in()
    async with asker.connect(cookie) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "x"])
        assert await close_code(socket) == CloseCode.FAULT
    async with asker.connect(cookie) as socket:
        await started_with(socket)


async def test_an_idle_session_ends_with_its_program_and_a_ping_is_not_a_use(
    asker: Asker, count_children: Count
) -> None:
    before, cookie = count_children(), await asker.sign_in()
    async with asker.connect(cookie) as socket:
        await started_with(socket)
        asker.clock.now += 1700
        await socket.send_json(["stdin", "a"])
        await socket.receive()
        asker.clock.now += 1700
        await asker.server.sweep()
        await socket.send_json(["ping", "1"])
        assert await socket.receive_json() == ["pong", "1"]
        asker.clock.now += 100
        await asyncio.gather(asker.server.sweep(), _expect_close(socket, CloseCode.IDLE))
    await wait_until(lambda: count_children() == before)
    assert (await asker.get("/alive", Cookie=cookie)).status == 401


async def _expect_close(socket: Any, why: int) -> None:  # noqa: ANN401 (aiohttp's own)
    assert await close_code(socket) == why


async def test_signing_out_ends_the_program(asker: Asker, count_children: Count) -> None:
    before, cookie = count_children(), await asker.sign_in()
    async with asker.connect(cookie) as socket:
        await started_with(socket)
        await asyncio.gather(asker.post("/sign-out", Cookie=cookie), _expect_close(socket, CloseCode.LEFT))
    await wait_until(lambda: count_children() == before)


async def test_when_the_server_stops_no_program_stays_and_the_page_tries_again(count_children: Count) -> None:
    before = count_children()
    async with serve(ServeOptions(passphrase=SECRET)) as asker:
        socket = await asker.connect(await asker.sign_in())
        await started_with(socket)
        waiting = asyncio.create_task(close_code(socket))
    assert await waiting == CloseCode.GOING
    assert count_children() == before


async def test_a_message_that_is_too_long_ends_the_connection_and_nothing_else(asker: Asker) -> None:
    cookie = await asker.sign_in()
    async with asker.connect(cookie) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "a" * 70_000])
        assert await close_code(socket) == 1009
    assert (await asker.get("/alive", Cookie=cookie)).status == 204


@pytest.mark.parametrize(
    ("columns", "rows", "size"),
    [
        ("41", "39", (41, 39)),
        (None, None, (40, 24)),
        ("x", "-3", (40, 24)),
        ("99999", "0", (500, 8)),
        ("٤٢", "9999999", (40, 24)),
        (True, 2.5, (40, 24)),
    ],
)
def test_a_size_is_read_strictly_and_kept_within_a_screens(
    columns: object, rows: object, size: tuple[int, int]
) -> None:
    assert read_size(columns, rows) == Size(*size)


async def test_a_program_that_does_not_end_by_itself_is_ended(
    asker: Asker, count_children: Count, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("prepkit.serve.program.END_WITHIN", 0.2)
    before, cookie = count_children(), await asker.sign_in()
    async with asker.connect(cookie) as socket:
        told = await started_with(socket)
        os.kill(int(told["pid"] or 0), signal.SIGSTOP)
    await wait_until(lambda: count_children() == before)
