"""The worked night, kept in one store and printed, for the tests that read it; commands run in this process."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from papers_scene import Done, Run, load_night

from prepkit.cli.main import main
from prepkit.store import SqliteStore, open_sqlite


@pytest.fixture(scope="session")
def night() -> ModuleType:
    return load_night()


@pytest.fixture(scope="session")
def papers(night: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the night: its store and its papers. Not to be written to."""
    folder = tmp_path_factory.mktemp("night")
    night.work_the_night(folder)
    night.print_papers(folder)
    return folder


@pytest.fixture
def kept(papers: Path, tmp_path: Path) -> Path:
    """A copy of the night's store that a test may spoil."""
    return Path(shutil.copy(papers / "preparations.sqlite", tmp_path / "preparations.sqlite"))


@pytest.fixture
def store(kept: Path) -> Iterator[SqliteStore]:
    with open_sqlite(kept) as opened:
        yield opened


@pytest.fixture
def run(kept: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command in this process, on the copy of the night's store."""
    monkeypatch.setenv("PREPKIT_STORE", str(kept))
    monkeypatch.delenv("PREPKIT_WARD", raising=False)

    def run_here(*arguments: str) -> Done:
        try:
            code = main(list(arguments))
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        return Done(code, *capsys.readouterr())

    return run_here
