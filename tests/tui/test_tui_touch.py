"""Fingers: what a drag, a slip and a touch do."""

import pytest
from hands import (
    LINES,
    Hands,
    bring_in_sight,
    drag,
    flick,
    place,
    row_of,
    run,
    see,
    settle,
    touch_at,
    touch_row,
    type_in,
)
from textual.geometry import Offset

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.widgets.field import Field
from prepkit.view.models import Sign


async def open_list(pilot: Hands) -> None:
    await type_in(pilot, "", "enter")
    assert place(pilot) == "list"


async def test_a_drag_scrolls_and_ticks_nothing(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        body = pilot.app.screen.query_one("#body")
        await drag(pilot, Offset(3, 14), -8)
        assert body.scroll_offset.y == 8
        assert begun.lines.show_list().left == f"{LINES} of {LINES} left"
        assert place(pilot) == "list"


async def test_a_press_on_one_row_and_a_release_on_another_does_nothing(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (120, 60)) as pilot:
        await open_list(pilot)
        await bring_in_sight(pilot, row_of(pilot, "line drape"))
        first, second = row_of(pilot, "line drape").region, row_of(pilot, "line airway-device").region
        assert pilot.app.screen.query_one("#body").scroll_offset.y == 0
        await pilot.mouse_down(offset=(first.x + 3, first.y))
        await pilot.mouse_up(offset=(second.x + 3, second.y))
        await settle(pilot)
        begun.session.refresh()
        assert begun.lines.show_list().left == f"{LINES} of {LINES} left"


async def test_the_sign_ticks_and_the_words_open(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        await touch_row(pilot, "line surfactant", sign=True)
        assert row_of(pilot, "line surfactant").text.sign == Sign.DONE
        await touch_row(pilot, "line surfactant", sign=True)
        assert row_of(pilot, "line surfactant").text.sign == Sign.TO_DO
        await touch_row(pilot, "line surfactant")
        assert place(pilot) == "line"
        assert "3.6 mL" in see(pilot)
    begun.session.refresh()
    assert begun.lines.show_list().left == f"{LINES} of {LINES} left"


@pytest.mark.usefixtures("begun")
async def test_a_tick_moves_neither_the_column_nor_the_mark(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        await touch_row(pilot, "line atropine")
        await type_in(pilot, "", "escape")
        before = pilot.app.screen.query_one("#body").scroll_offset
        rows = list(pilot.app.screen.query("Row"))
        await type_in(pilot, "", "space")
        assert pilot.app.screen.query_one("#body").scroll_offset == before
        assert pilot.app.focused is row_of(pilot, "line atropine")
        assert list(pilot.app.screen.query("Row")) == rows


@pytest.mark.usefixtures("begun")
async def test_a_touch_on_the_banner_leads_to_the_baby(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        await pilot.click("#banner")
        await settle(pilot)
        assert place(pilot) == "baby"


@pytest.mark.parametrize("rows", [-8, -1, 3])
async def test_a_quick_flick_ticks_nothing_and_does_not_hold_the_mouse(
    desk: Workstation, begun: OpenPreparation, rows: int
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        for row in range(5, 14):
            await flick(pilot, Offset(3, row), rows)
            assert pilot.app.mouse_captured is None
    begun.session.refresh()
    assert begun.lines.show_list().left == f"{LINES} of {LINES} left"


@pytest.mark.usefixtures("begun")
async def test_after_a_drag_the_arrow_keys_go_on_from_what_is_in_sight(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        for _ in range(3):
            await drag(pilot, Offset(12, 15), -12)
        await type_in(pilot, "", "down")
        body, marked = pilot.app.screen.query_one("#body"), pilot.app.focused
        assert body.scroll_offset.y >= 30
        assert marked is not None
        assert body.region.contains_region(marked.region)


@pytest.mark.thorough
@pytest.mark.parametrize("row", [0, 1])
@pytest.mark.usefixtures("begun")
async def test_banner_and_title_are_one_target_with_the_initials_at_its_end(desk: Workstation, row: int) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_list(pilot)
        await touch_at(pilot, Offset(3, row))
        assert place(pilot) == "baby"
        await touch_at(pilot, Offset(36, row))
        assert place(pilot) == "pad"
        assert "Who is at this desk?" in see(pilot)


@pytest.mark.thorough
@pytest.mark.usefixtures("begun")
async def test_a_touch_that_slips_onto_the_field_does_not_make_a_number_longer(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "b", "enter")
        field = pilot.app.screen.query_one(Field)
        assert field.typed == "1450"
        await touch_at(pilot, field.region.offset + Offset(10, 0))
        await type_in(pilot, "9")
        assert field.typed == "9"
        await type_in(pilot, "", "enter")
        await touch_at(pilot, field.region.offset + Offset(10, 0))
        await type_in(pilot, "1480")
        assert field.typed == "1480", "after a refusal too"
