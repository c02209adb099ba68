"""Practice: marked once, said everywhere, never counted."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from papers_scene import KIT, WARD

from prepkit.app.demo import lay_out_demo
from prepkit.app.eventlog.repository import list_preparation_ids, read_stored_preparation
from prepkit.app.files import WorkstationFiles
from prepkit.app.reports import make_ward_audit
from prepkit.app.workstation import Workstation
from prepkit.cli import screens_command
from prepkit.cli.main import main
from prepkit.documents.audit import is_counted
from prepkit.store import open_sqlite


def test_the_demo_is_nothing_but_practice(tmp_path: Path) -> None:
    with open_sqlite(tmp_path / "demo.sqlite") as store:
        lay_out_demo(store, WARD)
        kept = [read_stored_preparation(store, prep) for prep in list_preparation_ids(store)]
        assert kept
        assert all(not isinstance(each, str) and each.state.practice for each in kept)
        assert make_ward_audit(store, None, None).count == 0


@pytest.mark.parametrize(("arguments", "practice"), [(["--practice"], True), ([], False)])
def test_a_switch_marks_everything_that_is_started(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], practice: bool
) -> None:
    started = []

    def run_app(desk: Workstation, *, light: str) -> int:
        desk.identity.who = "RA"
        opened = desk.start(KIT, "Cot 4")
        assert not isinstance(opened, str)
        started.append((opened.session.state.practice, opened.lines.show_list().banner.practice))
        return 0

    monkeypatch.setattr("prepkit.tui.app.run_app", run_app)
    terminal = SimpleNamespace(isatty=lambda: True)
    monkeypatch.setattr(screens_command, "sys", SimpleNamespace(stdin=terminal, stdout=terminal, stderr=terminal))
    monkeypatch.setenv("TERM", "xterm")
    assert main([*arguments, "--store", str(tmp_path / "s.sqlite"), "--ward", str(WARD)]) == 0
    assert started == [(practice, practice)]


def test_one_preparation_among_others_may_be_practice(tmp_path: Path) -> None:
    with open_sqlite(tmp_path / "s.sqlite") as store:
        desk = Workstation(store, WorkstationFiles(WARD, None), who="RA")
        learning, real = desk.start(KIT, "Cot 1", practice=True), desk.start(KIT, "Cot 2")
        assert not isinstance(learning, str)
        assert not isinstance(real, str)
        assert (learning.session.state.practice, real.session.state.practice) == (True, False)
        assert not is_counted(learning.session.state, None, None)
