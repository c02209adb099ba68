"""`prepkit serve` as a person starts it: what is refused, what it says, and that its programs end with it."""

import asyncio
import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import aiohttp
import pytest
from msgspec.structs import replace
from serving import SECRET, find_port, lay_out

from prepkit.app.staff import NOBODY_YET
from prepkit.serve.options import (
    LEFT_TO_YOU,
    ServeOptions,
    check_options,
    is_loopback,
    list_left_to_you,
    make_command,
    read_certificate,
    read_passphrase,
    say_where,
)

CERTIFICATE = Path("a.pem")
WIDE = {"host": "0.0.0.0", "passphrase": SECRET}  # noqa: S104 (what is tested)


def serve(*words: str, home: Path, **more: str) -> subprocess.CompletedProcess[str]:
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PREPKIT")}
    clean |= {name: str(home) for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")} | more
    command = [sys.executable, "-m", "prepkit", "serve", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False, env=clean, cwd=home, timeout=60)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (ServeOptions(**WIDE | {"passphrase": ""}), "PINs or a passphrase are needed"),  # type: ignore[arg-type]
        (ServeOptions(host="0.0.0.0", pins=True), "the connection must be encrypted"),  # noqa: S104 (what is tested)
        (ServeOptions(**WIDE), "the connection must be encrypted"),  # type: ignore[arg-type]
        (ServeOptions(behind_proxy=True), "PINs or a passphrase are needed"),
        (ServeOptions(**WIDE, certificate=CERTIFICATE), "go together"),  # type: ignore[arg-type]
        (ServeOptions(**WIDE, key=CERTIFICATE), "go together"),  # type: ignore[arg-type]
        (ServeOptions(passphrase="short"), "too short"),  # noqa: S106 (what is tested)
        (ServeOptions(port=0), "--port"),
        (ServeOptions(port=65536), "--port"),
        (ServeOptions(most_sessions=0), "--sessions"),
        (ServeOptions(idle_minutes=0), "--idle"),
    ],
)
def test_what_would_not_be_safe_is_refused_in_a_sentence(options: ServeOptions, sentence: str) -> None:
    assert sentence in check_options(options)


@pytest.mark.parametrize(
    "options",
    [
        ServeOptions(),
        ServeOptions(host="::1"),
        ServeOptions(host="localhost", passphrase=SECRET),
        ServeOptions(**WIDE, certificate=CERTIFICATE, key=CERTIFICATE),  # type: ignore[arg-type]
        ServeOptions(**WIDE, behind_proxy=True),  # type: ignore[arg-type]
        ServeOptions(passphrase=SECRET, behind_proxy=True),
        ServeOptions(pins=True, behind_proxy=True),
        ServeOptions(passphrase=SECRET, pins=True, behind_proxy=True),
    ],
)
def test_what_is_safe_enough_is_served(options: ServeOptions) -> None:
    assert check_options(options) == ""


@pytest.mark.parametrize(
    "host",
    ["", "0.0.0.0", "::", "192.0.2.7", "ward-pc", "localhost.example", "127.0.0.1.example"],  # noqa: S104
)
def test_only_an_address_of_this_machine_alone_is_loopback(host: str) -> None:
    assert not is_loopback(host)
    assert all(is_loopback(own) for own in ("127.0.0.1", "127.8.8.8", "::1", "[::1]", "localhost"))


def test_a_wider_address_without_a_sign_in_exits_2_with_one_sentence(tmp_path: Path) -> None:
    done = serve("--host", "0.0.0.0", "--behind-proxy", home=tmp_path)  # noqa: S104 (what is tested)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("prepkit serve: Other machines could connect, so PINs or a passphrase are needed")
    assert done.stderr.count("\n") == 1


def test_a_passphrase_from_the_environment_is_not_enough_without_encryption(tmp_path: Path) -> None:
    done = serve("--host", "0.0.0.0", home=tmp_path, PREPKIT_PASSPHRASE=SECRET)  # noqa: S104 (what is tested)
    assert done.returncode == 2
    assert "--certificate FILE" in done.stderr
    assert SECRET not in done.stderr


def test_without_the_browsers_part_one_sentence_says_how_to_install_it(tmp_path: Path) -> None:
    hide = (
        "import sys; sys.modules['textual_serve'] = None\nfrom prepkit.cli.main import main\nsys.exit(main(['serve']))"
    )
    hide = hide.replace("sys.modules['textual_serve'] = None", "import importlib.util as u; f = u.find_spec; "
                        "u.find_spec = lambda name, *a: None if name == 'textual_serve' else f(name, *a)")  # fmt: skip
    done = subprocess.run([sys.executable, "-c", hide], capture_output=True, text=True, check=False, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "pip install --quiet '.[serve]'" in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_passphrase_file_is_read_without_its_line_break_and_not_where_others_can_read_it(tmp_path: Path) -> None:
    path = tmp_path / "passphrase"
    path.write_text(f"{SECRET}\n", "utf-8")
    path.chmod(0o600)
    assert read_passphrase(path) == (SECRET, "")
    path.chmod(0o604)
    assert "chmod o-rwx" in read_passphrase(path)[1]
    path.chmod(0o600)
    path.write_text("\n", "utf-8")
    assert "is empty" in read_passphrase(path)[1]
    assert "cannot be read: no such file" in read_passphrase(tmp_path / "none")[1]


def test_a_file_that_is_no_certificate_is_refused_by_name(tmp_path: Path) -> None:
    path = tmp_path / "ward.pem"
    path.write_text("nothing", "utf-8")
    assert "ward.pem" in read_certificate(ServeOptions(certificate=path, key=path))[1]
    assert read_certificate(ServeOptions()) == (None, "")


def test_what_it_does_not_protect_is_said_at_the_start_and_in_the_docs() -> None:
    page = (Path(__file__).parents[2] / "docs" / "serve.md").read_text("utf-8")
    words = " ".join(page.split())
    for options in (
        ServeOptions(),
        ServeOptions(passphrase=SECRET, behind_proxy=True),
        ServeOptions(pins=True, certificate=CERTIFICATE, key=CERTIFICATE),
    ):
        said = list_left_to_you(options)
        assert set(LEFT_TO_YOU) <= set(said)
        assert all(sentence in words for sentence in said), [each for each in said if each not in words]


@pytest.mark.parametrize("with_people", [pytest.param(True, marks=pytest.mark.thorough), False])
def test_a_ward_with_pins_is_served_wider_without_a_passphrase_and_is_told_when_nobody_has_a_pin_yet(
    tmp_path: Path, with_people: bool
) -> None:
    port, (store, ward) = find_port(), lay_out(tmp_path, pins=True)
    if not with_people:
        store.unlink()
    command = [sys.executable, "-m", "prepkit", "serve", "--behind-proxy", "--port", str(port)]
    command += ["--store", str(store), "--ward", str(ward)]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        assert f"http://127.0.0.1:{port}/" in running.stderr.readline()
        running.terminate()
        said = running.stderr.read()
    assert "try PINs" in said
    assert (NOBODY_YET in said) is not with_people


def test_options_that_cannot_be_served_make_no_store(tmp_path: Path) -> None:
    done = serve("--host", "0.0.0.0", "--store", "new.sqlite", home=tmp_path)  # noqa: S104 (what is tested)
    assert done.returncode == 2
    assert not (tmp_path / "new.sqlite").exists()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """The demo, served on this machine."""
    port = find_port()
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PREPKIT")} | {
        "TMPDIR": str(tmp_path)
    }
    command = [sys.executable, "-m", "prepkit", "serve", "--demo", "--port", str(port)]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=clean, cwd=tmp_path) as running:
        assert running.stderr is not None
        said = running.stderr.readline()
        assert f"http://127.0.0.1:{port}/" in said, said
        yield running, port
        running.kill()


async def _open(session: aiohttp.ClientSession, port: int) -> aiohttp.ClientWebSocketResponse:
    origin = f"http://127.0.0.1:{port}"
    for _ in range(100):
        try:
            signed = await session.post(
                f"{origin}/sign-in", data={"": ""}, headers={"Origin": origin}, allow_redirects=False
            )
            break
        except aiohttp.ClientConnectorError:
            await asyncio.sleep(0.1)
    cookie = signed.headers["Set-Cookie"].partition(";")[0]
    return await session.ws_connect(f"{origin}/screens", headers={"Origin": origin, "Cookie": cookie})


def _list_programs(store: str) -> list[int]:
    found = []
    for words in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            text = words.read_bytes()
        except OSError:
            continue
        if b"prepkit.serve.screens" in text and store.encode() in text:
            found.append(int(words.parent.name))
    return found


def test_where_it_is_is_an_address_that_a_browser_can_open() -> None:
    assert say_where(ServeOptions()) == "http://127.0.0.1:8000/"
    assert say_where(ServeOptions(host="::1")) == "http://[::1]:8000/"
    everywhere = ServeOptions(host="0.0.0.0", certificate=Path("a.pem"))  # noqa: S104
    assert say_where(everywhere) == f"https://{socket.gethostname()}:8000/"
    assert say_where(replace(everywhere, names=("ward.example",))) == "https://ward.example:8000/"
    assert say_where(ServeOptions(names=("ward.example",), behind_proxy=True)) == "http://127.0.0.1:8000/", (
        "the proxy's name"
    )


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl on this machine to make a certificate")
async def test_with_a_certificate_it_answers_over_tls_alone_and_by_its_names(tmp_path: Path) -> None:
    certificate, key, passphrase = (tmp_path / name for name in ("ward.pem", "ward.key", "passphrase"))
    make = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=ward", "-days", "1"]
    subprocess.run([*make, "-out", certificate, "-keyout", key], check=True, capture_output=True)  # noqa: ASYNC221
    passphrase.write_text(SECRET, "utf-8")
    passphrase.chmod(0o600)
    port = find_port()
    command = [sys.executable, "-m", "prepkit", "serve", "--host", "0.0.0.0", "--port", str(port)]  # noqa: S104
    command += ["--store", str(tmp_path / "store.sqlite"), "--passphrase-file", str(passphrase)]
    command += ["--certificate", str(certificate), "--key", str(key), "--name", "ward.example"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as running:  # noqa: ASYNC220
        assert f"https://ward.example:{port}/" in running.stderr.readline()  # type: ignore[union-attr]
        trusting = ssl.create_default_context(cafile=str(certificate))
        trusting.check_hostname = False
        async with aiohttp.ClientSession(connector=aiohttp.TCPConnector(ssl=trusting)) as session:
            address = f"https://127.0.0.1:{port}"
            given = {"Origin": address}
            signed = await session.post(f"{address}/sign-in", data={"passphrase": SECRET}, headers=given,
                                        allow_redirects=False)  # fmt: skip
            assert {"Secure", "HttpOnly", "SameSite=Strict"} <= set(signed.headers["Set-Cookie"].split("; "))
            for name, status in ((f"ward.example:{port}", 200), ("ward.example", 421), (f"other.example:{port}", 421)):
                assert (await session.get(address, headers={"Host": name})).status == status
            with pytest.raises(aiohttp.ClientError):
                await session.get(f"http://127.0.0.1:{port}/")
        running.terminate()
        running.communicate(timeout=20)


def _find_store(server: int) -> str:
    (program,) = Path(f"/proc/{server}/task/{server}/children").read_text("utf-8").split()
    words = Path(f"/proc/{program}/cmdline").read_bytes().decode()
    return str(re.findall(r"--store\0([^\0]+)", words)[0])


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
async def test_the_demos_screens_come_and_however_the_server_ends_no_program_stays(
    served: tuple[subprocess.Popen[str], int], how: int
) -> None:
    running, port = served
    async with aiohttp.ClientSession() as session:
        socket = await _open(session, port)
        drawn = b""
        while b"Cot 4" not in drawn:
            drawn += (await asyncio.wait_for(socket.receive(), 30)).data
        store = _find_store(running.pid)
        assert len(_list_programs(store)) == 1
        running.send_signal(how)
        await asyncio.to_thread(running.wait, 20)
    for _ in range(100):
        if not _list_programs(store):
            break
        await asyncio.sleep(0.1)
    assert _list_programs(store) == []
    assert how == signal.SIGKILL or not os.path.exists(store), "the demo's folder goes with it"  # noqa: ASYNC240, PTH110


def test_an_address_from_the_environment_is_in_no_programs_words(tmp_path: Path) -> None:
    """A session's program finds it where the server did; a file is named as before."""
    assert "--store" not in make_command(None, None, None, practice=False)
    words = make_command(tmp_path / "a.sqlite", None, None, practice=False)
    assert words[words.index("--store") + 1] == str(tmp_path / "a.sqlite")
