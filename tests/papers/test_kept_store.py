"""A store kept as it was written: a whole night and two preparations in progress. Structure may change; this may not.

A change that is meant to alter what is stored, listed or printed makes it anew (`make_kept.py`) and says so.
"""

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from make_kept import DIGESTS, IN_PROGRESS, STORE, WARD, list_papers, write_digest, write_ward

from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.store import SqliteStore, open_sqlite

EVENTS, LISTS = 453, 73
LAST_HASH = "2f997a0fc44c10976f3463363ec9c3f1db30c892c1073caa99a2d3e98ab69975"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copyfile(STORE, tmp_path / "preparations.sqlite"))


def open_kept(store: SqliteStore, cot: str) -> OpenPreparation:
    """Open a preparation a minute after the last thing that was done to it."""
    desk = Workstation(store, WorkstationFiles(WARD, None), who="RA")
    rows = {row.cot: row for row in desk.show_home().rows}
    records = store.read(rows[cot].prep)
    at = datetime.fromisoformat(records[-1].at) + timedelta(minutes=1)
    desk.identity.clock = lambda: at
    opened = desk.resume(rows[cot].prep)
    assert not isinstance(opened, str), opened
    return opened


def test_every_list_of_the_kept_store_is_worked_out_again_the_same(path: Path) -> None:
    with open_sqlite(path) as store:
        found = verify_store(store)
    assert (found.chain, found.wrong, found.rebuilt) == ((), (), ())
    assert (found.events, found.lists, found.last_hash) == (EVENTS, LISTS, LAST_HASH)


@pytest.mark.parametrize("cot", IN_PROGRESS)
def test_opening_what_was_in_progress_takes_no_tick_and_writes_no_event(path: Path, cot: str) -> None:
    with open_sqlite(path) as store:
        before = store.read_last()
        opened = open_kept(store, cot)
        ticked = {line.id for line in opened.session.state.lines if opened.session.state.is_ticked(line.id)}
        opened.session.refresh()
        opened.ready.show_ready()
        opened.lines.show_list()
        assert {line.id for line in opened.session.state.lines if opened.session.state.is_ticked(line.id)} == ticked
        assert store.read_last() == before


def test_its_papers_are_the_same_to_the_byte(path: Path) -> None:
    assert [write_digest(command, path) for command in list_papers()] == DIGESTS.read_text("utf-8").splitlines()


def test_the_ward_that_it_was_kept_with_is_the_demo_ward_asking_for_batches() -> None:
    assert WARD.read_text("utf-8") == write_ward()
