"""What kits leave to the ward: a line that it does without, a value that it sets, or never set, in a preparation."""

from collections.abc import Callable
from pathlib import Path

import pytest
from workstation_scene import Clock, find_row, list_lines, start

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.list.agreement import Entered, agrees
from prepkit.preparation.check.required import list_checked_lines
from prepkit.quantities.text import read_amount
from prepkit.view.models import LineView
from prepkit.view.signs import Sign

SET = '[[setting]]\nline = "gas-flow"\nvalue = "9 L/min"\nsource = "ours, unsourced"\n'
AIR = 'air = "0.5 mL"\n'
LEFT_OUT = '[[left_out]]\nline = "atropine"\nkits = ["surfactant-supraglottic"]\nreference = "HW-40 (invented)"\n\n'
MEASURED = """
[[measured]]
line = "catheter-depth"
device = "supraglottic airway"
size = "1"
length = "15.2 cm"
clearance = "0.5 cm"
measured_by = "airway lead"
measured_on = 2026-10-01

"""
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
    write(SET, LEFT_OUT + SET)
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
    assert (row.sign, row.show, row.details) == (Sign.DONE, "8.5 L/min", ("entered here: not set on this ward",))
    assert "8.5 L/min: entered with the tick by RA." in show(opened, "gas-flow").working


def show(opened: OpenPreparation, line: str) -> LineView:
    view = opened.lines.show_line(line)
    assert view is not None
    return view


def test_a_changed_flow_takes_the_trial_of_the_pressures_and_the_same_flow_again_does_not(
    desk: Workstation, write: Callable[[str, str], None]
) -> None:
    write(SET, "")
    opened = start(desk)
    assert opened.lines.tick("gas-flow", "8") == opened.lines.tick("t-piece-pressures-checked") == ""
    for flow, sign in (("8", Sign.DONE), ("10", Sign.CHANGED)):
        assert opened.lines.tick("gas-flow") == opened.lines.tick("gas-flow", flow) == ""
        assert find_row(opened, "gas-flow").show == f"{flow} L/min"
        assert find_row(opened, "t-piece-pressures-checked").sign is sign
    assert opened.lines.tick("gas-flow") == opened.lines.tick("gas-flow") == "", "ticked again as it stands"


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
    assert find_row(opened, "gas-flow").show == "9 L/min"


def test_air_that_the_ward_never_set_is_entered_with_the_tick_of_the_dose(
    desk: Workstation, write: Callable[[str, str], None]
) -> None:
    write(AIR, "")
    opened = start(desk)
    row = find_row(opened, "surfactant")
    assert (row.show, row.sign) == ("3.6 mL", Sign.TO_DO), "it blocks nothing"
    assert "not set on this ward" in opened.lines.tick("surfactant")
    assert "outside 0\N{EN DASH}1.4 mL" in opened.lines.tick("surfactant", "1.5"), "the 5 mL syringe holds no more"
    assert opened.lines.tick("surfactant", "0") == "", "no air is an answer too"
    assert "5 mL syringe" in find_row(opened, "surfactant").details
    assert opened.lines.tick("surfactant") == opened.lines.tick("surfactant", "0.4") == ""
    assert "5 mL syringe + 0.4 mL air" in find_row(opened, "surfactant").details
    assert not any("not set on this ward" in each for each in show(opened, "surfactant").cautions)


def test_of_a_range_one_mark_is_chosen_with_the_tick_and_a_second_person_checks_that_one(desk: Workstation) -> None:
    opened = start(desk)
    assert find_row(opened, "catheter-depth").show == "14\N{EN DASH}16 cm"
    assert "one mark is chosen" in opened.lines.tick("catheter-depth")
    assert "outside 14\N{EN DASH}16 cm" in opened.lines.tick("catheter-depth", "16.5")
    assert "is no mark" in opened.lines.tick("catheter-depth", "15.2")
    assert "catheter-depth" not in list_wanted(opened), "there is nothing yet to hold another one against"
    assert opened.lines.tick("catheter-depth", "15") == opened.lines.tick("catheter-passes-port") == ""
    row = find_row(opened, "catheter-depth")
    assert (row.show, row.details) == ("15 cm", ("chosen within 14\N{EN DASH}16 cm",))
    line = next(each for each in opened.session.work_out().tray.lines if each.id == "catheter-depth")
    assert "catheter-depth" in list_wanted(opened)
    agreed = [agrees(line, Entered(read_amount(text), "", ())) for text in ("14.5 cm", "15 cm", "150 mm", "15.5 cm")]
    assert agreed == [False, True, True, False]
    assert opened.lines.tick("catheter-depth") == opened.lines.tick("catheter-depth", "15.5") == ""
    assert find_row(opened, "catheter-passes-port").sign is Sign.CHANGED, "it was tried to another mark"


def list_wanted(opened: OpenPreparation) -> list[str]:
    return [line.id for line in list_checked_lines(opened.session.state, opened.session.work_out())]


def test_a_length_that_the_ward_measured_is_the_mark_and_nothing_is_chosen(
    desk: Workstation, write: Callable[[str, str], None]
) -> None:
    write("[[approval]]", MEASURED + "[[approval]]")
    opened = start(desk)
    assert find_row(opened, "catheter-depth").show == "14.5 cm"
    assert opened.lines.tick("catheter-depth", "16") == ""
    assert find_row(opened, "catheter-depth").show == "14.5 cm"
