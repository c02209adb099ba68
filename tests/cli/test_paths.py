"""Where kits, ward files and the store are looked for."""

from pathlib import Path

import pytest

from prepkit.app.kit_files import load_kit
from prepkit.errors import FileUnreadable
from prepkit.paths import find_kits, find_shipped, find_store, find_ward


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home of its own, where nobody has left kits or a ward file."""
    for name in ("PREPKIT_WARD", "PREPKIT_STORE"):
        monkeypatch.delenv(name, raising=False)
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    return tmp_path / "home"


def write(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("", "utf-8")
    return path


def test_the_shipped_kits_are_found_and_every_one_of_them_is_a_kit_of_its_files_name() -> None:
    kits = find_kits()
    assert "surfactant-supraglottic" in [kit.id for kit in kits]
    for file in kits:
        kit, problems = load_kit(file.path)
        assert kit is not None, problems
        assert kit.model.id == file.id


def test_a_later_place_stands_over_an_earlier_one(home: Path, tmp_path: Path) -> None:
    own = write(home / "prepkit" / "kits" / "own.toml")
    over = write(home / "prepkit" / "kits" / "surfactant-supraglottic.toml")
    named = write(tmp_path / "kits" / "own.toml")
    write(tmp_path / "kits" / "notes.txt")
    shipped = {path.stem: path for path in find_shipped("kits").glob("*.toml")}
    shipped["surfactant-supraglottic"] = over
    assert {kit.id: kit.path for kit in find_kits()} == {**shipped, "own": own}
    assert {kit.id: kit.path for kit in find_kits(named.parent)} == {**shipped, "own": named}


def test_a_folder_that_was_named_has_to_be_there(tmp_path: Path) -> None:
    with pytest.raises(FileUnreadable, match=r"is not a folder\. Check the path"):
        find_kits(tmp_path / "nowhere")


def test_the_ward_file_is_the_one_named_then_the_environments_then_the_users(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert find_ward(None) is None
    own = write(home / "prepkit" / "ward.toml")
    assert find_ward(None) == own
    monkeypatch.setenv("PREPKIT_WARD", "w.toml")
    assert find_ward(None) == Path("w.toml")
    assert find_ward(tmp_path / "x.toml") == tmp_path / "x.toml"


def test_the_store_is_the_one_named_then_the_environments_then_the_users(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert find_store(None) == home / "prepkit" / "preparations.sqlite"
    monkeypatch.setenv("PREPKIT_STORE", "s.sqlite")
    assert find_store(None) == Path("s.sqlite")
    assert find_store(tmp_path / "x.sqlite") == tmp_path / "x.sqlite"


def test_what_is_shipped_lies_in_a_folder_that_is_there() -> None:
    assert (find_shipped("demo") / "ward.toml").is_file()
    assert find_shipped("kits").is_dir()


def test_a_home_that_may_not_be_looked_into_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path) -> bool:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.delenv("PREPKIT_WARD", raising=False)
    monkeypatch.setattr(Path, "is_file", refuse)
    with pytest.raises(FileUnreadable, match="permission denied"):
        find_ward(None)
