"""What kits leave to the ward: a line that it does without, a value that it sets, or never set, in a preparation."""

from collections.abc import Callable
from pathlib import Path

import pytest
from workstation_scene import Clock, find_row, list_lines, start

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.signs import Sign

SET = '[[setting]]\nline = "gas-flow"\nvalue = "9 L/min"\nsource = "ours, unsourced"\n'
AIR = 'air = "0.5 mL"\n'
LEFT_OUT = '[[left_out]]\nline = "atropine"\nkits = ["surfactant-supraglottic"]\nreference = "HW-40 (invented)"\n\n'
WITH_ATROPINE = {"atropine", "flush", "line-flushed"}


@pytest.fixture
def write(ward_file: Path) -> Callable[[str, str], None]:
    """Change one thing in the ward's file."""

    def change(old: str, new: str) -> None:
        text = ward_file.read_text("utf-8")
        assert text.count(old) == 1, old
        ward_file.write_text(text.replace(old, new), "utf-8")

    return change


def test_a_ward_without_atropine_has_no_flush_no_line_trial_no_question_and_no_step_for_it(
    desk: Workstation, write: Callable[[str, str], None]
) -> None:
    opened = start(desk)
    lines, questions, steps = list_lines(opened), list_questions(opened), list_steps(opened)
    assert set(lines) >= WITH_ATROPINE
    assert "atropine-given" in steps
    write("[[setting]]", LEFT_OUT + "[[setting]]")
    other = start(desk, "1300")
    assert list_lines(other) == [line for line in lines if line not in WITH_ATROPINE]
    assert list_questions(other) == [each for each in questions if each != "line-for-atropine"]
    assert list_steps(other) == [each for each in steps if each != "atropine-given"]


def list_questions(opened: OpenPreparation) -> list[str]:
    return [row.id for row in opened.session.work_out().laid.criterion]


def list_steps(opened: OpenPreparation) -> list[str]:
    return [step.step for step in opened.bedside.show_cot().steps]


def test_a_setting_that_the_ward_never_set_is_entered_with_its_tick_and_recorded(
    desk: Workstation, write: Callable[[str, str], None], clock: Clock
) -> None:
    write(SET, "")
    opened = start(desk)
    assert find_row(opened, "gas-flow").show == "not set on this ward"
    assert "not set on this ward" in opened.lines.tick("gas-flow")
    assert "outside 1\N{EN DASH}20 L/min" in opened.lines.tick("gas-flow", "90")
    assert find_row(opened, "gas-flow").sign is Sign.TO_DO
    assert opened.lines.tick("gas-flow", " 8.50 ") == ""
    row = find_row(opened, "gas-flow")
    assert (row.sign, row.note) == (Sign.DONE, "entered: 8.5 L/min")


def test_a_value_that_the_ward_sets_later_takes_the_tick_that_was_made_for_another(
    desk: Workstation, write: Callable[[str, str], None], clock: Clock
) -> None:
    write(SET, "")
    opened = start(desk)
    assert opened.lines.tick("gas-flow", "8.5") == ""
    write("[[mixing]]", SET + "\n[[mixing]]")
    clock.move(minutes=1)
    assert opened.lines.take_news() == ""
    row = find_row(opened, "gas-flow")
    assert row.show == "9 L/min"
    assert row.sign is not Sign.DONE
    assert opened.lines.tick("gas-flow", "12") == "", "what the ward sets is ticked as it is"
    assert opened.session.state.ticks["gas-flow"].value == ""


def test_air_that_the_ward_never_set_is_entered_with_the_tick_of_the_dose(
    desk: Workstation, write: Callable[[str, str], None]
) -> None:
    write(AIR, "")
    opened = start(desk)
    row = find_row(opened, "surfactant")
    assert (row.show, row.sign) == ("3.6 mL", Sign.TO_DO), "it blocks nothing"
    assert "not set on this ward" in opened.lines.tick("surfactant")
    assert "outside 0\N{EN DASH}5 mL" in opened.lines.tick("surfactant", "5.1")
    assert opened.lines.tick("surfactant", "0") == "", "no air is an answer too"
    assert find_row(opened, "surfactant").note == "entered: 0 mL"
