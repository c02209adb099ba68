"""What holds on every screen in every state: readable in every light, marked without colour, scrolled by hand, kept.

The colours are read from what is painted, so that no pair in use is forgotten.
"""

from collections.abc import Iterator

import pytest
from contrast import compute_contrast
from hands import Hands, drag, read_cells, run, settle, type_in
from rich.color import ColorSystem
from scenes import ONE_OF_EACH, PADS, SCENES, follow, set_stage
from textual import events
from textual.color import Color
from textual.geometry import Offset
from textual.widget import Widget

from prepkit.tui.input.keys import KEYS
from prepkit.tui.input.touch import TouchScroll
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.pad import PadScreen
from prepkit.tui.themes import CONTRAST, PALETTES
from prepkit.tui.widgets.button import Button

pytestmark = pytest.mark.thorough

LEAST, LEAST_IN_HIGH_CONTRAST = 4.5, 7.0
"""Contrast ratios of WCAG 2.1, AA and AAA for text."""
ROTATIONS = [(60, 60), (36, 18), (120, 40), (60, 20), (80, 24), (40, 20)]
_DULL = [(0, 0, 0), (170, 0, 0), (0, 170, 0), (170, 85, 0), (0, 0, 170), (170, 0, 170), (0, 170, 170), (170, 170, 170)]
_BRIGHT = [tuple(85 + (170 if part >= 170 else 0) for part in each) for each in _DULL]
CONSOLE = [*_DULL[:3], (170, 85, 0), *_DULL[4:], *_BRIGHT[:3], (255, 255, 85), *_BRIGHT[4:]]
"""The sixteen colours of a bare console (those of the VGA text mode)."""


def read_pairs(pilot: Hands, *, sixteen: bool = False) -> Iterator[tuple[str, float]]:
    """Each text that is painted, with its contrast; frames and the edges of keys are no text."""
    for strip in pilot.app.screen._compositor.render_strips():
        for part in strip:
            words = "".join(each for each in part.text if not "─" <= each <= "▟").strip()
            style = part.style
            if not words:
                continue
            assert style is not None, words
            assert style.color is not None, words
            assert style.bgcolor is not None, words
            assert not style.dim, words
            both = (style.color, style.bgcolor)
            if sixteen:
                numbers = [each.downgrade(ColorSystem.STANDARD).number or 0 for each in both]
                assert style.reverse or numbers[1] < 8, f"no ground that such a console surely has: {words}"
                yield words, compute_contrast(*(Color(*CONSOLE[number]) for number in numbers))
            else:
                yield words, compute_contrast(*(Color.from_rich_color(each) for each in both))


@pytest.mark.parametrize("name", SCENES)
async def test_every_text_can_be_read_in_every_light_and_all_that_scrolls_is_scrolled_by_wheel_and_finger(
    request: pytest.FixtureRequest, name: str
) -> None:
    desk = set_stage(request, name)
    async with run(desk, (40, 20)) as pilot:
        await follow(pilot, desk, name)
        for size in ((36, 18), (120, 40)):
            await pilot.resize_terminal(*size)
            await scroll_all(pilot)
            for light in PALETTES:
                pilot.app.theme = light
                await settle(pilot)
                least = LEAST_IN_HIGH_CONTRAST if light == CONTRAST else LEAST
                assert [(light, *pair) for pair in read_pairs(pilot) if pair[1] < least] == []


@pytest.mark.parametrize("name", ONE_OF_EACH)
async def test_on_a_console_of_sixteen_colours_every_text_can_be_read_and_the_mark_is_seen(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("TERM", "linux")
    monkeypatch.delenv("COLORTERM", raising=False)
    desk = set_stage(request, name)
    async with run(desk, (40, 20)) as pilot:
        await follow(pilot, desk, name)
        for light in PALETTES:
            pilot.app.theme = light
            await settle(pilot)
            assert [(light, *pair) for pair in read_pairs(pilot, sixteen=True) if pair[1] < LEAST] == []
        assert is_marked(pilot)


@pytest.mark.parametrize("name", ONE_OF_EACH)
async def test_without_colour_the_mark_is_seen(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    desk = set_stage(request, name)
    async with run(desk, (40, 20)) as pilot:
        await follow(pilot, desk, name)
        assert is_marked(pilot)
        for key in ("down", "up", "tab"):
            await type_in(pilot, "", key)
            assert is_marked(pilot), key


def is_marked(pilot: Hands) -> bool:
    """Whether what has the focus is painted so that it is seen without colour."""
    focused = pilot.app.focused
    return focused is not None and any("▶" in text or is_reverse for text, is_reverse in read_cells(pilot, focused))


async def scroll_all(pilot: Hands) -> None:
    await settle(pilot)
    for column in list(pilot.app.screen.query(TouchScroll)):
        if column.display and column.max_scroll_y > 0:
            await _scroll(pilot, column)


async def _scroll(pilot: Hands, column: Widget) -> None:
    screen, window = pilot.app.screen, column.scrollable_content_region
    at = Offset(window.x + window.width // 2, window.bottom - 1)
    for by_hand in (False, True):
        column.scroll_to(y=0, animate=False, immediate=True)
        await settle(pilot)
        if by_hand:
            await drag(pilot, at, -2)
        else:
            wheel = events.MouseScrollDown(None, at.x, at.y, 0, 0, 0, False, False, False, at.x, at.y)  # noqa: FBT003
            pilot.app.post_message(wheel)
            await settle(pilot)
        assert column.scroll_offset.y > 0, (column, by_hand)
        assert pilot.app.screen is screen, "scrolling opens nothing"


@pytest.mark.parametrize("name", PADS)
async def test_what_is_half_typed_outlasts_every_rotation_and_the_help_sheet(
    request: pytest.FixtureRequest, name: str
) -> None:
    desk = set_stage(request, name)
    async with run(desk, (40, 20)) as pilot:
        await follow(pilot, desk, name)
        pad = pilot.app.screen
        assert isinstance(pad, PadScreen)
        if not pad.field.display:
            return
        await type_in(pilot, "12")
        typed = pad.field.typed
        assert typed.endswith("12")
        for size in ROTATIONS:
            await pilot.resize_terminal(*size)
            await settle(pilot)
            assert (pad.field.typed, pilot.app.focused) == (typed, pad.field), size
            assert (typed if "pin" not in name else "••") in " ".join(text for text, _ in read_cells(pilot, pad.field))
        if "pin" in name:
            return  # a PIN that is half typed is forgotten when anything comes over it
        await type_in(pilot, "", "f1", "escape")
        assert (pad.field.typed, pilot.app.screen) == (typed, pad)


@pytest.mark.parametrize("name", ONE_OF_EACH)
async def test_one_key_does_the_usual_next_thing_and_another_shows_the_keys(
    request: pytest.FixtureRequest, name: str
) -> None:
    desk = set_stage(request, name)
    async with run(desk, (40, 20)) as pilot:
        await follow(pilot, desk, name)
        screen = pilot.app.screen
        primary = [button for button in screen.query("Button.-primary").results(Button) if button.display]
        if not isinstance(screen, WorkstationScreen) or isinstance(screen, PadScreen) or not primary:
            # A pad, a menu and a message have Enter for it.
            assert any(key.keys.split(",")[0] == "enter" for key in KEYS[getattr(screen, "ROUTE", "message")])
        else:
            done: list[str] = []

            async def take(action: str) -> bool:
                done.append(action)
                return True

            screen.run_action = take  # type: ignore[method-assign, assignment]
            await screen.action_next()
            assert done == [primary[0].name]
            assert "full_stop" in screen.active_bindings
            del screen.run_action
        if isinstance(screen, WorkstationScreen) and screen.ROUTE != "help":
            await type_in(pilot, "", "f1")
            assert getattr(pilot.app.screen, "ROUTE", "") == "help"
