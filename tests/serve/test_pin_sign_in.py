"""Signing in to the browser with a PIN: who is let in, what is recorded, what the program is told, what comes back."""

import asyncio
import json
import re
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from serving import PEOPLE, SECRET, STAFF, Asker, give, lay_out, serve
from test_terminal_socket import close_code, started_with, wait_until

import prepkit.app.staff
from prepkit.app.staff import StaffList
from prepkit.people.decide import NO_MATCH
from prepkit.people.pin import Pin
from prepkit.preparation.text import Refusal
from prepkit.serve.options import ServeOptions
from prepkit.serve.rate_limiter import FREE_GUESSES, RateLimiter
from prepkit.serve.sign_in import (
    BUSY,
    CLOSED,
    LOOK_EVERY,
    MOST_WAITING,
    SIGN_IN_CHANGED,
    UNREADABLE,
    WRONG,
    Authenticator,
)
from prepkit.serve.terminal_socket import CloseCode
from prepkit.store import open_sqlite

Count = Callable[[], int]
WRONG_PIN = "86420975"


def change_staff(asker: Asker, change: Callable[[StaffList], str]) -> None:
    with open_sqlite(asker.folder / "store.sqlite") as store:
        assert change(StaffList(store, prepkit.app.staff.datetime.now().astimezone, "office")) == ""


async def open_and_close(asker: Asker, cookie: str, *typed: str) -> dict[str, Any]:
    """Show the screens once, type some letters, and lose the connection; what the program was told."""
    async with asker.connect(cookie) as socket:
        told = await started_with(socket)
        for each in typed:
            await socket.send_json(["stdin", each])
            await socket.receive()
    session = next(iter(asker.server.sessions._open.values()))
    await wait_until(lambda: session.terminal is None)
    standing: dict[str, Any] = told["opening"]["standing"]
    return standing


# Who is let in


async def test_the_page_asks_for_initials_and_a_pin_that_the_browser_is_not_to_keep(ward: Asker) -> None:
    page = await (await ward.get("/")).text()
    assert 'name="initials"' in page
    assert 'name="passphrase"' not in page
    pin = page[page.index('<input id="pin"') :].partition(">")[0]
    assert 'type="password"' in pin
    assert 'inputmode="numeric"' in pin
    assert 'autocomplete="one-time-code"' in pin
    assert "value" not in pin


async def test_whoever_signs_in_with_a_pin_is_at_the_desk_of_their_program_proven(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    standing = await open_and_close(ward, cookie)
    assert (standing["who"], standing["locked"]) == ("KM", False)
    with open_sqlite(ward.folder / "store.sqlite") as store:
        staff = StaffList(store, prepkit.app.staff.datetime.now, "office")
        assert staff.is_still_valid(prepkit.app.staff.VerifiedPerson("KM", standing["mark"]))
    (record,) = ward.read_staff()
    assert (record.kind, record.who, record.verified) == ("signed-in", "KM", 1)


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        (give("KM", WRONG_PIN), NO_MATCH),
        (give("KM", STAFF["RA"][1]), NO_MATCH),
        ({"initials": "ZZ", "pin": STAFF["KM"][1]}, NO_MATCH),
        ({"initials": "KM"}, "Enter the PIN."),
        ({"initials": "KM", "pin": "12"}, "A PIN is 4 to 8 digits."),
        ({"initials": "KM", "pin": "٧٣٩١٤٦٢٥"}, "A PIN is 4 to 8 digits."),
        ({"initials": "KM", "pin": STAFF["KM"][1] + "\0"}, "A PIN is 4 to 8 digits."),
        ({"initials": "K\0M", "pin": STAFF["KM"][1]}, "Initials are 2 to 4 letters"),
        ({"initials": "KM\u202e", "pin": STAFF["KM"][1]}, "Initials are 2 to 4 letters"),
        ({"initials": "<b>KM", "pin": STAFF["KM"][1]}, "Initials are 2 to 4 letters"),
        ({"initials": "K" * 3000, "pin": "1" * 900}, "Initials are 2 to 4 letters"),
        ({"passphrase": SECRET}, "Initials are 2 to 4 letters"),
        ({}, "Initials are 2 to 4 letters"),
    ],
)
async def test_whoever_is_refused_has_no_session_and_no_program(
    ward: Asker, count_children: Count, form: dict[str, str], sentence: str
) -> None:
    before = count_children()
    answer = await ward.post("/sign-in", form)
    page = await answer.text()
    assert answer.status == 403
    assert sentence in page
    assert "<b>" not in page
    assert "Set-Cookie" not in answer.headers
    assert form.get("pin", "none") not in page
    assert (len(ward.server.sessions), count_children()) == (0, before)


async def test_an_unknown_person_and_a_wrong_pin_get_the_same_answer_after_the_same_work(
    ward: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, threads = prepkit.app.staff.is_pin, list[int]()

    def spy(pin: Pin, encoded: str) -> bool:
        threads.append(threading.get_ident())
        return real(pin, encoded)

    monkeypatch.setattr(prepkit.app.staff, "is_pin", spy)
    answers = [await (await ward.post("/sign-in", give(who, WRONG_PIN))).text() for who in ("KM",)]
    answers += [await (await ward.post("/sign-in", {"initials": "ZZ", "pin": WRONG_PIN})).text()]
    assert answers[0].replace("KM", "ZZ") == answers[1]
    assert [record.kind for record in ward.read_staff()] == ["pin-refused"] * 2
    assert len(threads) == 2
    assert threading.get_ident() not in threads, "beside the screens of everybody else"


async def test_refusals_at_the_door_and_at_a_desk_are_counted_together(ward: Asker) -> None:
    with open_sqlite(ward.folder / "store.sqlite") as store:
        desk = StaffList(store, prepkit.app.staff.datetime.now().astimezone, "desk")
        for _ in range(3):
            assert desk.try_pin("KM", Pin(WRONG_PIN)) == NO_MATCH
        for _ in range(2):
            assert NO_MATCH in await (await ward.post("/sign-in", give("KM", WRONG_PIN))).text()
        assert "Too many refused PINs for KM" in desk.try_pin("KM", Pin(STAFF["KM"][1]))
    assert "Too many refused PINs for KM" in await (await ward.post("/sign-in", give("KM"))).text()
    await ward.sign_in(who="RA")


async def test_an_address_has_to_wait_whosever_pins_it_tries(ward: Asker) -> None:
    for at in range(FREE_GUESSES):
        assert (await ward.post("/sign-in", {"initials": f"Z{chr(65 + at)}", "pin": WRONG_PIN})).status == 403
    answer = await ward.post("/sign-in", give("KM"))
    assert answer.status == 429
    assert [record.kind for record in ward.read_staff()] == ["pin-refused"] * FREE_GUESSES, "none was tried"
    ward.clock.now += 61
    await ward.sign_in(who="KM")


async def test_nobody_guesses_more_often_by_guessing_at_once(ward: Asker) -> None:
    answers = await asyncio.gather(*(ward.post("/sign-in", give("KM", f"7391462{at}")) for at in range(10)))
    assert [record.kind for record in ward.read_staff()] == ["pin-refused"] * FREE_GUESSES
    assert sorted(answer.status for answer in answers) == [403] * FREE_GUESSES + [429] * (10 - FREE_GUESSES)


async def test_a_crowd_at_the_door_is_told_to_come_back(ward: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    real, go_on = prepkit.app.staff.is_pin, threading.Event()
    monkeypatch.setattr(prepkit.app.staff, "is_pin", lambda pin, encoded: go_on.wait(20) and real(pin, encoded))
    trying = [asyncio.create_task(ward.post("/sign-in", give("KM"))) for _ in range(MOST_WAITING)]
    await wait_until(lambda: ward.server._sign_in._waiting == MOST_WAITING)
    answer = await ward.post("/sign-in", give("KM"))
    go_on.set()
    assert answer.status == 503
    assert BUSY in await answer.text()
    assert {each.status for each in await asyncio.gather(*trying)} == {303, 503}
    assert len(ward.server.sessions) == 12, "as many as there may be, and not one more"


async def test_a_network_of_the_newer_kind_is_one_guesser() -> None:
    guesses = RateLimiter(lambda: 0.0)
    for at in range(FREE_GUESSES):
        guesses.add_wrong(f"2001:db8:0:1::{at}")
    assert guesses.find_wait("2001:db8:0:1:ffff::9") == 61
    assert guesses.find_wait("2001:db8:0:2::1") == 0
    assert guesses.find_wait("::ffff:192.0.2.1") == 0


async def test_the_cursor_stands_where_something_has_to_be_typed(ward: Asker) -> None:
    def find_focus(page: str) -> str:
        (name,) = re.findall(r'<input(?= [^>]*autofocus)[^>]*name="(\w+)"', page)
        return str(name)

    assert find_focus(await (await ward.get("/")).text()) == "initials"
    assert find_focus(await (await ward.post("/sign-in", give("KM", WRONG_PIN))).text()) == "pin"
    async with serve(ServeOptions(passphrase=SECRET), pins=True) as asker:
        assert find_focus(await (await asker.post("/sign-in", give("KM"))).text()) == "passphrase"


# PINs and a passphrase, and what the ward file says by now


async def test_with_both_the_passphrase_comes_before_any_pin_is_tried() -> None:
    async with serve(ServeOptions(passphrase=SECRET), pins=True) as asker:
        page = await (await asker.get("/")).text()
        assert page.index('name="passphrase"') < page.index('name="initials"') < page.index('name="pin"')
        for form in (give("KM"), give("KM", WRONG_PIN) | {"passphrase": "guess"}):
            assert WRONG in await (await asker.post("/sign-in", form)).text()
        assert asker.read_staff() == []
        assert NO_MATCH in await (await asker.post("/sign-in", give("KM", WRONG_PIN) | {"passphrase": SECRET})).text()
        assert (await asker.post("/sign-in", {"passphrase": SECRET})).status == 403
        assert len(asker.server.sessions) == 0
        assert (await open_and_close(asker, await asker.sign_in(who="KM")))["who"] == "KM"


async def test_with_a_passphrase_alone_nobody_is_proven(asker: Asker) -> None:
    assert (await open_and_close(asker, await asker.sign_in()))["who"] == ""


async def test_pins_that_are_turned_on_while_it_serves_are_asked_for_and_turned_off_leave_no_open_door() -> None:
    async with serve(ServeOptions(behind_proxy=True, pins=True), pins=True) as asker:
        ward = asker.folder / "ward.toml"
        with_pins = ward.read_text("utf-8")
        ward.write_text(with_pins.replace(PEOPLE, ""), "utf-8")
        asker.clock.now += LOOK_EVERY
        page = await (await asker.get("/")).text()
        assert CLOSED in page
        assert "<button" not in page
        for form in (give("KM"), {"": ""}, {"passphrase": ""}):
            answer = await asker.post("/sign-in", form)
            assert (answer.status, "Set-Cookie" in answer.headers) == (403, False)
        ward.write_text(with_pins, "utf-8")
        asker.clock.now += LOOK_EVERY
        assert 'name="pin"' in await (await asker.get("/")).text()
        await asker.sign_in(who="KM")


async def test_a_store_that_cannot_be_read_lets_nobody_in_and_tells_them_nothing_of_it(
    ward: Asker, capsys: pytest.CaptureFixture[str]
) -> None:
    store = ward.folder / "store.sqlite"
    store.unlink()
    ward.folder.joinpath("store.sqlite-wal").unlink(missing_ok=True)
    store.write_bytes(b"no store at all, of a length that is not nothing" * 50)
    answer = await ward.post("/sign-in", give("KM"))
    page = await answer.text()
    assert answer.status == 503
    assert UNREADABLE in page
    assert str(ward.folder) not in page
    assert str(store) in capsys.readouterr().err


# What comes back


async def test_who_comes_back_is_still_signed_in_and_is_told_how_long_nobody_touched_it(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    first = await open_and_close(ward, cookie, "p")
    ward.clock.now += 70
    again = await open_and_close(ward, cookie, "i")
    assert (again["who"], again["mark"], again["locked"], again["idle"]) == ("KM", first["mark"], False, 70.0)
    ward.clock.now += 30
    assert (await open_and_close(ward, cookie))["idle"] == 150.0, "what the program itself saw is what counts"


async def test_a_lock_stays_a_lock_however_often_the_connection_is_lost(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    assert (await open_and_close(ward, cookie, "l"))["locked"] is False
    for _ in range(2):
        assert (await open_and_close(ward, cookie))["locked"] is True


async def test_a_program_that_could_not_say_how_it_was_left_comes_back_locked(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    async with ward.connect(cookie) as socket:
        await started_with(socket)
        await socket.send_json(["stdin", "x"])
        assert await close_code(socket) == CloseCode.FAULT
    assert (await open_and_close(ward, cookie))["locked"] is True


async def test_whoever_took_the_desk_in_the_screens_is_who_comes_back(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    await open_and_close(ward, cookie, "w")
    standing = await open_and_close(ward, cookie)
    assert (standing["who"], standing["mark"]) == ("RA", "of RA")


async def test_signing_in_once_more_ends_what_this_browser_had_and_only_the_same_person_finds_their_place(
    ward: Asker,
) -> None:
    first = await ward.sign_in(who="KM")
    await open_and_close(ward, first, "p")
    second = await ward.sign_in(who="KM", Cookie=first)
    assert second != first
    assert (await ward.get("/alive", Cookie=first)).status == 401
    assert len(ward.server.sessions) == 1
    async with ward.connect(second) as socket:
        assert (await started_with(socket))["opening"]["place"] == '{"who": "RA"}'
    third = await ward.sign_in(who="RA", Cookie=second)
    async with ward.connect(third) as socket:
        told = (await started_with(socket))["opening"]
        assert (told["place"], told["standing"]["who"]) == ("", "RA")


async def test_a_wrong_sign_in_leaves_the_session_that_is_there(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    assert (await ward.post("/sign-in", give("RA", WRONG_PIN), Cookie=cookie)).status == 403
    assert (await ward.get("/alive", Cookie=cookie)).status == 204


# What must not get out


def _read_bytes(name: str) -> bytes:
    return Path(name).read_bytes()


async def test_nobody_can_read_who_signed_in_off_the_program_or_the_cookie(ward: Asker) -> None:
    cookie = await ward.sign_in(who="KM")
    async with ward.connect(cookie) as socket:
        told = await started_with(socket)
        mark, pin = told["opening"]["standing"]["mark"], STAFF["KM"][1]
        for name in ("environ", "cmdline"):
            seen = _read_bytes(f"/proc/{told['pid']}/{name}")
            assert (b"TEXTUAL_DRIVER" if name == "environ" else b"GANGLION") in seen
            assert not [each for each in (mark, pin, cookie.partition("=")[2]) if each.encode() in seen]
    assert mark not in cookie


async def test_nothing_typed_at_the_sign_in_is_written_anywhere(
    ward: Asker, capsys: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    for form in (give("KM", WRONG_PIN), give("KM")):
        answer = await ward.post("/sign-in", form)
        assert form["pin"] not in json.dumps(dict(answer.headers))
    assert not [name for name in ward.folder.iterdir() if STAFF["KM"][1].encode() in name.read_bytes()]
    told = capsys.readouterr()
    assert told.out + told.err + caplog.text == ""


async def test_a_pin_that_is_reset_takes_the_session_with_it(ward: Asker) -> None:
    """The program is handed the mark of the PIN that was right; `resume_sign_in` finds that it stands no more."""
    standing = await open_and_close(ward, await ward.sign_in(who="KM"))
    change_staff(ward, lambda staff: staff.reset("KM", Pin(STAFF["KM"][1]), "admin"))
    with open_sqlite(ward.folder / "store.sqlite") as store:
        staff = StaffList(store, prepkit.app.staff.datetime.now, "office")
        assert not staff.is_still_valid(prepkit.app.staff.VerifiedPerson("KM", standing["mark"]))


async def test_a_ward_file_that_changes_between_the_question_and_the_answer_lets_nobody_through(tmp_path: Path) -> None:
    door = Authenticator(*lay_out(tmp_path, pins=False), None)
    found = await door.sign_on("KM", Pin(STAFF["KM"][1]))
    await door.close()
    assert found == Refusal(SIGN_IN_CHANGED)
