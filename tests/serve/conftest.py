"""A server that asks for a passphrase, and a count of the programs it started."""

import os
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import pytest
from serving import SECRET, Asker, serve

from prepkit.serve.options import Options


@pytest.fixture
async def asker() -> AsyncIterator[Asker]:
    """A server on this machine that asks for the passphrase, and somebody who asks it."""
    async with serve(Options(passphrase=SECRET)) as given:
        yield given


@pytest.fixture
def count_children() -> Callable[[], int]:
    """How many programs this one has started that have not ended."""

    def count() -> int:
        mine, counted = str(os.getpid()), 0
        for stat in Path("/proc").glob("[0-9]*/stat"):
            try:
                fields = stat.read_text("utf-8").rpartition(")")[2].split()
            except OSError:
                continue
            counted += fields[1] == mine and fields[0] != "Z"
        return counted

    return count
