"""What stands in front: names, pages, passphrases, guesses, places, headers. Each refusal, and that nothing got by."""

import re
from collections.abc import Callable

import pytest
from aiohttp import WSServerHandshakeError
from serving import SECRET, Asker, serve

from prepkit.serve.options import ServeOptions
from prepkit.serve.rate_limiter import ALL_GUESSES, FREE_GUESSES
from prepkit.serve.sign_in import is_passphrase

BEHIND_COOKIE = ("/screens", "/alive", "/page/terminal.js", "/page/phone.js", "/page/letters.ttf", "/nothing", "/page/")


@pytest.mark.parametrize("path", BEHIND_COOKIE)
async def test_nothing_but_the_sign_in_page_is_given_without_a_session(asker: Asker, path: str) -> None:
    answer = await asker.get(path)
    assert answer.status == 401
    assert await answer.text() == "Sign in first.\n"


async def test_nobody_starts_a_program_or_a_session_before_the_sign_in(
    asker: Asker, count_children: Callable[[], int]
) -> None:
    before = count_children()
    for cookie in ("", "prepkit=x", f"prepkit-{asker.port}=", f"prepkit-{asker.port}={'a' * 43}"):
        with pytest.raises(WSServerHandshakeError) as refused:
            await asker.connect(cookie)
        assert refused.value.status == 401
    assert "Passphrase" in await (await asker.get("/")).text()
    assert (await asker.post("/sign-in", {"passphrase": "wrong"})).status == 403
    assert (await asker.post("/sign-out")).status == 401
    assert len(asker.server.sessions) == 0
    assert count_children() == before
    cookie = await asker.sign_in()
    assert count_children() == before, "signing in alone starts none either"
    async with asker.connect(cookie) as socket:
        await socket.receive()
        assert count_children() == before + 1
    # A count that can go up is one that would have shown it before.


@pytest.mark.parametrize("given", [{}, {"passphrase": ""}, {"passphrase": SECRET + " "}, {"passphrase": SECRET.upper()},
                                   {"Passphrase": SECRET}, {"pin": SECRET}])  # fmt: skip
async def test_only_the_passphrase_itself_opens_a_session(asker: Asker, given: dict[str, str]) -> None:
    answer = await asker.post("/sign-in", given)
    assert answer.status == 403
    assert "That was not the passphrase." in await answer.text()
    assert "Set-Cookie" not in answer.headers


def test_a_passphrase_is_compared_whole() -> None:
    assert is_passphrase(SECRET, SECRET)
    assert not any(is_passphrase(SECRET[:length], SECRET) for length in range(len(SECRET)))


async def test_the_cookie_is_for_the_browser_alone(asker: Asker) -> None:
    answer = await asker.post("/sign-in", {"passphrase": SECRET})
    cookie = answer.headers["Set-Cookie"]
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert len(cookie.partition("=")[2].partition(";")[0]) >= 43, "256 bits"
    assert (answer.status, answer.headers["Location"]) == (303, "/")


async def test_behind_a_proxy_the_cookie_is_sent_over_tls_alone() -> None:
    async with serve(ServeOptions(passphrase=SECRET, behind_proxy=True)) as asker:
        cookie = (await asker.post("/sign-in", {"passphrase": SECRET})).headers["Set-Cookie"]
        assert cookie.startswith("__Host-prepkit=")
        assert "Secure" in cookie.split("; ")
        policy = (await asker.get("/")).headers["Content-Security-Policy"]
        assert f"connect-src 'self' wss://127.0.0.1:{asker.port};" in policy


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "127.0.0.1.example",
        "127.0.0.1:1",
        "127.0.0.1",
        "",
        "a b",
        "x@127.0.0.1",
        "127.0.0.1:{port}/x",
        "[::1",
        "8.8.8.8:{port}",
    ],
)
async def test_a_name_that_is_not_this_servers_is_refused(asker: Asker, host: str) -> None:
    cookie = await asker.sign_in()
    answer = await asker.get("/", Host=host.format(port=asker.port), Cookie=cookie)
    assert answer.status in (400, 421), answer.status
    assert "textual-terminal" not in await answer.text()


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST", "127.0.0.1", "[::1]"])
async def test_this_machine_may_be_called_by_its_loopback_names(asker: Asker, host: str) -> None:
    assert (await asker.get("/", Host=f"{host}:{asker.port}")).status == 200


async def test_a_name_that_was_added_is_answered_behind_a_proxy_on_any_port() -> None:
    async with serve(ServeOptions(passphrase=SECRET, behind_proxy=True, names=("Prep.Ward.example",))) as asker:
        assert (await asker.get("/", Host="prep.ward.example")).status == 200
        assert (await asker.get("/", Host="prep.ward.example:8443")).status == 200
        assert (await asker.get("/", Host="other.ward.example")).status == 421


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", "https://127.0.0.1:{port}", "http://127.0.0.1",
                                    "http://localhost:{port}", "http://127.0.0.1:{port}.example"])  # fmt: skip
async def test_another_pages_origin_is_refused_everywhere(asker: Asker, origin: str) -> None:
    cookie, theirs = await asker.sign_in(), origin.format(port=asker.port)
    assert (await asker.post("/sign-in", {"passphrase": SECRET}, Origin=theirs)).status == 403
    assert (await asker.post("/sign-out", Origin=theirs, Cookie=cookie)).status == 403
    assert (await asker.get("/", Origin=theirs, Cookie=cookie)).status == 403
    with pytest.raises(WSServerHandshakeError) as refused:
        await asker.connect(cookie, Origin=theirs)
    assert refused.value.status == 403
    assert len(asker.server.sessions) == 1, "nothing was opened and nothing ended"


async def test_what_changes_something_must_say_which_page_it_comes_from(asker: Asker) -> None:
    cookie = await asker.sign_in()
    bare = await asker.session.post(f"{asker.address}/sign-in", data={"passphrase": SECRET})
    assert bare.status == 403
    with pytest.raises(WSServerHandshakeError):
        await asker.session.ws_connect(f"{asker.address}/screens", headers={"Cookie": cookie})


async def test_guessing_has_to_wait_longer_each_time_and_the_right_one_too(asker: Asker) -> None:
    for _ in range(FREE_GUESSES):
        assert (await asker.post("/sign-in", {"passphrase": "guess"})).status == 403
    answer = await asker.post("/sign-in", {"passphrase": SECRET})
    assert (answer.status, answer.headers["Retry-After"]) == (429, "61")
    assert "Try again in 2 minutes." in await answer.text()
    asker.clock.now += 61
    assert (await asker.post("/sign-in", {"passphrase": "guess"})).status == 403
    asker.clock.now += 61
    assert (await asker.post("/sign-in", {"passphrase": SECRET})).status == 429
    asker.clock.now += 61
    await asker.sign_in()
    assert (await asker.post("/sign-in", {"passphrase": "guess"})).status == 403, "counted from the beginning again"


async def test_behind_a_proxy_one_guesser_does_not_lock_another_out_unless_there_are_many() -> None:
    async with serve(ServeOptions(passphrase=SECRET, behind_proxy=True)) as asker:
        for _ in range(FREE_GUESSES):
            await asker.post("/sign-in", {"passphrase": "guess"}, **{"X-Forwarded-For": "1.2.3.4, 10.0.0.1"})
        locked = {"X-Forwarded-For": "5.6.7.8, 10.0.0.1"}
        free = {"X-Forwarded-For": "10.0.0.1, 10.0.0.2"}
        assert (await asker.post("/sign-in", {"passphrase": SECRET}, **locked)).status == 429
        assert (await asker.post("/sign-in", {"passphrase": SECRET}, **free)).status == 303
        for at in range(ALL_GUESSES - FREE_GUESSES):
            await asker.post("/sign-in", {"passphrase": "guess"}, **{"X-Forwarded-For": f"10.1.0.{at}"})
        assert (await asker.post("/sign-in", {"passphrase": SECRET}, **free)).status == 429
        asker.clock.now += 61
        assert (await asker.post("/sign-in", {"passphrase": SECRET}, **free)).status == 303


async def test_without_a_proxy_nobody_says_by_a_header_who_they_are(asker: Asker) -> None:
    for at in range(FREE_GUESSES):
        await asker.post("/sign-in", {"passphrase": "guess"}, **{"X-Forwarded-For": f"10.1.0.{at}"})
    assert (await asker.post("/sign-in", {"passphrase": SECRET}, **{"X-Forwarded-For": "10.9.9.9"})).status == 429


async def test_when_every_place_is_taken_a_page_says_so_and_one_that_is_left_is_free_again() -> None:
    async with serve(ServeOptions(passphrase=SECRET, most_sessions=2)) as asker:
        first, _ = await asker.sign_in(), await asker.sign_in()
        answer = await asker.post("/sign-in", {"passphrase": SECRET})
        assert answer.status == 503
        assert "All 2 places are taken. Leave prepkit on another device" in await answer.text()
        assert (await asker.post("/sign-out", Cookie=first)).status == 303
        await asker.sign_in()
        assert (await asker.get("/alive", Cookie=first)).status == 401


async def test_a_session_that_nobody_uses_ends(asker: Asker) -> None:
    cookie = await asker.sign_in()
    asker.clock.now += 30 * 60 - 1
    assert (await asker.get("/alive", Cookie=cookie)).status == 204
    asker.clock.now += 1
    assert (await asker.get("/alive", Cookie=cookie)).status == 401
    assert len(asker.server.sessions) == 0


async def test_on_this_machine_alone_a_button_is_enough_but_still_from_our_own_page() -> None:
    async with serve(ServeOptions()) as asker:
        assert "no passphrase is asked for" in await (await asker.get("/")).text()
        assert (await asker.post("/sign-in", Origin="http://elsewhere.example")).status == 403
        cookie = await asker.sign_in("")
        assert (await asker.get("/alive", Cookie=cookie)).status == 204


@pytest.mark.parametrize(
    "path", ["/", "/sign-in", "/screens", "/alive", "/page/page.css", "/page/none", "/page/../x", "/x"]
)
async def test_every_answer_carries_the_headers(asker: Asker, path: str) -> None:
    cookie = await asker.sign_in()
    for given in ({}, {"Cookie": cookie}, {"Host": "elsewhere.example"}):
        headers = (await asker.get(path, **given)).headers
        assert headers["X-Frame-Options"] == "DENY"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "default-src 'none'; script-src 'self';" in headers["Content-Security-Policy"]
        assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
        assert headers["Cache-Control"] in ("no-store", "private, no-cache")
        assert "elsewhere" not in headers["Content-Security-Policy"]
        assert "Server" not in headers


@pytest.mark.parametrize("name", ["", "%2e%2e%2fserver.py", "page.html", "screens.html", "ask.html", "server.py"])
async def test_there_is_no_directory_to_look_into(asker: Asker, name: str) -> None:
    cookie = await asker.sign_in()
    assert (await asker.get(f"/page/{name}", Cookie=cookie)).status == 404


async def test_nothing_that_is_served_leads_off_this_server(asker: Asker) -> None:
    cookie = await asker.sign_in()
    pages = [await (await asker.get("/")).text(), await (await asker.get("/", Cookie=cookie)).text()]
    named = {path for page in pages for path in re.findall(r'(?:src|href)="([^"]+)"', page)}
    assert {"/page/terminal.js", "/page/phone.js", "/page/page.css", "/page/terminal.css"} <= named
    styles = await (await asker.get("/page/page.css")).text()
    for path in sorted(named | set(re.findall(r'url\("([^"]+)"\)', styles))):
        assert path.startswith("/page/"), path
        answer = await asker.get(path, Cookie=cookie)
        assert answer.status == 200, path
        text = (await answer.read()).decode("latin-1")
        if path.endswith(".ttf"):
            continue  # a font's licence is named in it, and nothing follows that
        addresses = set(re.findall(r"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}[^\s\"')]*", _bare(text), re.IGNORECASE))
        assert not addresses, (path, addresses)


def _bare(text: str) -> str:
    """Without comments of a style sheet, and without a drawing's name for its own language."""
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL).replace("http://www.w3.org/", "")
