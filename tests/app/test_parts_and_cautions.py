"""The opened line: its parts, what to do, and of what can hurt the first three, the rest counted."""

from pathlib import Path

import pytest
from workstation_scene import find_row, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.models import LineView, Sign


def open_line(opened: OpenPreparation, line: str) -> LineView:
    view = opened.lines.show_line(line)
    assert view is not None
    return view


@pytest.fixture
def heavy(desk: Workstation) -> OpenPreparation:
    opened = start(desk, "2140", "33+4", born="2026-11-23")
    assert opened.baby.give_fact("weight_now", "2080") == ""
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, not known, 2026-11-24T08:00+01:00") == ""
    return opened


def test_a_line_shows_three_cautions_and_counts_the_rest(heavy: OpenPreparation) -> None:
    view = open_line(heavy, "surfactant")
    # The rule's own first, then the label's limits as the kit orders them, then the line's.
    assert view.cautions[0].startswith("Not for injection")
    assert view.cautions[1].startswith("Its label's repeats")
    assert view.cautions[2].startswith("Its dosing chart")
    assert (len(view.cautions), view.further) == (3, "1 more caution")
    assert view.further_cautions == ("The supraglottic route is off label for every surfactant.",)


def test_a_line_with_up_to_three_has_nothing_more_to_show(heavy: OpenPreparation) -> None:
    view = open_line(heavy, "atropine")
    assert (len(view.cautions), view.further_cautions, view.further) == (3, (), "")


def test_several_more_are_counted_as_several(desk: Workstation) -> None:
    # 2.6 mL × 80 mg/mL ÷ 2.03 kg is 102.5 mg/kg: the last dose of a course of 400.
    opened = start(desk, "2030", "33+4", born="2026-11-22")
    assert opened.baby.give_fact("weight_now", "2000") == ""
    doses = "poractant-alfa, 200 mg/kg, 2026-11-23T08:00+01:00; poractant-alfa, 100 mg/kg, 2026-11-24T08:00+01:00"
    assert opened.baby.give_fact("earlier_surfactant", doses) == ""
    view = open_line(opened, "surfactant")
    assert view.cautions[0] == "The mark brings the course to 402.5 mg/kg: a little over the 400 mg/kg in all."
    assert (len(view.cautions), len(view.further_cautions), view.further) == (3, 2, "2 more cautions")


def test_what_to_do_stands_apart_from_what_can_hurt(heavy: OpenPreparation) -> None:
    view = open_line(heavy, "surfactant")
    assert view.how[0] == "Warm in the hand for a few minutes; no artificial warming."
    assert not any("Warm" in words or "shake" in words for words in (*view.cautions, *view.further_cautions))


def test_a_needle_that_the_ward_keeps_no_longer_unticks_what_was_made_up_with_it(
    desk: Workstation, ward_file: Path
) -> None:
    opened = start(desk)
    tick_all(opened)
    ward_file.write_text(ward_file.read_text("utf-8").replace("18 G blunt", "19 G blunt"), "utf-8")
    assert opened.lines.take_news() == ""
    changed = {line for line in ("atropine", "surfactant", "flush", "sucrose")
               if find_row(opened, line).sign is Sign.CHANGED}  # fmt: skip
    assert changed == {"atropine"}
    assert open_line(opened, "atropine").row.note.startswith("its details changed")


def test_the_row_says_it_where_a_dose_before_is_not_known_in_full(heavy: OpenPreparation) -> None:
    assert find_row(heavy, "surfactant").details[0].startswith("! a dose before is not known in full")
