"""The benchmark of a large store runs, on a small one; its figures are for a quiet machine and are not looked at."""

from pathlib import Path

import pytest

from prepkit.app.verification import verify_store
from prepkit.store import open_sqlite
from tests.bench import bench_store

pytestmark = pytest.mark.thorough


def test_it_measures_a_store_whose_chain_and_whose_kept_parts_are_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bench_store, "RUNS", 3)
    monkeypatch.setenv("PREPKIT_BENCH_SIZES", "12")
    monkeypatch.setenv("PREPKIT_BENCH_FOLDER", str(tmp_path))
    names = [figure.name for figure in bench_store.measure()]
    assert names[:3] == ["home, 12 ended", "resume, 12 ended", "tick, 12 ended"]
    assert names[-1] == "audit, 12 ended"
    with open_sqlite(bench_store.find_store(tmp_path, 12)) as store:
        found = verify_store(store)
        assert (found.chain, found.rebuilt) == ((), ())
        assert found.events > 1000
        assert len(store.read_ended(99)) == 13, "the one that was ticked to measure it too"
