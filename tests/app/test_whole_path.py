"""From nothing to a ready tray, over a real store, without a screen."""

import pytest
from workstation_scene import LINES, Clock, MakeDesk, answer_all, check_all, find_row, list_lines, start, tick_all

from prepkit.app.workstation import Workstation
from prepkit.view.models import Sign


def test_a_weight_and_a_gestation_are_enough_for_the_list(desk: Workstation) -> None:
    opened = start(desk)
    view = opened.lines.show_list()
    assert view.withheld == ""
    assert find_row(opened, "surfactant").show == "3.6 mL"
    assert find_row(opened, "atropine").show == "0.58 mL"
    assert find_row(opened, "gastric-tube").show.endswith("16.5 cm")


def test_no_list_is_shown_before_weight_and_gestation_are_given(desk: Workstation) -> None:
    opened = desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(opened, str)
    assert opened.lines.show_list().withheld == "The birth weight and gestation at birth are needed for the list."
    assert opened.baby.give_fact("birth_gestation", "30+2") == ""
    assert opened.lines.show_list().withheld == "The birth weight is needed for the list."
    assert opened.lines.show_list().groups == ()


def test_the_gate_opens_only_when_everything_is_done_and_answered(desk: Workstation) -> None:
    opened = start(desk)
    tick_all(opened)
    shut = opened.ready.show_ready()
    assert not shut.is_open
    assert len([words for words in shut.missing if words.startswith("To answer")]) == 5
    assert len([words for words in shut.missing if words.endswith(": default, not confirmed")]) == 5
    assert opened.ready.read_aloud().startswith("Not ready yet.")
    answer_all(opened)
    check_all(opened)
    view = opened.ready.show_ready()
    assert view.is_open, view.missing
    assert view.summary[0] == "Cot 4: 1450 g · 30+2. Surfactant, supraglottic."
    assert any("Surfactant: 3.6 mL; 288 mg, 199 mg/kg (due 200)" in words for words in view.summary)
    assert opened.ready.read_aloud() == ""
    assert opened.ready.show_ready().said == "Read aloud by RA at 03:00."


def test_confirming_an_assumed_fact_unticks_only_what_it_changes(desk: Workstation) -> None:
    opened = start(desk)
    tick_all(opened)
    assert opened.baby.give_fact("gastric_tube", "yes") == ""
    changed = [line for line in list_lines(opened) if find_row(opened, line).sign is Sign.CHANGED]
    assert changed == ["gastric-tube"]
    assert "was 2 × 8 Fr to 16.5 cm" in find_row(opened, "gastric-tube").note


def test_changing_the_weight_unticks_exactly_the_lines_whose_value_changed(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.give_fact("line_patent", "yes") == ""
    tick_all(opened)
    before = {line: find_row(opened, line) for line in list_lines(opened)}
    assert opened.baby.give_fact("birth_weight", "1500") == ""
    for line in list_lines(opened):
        row = find_row(opened, line)
        is_same = (row.show, row.details) == (before[line].show, before[line].details)
        follows = line == "surfactant-drawn-up"
        assert (row.sign is Sign.DONE) == is_same or follows, row
    assert find_row(opened, "surfactant").note == "was 3.6 mL when RA ticked it, now 3.8 mL"
    assert find_row(opened, "surfactant-drawn-up").sign is Sign.CHANGED


def test_a_line_that_was_not_needed_asks_why_and_can_be_taken_back(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.lines.set_aside("drape", "") != ""
    assert opened.lines.set_aside("drape", "one is laid out already") == ""
    assert find_row(opened, "drape").sign is Sign.NOT_NEEDED
    assert "set aside" in opened.lines.tick("drape")
    assert opened.lines.restore("drape") == ""
    assert opened.lines.tick("drape") == ""


def test_whole_vials_are_ordered_drawn_up_and_voided_by_another_weight(desk: Workstation) -> None:
    opened = start(desk)
    tick_all(opened)
    answer_all(opened)
    view = opened.lines.show_options("surfactant")
    assert view is not None
    assert (view.chosen, view.now) == ("poractant-alfa", "Nothing is ordered: the ward's first choice is used.")
    ids = ["poractant-alfa", "poractant-alfa 100 mg/kg", "poractant-alfa 3 mL"]
    assert [option for option, _ in view.choices] == ids, "nothing was given: there is no rest, and no early one"
    # 3 mL × 80 mg/mL ÷ 1.45 kg (label, R; the whole-vial habit of Boix 2019, doi 10.1055/s-0038-1675645, R).
    assert "3 mL = 165.5 mg/kg" in dict(view.choices)["poractant-alfa 3 mL"]
    assert opened.lines.order("surfactant", "poractant-alfa 3 mL", "km") == ""
    row = find_row(opened, "surfactant")
    assert (row.show, row.sign, row.details[2]) == ("3 mL", Sign.CHANGED, "ordered by KM: whole vials")
    assert row.note == "was 3.6 mL when RA ticked it, now 3 mL"
    assert find_row(opened, "surfactant-drawn-up").sign is Sign.CHANGED
    view = opened.lines.show_options("surfactant")
    assert view is not None
    assert (view.chosen, view.now) == ("poractant-alfa 3 mL", "Now ordered by KM, entered by RA at 03:00.")
    for line in ("surfactant", "surfactant-drawn-up"):
        assert opened.lines.tick(line) == ""
    check_all(opened)
    assert opened.ready.show_ready().is_open
    # 240 mg ÷ 2.45 kg = 97.96 mg/kg, under the range.
    assert opened.baby.give_fact("birth_weight", "2450") == ""
    assert opened.baby.confirm_weight("2450", "ZZ") == ""
    assert "97.9592 mg/kg, outside 100–200 mg/kg" in find_row(opened, "surfactant").note
    assert not opened.ready.show_ready().is_open
    view = opened.lines.show_options("surfactant")
    assert view is not None
    assert view.chosen == ""
    assert view.now == (
        "Poractant alfa, whole vials, 3 mL was ordered by KM, entered by RA at 03:00."
        " It cannot be drawn up now: order again."
    )
    assert "choices again" in opened.lines.order("surfactant", "poractant-alfa 3 mL", "km")
    assert opened.lines.order("surfactant", "poractant-alfa", "km") == ""
    assert find_row(opened, "surfactant").sign is Sign.CHANGED
    assert find_row(opened, "surfactant").show == "6.2 mL"


def test_an_order_is_kept_in_the_record_and_what_cannot_be_ordered_is_refused(
    make_desk: MakeDesk,
) -> None:
    opened = start(make_desk())
    assert opened.lines.show_options("drape") is None
    assert opened.lines.show_options("nothing") is None
    assert "Who prescribed it?" in opened.lines.order("surfactant", "poractant-alfa 3 mL", "k")
    for option in ("poractant-alfa 4.5 mL", "beractant", "", "poractant-alfa 3 mL "):
        assert "choices again" in opened.lines.order("surfactant", option, "km")
    assert "choices again" in opened.lines.order("drape", "poractant-alfa", "km")
    assert find_row(opened, "surfactant").show == "3.6 mL"
    assert opened.lines.order("surfactant", "poractant-alfa 3 mL", "km") == ""
    again = make_desk("KM").resume(opened.session.prep)
    assert not isinstance(again, str)
    assert find_row(again, "surfactant").show == "3 mL"
    assert opened.lines.order("surfactant", "poractant-alfa 3 mL", "KM") == ""
    assert not again.session.refresh()


def test_an_essential_line_cannot_be_left_out(desk: Workstation) -> None:
    opened = start(desk)
    assert "essential" in opened.lines.set_aside("airway-device", "we have none")


@pytest.mark.parametrize("typed", ["1.45", "1,45", "1450g", "", "299", "6001", "-1450", "1 450"])
def test_a_weight_that_is_not_whole_grams_in_range_is_refused_in_words_and_nothing_is_recorded(
    desk: Workstation, typed: str
) -> None:
    opened = start(desk)
    refusal = opened.baby.give_fact("birth_weight", typed)
    assert refusal != ""
    assert opened.baby.show_baby().facts[0].value == "1450 g"


def test_an_unlikely_weight_withholds_the_list_until_it_is_entered_again(desk: Workstation) -> None:
    opened = start(desk, weight="2100", gestation="30+2")
    question = opened.baby.show_baby().weight_question
    assert question is not None
    assert not question.second_person
    assert opened.lines.show_list().groups == ()
    assert "differ" in opened.baby.confirm_weight("2010")
    assert opened.lines.show_list().groups == ()
    assert opened.baby.confirm_weight("2100") == ""
    assert find_row(opened, "surfactant").show != ""
    assert opened.baby.give_fact("birth_weight", "2101") == ""
    assert opened.baby.show_baby().weight_question is not None, "a confirmation is for one weight only"


def test_a_weight_three_standard_deviations_off_needs_a_second_person(desk: Workstation) -> None:
    opened = start(desk, weight="3900", gestation="30+2")
    question = opened.baby.show_baby().weight_question
    assert question is not None
    assert question.second_person
    assert "Another person" in opened.baby.confirm_weight("3900")
    assert "someone else" in opened.baby.confirm_weight("3900", "ra")
    assert opened.lines.show_list().groups == ()
    assert opened.baby.confirm_weight("3900", "ZZ") == ""
    assert opened.lines.show_list().groups != ()


def test_without_a_ward_file_the_device_stands_on_its_label_and_says_so(make_desk: MakeDesk) -> None:
    opened = start(make_desk(ward=None))
    row = find_row(opened, "airway-device")
    assert row.sign is Sign.BLOCKED
    assert "outside every label" in row.note
    assert row.show == ""
    assert "blocked" in opened.lines.tick("airway-device")
    assert not opened.ready.show_ready().is_open


def test_a_senior_agrees_to_what_was_unsure_and_only_to_that(desk: Workstation) -> None:
    opened = start(desk)
    tick_all(opened)
    answer_all(opened)
    check_all(opened)
    assert opened.baby.answer("other-cause", "unsure") == ""
    view = opened.baby.show_suitability()
    assert view.verdict == "ask a senior"
    assert view.senior_wanted
    assert not opened.ready.show_ready().is_open
    assert opened.baby.agree_senior("CW", "seen with the film, go on") == ""
    assert opened.ready.show_ready().is_open
    assert opened.baby.answer("malformation", "unsure") == ""
    assert not opened.ready.show_ready().is_open, "the agreement was for the other question alone"


def test_a_baby_that_is_not_suitable_keeps_the_gate_shut(desk: Workstation) -> None:
    opened = start(desk)
    tick_all(opened)
    answer_all(opened)
    assert opened.baby.answer("malformation", "yes") == ""
    assert opened.baby.show_suitability().verdict == "not suitable"
    assert any(words.startswith("Not suitable") for words in opened.ready.show_ready().missing)


def test_reading_aloud_stops_counting_when_something_changes(desk: Workstation) -> None:
    opened = start(desk)
    tick_all(opened)
    answer_all(opened)
    check_all(opened)
    assert opened.ready.read_aloud() == ""
    assert opened.lines.tick("drape") == ""
    assert opened.ready.show_ready().said == ""
    assert opened.lines.tick("drape") == ""
    assert opened.ready.show_ready().said == ""


def test_standing_down_ends_it_with_a_reason_and_takes_it_off_the_home_screen(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.ready.stand_down("") != ""
    assert opened.ready.stand_down("baby intubated") == ""
    assert opened.ready.is_stood_down
    assert "stood this preparation down" in opened.lines.tick("drape")
    assert desk.show_home().rows == ()


def test_nobody_prepares_without_initials(make_desk: MakeDesk) -> None:
    desk = make_desk(who="")
    assert isinstance(desk.start("surfactant-supraglottic", "Cot 1"), str)
    assert desk.identity.sign_on("x") != ""
    assert desk.identity.sign_on("km") == ""
    assert desk.identity.who == "KM"


def test_the_home_screen_says_what_is_left_who_and_since_when(desk: Workstation, clock: Clock) -> None:
    opened = start(desk)
    clock.move(minutes=7)
    assert opened.lines.tick("drape") == ""
    row = desk.show_home().rows[0]
    assert (row.cot, row.left, row.who) == ("Cot 4", f"{LINES - 1} of {LINES} left", "RA at 03:07 · begun 03:00")
