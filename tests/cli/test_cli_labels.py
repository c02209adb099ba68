"""`prepkit labels`: by cot or id, as text or HTML, and nothing recorded."""

import shlex
from datetime import UTC, datetime
from pathlib import Path

import pytest

from prepkit.app.eventlog.stream_index import read_open
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.syringe_labels import show_labels
from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.paths import find_own_store, find_shipped
from prepkit.store import open_sqlite

NIGHT = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home of its own, on a clock of its own, where nobody has left kits or a ward file."""
    for name in ("PREPKIT_WARD", "PREPKIT_STORE"):
        monkeypatch.delenv(name, raising=False)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.setattr("prepkit.cli.labels_command.read_clock", lambda: NIGHT)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "preparations.sqlite"


@pytest.fixture
def ward(tmp_path: Path) -> Path:
    file = tmp_path / "ward.toml"
    file.write_bytes((find_shipped("demo") / "ward.toml").read_bytes())
    return file


def prepare(path: Path, ward: Path, cot: str, *ticks: str, end: bool = False) -> str:
    """A preparation in the store with some lines ticked; its id."""
    with open_sqlite(path) as store:
        desk = Workstation(store, WorkstationFiles(ward, None), who="RA", clock=lambda: NIGHT)
        opened = desk.start("surfactant-supraglottic", cot)
        assert isinstance(opened, OpenPreparation)
        for fact, typed in (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("born", "today")):
            assert opened.baby.give_fact(fact, typed) == ""
        assert [opened.lines.tick(line) for line in ticks] == [""] * len(ticks)
        if end:
            assert opened.ready.stand_down("baby improved") == ""
        return opened.session.prep


def run(path: Path, *arguments: str | Path) -> int:
    return main(["--store", str(path), "labels", *map(str, arguments)])


def test_a_cot_label_finds_its_preparation(path: Path, ward: Path, capsys: pytest.CaptureFixture[str]) -> None:
    prepare(path, ward, "Cot 4", "surfactant")
    assert run(path, "cot 4", "--ward", ward) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Poractant alfa\n3.6 mL of 80 mg/mL + 0.5 mL air\nTRACHEAL - NOT FOR INJECTION\nFor: Cot 4\n")
    assert "No label for Atropine: it is not ticked." in out
    assert err == ""


def test_two_preparations_of_one_cot_are_told_apart_by_their_ids(
    path: Path, ward: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ids = [prepare(path, ward, "Cot 4", "surfactant"), prepare(path, ward, "Cot 4", "surfactant")]
    assert run(path, "Cot 4") == 2
    err = capsys.readouterr().err
    assert all(each in err for each in ids)
    assert run(path, ids[1], "--ward", ward) == 0
    assert "Poractant alfa" in capsys.readouterr().out


@pytest.mark.parametrize("folder", ["", "a ward's store"])
def test_the_command_that_a_screen_shows_prints_from_the_store_it_was_shown_for(
    tmp_path: Path, ward: Path, folder: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    own = find_own_store()
    prepare(own, ward, "Cot 4", "atropine")
    path = tmp_path / folder / "other.sqlite" if folder else own
    prep = prepare(path, ward, "Cot 4", "surfactant") if folder else ""
    monkeypatch.chdir(tmp_path)
    with open_sqlite(path) as store:
        desk = Workstation(store, WorkstationFiles(ward, None), who="RA", clock=lambda: NIGHT, store_at=path)
        opened = desk.resume(prep or next(iter(read_open(store))))
        assert isinstance(opened, OpenPreparation)
        view = show_labels(opened.session, desk.store_at)
    assert not isinstance(view, str)
    assert ("--store" in view.command) == bool(folder), "named only where prepkit would open another one by itself"
    assert main([*shlex.split(view.command)[1:], "--ward", str(ward)]) == 0
    assert view.labels[0][0] in Path("labels.html").read_text("utf-8")
    assert capsys.readouterr().err == ""


def test_nothing_is_recorded(path: Path, ward: Path) -> None:
    prep = prepare(path, ward, "Cot 4", "surfactant")
    with open_sqlite(path) as store:
        before = store.read(prep)
    assert run(path, "Cot 4", "--ward", ward) == 0
    with open_sqlite(path) as store:
        assert store.read(prep) == before


def test_the_page_goes_into_a_new_file_and_never_over_one(
    path: Path, ward: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    prepare(path, ward, "Cot 4", "surfactant")
    out = tmp_path / "labels.html"
    assert run(path, "Cot 4", "--format", "html", "--out", out, "--ward", ward) == 0
    text = out.read_text("utf-8")
    assert text.startswith("<!doctype html>")
    assert run(path, "Cot 4", "--out", out, "--ward", ward) == 2
    assert "there already" in capsys.readouterr().err
    assert out.read_text("utf-8") == text
    assert run(path, "Cot 4", "--out", tmp_path / "none" / "labels.html", "--ward", ward) == 2
    assert "cannot be written" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "code", "said"),
    [
        ("Cot 9", 2, 'There is no preparation "Cot 9". In progress: Cot 4.'),
        ("\x1b[2J", 2, "There is no preparation"),
        ("Cot 4", 1, "there is no label to print"),
    ],
)
def test_what_has_no_labels_says_why(
    path: Path, ward: Path, capsys: pytest.CaptureFixture[str], name: str, code: int, said: str
) -> None:
    prepare(path, ward, "Cot 4", "drape")
    assert run(path, name) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert "\x1b" not in err


def test_a_preparation_that_has_ended_is_refused_by_its_id(
    path: Path, ward: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    prep = prepare(path, ward, "Cot 4", "surfactant", end=True)
    assert run(path, prep) == 1
    assert "stood this preparation down" in capsys.readouterr().err
    assert run(path, "Cot 4") == 2
    assert "None is in progress" in capsys.readouterr().err


def test_a_store_that_is_not_there_is_not_made(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(path, "Cot 4") == 4
    assert not path.exists()
    assert "is not there" in capsys.readouterr().err


def test_a_ward_file_that_changed_since_is_said(path: Path, ward: Path, capsys: pytest.CaptureFixture[str]) -> None:
    prepare(path, ward, "Cot 4", "surfactant")
    ward.write_text(ward.read_text("utf-8") + "\n", "utf-8")
    assert run(path, "Cot 4", "--ward", ward) == 0
    assert "ward file changed since this was started. The labels are from before that." in capsys.readouterr().err
