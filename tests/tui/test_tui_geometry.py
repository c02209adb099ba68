"""At every size: nothing cut, every action within reach, the mark in sight."""

import pytest
from hands import Hands, read_cells, read_screen, run, settle, type_in
from scenes import SCENES, follow, set_stage
from textual.widget import Widget

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.touch import Touchable, TouchScroll
from prepkit.tui.widgets.button import ActionBar, Button
from prepkit.tui.widgets.field import Field
from prepkit.tui.widgets.row import Row
from prepkit.tui.widgets.text import TextBlock

pytestmark = pytest.mark.thorough

SIZES = [(36, 18), (60, 60), (40, 20), (120, 40), (60, 20), (80, 24)]
"""In an order in which the screen grows and shrinks by turns, in both directions."""


def column_of(widget: Widget) -> TouchScroll | None:
    return next((above for above in widget.ancestors if isinstance(above, TouchScroll)), None)


def find_faults(pilot: Hands) -> list[str]:
    """What is cut or out of reach on the screen shown now."""
    screen = pilot.app.screen
    drawn = [widget for widget in screen.query(TextBlock) if _is_shown(widget)]
    touchable = [widget for widget in screen.query(Touchable) if _is_shown(widget)]
    return [*(fault for widget in drawn for fault in _find_cut(widget)), *(f for w in touchable for f in _find_far(w))]


def _is_shown(widget: Widget) -> bool:
    return all(node.display for node in widget.ancestors_with_self if isinstance(node, Widget))


def _find_cut(widget: TextBlock) -> list[str]:
    room = widget.content_size
    lines = widget.lines(room.width)
    wide = [line.plain for line in lines if line.cell_length > room.width]
    tall = [f"{len(lines)} lines in {room.height} rows"] if len(lines) > room.height else []
    return [f"{widget!r}: {fault}" for fault in (*wide, *tall)]


def _find_far(widget: Touchable) -> list[str]:
    """A touchable thing is whole on the screen, or in a column that scrolls to it and is as wide as it."""
    column = column_of(widget)
    if column is None:
        return [] if widget.screen.region.contains_region(widget.region) else [f"{widget!r} is off the screen"]
    window = column.scrollable_content_region
    top = widget.region.y - window.y + column.scroll_offset.y
    is_wide = widget.region.x < window.x or widget.region.right > window.right
    is_far = top < 0 or top + widget.region.height > column.max_scroll_y + window.height
    return [f"{widget!r} is out of reach"] if is_wide or is_far or window.height < 1 else []


def find_mark_faults(pilot: Hands) -> list[str]:
    """The mark is on something, and what it is on can be seen."""
    focused = pilot.app.focused
    if focused is None:
        return ["nothing is marked"]
    column = column_of(focused)
    window = column.scrollable_content_region if column else focused.screen.region
    if not window.overlaps(focused.region):
        return [f"{focused!r} is marked out of sight"]
    is_shown = any("▶" in text or is_reverse for text, is_reverse in read_cells(pilot, focused))
    return [] if is_shown else [f"the mark on {focused!r} is not painted"]


@pytest.mark.parametrize("name", SCENES)
async def test_nothing_is_cut_or_out_of_reach_at_any_size(request: pytest.FixtureRequest, name: str) -> None:
    desk = set_stage(request, name)
    async with run(desk, SIZES[0]) as pilot:
        await follow(pilot, desk, name)
        await walk_sizes(pilot)


def find_low_faults(pilot: Hands) -> list[str]:
    """Between the middles of any two actions lies a row, and the primary one is at the bottom, where the thumb is."""
    screen, height = pilot.app.screen, pilot.app.size.height
    shown = [widget for widget in screen.query(Touchable) if _is_shown(widget) and not isinstance(widget, Field)]
    flat = [f"{widget!r} is one row high" for widget in shown if widget.region.height < 2]
    buttons = [widget for widget in shown if isinstance(widget, Button)]
    flat += [f"{button!r} is not three rows high" for button in buttons if button.region.height < 3]
    if height >= 30:
        flat += [f"{row!r} is not three rows high" for row in shown if isinstance(row, Row) and row.region.height < 3]
    lowest = max((button.region.bottom for button in buttons), default=height)
    primary = [button for button in buttons if button.has_class("-primary")]
    high = [f"{button!r} is above other buttons" for button in primary if button.region.bottom < lowest]
    narrow = [f"{button!r} is cramped" for button in primary if button.region.width < max(16, len(button.label) + 4)]
    high += narrow if pilot.app.size.width >= 80 else []
    return [*flat, *high, *([] if lowest >= height - SHEET_EDGES else ["the buttons are not at the bottom"])]


SHEET_EDGES = 1
"""A message has a frame around its buttons."""


async def walk_sizes(pilot: Hands) -> None:
    """Every size and back to the first: the same screen, with nothing cut and the mark in sight."""
    shown = type(pilot.app.screen)
    for size in (*SIZES, SIZES[0]):
        await pilot.resize_terminal(*size)
        await settle(pilot)
        assert type(pilot.app.screen) is shown
        assert find_faults(pilot) == [], size
        assert find_mark_faults(pilot) == [], size
        assert find_low_faults(pilot) == [], size
        assert max(len(row) for row in read_screen(pilot)) <= size[0]


@pytest.mark.parametrize("size", SIZES)
async def test_every_amount_is_painted_whole(desk: Workstation, begun: OpenPreparation, size: tuple[int, int]) -> None:
    shows = {row.id: row.show for group in begun.lines.show_list().groups for row in group.lines if row.show}
    async with run(desk, size) as pilot:
        await type_in(pilot, "", "enter")
        rows = {row.key.removeprefix("line "): row for row in pilot.app.screen.query(Row)}
        for line, show in shows.items():
            painted = [words.plain for words in rows[line].lines(rows[line].content_size.width)]
            together = " ".join(" ".join(words.partition("│")[2].split("  ")[0].split()) for words in painted)
            # What is too long for one line is broken between its parts, never inside a number and its unit.
            assert any(show in words for words in painted) or show in together, (line, show, painted)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.usefixtures("begun")
async def test_the_primary_action_is_the_largest_and_the_last(desk: Workstation, size: tuple[int, int]) -> None:
    async with run(desk, size) as pilot:
        for way in ((), ("enter",), ("b",), ("s",)):
            await type_in(pilot, "", *way)
            buttons = [button for button in pilot.app.screen.query_one(ActionBar).query(Button) if button.display]
            primary = next(button for button in buttons if button.has_class("-primary"))
            assert primary.region.right == max(button.region.right for button in buttons)
            assert primary.region.width == max(button.region.width for button in buttons)
            assert all(button.region.height >= 3 for button in buttons)
            assert size[0] >= 60 or len(buttons) <= 3
