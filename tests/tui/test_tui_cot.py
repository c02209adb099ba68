"""At the cot on the screens: steps, clocks, readings, what was not planned, coming back."""

import pytest
from cot_scene import Clock, do_next, words
from hands import (
    Hands,
    drag,
    hammer,
    middle,
    move_to,
    place,
    row_of,
    run,
    see,
    settle,
    touch_at,
    touch_button,
    touch_keys,
    touch_row,
    type_in,
)
from test_tui_news import resume_elsewhere, wait_for_news
from textual.geometry import Offset

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.screens.cot import CotScreen
from prepkit.tui.widgets.cot import Board, NextBoard
from prepkit.view.models import Sign

pytestmark = pytest.mark.thorough


@pytest.fixture
def clock(desk: Workstation) -> Clock:
    return Clock(desk)


@pytest.fixture
def unresting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Steps may follow each other as fast as a test touches."""
    monkeypatch.setattr(CotScreen, "REST", 0.0)


@pytest.fixture
def away(checked: OpenPreparation, clock: Clock, unresting: None) -> OpenPreparation:
    """Read aloud; the team has gone to the cot."""
    assert checked.ready.read_aloud() == ""
    return checked


def painted(pilot: Hands) -> str:
    return " ".join(words(pilot).split())


@pytest.mark.usefixtures("unresting", "clock")
async def test_from_ready_the_first_step_is_one_touch_away_and_the_next_one_is_largest(
    desk: Workstation, checked: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, checked.session.prep)
        await touch_button(pilot, "ready")
        await touch_button(pilot, "read_aloud")
        await touch_button(pilot, "cot")
        assert place(pilot) == "cot"
        assert "T-piece on, PEEP checked against the CPAP" in painted(pilot)
        assert "6 cmH2O" in see(pilot), "the amount that a hand needs with it"
        await do_next(pilot)
        assert "1 of 16 steps" in see(pilot)
        board = pilot.app.screen.query_one(NextBoard)
        assert "Stomach aspirated, old tube out" in " ".join(line.plain for line in board.lines(38))
    checked.session.refresh()
    assert checked.bedside.show_cot().steps[0].word == "done RA 03:12"


async def test_readings_are_asked_at_once_and_later_is_one_touch(desk: Workstation, away: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_button(pilot, "done")
        assert "What does the T-piece read?" in see(pilot)
        await touch_keys(pilot, "6")
        assert "What is the heart rate?" in see(pilot)
        await touch_keys(pilot, "999")
        assert "is outside" in see(pilot)
        await touch_button(pilot, "other")
        assert place(pilot) == "cot"
        await do_next(pilot)
        await touch_row(pilot, "readings t-piece-on")
        assert "What is the heart rate?" in see(pilot), "only what was not given"
        await touch_keys(pilot, "152")
        await type_in(pilot, "", "escape")
        assert place(pilot) == "cot"
    away.session.refresh()
    given = {row.reading: row.value for row in away.bedside.show_cot().steps[0].readings}
    assert given == {"peep_now": "6 cmH2O", "heart_rate": "152 /min", "spo2": "", "fio2_now": ""}


async def test_clocks_run_second_by_second(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    assert away.bedside.do_step("sucrose-given") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        assert "0 s" in see(pilot)
        clock.move(minutes=1, seconds=40)
        for _ in range(100):
            await pilot.pause(0.05)
            if "1 min 40 s" in see(pilot):
                break
        assert "since sucrose 03:12" in see(pilot)
        assert "1 min 40 s" in see(pilot)
        assert "until 03:17: it helps" in see(pilot)
        clock.move(minutes=4)
        for _ in range(100):
            await pilot.pause(0.05)
            if "5 min 40 s" in see(pilot):
                break
        assert "past 5 min: it no longer helps" in see(pilot)


@pytest.mark.parametrize("size", [(40, 20), (80, 24), (120, 40)])
async def test_three_clocks_with_their_ends_leave_the_next_step_in_sight(
    desk: Workstation, away: OpenPreparation, size: tuple[int, int]
) -> None:
    for step in ("atropine-given", "sucrose-given", "surfactant-begun", "catheter-out"):
        assert away.bedside.do_step(step) == ""
    for step in away.bedside.show_cot().steps:
        if not step.entry and step.step != "cpap-on":
            assert away.bedside.leave_out(step.step, "not for this test") == ""
    async with run(desk, size) as pilot:
        await type_in(pilot, "", "enter")
        shown = painted(pilot)
        assert "no airway suction unless blocked (the stomach may be emptied)" in shown
        assert "CPAP on, before the device comes out" in shown.partition("All steps")[0]


async def test_who_holds_the_device_is_typed_after_its_step_and_may_wait(
    desk: Workstation, away: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_row(pilot, "step device-in")
        await touch_button(pilot, "done")
        await touch_row(pilot, "first")
        assert "Who holds the device?" in see(pilot)
        await touch_keys(pilot, "TO")
        assert place(pilot) == "cot"
        await touch_row(pilot, "step surfactant-begun")
        await touch_button(pilot, "done")
        assert "Who gives the surfactant?" in see(pilot)
        await touch_button(pilot, "other")
        assert place(pilot) == "cot"
    away.session.refresh()
    notes = {row.words: row.note for row in away.bedside.show_record().timeline}
    assert "Attempts first · Holds the device TO" in notes.values()


async def test_who_holds_the_device_is_one_touch_on_the_staff_list_or_typed(
    desk: Workstation, away: OpenPreparation, clock: Clock
) -> None:
    from prepkit.app.staff import StaffList  # noqa: PLC0415  (the tests of the cot need no staff list but here)

    assert StaffList(desk.store, clock, "office").add("TO", "nurse", None, "admin") == ""
    for step in ("device-in", "surfactant-begun"):
        assert away.bedside.do_step(step) == ""
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_row(pilot, "readings device-in")
        await touch_row(pilot, "first")
        await touch_row(pilot, "TO")
        await touch_row(pilot, "readings surfactant-begun")
        await touch_row(pilot, "type it")
        await touch_keys(pilot, "KM")
        assert place(pilot) == "cot"
    away.session.refresh()
    given = {row.reading: row.value for step in away.bedside.show_cot().steps for row in step.readings if row.value}
    assert given == {"attempts": "first", "device_holder": "TO", "instiller": "KM"}


async def test_a_second_touch_on_done_is_not_another_step(
    desk: Workstation, away: OpenPreparation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(CotScreen, "REST", 0.5)
    assert away.bedside.do_step("t-piece-on") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await pilot.pause(0.6)
        await hammer(pilot, "space", "space", "space")
        away.session.refresh()
        assert away.bedside.show_cot().progress == "2 of 16 steps"
        await pilot.pause(0.6)
        await type_in(pilot, "", "space")
    away.session.refresh()
    assert away.bedside.show_cot().progress == "3 of 16 steps"


async def test_a_step_that_is_out_of_sight_is_not_stamped(desk: Workstation, away: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        for _ in range(2):
            await drag(pilot, Offset(12, 12), -9)
        assert "T-piece on, PEEP checked" not in painted(pilot).partition("All steps")[0]
        await touch_button(pilot, "done")
        away.session.refresh()
        assert away.bedside.show_cot().progress == "0 of 16 steps"
        await touch_button(pilot, "done")
    away.session.refresh()
    assert away.bedside.show_cot().progress == "1 of 16 steps"


async def test_a_step_is_done_out_of_order_and_another_left_out_with_a_reason(
    desk: Workstation, away: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_row(pilot, "step atropine-given")
        assert "20 microgram/kg" in painted(pilot), "what goes with the amount stands on the opened step"
        await touch_button(pilot, "done")
        assert place(pilot) == "cot"
        await touch_row(pilot, "step sucrose-given")
        await touch_button(pilot, "leave_out")
        await touch_row(pilot, "Not needed for this baby")
        assert place(pilot) == "cot"
        row = row_of(pilot, "step sucrose-given").text
        assert (row.sign, row.word, row.note) == (Sign.NOT_NEEDED, "left out RA", "Not needed for this baby")
    away.session.refresh()
    assert away.bedside.show_cot().progress == "2 of 16 steps"


async def test_the_next_step_can_be_left_out_by_touching_it(desk: Workstation, away: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_at(pilot, middle(pilot.app.screen.query_one(NextBoard)))
        assert place(pilot) == "step"
        await touch_button(pilot, "leave_out")
        await touch_row(pilot, "Done before")
        assert "Stomach aspirated, old tube out" in " ".join(
            line.plain for line in pilot.app.screen.query_one(NextBoard).lines(38)
        )


async def test_a_time_is_corrected_and_the_old_one_kept(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await do_next(pilot)
        clock.move(minutes=5)
        await touch_row(pilot, "step t-piece-on")
        await touch_button(pilot, "correct")
        await touch_keys(pilot, "0309")
        assert "Enter the time as HH:MM" in painted(pilot)
        for _ in range(4):
            await type_in(pilot, "", "backspace")
        await touch_keys(pilot, "03:09")
        assert place(pilot) == "entry"
        assert "time corrected, was 03:12" in painted(pilot)
        assert "RA 03:09" in painted(pilot)


async def test_an_entry_made_by_mistake_is_struck_out_and_the_step_comes_back(
    desk: Workstation, away: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await do_next(pilot)
        await touch_row(pilot, "step t-piece-on")
        await touch_button(pilot, "strike")
        await touch_row(pilot, "Touched by mistake")
        assert "0 of 16 steps" in see(pilot)
        await touch_button(pilot, "record")
        assert "struck out: Touched by mistake" in painted(pilot)
        assert row_of(pilot, next(iter(_entries(pilot)))).text.sign == Sign.BLOCKED


def _entries(pilot: Hands) -> list[str]:
    return [row.key for row in pilot.app.screen.query("Row") if row.key.startswith("entry ")]  # type: ignore[attr-defined]


async def test_something_that_happened_is_one_touch_and_brings_the_rescue_lines(
    desk: Workstation, away: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await do_next(pilot)
        await touch_button(pilot, "happening")
        await touch_row(pilot, "bradycardia")
        assert place(pilot) == "entry"
        shown = painted(pilot)
        assert "Recorded: RA 03:12." in shown
        assert "Stop and support the breathing." in shown
        assert "Tracheal tube, inner diameter 3.0 mm + 2.5 mm" in shown
        await touch_button(pilot, "give")
        await touch_keys(pilot, "84")
        assert place(pilot) == "entry"
        await touch_button(pilot, "back")
        assert place(pilot) == "cot"
    away.session.refresh()
    assert away.bedside.show_record().timeline[-1].note == "Heart rate 84 /min"


@pytest.mark.parametrize("size", [(36, 18), (40, 20), (80, 24)])
async def test_rescue_is_one_touch_away_and_large(
    desk: Workstation, away: OpenPreparation, size: tuple[int, int]
) -> None:
    async with run(desk, size) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_button(pilot, "rescue")
        board = " ".join(" ".join(line.plain for line in pilot.app.screen.query_one(Board).lines(size[0] - 3)).split())
        for line in away.bedside.show_cot().rescue:
            assert f"{line.name} ┃ ┃ {line.show}" in board
        await touch_button(pilot, "happening")
        assert place(pilot) == "happening"


async def test_a_happening_without_rescue_shows_none(desk: Workstation, away: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "e")
        await move_to(pilot, "reflux")
        await type_in(pilot, "", "enter")
        assert "Stop giving until it is clear." in painted(pilot)
        assert not pilot.app.screen.query(Board)


async def test_the_team_comes_back_to_prepare_anew(desk: Workstation, away: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await do_next(pilot)
        await touch_button(pilot, "come_back")
        await touch_row(pilot, "Another size is needed")
        assert "Reason: Another size is needed" in painted(pilot)
        await touch_button(pilot, "accept")
        assert place(pilot) == "list"
        await type_in(pilot, "", "r")
        assert "Read aloud: to the cot" in see(pilot)
    away.session.refresh()
    assert away.bedside.show_cot().refusal != ""


async def test_standing_down_is_not_offered_at_the_cot(desk: Workstation, away: OpenPreparation) -> None:
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter", "space", "escape", "escape")
        assert place(pilot) == "list"
        await type_in(pilot, "", "m")
        assert "Stand down" not in see(pilot)
        await type_in(pilot, "", *(["escape"] if place(pilot) == "menu" else []), "d")
        assert "The team is at the cot" in painted(pilot)
        await type_in(pilot, "", "enter", "t")
        assert place(pilot) == "cot"


async def test_a_step_recorded_on_another_device_moves_this_one_on(
    desk: Workstation, other_desk: Workstation, away: OpenPreparation
) -> None:
    elsewhere = resume_elsewhere(away, other_desk)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        assert elsewhere.bedside.do_step("t-piece-on") == ""
        await wait_for_news(pilot)
        assert "1 of 16 steps" in see(pilot)
        assert "Stomach aspirated, old tube out" in " ".join(
            line.plain for line in pilot.app.screen.query_one(NextBoard).lines(38)
        )


@pytest.mark.parametrize("way", [(), ("enter",), ("e",), ("r",), ("t",)])
async def test_while_somebody_checks_nothing_of_the_cot_is_shown(
    desk: Workstation, other_desk: Workstation, away: OpenPreparation, way: tuple[str, ...]
) -> None:
    assert away.bedside.do_step("t-piece-on") == ""
    elsewhere = resume_elsewhere(away, other_desk)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", *way)
        assert place(pilot) != "cover"
        assert elsewhere.bedside.come_back("another size") == ""
        assert elsewhere.baby.give_fact("birth_weight", "1500") == ""
        assert elsewhere.check.begin("TO") == ""
        await wait_for_news(pilot)
        await settle(pilot)
        assert place(pilot) == "cover"
        assert "0.58" not in see(pilot)
        assert "3.0 mm" not in see(pilot)
