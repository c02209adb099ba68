"""Home with more preparations than it shows at once."""

import pytest
from hands import move_to, run, see, settle, type_in
from workstation_scene import start

from prepkit.app.workstation import Workstation
from prepkit.tui.screens import home
from prepkit.tui.widgets.row import Row


async def test_more_preparations_are_shown_below_where_they_are_asked_for(
    desk: Workstation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home, "PAGE", 2)
    desk.identity.who = "RA"
    for cot in ("Cot 1", "Cot 2", "Cot 3"):
        start(desk, cot=cot)
    async with run(desk, (80, 24)) as pilot:
        await pilot.pause(0.3)
        await settle(pilot)
        assert "1 more, begun before these" in see(pilot)
        assert "Cot 1" not in see(pilot)
        await move_to(pilot, home.MORE)
        await type_in(pilot, "", "enter")
        rows = pilot.app.screen.query(Row)
        assert [row.text.name for row in rows] == ["Cot 3", "Cot 2", "Cot 1"]


async def test_whoever_comes_back_finds_their_preparation_marked_and_home_drawn_once(
    desk: Workstation, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.identity.who = "RA"
    first, _ = (start(desk, cot=cot) for cot in ("Cot 1", "Cot 2"))
    drawn: list[str] = []
    draw = home.HomeScreen.draw
    monkeypatch.setattr(home.HomeScreen, "draw", lambda screen: (drawn.append(""), draw(screen))[1])
    async with run(desk, (80, 24)) as pilot:
        await pilot.pause(0.3)
        await settle(pilot)
        await move_to(pilot, first.session.prep)
        await type_in(pilot, "", "enter")
        assert not isinstance(pilot.app.screen, home.HomeScreen)
        drawn.clear()
        await type_in(pilot, "", "escape")
        assert isinstance(pilot.app.screen, home.HomeScreen)
        assert len(drawn) == 1
        assert isinstance(pilot.app.focused, Row)
        assert pilot.app.focused.text.name == "Cot 1"
