"""`prepkit staff`: run as a person would, each in a home of its own; PINs come by standard input or by a terminal."""

import os
import pty
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest

from prepkit.app.clock import read_clock
from prepkit.app.staff import StaffList
from prepkit.people import STAFF_STREAM
from prepkit.people.decide import NO_MATCH
from prepkit.people.pin import Pin
from prepkit.store import check_store, open_sqlite

Run: TypeAlias = Callable[..., subprocess.CompletedProcess[str]]
PIN, OTHER_PIN = "73914625", "40285137"


@pytest.fixture
def store_file(tmp_path: Path) -> Path:
    return tmp_path / "ward" / "preparations.sqlite"


@pytest.fixture
def environment(tmp_path: Path, store_file: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PREPKIT")}
    home = {name: str(tmp_path) for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")}
    return kept | home | {"PREPKIT_STORE": str(store_file), "LOGNAME": "clerk"}


@pytest.fixture
def run(environment: dict[str, str], tmp_path: Path) -> Run:
    def call(*words: object, typed: str = "") -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "prepkit", *map(str, words)]
        return subprocess.run(
            command, capture_output=True, text=True, check=False, env=environment, cwd=tmp_path, input=typed
        )

    return call


def try_pin(path: Path, initials: str, pin: str) -> str:
    with open_sqlite(path) as store:
        return StaffList(store, read_clock, "desk 1").try_pin(initials, Pin(pin))


def test_people_are_added_listed_reset_and_removed(run: Run, store_file: Path) -> None:
    added = run("staff", "add", "km", "--role", "registrar", "--pin-stdin", typed=f"{PIN}\n")
    assert (added.returncode, added.stdout) == (0, "")
    assert added.stderr == f'prepkit: there was no store at "{store_file}": a new one was made\n'
    assert run("staff", "add", "RA", "--role", "staff nurse", "--no-pin").returncode == 0
    listed = run("staff", "list")
    assert (listed.returncode, listed.stdout, listed.stderr) == (
        0,
        "KM    registrar\nRA    staff nurse  (no PIN)\n",
        "",
    )
    assert try_pin(store_file, "KM", PIN) == ""
    assert run("staff", "reset", "KM", "--pin-stdin", typed=OTHER_PIN).returncode == 0
    assert try_pin(store_file, "KM", PIN) == NO_MATCH
    assert try_pin(store_file, "KM", OTHER_PIN) == ""
    assert run("staff", "remove", "KM").returncode == 0
    assert run("staff", "list").stdout == "RA    staff nurse  (no PIN)\n"
    with open_sqlite(store_file) as store:
        assert check_store(store) == ()
        assert store.read(STAFF_STREAM)[0].who == "clerk"


def test_the_store_may_be_named_before_the_command_and_after_it(run: Run, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    assert run("--store", other, "staff", "add", "KM", "--role", "nurse", "--no-pin").returncode == 0
    assert run("staff", "list", "--store", other).stdout == "KM    nurse  (no PIN)\n"
    empty = run("staff", "list")
    assert (empty.returncode, empty.stdout) == (0, "")
    assert "nobody is on the staff list" in empty.stderr


@pytest.mark.parametrize(
    ("words", "typed", "said"),
    [
        (("add", "KM", "--role", "nurse", "--pin-stdin"), "1234", "This PIN is a run of digits: choose another."),
        (("add", "KM", "--role", "nurse", "--pin-stdin"), "7777\n", "This PIN is one digit repeated: choose another."),
        (("add", "KM", "--role", "nurse", "--pin-stdin"), "", "Enter the PIN."),
        (("add", "KM", "--role", "nurse", "--pin-stdin"), "73914625x", "A PIN is 4 to 8 digits."),
        (("add", "KM", "--role", "nurse", "--pin-stdin"), "9" * 5000, "A PIN is 4 to 8 digits."),
        (
            ("add", "KM", "--role", "nurse"),
            "73914625\n73914625\n",
            "there is none. A script gives it with --pin-stdin.",
        ),
        (("add", "K", "--role", "nurse", "--no-pin"), "", "Initials are 2 to 4 letters"),
        (("add", "KM", "--role", " ", "--no-pin"), "", "The role is empty"),
        (("add", "KM", "--no-pin"), "", "--role"),
        (("add", "KM", "--role", "nurse", "--no-pin", "--pin-stdin"), PIN, "not allowed with argument"),
        (("add", "KM", "--role", "nurse", "--pin", PIN), "", "unrecognized arguments"),
        (("remove", "ZZ"), "", "ZZ is not on the staff list."),
        (("reset", "ZZ", "--pin-stdin"), PIN, "ZZ is not on the staff list."),
        ((), "", "required"),
    ],
)
def test_what_cannot_be_done_says_why_and_changes_nothing(
    run: Run, store_file: Path, words: tuple[str, ...], typed: str, said: str
) -> None:
    done = run("staff", *words, typed=typed)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    if len(typed) > 3 and "--pin" not in words:
        assert typed.strip() not in done.stderr
    if store_file.exists():
        with open_sqlite(store_file) as store:
            assert store.read(STAFF_STREAM) == ()


def test_nobody_is_added_twice(run: Run) -> None:
    words = ("staff", "add", "KM", "--role", "nurse", "--no-pin")
    assert run(*words).returncode == 0
    again = run(*words)
    assert (again.returncode, again.stderr) == (2, "prepkit: KM is on the staff list already (nurse).\n")


def test_a_store_that_cannot_be_opened_is_an_error_of_the_store(run: Run, tmp_path: Path) -> None:
    assert run("staff", "list", "--store", tmp_path).returncode == 4


def test_the_help_says_who_may_change_the_list(run: Run) -> None:
    words = " ".join(run("staff", "--help").stdout.split())
    assert "whoever can write to that file can change it, and nobody else" in words


def type_on_a_terminal(environment: dict[str, str], answers: list[str], *words: str) -> tuple[int, str]:
    """Run the command on a terminal of its own, answer each prompt once it stands there, and give all it showed."""
    keyboard, terminal = pty.openpty()
    command = [sys.executable, "-m", "prepkit", *words]
    with subprocess.Popen(
        command, stdin=terminal, stdout=terminal, stderr=terminal, env=environment, start_new_session=True
    ) as child:
        os.close(terminal)
        shown = b""
        waiting = [answer.encode() for answer in answers]
        while part := read_some(keyboard):
            shown += part
            if waiting and part.endswith(b": "):
                os.write(keyboard, waiting.pop(0) + b"\n")
    os.close(keyboard)
    return child.returncode, shown.decode()


def read_some(keyboard: int) -> bytes:
    try:
        return os.read(keyboard, 1024)
    except OSError:  # how a terminal ends on Linux
        return b""


@pytest.mark.parametrize(
    ("answers", "code", "said"),
    [
        ([PIN, PIN], 0, ""),
        ([PIN, OTHER_PIN], 2, "the two PINs differ: nothing was changed."),
        (["4321"], 2, "This PIN is a run of digits"),
        (["\x04"], 2, "no PIN was given: nothing was changed."),
    ],
    ids=["the same", "different", "weak", "end of input"],
)
def test_on_a_terminal_the_pin_is_asked_twice_and_never_shown(
    environment: dict[str, str], store_file: Path, answers: list[str], code: int, said: str
) -> None:
    done, shown = type_on_a_terminal(environment, answers, "staff", "add", "KM", "--role", "nurse")
    assert done == code, shown
    assert "PIN (4 to 8 digits): " in shown
    assert said in shown
    assert all(answer not in shown for answer in (PIN, OTHER_PIN))
    if code == 0:
        assert "The same PIN again: " in shown
        assert try_pin(store_file, "KM", PIN) == ""
