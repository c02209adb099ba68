"""Pads: nothing typed is lost, and a refusal is read in full."""

import pytest
from hands import LINES, Hands, begin, place, read_screen, row_of, run, see, settle, touch_keys, type_in

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.widgets.field import Field
from prepkit.view.models import Sign


def typed_in_field(pilot: Hands) -> str:
    return pilot.app.screen.query_one(Field).typed


@pytest.mark.parametrize("typed", ["1.45", "1,45", "1450g", "1 450", "one"])
async def test_a_weight_that_is_refused_stays_as_typed_and_says_why(desk: Workstation, typed: str) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await type_in(pilot, typed, "enter")
        assert typed_in_field(pilot) == typed
        words = " ".join(see(pilot).split())
        assert f'"{typed}"' in words
        assert "✗" in words


@pytest.mark.parametrize("size", [(36, 18), (40, 20), (60, 20), (80, 24), (120, 40), (60, 60)])
async def test_a_refused_weight_is_read_in_full_at_every_size(desk: Workstation, size: tuple[int, int]) -> None:
    desk.identity.who = "RA"
    opened = desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(opened, str)
    refusal = opened.baby.give_fact("birth_weight", "1,45")
    async with run(desk, size) as pilot:
        await type_in(pilot, "", "enter", "f")
        await type_in(pilot, "1,45", "enter")
        assert " ".join(refusal.split()) in " ".join(see(pilot).split())


async def test_a_resize_keeps_what_is_half_typed(desk: Workstation) -> None:
    async with run(desk, (80, 24)) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await type_in(pilot, "14")
        for size in ((40, 20), (36, 18), (120, 40)):
            await pilot.resize_terminal(*size)
            await settle(pilot)
            assert typed_in_field(pilot) == "14"
            assert any("14▏" in row for row in read_screen(pilot))
        await type_in(pilot, "50", "enter")
        assert "1450 g" in see(pilot)


async def test_going_back_keeps_the_answer_that_was_given(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await type_in(pilot, "1450", "enter")
        await type_in(pilot, "", "escape")
        assert typed_in_field(pilot) == "1450"
        await type_in(pilot, "1", "4", "2", "0", "enter")
        await type_in(pilot, "30+2", "enter")
        assert "1420 g" in see(pilot)


async def test_the_keypad_can_be_worked_with_arrows(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await type_in(pilot, "", "down", "enter", "down", "enter", "right", "enter", "down", "down", "enter")
        assert typed_in_field(pilot) == "1450"
        await type_in(pilot, "", "down", "enter")
        assert "gestation" in see(pilot).lower()


async def test_letters_can_be_touched_at_36_columns(desk: Workstation) -> None:
    async with run(desk, (36, 18)) as pilot:
        await type_in(pilot, "n")
        await touch_keys(pilot, "PQ")
        assert desk.identity.who == "PQ"


async def test_a_choice_that_follows_a_field_has_its_mark(desk: Workstation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "n")
        await type_in(pilot, "ra", "enter")
        await settle(pilot)
        assert "What is being prepared?" in see(pilot)
        assert "▶" in see(pilot)
        assert pilot.app.focused is not None


async def test_asking_for_what_is_missing_where_nothing_is_stays_on_the_list(desk: Workstation, begun: object) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "f")
        assert "Nothing to enter" in see(pilot)
        assert "under Suitability" in " ".join(see(pilot).replace("│", " ").split()), "ready may still lack answers"
        await type_in(pilot, "", "enter")
        assert f"{LINES} of {LINES} left" in see(pilot)


async def test_a_letter_beside_a_row_of_more_chooses_that_row(desk: Workstation, begun: object) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "m")
        assert place(pilot) == "menu"
        await type_in(pilot, "o")
        assert place(pilot) == "pad"
        assert "Cot 4" in see(pilot)


async def test_a_new_preparation_is_the_one_marked_at_home_on_the_way_back(
    desk: Workstation, begun: OpenPreparation
) -> None:
    desk.identity.who = ""
    async with run(desk, (40, 20)) as pilot:
        await begin(pilot, "ra", "Cot 9", "1300", "30+2")
        assert "1300 g" in see(pilot)
        await type_in(pilot, "", "escape", "enter")
        assert "Cot 9   1300 g" in see(pilot), "Enter opens the baby that was left, not the one above or below"


async def test_what_would_confirm_every_assumed_fact_does_not_look_done(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter", "b")
        assert row_of(pilot, "all assumed").text.sign == Sign.TO_DO
        await type_in(pilot, "c")
        assert "Confirm all as shown" not in see(pilot)
