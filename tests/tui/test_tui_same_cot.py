"""Two preparations under one cot label: asked about at the start, and told apart wherever one is chosen."""

import pytest
from hands import KIT, LINES, Hands, begin, move_to, place, row_of, run, see, touch_keys, touch_row, type_in

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation

LABELS = ["Cot 4", "cot4", "COT-4"]


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


def test_a_label_is_the_same_however_it_is_written(desk: Workstation, begun: OpenPreparation) -> None:
    for label in LABELS:
        assert desk.find_sharing(label) == ((begun.session.prep, "Cot 4 · begun 03:12 · 1450 g · 30+2"),)
    assert desk.find_sharing("Cot 14") == ()


def test_rows_that_share_a_label_say_what_tells_them_apart(desk: Workstation, begun: OpenPreparation) -> None:
    assert [row.apart for row in desk.show_home().rows] == [""]
    other = desk.start(KIT, "COT 4")
    assert isinstance(other, OpenPreparation)
    assert other.baby.give_fact("birth_weight", "980") == ""
    assert [row.apart for row in desk.show_home().rows] == [
        "begun 03:12 · 980 g · gestation?",
        "begun 03:12 · 1450 g · 30+2",
    ]
    assert begun.check.begin("TO") == ""
    assert desk.show_home().rows[1].apart == "begun 03:12 · weights: on the cot · 30+2", "a check stays blind"
    assert desk.start(KIT, "Cot 9")
    assert desk.show_home().rows[0].apart == ""


@pytest.mark.thorough
@pytest.mark.parametrize("size", [(36, 18), (40, 20), (80, 24)])
@pytest.mark.usefixtures("begun")
async def test_a_label_that_is_in_progress_is_asked_about_and_another_is_started_only_when_meant(
    desk: Workstation, size: tuple[int, int]
) -> None:
    async with run(desk, size) as pilot:
        await type_in(pilot, "", "n")
        await move_to(pilot, KIT)
        await type_in(pilot, "", "enter")
        await touch_keys(pilot, "COT4")
        assert "A preparation for COT4 is in progress already." in words(pilot)
        await type_in(pilot, "", "enter")
        assert "Which baby?" in words(pilot), "Enter pressed once too often starts nothing"
        await type_in(pilot, "", "enter")
        assert len(desk.show_home().rows) == 1
        await touch_row(pilot, "beside")
        assert "weight" in words(pilot).lower()
        assert len(desk.show_home().rows) == 2
        await type_in(pilot, "980", "enter", *"26+0", "enter")
        await type_in(pilot, "", "escape")
        assert place(pilot) == "home"
        assert "begun 03:12 · 1450 g · 30+2" in words(pilot)


@pytest.mark.thorough
async def test_the_one_in_progress_can_be_taken_up_instead(desk: Workstation, begun: OpenPreparation) -> None:
    desk.identity.who = ""
    async with run(desk, (40, 20)) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await touch_row(pilot, begun.session.prep)
        assert place(pilot) == "list"
        assert f"{LINES} of {LINES} left" in words(pilot)
        await type_in(pilot, "", "escape")
        assert len([row for row in desk.show_home().rows if row.cot == "Cot 4"]) == 1
        assert row_of(pilot, begun.session.prep).text.note == ""
