"""From nothing to the team at the cot, by keyboard alone and by touch alone."""

import pytest
from hands import (
    KIT,
    LINES,
    Hands,
    begin,
    check_by_keys,
    check_by_touch,
    hammer,
    list_kit_lines,
    move_to,
    place,
    row_of,
    run,
    see,
    touch_button,
    touch_keys,
    touch_row,
    type_in,
)

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.screens.preparation import NOT_NEEDED_REASONS
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.row import Row
from prepkit.view.models import Sign

SIZES = [(40, 20), (80, 24)]


CHOSEN_AT = list_kit_lines().index("catheter-depth")
"""Which line of the list asks for a mark with its tick."""


def lines_to_do(pilot: Hands) -> list[Row]:
    return [row for row in pilot.app.screen.query(Row) if row.key.startswith("line ") and row.text.sign == Sign.TO_DO]


async def test_a_choice_marked_and_taken_in_one_go_is_the_one_that_was_marked(desk: Workstation) -> None:
    desk.identity.who = "RA"
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "n")
        kits = [row.key for row in pilot.app.screen.query(Row)]
        await hammer(pilot, "down", "enter")
        await type_in(pilot, "Cot 4", "enter")
        (row,) = desk.show_home().rows
        opened = desk.resume(row.prep)
        assert isinstance(opened, OpenPreparation)
        assert opened.session.state.kit == kits[1]


async def give_facts_by_keys(pilot: Hands) -> None:
    """From the list to the baby and back: what has no default, that the line is patent, and the rest as shown."""
    await type_in(pilot, "b")
    answers = {"fio2": (("38", "enter"),), "line_patent": (("", "up", "enter"),)}
    for fact in ("fio2", "line_patent", "leads", "intubates"):
        await move_to(pilot, fact)
        await type_in(pilot, "", "enter")
        for text, *keys in answers.get(fact, (("", "enter"), ("", "enter"))):
            await type_in(pilot, text, *keys)
    await type_in(pilot, "c")
    await type_in(pilot, "", "escape")


async def give_facts_by_touch(pilot: Hands) -> None:
    """The same by touch."""
    await touch_button(pilot, "baby")
    await touch_row(pilot, "line_patent")
    await touch_row(pilot, "yes")
    await touch_row(pilot, "fio2")
    await touch_keys(pilot, "38")
    for role, said in (("leads", "skilled"), ("intubates", "in the room")):
        await touch_row(pilot, role)
        await touch_row(pilot, "RA")
        await touch_row(pilot, said)
    await touch_row(pilot, "all assumed")
    await touch_button(pilot, "onward")


@pytest.mark.parametrize("size", SIZES)
async def test_by_keyboard_alone_from_nothing_to_the_cot(desk: Workstation, size: tuple[int, int]) -> None:
    async with run(desk, size) as pilot:
        await begin(pilot, "ra", "Cot 4", "1450", "30+2")
        assert place(pilot) == "list"
        assert f"{LINES} of {LINES} left" in see(pilot)

        await type_in(pilot, "y")
        await give_facts_by_keys(pilot)
        await move_to(pilot, "line ")
        await hammer(pilot, *["space", "down"] * CHOSEN_AT, "space")
        await type_in(pilot, "15", "enter")
        await move_to(pilot, "line catheter-depth")
        await hammer(pilot, "down", *["space", "down"] * (LINES - CHOSEN_AT - 1))
        assert lines_to_do(pilot) == []
        assert f"0 of {LINES} left" in see(pilot)

        await type_in(pilot, "s")
        await type_in(pilot, "a")
        await type_in(pilot, "", "escape", "r")
        assert "Not ready: 1 to do" in see(pilot)
        await type_in(pilot, "c")
        await check_by_keys(pilot)
        assert "Checked: 5 of 5." in see(pilot)
        await type_in(pilot, "r")
        assert "Ready: read this aloud" in see(pilot)
        await type_in(pilot, "a")
        assert "Read aloud by RA at 03:12." in see(pilot)
        await type_in(pilot, "o")
        assert place(pilot) == "home"
        assert "gone to the cot" in see(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_by_touch_alone_from_nothing_to_the_cot(desk: Workstation, size: tuple[int, int]) -> None:
    async with run(desk, size) as pilot:
        await touch_button(pilot, "new")
        await touch_keys(pilot, "RA")
        await touch_row(pilot, KIT)
        await touch_keys(pilot, "COT 4")
        await touch_keys(pilot, "1450")
        await touch_keys(pilot, "30+2")
        assert place(pilot) == "list"

        await touch_button(pilot, "answer_yes")
        await give_facts_by_touch(pilot)
        for row in lines_to_do(pilot):
            await touch_row(pilot, row.key, sign=True)
            if place(pilot) == "pad":
                await touch_keys(pilot, "15")
        assert f"0 of {LINES} left" in see(pilot)

        await touch_button(pilot, "suitability")
        await touch_button(pilot, "none_of_others")
        await touch_button(pilot, "onward")
        await touch_button(pilot, "ready")
        await touch_button(pilot, "check")
        await check_by_touch(pilot)
        assert "Checked: 5 of 5." in see(pilot)
        await touch_button(pilot, "ready")
        await touch_button(pilot, "read_aloud")
        assert "Read aloud by RA at 03:12." in see(pilot)
        await touch_button(pilot, "home")
        assert place(pilot) == "home"


@pytest.mark.usefixtures("begun")
async def test_a_preparation_is_taken_up_where_it_was_left(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        assert place(pilot) == "list"
        assert f"{LINES} of {LINES} left" in see(pilot)


async def test_an_unlikely_weight_is_asked_for_again_before_any_list(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin(pilot, "ra", "Cot 4", "3100", "28+0")
        assert place(pilot) == "pad"
        assert "Birth weight again" in see(pilot)
        await type_in(pilot, "3000", "enter")
        assert "The two entries differ: 3100 first, then 3000." in " ".join(see(pilot).split())
        await type_in(pilot, "3100", "enter")
        await type_in(pilot, "ra", "enter")
        assert "second person" in see(pilot)
        assert place(pilot) == "pad"
        await type_in(pilot, "", "escape")
        assert "Birth weight again" in see(pilot)
        await touch_button(pilot, "other")
        await type_in(pilot, "1100", "enter")
        assert place(pilot) == "list"


async def test_standing_down_asks_why_and_then_whether_it_is_meant(desk: Workstation, begun: object) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "d", "enter")
        assert "Stand down?" in see(pilot)
        await type_in(pilot, "", "enter")
        assert not begun.ready.is_stood_down  # type: ignore[attr-defined]
        await type_in(pilot, "", "d", "enter", "right", "enter")
        assert place(pilot) == "home"
        assert "No preparation is in progress" in " ".join(see(pilot).split())


@pytest.mark.usefixtures("begun")
async def test_a_line_is_marked_as_not_needed_with_a_typed_reason_and_taken_back(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line drape")
        steps = len(NOT_NEEDED_REASONS)
        await type_in(pilot, "n", *["up"] * steps, *["down"] * steps, "enter")
        await type_in(pilot, "laid out already", "enter")
        row = pilot.app.focused
        assert isinstance(row, Row)
        assert row.text.sign == Sign.NOT_NEEDED
        assert row.text.note == "laid out already"
        await type_in(pilot, "n")
        assert row.text.sign == Sign.TO_DO


async def test_whole_vials_are_ordered_by_touch_and_the_prescriber_is_asked_for(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await touch_row(pilot, "line surfactant")
        await touch_button(pilot, "order")
        words = " ".join(see(pilot).split())
        assert "Nothing is ordered: the ward's first choice is used." in words
        assert (
            "✓ Poractant alfa, 200 mg/kg, measured: 3.6 mL = 198.6 mg/kg; open 3 mL + 1.5 mL, discard 0.9 mL" in words
        )
        assert "○ Poractant alfa, whole vials: 3 mL = 165.5 mg/kg; open 3 mL, nothing discarded" in words
        await touch_row(pilot, "poractant-alfa 3 mL")
        assert "Who prescribed it?" in see(pilot)
        await touch_button(pilot, "accept")
        assert "Initials are 2 to 4 letters" in " ".join(see(pilot).split())
        await touch_keys(pilot, "KM")
        assert place(pilot) == "line"
        assert "┃ 3 mL ┃" in see(pilot)
        assert "ordered by KM: whole vials" in see(pilot)
        await type_in(pilot, "o")
        assert "Now ordered by KM, entered by RA at 03:12." in " ".join(see(pilot).split())
        assert row_of(pilot, "poractant-alfa 3 mL").text.sign == Sign.DONE
        await touch_button(pilot, "back")
        assert place(pilot) == "line"
    begun.session.refresh()
    assert begun.lines.show_list().groups != ()


@pytest.mark.usefixtures("begun")
async def test_a_line_that_is_no_dose_has_nothing_to_order(desk: Workstation) -> None:
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line drape")
        await type_in(pilot, "", "enter", "o")
        assert place(pilot) == "line"
        assert not [button for button in pilot.app.screen.query(Button) if button.name == "order" and button.display]


async def test_a_preparation_can_be_started_by_typing_ahead(desk: Workstation) -> None:
    desk.identity.who = "RA"
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "n")
        await move_to(pilot, KIT)
        await type_in(pilot, "", "enter")
        await hammer(pilot, *"cot4", "enter", *"1450", "enter", *"30+2", "enter")
        assert place(pilot) == "list"
        assert "cot4   1450 g · 30+2" in see(pilot)


@pytest.mark.parametrize("way", [("down", "down", "enter", "enter"), ("r", "enter", "enter")])
async def test_enter_pressed_twice_ticks_nothing_and_reads_nothing_aloud(
    desk: Workstation, checked: OpenPreparation, way: tuple[str, ...]
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await type_in(pilot, "", *way)
    checked.session.refresh()
    assert checked.lines.show_list().left == f"0 of {LINES} left"
    assert checked.ready.show_ready().is_open
    assert checked.ready.show_ready().said == ""
