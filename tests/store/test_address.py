"""A server's address that was written wrongly: no file is made in its place, and no password in it is told."""

import argparse
from pathlib import Path

import pytest

from prepkit.cli.store_option import read_store_option
from prepkit.errors import StoreUnreachable
from prepkit.paths import read_store_location
from prepkit.store import open_store

WRONG = [
    "host=db dbname=ward password=right-secret",
    "password = right-secret host=db",
    "postgresql:/u:right-secret@db/ward",
    "Postgres:u:right-secret@db/ward",
    "postgresql://u:right/secret@db:1/ward",
    "postgresql://u:12/secret@db:1/ward",
    "postgresql://u:1@2/secret@127.0.0.1:1/ward",
    "postgresql+driver://u:right-secret@db/ward",
]


@pytest.mark.parametrize("text", WRONG)
@pytest.mark.parametrize("is_made", [True, False])
def test_what_is_no_address_but_was_meant_for_one_is_no_file_and_is_not_repeated(
    text: str, is_made: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("psycopg")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(StoreUnreachable, match="expected postgresql://LOGIN@HOST:PORT/DATABASE") as caught:
        open_store(read_store_location(text), is_made=is_made)
    assert "secret" not in f"{caught.value!r} {caught.value.__cause__!r}"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", WRONG)
def test_a_password_on_the_command_line_is_refused_however_it_is_written(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError) as caught:
        read_store_option(text)
    assert "secret" not in str(caught.value)


@pytest.mark.parametrize("text", ["host of all.sqlite", "ward=3.sqlite", "./host=db", "postgresql.sqlite"])
def test_a_file_may_be_called_nearly_anything(text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    named = read_store_option(text)
    assert isinstance(named, Path)
    with open_store(named if named.is_absolute() else tmp_path / named) as store:
        assert store.is_new


@pytest.mark.parametrize("text", ["postgresql://ward@db:5432/prepkit", "postgresql:///prepkit?host=/run/pg"])
def test_an_address_without_a_password_is_taken(text: str) -> None:
    assert read_store_option(text) == text
