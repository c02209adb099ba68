"""More cautions than are read at once: three with the line, the rest one touch or one key away, with their number."""

import pytest
from hands import Hands, bring_in_sight, place, row_of, run, see, touch_row, type_in
from workstation_scene import start

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation

FOURTH = "The supraglottic route"


@pytest.fixture
def heavy(desk: Workstation) -> OpenPreparation:
    """A second dose for 2140 g: not for injection, two limits of the label, and the route that is off label."""
    desk.identity.who = "RA"
    opened = start(desk, "2140", "33+4", born="2026-11-23")
    before = "poractant-alfa, 200 mg/kg, 2026-11-24T08:00+01:00"
    assert opened.baby.give_fact("weight_now", "2080") == ""
    assert opened.baby.give_fact("earlier_surfactant", before) == ""
    return opened


async def open_line(pilot: Hands, line: str) -> None:
    await type_in(pilot, "", "enter")
    await touch_row(pilot, f"line {line}")
    assert place(pilot) == "line"


async def look_for(pilot: Hands, words: str) -> bool:
    """Whether a text stands anywhere on the line, from top to bottom."""
    body = pilot.app.screen.query_one("#body")
    for row in range(0, body.max_scroll_y + 1, 5):
        body.scroll_to(y=row, animate=False, immediate=True)
        await type_in(pilot, "")
        if words in see(pilot):
            return True
    return False


@pytest.mark.usefixtures("heavy")
async def test_the_rest_of_the_cautions_is_one_touch_away_with_its_number(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_line(pilot, "surfactant")
        assert not await look_for(pilot, FOURTH)
        row = row_of(pilot, "further")
        await bring_in_sight(pilot, row)
        assert "1 more caution" in see(pilot)
        await touch_row(pilot, "further")
        assert place(pilot) == "line"
        assert await look_for(pilot, FOURTH)
        assert not await look_for(pilot, "more caution")


async def test_the_rest_of_the_cautions_is_one_key_away_and_ticks_nothing(
    desk: Workstation, heavy: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_line(pilot, "surfactant")
        await type_in(pilot, "c")
        assert await look_for(pilot, FOURTH)
        await type_in(pilot, "c")
        assert await look_for(pilot, FOURTH)
    heavy.session.refresh()
    assert not heavy.session.state.ticks


@pytest.mark.usefixtures("heavy")
async def test_a_line_opens_at_its_top_with_back_marked_however_many_cautions_it_has(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_line(pilot, "surfactant")
        assert pilot.app.screen.query_one("#body").scroll_offset.y == 0
        assert pilot.app.focused is not None
        assert pilot.app.focused.name == "back"


@pytest.mark.usefixtures("heavy")
async def test_up_to_three_cautions_stand_with_the_line_and_nothing_is_offered(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_line(pilot, "atropine")
        assert await look_for(pilot, "made up holds about")
        assert not await look_for(pilot, "more caution")
        await type_in(pilot, "c")
        assert place(pilot) == "line"


@pytest.mark.usefixtures("heavy")
async def test_the_parts_of_a_line_stand_on_it_and_are_ticked_with_it(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await open_line(pilot, "airway-device")
        assert await look_for(pilot, "Lay out with it")
        assert await look_for(pilot, "water-based lubricant")
        await type_in(pilot, "t")
        assert place(pilot) == "list"
        assert row_of(pilot, "line airway-device").text.word.startswith("done")
