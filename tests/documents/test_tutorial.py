"""The guides to kits and to ward files: each block is tried in order, and says what the tool says, to the letter."""

import asyncio
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from importlib import import_module
from pathlib import Path

import pytest
from guide import DOCS, follow, read_blocks

from prepkit.app.files import WorkstationFiles
from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.store import open_sqlite
from prepkit.tui.app import PrepkitApp

NIGHT = datetime(2026, 11, 25, 3, 12, tzinfo=timezone(timedelta(hours=1)))
GUIDES = ("how-to-write-a-kit.md", "how-to-write-a-ward-file.md")
COMMANDS = ("check_command", "list_command", "new_kit_command", "print_commands")
SIZE = (60, 24)
Run = Callable[[list[str]], str]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A person's own folder, on the night of the guide, with nothing set up."""
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    for name in ("PREPKIT_WARD", "PREPKIT_STORE"):
        monkeypatch.delenv(name, raising=False)
    for name in COMMANDS:
        monkeypatch.setattr(import_module(f"prepkit.cli.{name}"), "read_clock", lambda: NIGHT)
    own = tmp_path / "own"
    own.mkdir()
    monkeypatch.chdir(own)
    return own


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(words: list[str]) -> str:
        main(words)
        done = capsys.readouterr()
        return done.out + done.err

    return call


def show_list(kit: str, weight: str, gestation: str) -> str:
    """The list on the screen, as `prepkit --kits . --ward ward.toml` paints it."""
    ward = Path("ward.toml") if Path("ward.toml").exists() else None
    with open_sqlite(Path("..") / f"{kit}.sqlite") as store:
        desk = Workstation(store, WorkstationFiles(ward, Path()), who="RA", clock=lambda: NIGHT)
        opened = desk.start(kit, "Cot 4")
        assert not isinstance(opened, str), opened
        assert opened.baby.give_fact("birth_weight", weight) == ""
        assert opened.baby.give_fact("birth_gestation", gestation) == ""
        return asyncio.run(_paint(desk))


async def _paint(desk: Workstation) -> str:
    app = PrepkitApp(desk)
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        await pilot.press("enter")
        for _ in range(50):  # a busy machine paints the list a little later
            await pilot.pause()
            rows = _read_rows(app)
            if rows[1].startswith(" List"):
                break
        await pilot.pause()
        return "\n".join(_read_rows(app)) + "\n"


def _read_rows(app: PrepkitApp) -> list[str]:
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strips[row]).rstrip() for row in range(SIZE[1])]


@pytest.mark.parametrize("name", GUIDES)
def test_each_block_of_a_guide_is_what_the_tool_says(name: str, folder: Path, run: Run) -> None:
    for written, said in follow(name, folder, run, show_list):
        assert written == said, f"{name}: write it anew with PREPKIT_GOLDEN=write, then read the difference"


@pytest.mark.parametrize("name", GUIDES)
def test_a_guide_shows_problems_and_then_none(name: str) -> None:
    blocks = list(read_blocks((DOCS / name).read_text("utf-8")))
    shown = [block.body for block in blocks if block.form == "console" and "prepkit check" in block.body]
    assert any("hint:" in body for body in shown)
    assert "prepkit: 0 problems in 1 file" in shown[-1]
    assert all(block.form in {"toml", "diff", "console", "text"} for block in blocks)
