"""A store of every format there was, kept as it was written: each one opens, whole, in this edition.

A format gets its file here on the day a version with it is released; none is ever changed. What is newer than this
edition is refused: `test_a_store_of_a_later_format_is_left_alone`.
"""

import shutil
from pathlib import Path

import pytest
from contract import TICK, append

from prepkit.store import check_store, open_backup, open_sqlite
from prepkit.store.schema import FORMAT

FORMATS = Path(__file__).with_name("formats")
LAST_HASHES = {1: "a849685f235077a475bbe6932260ebf0849867af3b834a9d4655812a816c81c1"}


def test_every_format_up_to_this_one_is_kept() -> None:
    assert sorted(path.name for path in FORMATS.iterdir()) == [f"format-{n}.sqlite" for n in range(1, FORMAT + 1)]
    assert LAST_HASHES.keys() == set(range(1, FORMAT + 1))


@pytest.mark.parametrize("form", LAST_HASHES)
def test_a_store_of_an_older_format_opens_whole_and_goes_on(path: Path, form: int) -> None:
    path.parent.mkdir()
    shutil.copyfile(FORMATS / f"format-{form}.sqlite", path)
    with open_sqlite(path) as store:
        assert check_store(store) == ()
        assert [record.hash for record in store.read_all()][-1] == LAST_HASHES[form]
        append(store, "b", 1, TICK)
        assert check_store(store) == ()


@pytest.mark.parametrize("form", LAST_HASHES)
def test_a_backup_of_an_older_format_can_be_restored(path: Path, form: int) -> None:
    with open_backup(FORMATS / f"format-{form}.sqlite", path) as store:
        assert check_store(store) == ()
        assert store.read_last() == 4
