"""What a program and its server tell each other: read back as written, and nothing else is read at all."""

import json
import subprocess
import sys

import pytest

from prepkit.app.staff import VerifiedPerson
from prepkit.serve.session_state import (
    Opening,
    SessionState,
    read_opening,
    read_session_state,
    write_opening,
    write_session_state,
)

STANDINGS = [
    SessionState(),
    SessionState(VerifiedPerson("KM", "a mark"), locked=True, idle=61.5),
    SessionState(VerifiedPerson("ÅÄ", "a mark"), locked=False, idle=0.0),
]


@pytest.mark.parametrize("standing", STANDINGS)
def test_what_is_told_is_read_back(standing: SessionState) -> None:
    opening = Opening('{"who": "KM"}', standing)
    assert read_opening(write_opening(opening).encode()) == opening
    assert read_session_state(json.loads(write_session_state(standing))["standing"]) == standing


@pytest.mark.parametrize(
    "change",
    [
        {"who": None},
        {"who": 3},
        {"mark": ["a"]},
        {"locked": 0},
        {"locked": "false"},
        {"idle": "9"},
        {"idle": True},
        {"idle": -1.0},
        {"idle": float("nan")},
        {"idle": float("inf")},
    ],
)
def test_what_is_not_a_standing_opens_nothing(change: dict[str, object]) -> None:
    whole: dict[str, object] = {"who": "KM", "mark": "a", "locked": False, "idle": 0.0}
    assert read_session_state(whole).signed == VerifiedPerson("KM", "a")
    with pytest.raises(ValueError, match=r"expected|no idle time"):
        read_session_state(whole | change)
    for name in whole:
        with pytest.raises(ValueError, match="no standing"):
            read_session_state({each: value for each, value in whole.items() if each != name})


@pytest.mark.parametrize(
    "text", [b"", b"{}", b"[]", b"3", b'{"place": "", "standing": null}', b'{"place": 3}', b"\xff"]
)
def test_what_is_not_an_opening_is_refused(text: bytes) -> None:
    with pytest.raises(ValueError, match=r"no opening|no standing|expected|Expecting|decode"):
        read_opening(text)


@pytest.mark.parametrize("said", [b"", b"M\0\0\0\2{}"])
def test_the_program_shows_nothing_to_somebody_who_starts_it_by_hand(said: bytes) -> None:
    done = subprocess.run([sys.executable, "-m", "prepkit.serve.screens"], input=said, capture_output=True, check=False)
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"by prepkit serve alone" in done.stderr
    assert done.stderr.count(b"\n") == 1
