"""A few runs of the crash suite; the whole of it is `python tests/crash/run.py`."""

import subprocess
import sys
from pathlib import Path

import pytest

RUN = Path(__file__).with_name("run.py")


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
def test_nothing_shown_as_done_is_lost_in_a_few_runs_of_each() -> None:
    names = ["killed", "power cut", "file taken", "bits", "clock an hour back"]
    command = [sys.executable, str(RUN), "--runs", "3", "--no-figures", "--only", *names]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    assert len(told.stdout.splitlines()) == 5
