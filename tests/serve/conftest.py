"""A server that asks for a passphrase, and a count of the programs it started."""

import os
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import pytest
from argon2 import PasswordHasher, profiles
from serving import SECRET, Asker, serve

import prepkit.app.staff
from prepkit.serve.options import ServeOptions


@pytest.fixture(autouse=True)
def cheap_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The hash itself is tested elsewhere; here its least profile will do."""
    hasher = PasswordHasher.from_parameters(profiles.CHEAPEST)
    monkeypatch.setattr("prepkit.people.pin._make_hasher", lambda: hasher)
    monkeypatch.setattr(prepkit.app.staff, "NOBODYS", hasher.hash(b"nobody's"))


@pytest.fixture
async def ward() -> AsyncIterator[Asker]:
    """A server on this machine for a ward whose people sign in with PINs, and somebody who asks it."""
    async with serve(ServeOptions(), pins=True) as given:
        yield given


@pytest.fixture
async def asker() -> AsyncIterator[Asker]:
    """A server on this machine that asks for the passphrase, and somebody who asks it."""
    async with serve(ServeOptions(passphrase=SECRET)) as given:
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
