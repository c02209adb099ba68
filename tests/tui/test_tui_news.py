"""Other devices, a store that fails, and a fault in the program."""

import pytest
from hands import LINES, Hands, move_to, place, row_of, run, see, settle, type_in
from textual.app import App

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.services.lines import LineService
from prepkit.app.workstation import Workstation
from prepkit.errors import StoreFull
from prepkit.tui.app import CRASHED, PrepkitApp, run_app
from prepkit.tui.screens.base import NEWS_EVERY
from prepkit.view.models import Sign


async def open_drape(pilot: Hands) -> None:
    await type_in(pilot, "", "enter")
    await move_to(pilot, "line drape")


async def wait_for_news(pilot: Hands) -> None:
    """Give the screen's own timer its turns; how long that takes is not asserted here."""
    for _ in range(4):
        await pilot.pause(NEWS_EVERY)
    await settle(pilot)


def resume_elsewhere(begun: OpenPreparation, other_desk: Workstation) -> OpenPreparation:
    elsewhere = other_desk.resume(begun.session.prep)
    assert not isinstance(elsewhere, str)
    return elsewhere


async def test_a_tick_made_on_another_device_is_shown(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_drape(pilot)
        assert resume_elsewhere(begun, other_desk).lines.tick("drape") == ""
        await wait_for_news(pilot)
        row = row_of(pilot, "line drape")
        assert row.text.sign == Sign.DONE
        assert "KM" in row.text.word
        assert pilot.app.focused is row


async def test_news_that_come_while_help_is_open_are_not_lost(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_drape(pilot)
        await type_in(pilot, "h")
        assert place(pilot) == "help"
        assert resume_elsewhere(begun, other_desk).lines.tick("drape") == ""
        await wait_for_news(pilot)
        await type_in(pilot, "", "escape")
        await wait_for_news(pilot)
        assert row_of(pilot, "line drape").text.sign == Sign.DONE


async def test_a_preparation_stood_down_on_another_device_closes_here(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_drape(pilot)
        assert resume_elsewhere(begun, other_desk).ready.stand_down("the baby got better") == ""
        await wait_for_news(pilot)
        assert "Stood down by KM" in " ".join(see(pilot).split())
        await type_in(pilot, "", "enter")
        assert place(pilot) == "home"


async def test_a_full_disk_is_said_and_nothing_is_shown_as_done(
    desk: Workstation, begun: OpenPreparation, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> str:
        raise StoreFull("The disk is full: free some room, then tick again.")

    async with run(desk, (40, 20)) as pilot:
        await open_drape(pilot)
        monkeypatch.setattr(LineService, "tick", fail)
        await type_in(pilot, "", "space")
        assert "Not saved" in see(pilot)
        assert "The disk is full" in see(pilot)
        await type_in(pilot, "", "enter")
        assert row_of(pilot, "line drape").text.sign == Sign.TO_DO
    assert begun.lines.show_list().left == f"{LINES} of {LINES} left"


def test_a_fault_leaves_one_clear_sentence_and_no_facts(
    desk: Workstation, begun: OpenPreparation, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> object:
        raise RuntimeError("a fault made for this test")

    async def act(pilot: Hands) -> None:
        await type_in(pilot, "", "enter")

    monkeypatch.setattr(LineService, "show_list", fail)
    plain_run = App.run
    monkeypatch.setattr(PrepkitApp, "run", lambda app: plain_run(app, headless=True, size=(40, 20), auto_pilot=act))
    assert run_app(desk) == CRASHED
    said = capsys.readouterr().err
    assert said.startswith(
        "prepkit stopped because of a fault in the program. Everything that was shown as done is kept."
    )
    assert "Start it again with: prepkit" in said
    assert "a fault made for this test" in said
    assert "1450" not in said
    assert begun.baby.show_baby().banner.baby == "1450 g · 30+2"
