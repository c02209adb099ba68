"""Somebody without a session, or with another's: every route and method, broken requests, slow ones, many at once."""

import asyncio
import re
from collections.abc import Callable

import pytest
from aiohttp import WSServerHandshakeError
from serving import SECRET, Asker, give, serve
from test_terminal_socket import close_code, started_with, wait_until

import prepkit.serve.server
from prepkit.serve.options import ServeOptions
from prepkit.serve.terminal_socket import CloseCode
from prepkit.store import open_sqlite

Count = Callable[[], int]
ROUTES = ("/", "/sign-in", "/sign-out", "/alive", "/screens", "/page/page.css", "/page/icon.svg", "/page/terminal.js",
          "/page/phone.js", "/page/letters.ttf", "/nothing", "//screens", "/screens/", "/./screens", "/page/../screens",
          "/%73creens", "/page/%2e%2e/screens", "/screens?token=x", "/SCREENS")  # fmt: skip
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "BREW")
OPEN = {"/", "/page/page.css", "/page/icon.svg"}
SCREENS = ("textual-terminal", "<script", "GANGLION", "opening")


async def send(asker: Asker, raw: bytes, *, most: int = -1) -> bytes:
    """Send bytes as they are, and read until the server closes, or what comes first."""
    reader, writer = await asyncio.open_connection("127.0.0.1", asker.port)
    writer.write(raw)
    try:
        return await asyncio.wait_for(reader.read(most), 20)
    finally:
        writer.close()


async def count_all(asker: Asker, count_children: Count) -> tuple[int, int]:
    return len(asker.server.sessions), count_children()


@pytest.fixture(params=["pins", *(pytest.param(each, marks=pytest.mark.thorough) for each in ("passphrase", "both"))])
async def shut(request: pytest.FixtureRequest) -> object:
    options = ServeOptions(passphrase="" if request.param == "pins" else SECRET)
    async with serve(options, pins=request.param != "passphrase") as asker:
        yield asker


# Before the sign-in


@pytest.mark.parametrize("method", METHODS)
async def test_no_method_on_no_route_gives_more_than_the_sign_in_page(
    shut: Asker, count_children: Count, method: str
) -> None:
    before = count_children()
    for path in ROUTES:
        for origin in ({}, {"Origin": shut.origin}):
            raw = f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{shut.port}\r\nConnection: close\r\n"
            raw += "".join(f"{name}: {value}\r\n" for name, value in origin.items())
            answer = (await send(shut, f"{raw}Content-Length: 0\r\n\r\n".encode())).decode("latin-1")
            status = int(answer.split(" ")[1])
            given = method in ("GET", "HEAD") and path in OPEN
            assert given == (status == 200), (method, path, origin, answer[:200])
            assert status < 500 or status == 501, (method, path, answer[:200])
            assert not [word for word in SCREENS if word in answer], (method, path)
            assert "Set-Cookie" not in answer
    assert await count_all(shut, count_children) == (0, before)


@pytest.mark.parametrize(
    "lines",
    [
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nHost: elsewhere.example\r\n",
        "GET http://elsewhere.example/screens HTTP/1.1\r\nHost: {here}\r\n",
        "GET http://{here}/screens HTTP/1.1\r\nHost: elsewhere.example\r\n",
        "GET /screens HTTP/1.0\r\n",
        "GET /screens HTTP/1.1\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nX-Forwarded-Host: {here}\r\nForwarded: host={here};for=127.0.0.1\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nX-Original-URL: /\r\nX-Rewrite-URL: /\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nCookie: {name}=\r\nCookie: {name}=x; {name}=y\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nCookie: {name}=" + "A" * 4000 + "\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nCookie: {name}=\xff\xfe\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nAuthorization: Basic dXNlcjpwYXNz\r\n",
        "GET /\0screens HTTP/1.1\r\nHost: {here}\r\n",
        "GET /screens HTTP/1.1\r\nHost : {here}\r\n",
        "GET /" + "a" * 20_000 + " HTTP/1.1\r\nHost: {here}\r\n",
        "GET /screens HTTP/1.1\r\nHost: {here}\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n",
    ],
)
async def test_a_crooked_request_gets_no_screens(ward: Asker, count_children: Count, lines: str) -> None:
    before = count_children()
    upgrade = "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
    key = "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n"
    named = lines.replace("{here}", f"127.0.0.1:{ward.port}").replace("{name}", f"prepkit-{ward.port}")
    for more in ("Connection: close\r\n", f"{upgrade}{key}Origin: {ward.origin}\r\n"):
        reader, writer = await asyncio.open_connection("127.0.0.1", ward.port)
        writer.write(f"{named}{more}\r\n".encode("latin-1"))
        answer = (await asyncio.wait_for(reader.read(4000), 20)).decode("latin-1")
        writer.close()
        assert re.match(r"HTTP/1\.[01] 4\d\d ", answer), answer
        assert not [word for word in SCREENS if word in answer]
    assert await count_all(ward, count_children) == (0, before)


@pytest.mark.parametrize("path", ["/screens", "/", "/sign-in", "/alive", "/page/page.css", "/nothing"])
async def test_no_socket_opens_anywhere_without_a_session(shut: Asker, count_children: Count, path: str) -> None:
    before = count_children()
    for headers in ({"Origin": shut.origin}, {}, {"Origin": "null"}, {"Origin": shut.origin, "Cookie": "a=b"}):
        with pytest.raises(WSServerHandshakeError):
            await shut.session.ws_connect(f"{shut.address}{path}", headers=headers)
    assert await count_all(shut, count_children) == (0, before)


# The sign-in's form


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("application/json", b'{"initials": "KM", "pin": "73914625"}', 415),
        ("multipart/form-data; boundary=x", b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n1\r\n--x--', 415),
        ("text/plain", b"initials=KM&pin=73914625", 415),
        ("application/x-www-form-urlencoded; charset=nonsense", b"initials=ZZ&pin=73914626", 403),
        ("application/x-www-form-urlencoded", b"initials=%ff%fe&pin=%00%00", 403),
        ("application/x-www-form-urlencoded", b"\xff\xfe\x00=\x00&&&==&pin", 403),
        ("application/x-www-form-urlencoded", b"initials=KM&pin=1111&pin=2222&initials=&passphrase=", 403),
        ("application/x-www-form-urlencoded", b"&".join([b"a=b"] * 50), 400),
        ("application/x-www-form-urlencoded", b"pin=" + b"7" * 5000, 413),
        ("application/x-www-form-urlencoded", b"", 403),
    ],
)  # fmt: skip
async def test_whatever_is_sent_for_a_form_opens_nothing(ward: Asker, kind: str, body: bytes, status: int) -> None:
    headers = {"Origin": ward.origin, "Content-Type": kind}
    answer = await ward.session.post(f"{ward.address}/sign-in", data=body, headers=headers, allow_redirects=False)
    assert (answer.status, "Set-Cookie" in answer.headers) == (status, False)
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert len(ward.server.sessions) == 0


async def test_whoever_sends_the_form_too_slowly_is_not_waited_for(
    ward: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prepkit.serve.server, "FORM_WITHIN", 0.2)
    head = f"POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1:{ward.port}\r\nOrigin: {ward.origin}\r\n"
    head += "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 30\r\n\r\ninitials=K"
    slow = [asyncio.create_task(send(ward, head.encode(), most=500)) for _ in range(30)]
    await ward.sign_in(who="KM")
    assert {answer.split(b" ")[1] for answer in await asyncio.gather(*slow)} == {b"408"}


async def test_a_sign_in_of_another_page_is_not_even_tried(ward: Asker) -> None:
    for headers in ({"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {"Referer": f"{ward.address}/"}):
        given = {"data": give("KM"), "headers": headers, "allow_redirects": False}
        answer = await ward.session.post(f"{ward.address}/sign-in", **given)
        assert (answer.status, "Set-Cookie" in answer.headers) == (403, False)
    assert ward.read_staff() == []


async def test_a_pin_in_an_address_is_not_taken(ward: Asker) -> None:
    answer = await ward.get("/sign-in?initials=KM&pin=73914625")
    assert answer.status in (401, 405)
    answer = await ward.post("/sign-in?initials=KM&pin=73914625", {"": ""})
    assert (answer.status, ward.read_staff()) == (403, [])


# The cookie


async def test_a_cookie_that_somebody_chose_becomes_nobodys_session(ward: Asker) -> None:
    theirs = f"prepkit-{ward.port}={'a' * 43}"
    cookie = await ward.sign_in(who="KM", Cookie=theirs)
    assert cookie != theirs
    assert (await ward.get("/alive", Cookie=theirs)).status == 401
    assert (await ward.get("/alive", Cookie=cookie)).status == 204


async def test_what_was_signed_out_opens_nothing_again_by_no_way(ward: Asker, count_children: Count) -> None:
    before = count_children()
    cookie = await ward.sign_in(who="KM")
    async with ward.connect(cookie) as socket:
        await started_with(socket)
        leaving = asyncio.create_task(close_code(socket))
        assert (await ward.post("/sign-out", Cookie=cookie)).status == 303
        assert await leaving == CloseCode.LEFT
    for path in ROUTES:
        answer = await ward.get(path, Cookie=cookie)
        assert not [word for word in SCREENS if word in await answer.text()], path
    with pytest.raises(WSServerHandshakeError):
        await ward.connect(cookie)
    assert (await ward.post("/sign-out", Cookie=cookie)).status == 401
    await wait_until(lambda: count_children() == before)


async def test_ones_own_cookie_ends_and_shows_ones_own_session_alone(ward: Asker) -> None:
    km, ra = await ward.sign_in(who="KM"), await ward.sign_in(who="RA")
    async with ward.connect(km) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "p"])
        await socket.receive()
        async with ward.connect(ra) as other:
            told = (await started_with(other))["opening"]
            assert (told["place"], told["standing"]["who"]) == ("", "RA")
            leaving = asyncio.create_task(close_code(other))
            await ward.post("/sign-out", Cookie=ra)
            assert await leaving == CloseCode.LEFT
        await socket.send_json(["stdin", "still there"])
        assert (await socket.receive()).data == b"Dstill there"


async def test_a_session_that_ends_while_its_socket_opens_starts_no_program(
    ward: Asker, count_children: Count, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, cookie = count_children(), await ward.sign_in(who="KM")
    (session,) = ward.server.sessions._open.values()
    real = prepkit.serve.terminal_socket.web.WebSocketResponse.prepare

    async def prepare_late(socket: object, request: object) -> object:
        answer = await real(socket, request)  # type: ignore[arg-type]
        ward.server.sessions.end(session)
        return answer

    monkeypatch.setattr(prepkit.serve.terminal_socket.web.WebSocketResponse, "prepare", prepare_late)
    async with ward.connect(cookie) as socket:
        assert await close_code(socket) == CloseCode.LEFT
    assert count_children() == before


# Many at once, and slow ones


async def test_the_cap_holds_however_many_sign_in_at_once(count_children: Count) -> None:
    async with serve(ServeOptions(most_sessions=3), pins=True) as asker:
        before = count_children()
        answers = await asyncio.gather(*(asker.post("/sign-in", give(who)) for who in ("KM", "RA") * 5))
        assert sorted(answer.status for answer in answers) == [303] * 3 + [503] * 7
        assert len({answer.headers.get("Set-Cookie") for answer in answers}) == 3 + 1
        cookies = [each.headers["Set-Cookie"].partition(";")[0] for each in answers if each.status == 303]
        sockets = await asyncio.gather(*(asker.connect(cookie) for cookie in cookies * 3))
        await wait_until(lambda: count_children() == before + 3)
        await asyncio.sleep(0.3)
        assert count_children() == before + 3, "one program a session, however often it connects"
        for socket in sockets:
            await socket.close()


async def test_a_browser_that_does_not_read_holds_up_nobody_else(ward: Asker) -> None:
    km, ra = await ward.sign_in(who="KM"), await ward.sign_in(who="RA")
    stuck = await ward.connect(km)
    stuck._response.connection.transport.pause_reading()
    for _ in range(50):
        await stuck.send_json(["stdin", "x" * 60_000])
    async with ward.connect(ra) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "quick"])
        assert (await socket.receive()).data == b"Dquick"
    assert (await ward.get("/alive", Cookie=ra)).status == 204


async def test_nothing_is_in_the_store_that_somebody_without_a_session_sent(asker: Asker) -> None:
    for text in ("x" * 4000, "\0", "\u202e", "'; drop table record; --"):
        await asker.post("/sign-in", {"passphrase": text, "initials": text, "pin": text})
    with open_sqlite(asker.folder / "store.sqlite") as store:
        assert list(store.read_all()) == []
