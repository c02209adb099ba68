"""The whole way on a phone: a real browser, 390 × 844, fingers only. The pictures stay in `build/artefacts`."""

import asyncio
import json
import re
import subprocess
import sys
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from browser import CHROMIUM, HEIGHT, WIDTH, Phone, open_phone
from serving import PEOPLE, SECRET, STAFF, find_port, lay_out

from prepkit.store import open_sqlite

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine"),
    pytest.mark.thorough,
]

PICTURES = Path(__file__).parents[2] / "build" / "artefacts" / "phone"
KEYS = re.compile(r"(?:^|\s)(\S)(?=\s|$)")


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """A ward's server with an empty store, and its passphrase in a file."""
    passphrase = tmp_path / "passphrase"
    passphrase.write_text(SECRET, "utf-8")
    passphrase.chmod(0o600)
    with run_server(tmp_path, "--passphrase-file", str(passphrase), pins=False) as given:
        yield given


@pytest.fixture
def pins_address(tmp_path: Path) -> Iterator[str]:
    """The server of a ward whose people sign in with PINs."""
    with run_server(tmp_path, pins=True) as given:
        yield given


@contextmanager
def run_server(folder: Path, *options: str, pins: bool) -> Iterator[str]:
    port, (store, ward) = find_port(), lay_out(folder, pins=pins)
    command = [sys.executable, "-m", "prepkit", "serve", "--port", str(port), *options]
    command += ["--store", str(store), "--ward", str(ward)]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        assert f"http://127.0.0.1:{port}/" in running.stderr.readline()
        yield f"http://127.0.0.1:{port}/"
        running.terminate()
        running.communicate(timeout=20)


@pytest.fixture
async def phone(tmp_path: Path) -> AsyncIterator[Phone]:
    async with open_phone(tmp_path / "browser") as opened:
        yield opened


async def sign_in(phone: Phone, address: str) -> None:
    await phone.go(address)
    await phone.wait_for_page("Passphrase of this ward")
    await phone.touch_element("input")
    await phone.ask("Input.insertText", text=SECRET)
    await phone.keep_picture(PICTURES / "1-sign-in.png")
    await phone.touch_element("button")
    await phone.wait_for("New preparation")


async def touch_keys(phone: Phone, typed: str, *, secret: bool = False) -> None:
    """Touch the keys of the screens' own keypad, then Accept, once what was typed is seen (a PIN is not)."""
    for character in typed:
        rows = (await phone.see()).split("\n")
        keys = [(row, spot.start(1)) for row, text in enumerate(rows) for spot in KEYS.finditer(text)
                if row > 14 and spot[1] == character]  # fmt: skip
        assert keys, (character, rows)
        await phone.touch_cell(*reversed(keys[-1]))
        await asyncio.sleep(0.05)
    if not secret:
        await phone.wait_for(typed)
    await phone.touch_words("Accept")


async def prepare(phone: Phone, *, signed_in: bool = False) -> None:
    """Start a preparation: who (unless that is known), what, which baby, its weight and gestation, born today."""
    await phone.touch_words("New preparation")
    if not signed_in:
        await phone.wait_for("Who is at this desk?")
        await touch_keys(phone, "RA")
    await phone.touch_words("through a supraglottic")
    await phone.wait_for("Which baby?")
    await touch_keys(phone, "C4")
    await phone.wait_for("Birth weight")
    await touch_keys(phone, "1450")
    await phone.wait_for("C4", "Gestation")
    await phone.keep_picture(PICTURES / "2-gestation.png")
    await touch_keys(phone, "30+2")
    await phone.wait_for("C4", "1450 g", "30+2", "List", "Born today,")
    await phone.keep_picture(PICTURES / "3-born.png")
    await phone.touch_words("Yes")
    await phone.wait_until_gone("Born today,")


async def tick_one(phone: Phone) -> None:
    """Scroll the list, and tick a line with a finger."""
    assert "✓ done" not in await phone.see()
    await phone.swipe(195, 600, 300)
    await phone.wait_for("▲")
    before = await phone.see()
    name = next(text for text in before.split("\n") if "to do" in text).partition("│")[2].strip()
    await phone.touch_words(name, at=3)
    await phone.wait_for("✓ done")
    await asyncio.sleep(0.6)  # the program tells where it is a few times a second
    assert re.search(f"✓ done │ {re.escape(name)}", await phone.see()), "what was touched is what is ticked"


async def test_a_phone_signs_in_prepares_ticks_loses_its_network_and_comes_back_to_the_same_place(
    phone: Phone, address: str
) -> None:
    await sign_in(phone, address)
    columns, rows = await phone.evaluate("[seenTerminal.cols, seenTerminal.rows]")
    assert columns >= 40
    assert rows >= 36
    reach = await phone.evaluate("document.querySelector('.xterm-screen').getBoundingClientRect().bottom")
    assert HEIGHT - 25 < reach <= HEIGHT, "the screens reach down to the bottom and not beyond"
    assert await phone.evaluate("document.activeElement.inputMode") == "none", "the phone's keyboard stays down"
    await prepare(phone)
    await phone.keep_picture(PICTURES / "4-list.png")
    await tick_one(phone)
    seen = await phone.see()
    await phone.keep_picture(PICTURES / "5-ticked.png")

    await phone.be_offline(offline=True)
    await phone.wait_for_page("Connection lost", "it comes back where you were")
    await phone.keep_picture(PICTURES / "6-lost.png")
    await phone.touch(195, 400)
    await phone.be_offline(offline=False)
    await phone.wait_for("✓ done", "C4", fresh=True)
    assert await phone.wait_for(seen) == seen, "the same screen, scrolled as far, with the tick and the mark"
    await phone.keep_picture(PICTURES / "7-back.png")

    hosts = {urlsplit(asked).netloc for asked in phone.asked_for}
    assert hosts == {urlsplit(address).netloc}, "nothing was asked of any other machine"
    assert not [each for each in phone.complaints if "Content Security Policy" in each]
    assert not [each for each in phone.complaints if "Uncaught" in each]


async def test_every_phone_has_forty_columns_and_who_leaves_one_has_to_sign_in_again(
    phone: Phone, address: str
) -> None:
    await sign_in(phone, address)
    for width, height in ((320, 568), (360, 640), (430, 932), (844, 390), (WIDTH, HEIGHT)):
        await phone.be_sized(width, height)
        await phone.go(address)
        await phone.wait_for("New preparation")
        assert await phone.evaluate("seenTerminal.cols") >= 40, width
    await phone.touch_words("More")
    await phone.touch_words("Leave")
    await phone.wait_for_page("You have left")
    assert await phone.evaluate("document.querySelectorAll('canvas').length") == 0, "no screen stays under it"
    await phone.keep_picture(PICTURES / "7-left.png")
    await phone.touch_element("#cover-button")
    await phone.wait_for_page("Passphrase of this ward")


# With PINs


async def give_pin(phone: Phone, pin: str) -> None:
    """Sign in on the page, by finger and with the phone's own keyboard."""
    await phone.wait_for_page("Your initials", "Your PIN")
    for field, text in (("#initials", "km"), ("#pin", pin)):
        await phone.evaluate(f"document.querySelector('{field}').value = ''")
        await phone.touch_element(field)
        await phone.ask("Input.insertText", text=text)
    await phone.keep_picture(PICTURES / "8-sign-in-with-pin.png")
    await phone.touch_element("button")


async def unlock(phone: Phone) -> None:
    await phone.touch_words("Sign in")
    await phone.touch_words("KM · registrar")
    await phone.wait_for("KM: enter your PIN.")
    await touch_keys(phone, STAFF["KM"][1], secret=True)


async def test_a_person_signs_in_with_a_pin_ticks_as_proven_locks_and_comes_back(
    phone: Phone, pins_address: str, tmp_path: Path
) -> None:
    await phone.go(pins_address)
    await give_pin(phone, "86420975")
    await phone.wait_for_page("The initials and the PIN do not go together.")
    await phone.keep_picture(PICTURES / "9-refused.png")
    left = "['#initials', '#pin'].map((field) => document.querySelector(field).value)"
    assert await phone.evaluate(left) == ["km", ""], "the initials need no typing again"
    await give_pin(phone, STAFF["KM"][1])
    await phone.wait_for("New preparation", "KM")
    await phone.keep_picture(PICTURES / "10-signed-in.png")
    await prepare(phone, signed_in=True)
    await tick_one(phone)
    with open_sqlite(tmp_path / "store.sqlite") as store:
        records = [record for record in store.read_all() if record.kind == "ticked"]
    assert [(record.who, record.verified) for record in records] == [("KM", 1)]
    seen = await phone.see()

    await phone.be_offline(offline=True)
    await phone.wait_for_page("Connection lost")
    assert await phone.evaluate("document.querySelectorAll('canvas').length") == 0, "nobody can lock it meanwhile"
    await phone.be_offline(offline=False)
    assert await phone.wait_for(*seen.split("\n"), fresh=True) == seen, "the same screen, and no PIN"

    ward = tmp_path / "ward.toml"
    ward.write_text(ward.read_text("utf-8").replace(PEOPLE, PEOPLE.replace("5 min", "0.05 min")), "utf-8")
    await phone.wait_for("Locked", "KM was at this desk")
    await phone.keep_picture(PICTURES / "11-locked.png")
    await phone.be_offline(offline=True)
    await phone.wait_for_page("Connection lost")
    await phone.be_offline(offline=False)
    locked = await phone.wait_for("Locked", "KM was at this desk", fresh=True)
    assert not [fact for fact in ("1450", "30+2") if fact in locked]
    ward.write_text(ward.read_text("utf-8").replace("0.05 min", "5 min"), "utf-8")
    await unlock(phone)
    assert await phone.wait_for(*seen.split("\n")) == seen, "the same screen once the PIN was given"

    assert not [each for each in phone.asked_for if STAFF["KM"][1] in each], "in no address"
    kept = "JSON.stringify([localStorage, sessionStorage, document.cookie, location.href, history.state])"
    assert await phone.evaluate(kept) == json.dumps([{}, {}, "", pins_address, None], separators=(",", ":"))
    await phone.touch_words("Back")
    await phone.wait_for("New preparation")
    await phone.touch_words("More")
    await phone.touch_words("Leave")
    await phone.wait_for_page("You have left")
    await phone.touch_element("#cover-button")
    await phone.wait_for_page("Your initials")
