"""Faster than the screens: what is taken down while it goes up, and what is gone when it is touched."""

import pytest
from hands import move_to, place, run, see, settle, touch_button, type_in
from textual import events
from textual.geometry import Size

from prepkit.desk.desk import Desk
from prepkit.desk.opened import OpenPreparation
from prepkit.tui.screens.line import LineScreen
from prepkit.tui.screens.lock import LockScreen
from prepkit.tui.screens.message import MessageScreen
from prepkit.tui.screens.ready import ReadyScreen

SIZE = (40, 20)


@pytest.mark.parametrize("kind", [MessageScreen, LockScreen, ReadyScreen])
@pytest.mark.parametrize(
    "ending", ["closed", *(pytest.param(each, marks=pytest.mark.thorough) for each in ("left", "killed"))]
)
async def test_a_screen_that_is_taken_down_while_it_goes_up_is_no_fault(
    desk: Desk, begun: OpenPreparation, kind: type, ending: str
) -> None:
    screen = {
        MessageScreen: lambda: MessageScreen("Stood down", ("It is over.",), None),
        LockScreen: lambda: LockScreen(desk),
        ReadyScreen: lambda: ReadyScreen(desk, begun),
    }[kind]()
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        pilot.app.push_screen(screen)
        pilot.app.post_message(events.Resize(Size(60, 20), Size(60, 20)))
        if ending == "closed":
            pilot.app.pop_screen()
            await settle(pilot)
            assert place(pilot) == "home"
        elif ending == "left":
            pilot.app.exit()


@pytest.mark.parametrize("key", ["down", "pagedown", "f1", "m"])
async def test_a_key_that_comes_before_a_screen_has_its_parts_is_no_fault(
    desk: Desk, begun: OpenPreparation, key: str
) -> None:
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        screen = ReadyScreen(desk, begun)
        pilot.app.push_screen(screen)
        assert not screen.query("#body"), "it has no parts yet"
        {
            "down": lambda: screen.action_step(1),
            "pagedown": lambda: screen.action_page(1),
            "f1": screen.action_help,
            "m": screen.action_more,
        }[key]()
        await settle(pilot)
        assert place(pilot) == "ready"


async def test_an_arrow_that_comes_before_a_line_or_a_lock_has_its_parts_is_no_fault(
    desk: Desk, begun: OpenPreparation
) -> None:
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        for screen in (LineScreen(desk, begun, "surfactant"), LockScreen(desk)):
            pilot.app.push_screen(screen)
            screen.action_step(1)
        await settle(pilot)
        assert place(pilot) == "lock"


async def test_why_a_line_was_not_ticked_can_be_read_although_the_line_is_gone(
    desk: Desk, other_desk: Desk, begun: OpenPreparation
) -> None:
    async with run(desk, SIZE) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line atropine")
        await type_in(pilot, "", "enter")
        elsewhere = other_desk.resume(begun.prep)
        assert not isinstance(elsewhere, str)
        assert elsewhere.give_fact("gestation", "22+0") == ""
        assert elsewhere.show_list().withheld
        await touch_button(pilot, "tick")
        assert isinstance(pilot.app.screen, MessageScreen)
        assert "Not done" in see(pilot)
        await type_in(pilot, "", "enter")
        assert place(pilot) == "list"


async def test_a_screen_under_a_message_does_not_close_in_its_place(desk: Desk, begun: OpenPreparation) -> None:
    async with run(desk, SIZE) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line atropine")
        await type_in(pilot, "", "enter")
        under = pilot.app.screen
        message = MessageScreen("Not done", ("It is said here.",), None)
        pilot.app.push_screen(message)
        await settle(pilot)
        under.dismiss()
        await settle(pilot)
        assert pilot.app.screen is message
        await type_in(pilot, "", "enter")
        assert pilot.app.screen is under
        await type_in(pilot, "", "escape")
        assert place(pilot) == "list"
