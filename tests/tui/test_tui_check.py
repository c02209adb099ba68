"""The second check on the screens: blind, line by line, and what comes of it."""

import pytest
from hands import (
    Hands,
    check_by_keys,
    check_by_touch,
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
from test_tui_news import resume_elsewhere, wait_for_news
from workstation_scene import check_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.widgets.field import Field
from prepkit.view.models import Sign


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


async def begin_check(pilot: Hands) -> None:
    await type_in(pilot, "", "enter", "r", "c")
    await type_in(pilot, "to", "enter")


async def read_baby(pilot: Hands) -> None:
    """Read the birth weight and the day of birth, today, off the notes."""
    await type_in(pilot, "1450", "enter")
    await type_in(pilot, "", "enter")


async def test_a_whole_check_by_touch_with_a_difference_settled(desk: Workstation, done: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, done.session.prep)
        await touch_button(pilot, "ready")
        await touch_button(pilot, "check")
        await check_by_touch(pilot, wrong="3.2")
        assert place(pilot) == "checked"
        assert "1 differs: settle or correct." in see(pilot)
        assert row_of(pilot, "surfactant").text.sign == Sign.QUESTION
        await touch_row(pilot, "surfactant")
        assert "1. Entered: 3.2 mL × 80 mg/mL =" in words(pilot)
        assert "2. 256 mg ÷ 1450 g = 176.55 mg/kg." in words(pilot)
        await touch_button(pilot, "settle")
        await touch_keys(pilot, "to took 176")
        assert place(pilot) == "checked"
        assert "Checked: 5 of 5." in words(pilot)
        await touch_button(pilot, "ready")
        assert "Ready: read this aloud" in see(pilot)
    done.session.refresh()
    assert "Surfactant: the check said 3.2 mL, settled by RA (to took 176)." in done.ready.show_ready().summary


async def test_whoever_prepared_is_refused_in_words_and_nothing_is_covered(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r", "c")
        await type_in(pilot, "ra", "enter")
        assert "RA prepared this list: somebody else has to check it." in words(pilot)
        await type_in(pilot, "", "escape")
        assert place(pilot) == "ready"
    done.session.refresh()
    assert done.check.show_cover() is None


async def test_both_workings_stand_side_by_side_where_there_is_room(desk: Workstation, done: OpenPreparation) -> None:
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter", "r", "c")
        await check_by_keys(pilot, wrong="3.2")
        await move_to(pilot, "surfactant")
        await type_in(pilot, "", "enter")
        both = next(row for row in see(pilot).splitlines() if "1. Dose" in row)
        assert "│ 1. Entered: 3.2 mL" in both


async def test_a_difference_leads_from_ready_and_from_the_line_to_its_workings_and_to_the_facts(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r", "c")
        await check_by_keys(pilot, wrong="3.2")
        await type_in(pilot, "r")
        await type_in(pilot, "", "enter")
        assert place(pilot) == "difference"
        await type_in(pilot, "f")
        assert place(pilot) == "baby"
        await type_in(pilot, "", "escape")
        await move_to(pilot, "line surfactant")
        row = row_of(pilot, "line surfactant").text
        assert (row.sign, row.word) == (Sign.QUESTION, "done RA 03:12, check differs")
        await type_in(pilot, "", "enter", "w")
        assert place(pilot) == "difference"


async def test_back_goes_one_question_back_within_a_line_and_never_to_the_list(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await read_baby(pilot)
        await type_in(pilot, "", "enter")
        await type_in(pilot, "3.2", "enter")
        await type_in(pilot, "2", "enter")
        assert "How many 3 mL vials do you open?" in see(pilot)
        await type_in(pilot, "", "escape")
        assert "How many 1.5 mL vials do you open?" in see(pilot)
        assert pilot.app.screen.query_one(Field).typed == "2"
        await type_in(pilot, "", "escape")
        assert pilot.app.screen.query_one(Field).typed == "3.2"
        await type_in(pilot, "3.6", "enter")
        assert "Entered: 3.6 mL" in see(pilot)
        await type_in(pilot, "1", "enter")
        await type_in(pilot, "1", "enter")
        assert "3 of 5" in see(pilot)
        await type_in(pilot, "", "escape")
        assert place(pilot) == "cover"
        await type_in(pilot, "", "escape")
        assert place(pilot) == "home"
        assert "being checked by TO" in see(pilot)
        await type_in(pilot, "", "enter")
        assert place(pilot) == "cover"
        await type_in(pilot, "g")
        await type_in(pilot, "to", "enter")
        assert "3 of 5" in see(pilot), "what was entered is kept"
    done.session.refresh()
    assert [entry.value for entry in done.session.state.check.entries.values()][-1] == "3.6 mL"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("typed", "why"),
    [("", "What was typed"), ("0", "Enter more than nothing."), ("3,6", "What was typed"), ("3.6 mL", "What was")],
)
async def test_a_volume_that_cannot_be_read_is_refused_at_once(
    desk: Workstation, done: OpenPreparation, typed: str, why: str
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await read_baby(pilot)
        await type_in(pilot, "", "enter")
        await type_in(pilot, typed, "enter")
        assert "2 of 5 · Surfactant" in see(pilot)
        assert why in words(pilot)
        assert "3.6" not in see(pilot).replace(typed, "") or not typed


async def test_no_vial_at_all_is_refused_and_nought_of_one_size_is_an_answer(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await read_baby(pilot)
        await type_in(pilot, "", "enter")
        for typed in ("3.6", "0", "0"):
            await type_in(pilot, typed, "enter")
        assert "at least one vial" in words(pilot)
        await type_in(pilot, "", "backspace", "2", "enter")
        assert "3 of 5" in see(pilot)


async def test_the_whole_order_can_be_read_beside_the_keypad_by_key_and_by_size(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await read_baby(pilot)
        for typed in ("", "3.6", "1", "1", "15"):
            await type_in(pilot, typed, "enter")
        assert "4 of 5 · Atropine" in see(pilot)
        seen = see(pilot)
        for _ in range(3):
            await type_in(pilot, "", "pagedown")
            seen += see(pilot)
            assert "Volume" in see(pilot)
        for part in ("Dose: 20 microgram/kg", "Made up: 1 mL of Atropine", "Route: intravenous", "enter it."):
            assert part in seen
        await type_in(pilot, "0.58")
        assert pilot.app.screen.query_one(Field).typed == "0.58"


async def test_a_weight_that_differs_stops_everything_and_is_given_again(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await type_in(pilot, "1540", "enter")
        assert place(pilot) == "list"
        assert "TO at 03:12 read birth weight 1540 g; the list was made for 1450 g." in words(pilot)
        await touch_button(pilot, "facts")
        assert "Look at the notes together." in words(pilot)
        assert pilot.app.screen.query_one(Field).typed == "", "the old weight is not there to be accepted"
        await touch_keys(pilot, "1540")
        assert place(pilot) == "list"
        assert "1540 g" in see(pilot)
        await type_in(pilot, "", *["up"] * 40)
        await move_to(pilot, "line surfactant")
        assert row_of(pilot, "line surfactant").text.sign == Sign.CHANGED


async def test_a_changed_line_says_that_it_is_to_be_checked_again(desk: Workstation, checked: OpenPreparation) -> None:
    assert checked.baby.give_fact("birth_weight", "1500") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line surfactant")
        note = row_of(pilot, "line surfactant").text.note
        assert note == "was 3.6 mL when RA ticked it, now 3.8 mL; check again"
        await type_in(pilot, "", "space")
        assert row_of(pilot, "line surfactant").text.note == "changed since TO checked it, check again"
        await touch_button(pilot, "check")
        assert place(pilot) == "checked"
        assert row_of(pilot, "surfactant").text.word == "check again"
        await type_in(pilot, "c")
        assert "Who checks?" in see(pilot)


async def test_the_weight_alone_is_read_again_where_no_line_is_left_to_check(
    desk: Workstation, done: OpenPreparation
) -> None:
    """All but one line checked, the weight disputed and given again as it was, and that line set aside."""
    assert done.lines.tick("sucrose") == ""
    check_all(done)
    assert done.baby.give_fact("nil_by_mouth", "no") == ""
    assert done.check.begin("TO") == ""
    assert done.check.enter_fact("birth_weight", "1540") == ""
    assert done.baby.give_fact("birth_weight", "1450") == ""
    assert done.lines.set_aside("sucrose", "none tonight") == ""
    assert done.ready.show_ready().missing == ("A second person has to read the weights off the cot and the notes.",)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r", "c")
        await type_in(pilot, "to", "enter")
        await read_baby(pilot)
        assert place(pilot) == "checked"
        assert "Checked: 4 of 4." in words(pilot)
        await type_in(pilot, "r")
        assert "Ready: read this aloud" in see(pilot)


async def test_stopping_asks_first_and_says_what_it_costs(desk: Workstation, done: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await type_in(pilot, "", "escape", "s")
        assert "and cannot check it any more." in words(pilot).replace("│ │ ", "")
        await type_in(pilot, "", "enter")
        assert place(pilot) == "cover"
        await type_in(pilot, "", "s", "right", "enter")
        assert "Who stops the check?" in words(pilot)
        await type_in(pilot, "to", "enter")
        assert place(pilot) == "ready"
        await type_in(pilot, "c")
        await type_in(pilot, "to", "enter")
        assert "TO stopped a check half way and has seen the list since" in words(pilot)


async def test_a_check_stopped_by_the_person_at_the_desk_is_theirs_and_the_checker_may_check_again(
    desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await type_in(pilot, "", "escape", "s", "right", "enter")
        await type_in(pilot, "ra", "enter")
        assert place(pilot) == "ready"
        assert desk.store.read(done.session.prep)[-1].who == "RA"
        await type_in(pilot, "c")
        await type_in(pilot, "to", "enter")
        assert "Read the birth weight off the notes yourself" in words(pilot)


async def test_a_check_stopped_on_another_device_is_said_on_the_checkers_pad(
    desk: Workstation, other_desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await type_in(pilot, "14")
        assert resume_elsewhere(done, other_desk).check.stop() == ""
        await wait_for_news(pilot)
        assert "on another device" in words(pilot)
        await type_in(pilot, "", "enter")
        assert place(pilot) == "checked"
        assert "5 to check." in words(pilot)


async def test_news_do_not_take_what_is_half_typed_in_a_check(
    desk: Workstation, other_desk: Workstation, done: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin_check(pilot)
        await type_in(pilot, "14")
        assert resume_elsewhere(done, other_desk).handover.hand_over("parents told") == ""
        await wait_for_news(pilot)
        await type_in(pilot, "50", "enter")
        await type_in(pilot, "", "enter")
        assert "1 of 5" in see(pilot)


async def test_a_check_begun_at_home_shows_how_it_came_out(desk: Workstation, done: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "c")
        await check_by_keys(pilot, wrong="3.2")
        assert place(pilot) == "checked"
        assert "1 differs: settle or correct." in see(pilot)
        await type_in(pilot, "", "escape")
        assert place(pilot) == "list"
