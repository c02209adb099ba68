"""What has to be true of a store after something was done to it, and what is counted."""

import shutil
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from worker import Worker

from prepkit.app.eventlog.repository import list_preparation_ids, read_preparation
from prepkit.errors import StoreDamaged, StoreError
from prepkit.store import Record, SqliteStore, check_store, open_sqlite

Figures = dict[str, Any]
"""What came of a scenario, by the words it is told in."""
STORE = "preparations.sqlite"


def check_kept(path: Path, prep: str, workers: list[Worker]) -> int:
    """Everything that was shown as done is there, each as it was shown, and the chain is whole; how many."""
    with open_sqlite(path) as store:
        assert check_store(store) == ()
        records = store.read(prep)
    told = [each for worker in workers for each in worker.list_told()]
    assert holds(records, prep, told), "something that was shown as done is not there"
    return len(told)


def holds(records: tuple[Record, ...], prep: str, told: list[tuple[int, str]]) -> bool:
    """Whether every change that was shown stands in these records."""
    kept = {record.seq: record.body for record in records if record.prep == prep}
    return all(f'"{line}"' in kept.get(seq, "") for seq, line in told)


def copy_files(path: Path, folder: Path) -> Path:
    """Copy a store with what lies beside it."""
    folder.mkdir()
    for each in path.parent.glob(f"{path.name}*"):
        try:
            shutil.copyfile(each, folder / each.name)
        except FileNotFoundError:  # a journal that ended meanwhile
            continue
    return folder / path.name


def judge(
    path: Path, is_whole: Callable[[tuple[Record, ...]], bool], written: tuple[Record, ...] | None = None
) -> Counter[str]:
    """What comes of opening and checking a store that something was done to; `written` is what it may show at most."""
    try:
        with open_sqlite(path) as store:
            if not _is_found_damaged(store):
                is_same = is_whole(tuple(store.read_all()))
                return Counter(["whole, nothing lost" if is_same else "different, and not noticed"])
    except StoreError:
        return Counter(["not opened, in words"])
    return Counter(["opened, the damage named"]) + _count_readable(path, written)


def _is_found_damaged(store: SqliteStore) -> bool:
    try:
        return check_store(store) != ()
    except StoreDamaged:
        return True


def _count_readable(path: Path, written: tuple[Record, ...] | None) -> Counter[str]:
    """Of the preparations in a damaged store, those that can still be opened, and those that say why not."""
    found: Counter[str] = Counter()
    with open_sqlite(path) as store:
        try:
            preps = list_preparation_ids(store)
        except StoreError:
            return Counter(["of which without a list of preparations, in words"])
        for prep in preps:
            try:
                read_preparation(store, prep)
            except StoreError:
                found["preparations in these that say why they cannot be read"] += 1
            else:
                found["preparations in these that can still be read"] += 1
                assert written is None or set(store.read(prep)) <= set(written), "a record is shown that nobody wrote"
    return found
