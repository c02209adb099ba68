"""The second check at a desk, over a real store: blind, by somebody else, and void when anything changes."""

import pytest
from workstation_scene import (
    MakeDesk,
    answer_all,
    check_all,
    enter_as_listed,
    find_row,
    list_lines,
    read_baby,
    start,
    tick_all,
)

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.models import Sign
from prepkit.wording.say import say


@pytest.fixture
def opened(desk: Workstation) -> OpenPreparation:
    opened = start(desk)
    answer_all(opened)
    tick_all(opened)
    return opened


def begin(opened: OpenPreparation, who: str = "TO") -> None:
    assert opened.check.begin(who) == ""
    read_baby(opened)


def enter_all(opened: OpenPreparation, wrong: dict[str, str] | None = None) -> None:
    tray = opened.session.work_out().tray
    assert tray is not None
    lines = {line.id: line for line in tray.lines}
    while (field := opened.check.show_check().field) is not None:
        typed, counts = enter_as_listed(lines[field.line])
        assert opened.check.enter(field.line, (wrong or {}).get(field.line, typed), counts) == ""


def test_ready_stays_shut_until_a_second_person_has_checked(opened: OpenPreparation) -> None:
    missing = opened.ready.show_ready().missing
    assert missing == (
        "Second check: Supraglottic airway; Surfactant; Catheter mark, from the port; Atropine; Oral sucrose 24 %",
    )
    check_all(opened)
    assert opened.ready.show_ready().is_open, opened.ready.show_ready().missing
    assert "Checked blind by TO: birth weight and day of birth; 5 lines." in opened.ready.show_ready().summary


def test_whoever_prepared_cannot_check(opened: OpenPreparation) -> None:
    assert opened.check.begin("ra") == "RA prepared this list: somebody else has to check it."
    assert opened.check.show_cover() is None


def test_one_tick_or_one_fact_is_enough_to_have_prepared(desk: Workstation) -> None:
    opened = start(desk)
    desk.identity.who = "KM"
    assert opened.lines.tick("drape") == ""
    assert opened.check.begin("KM").startswith("KM prepared this list")


def test_nothing_given_to_the_checker_before_the_end_holds_a_computed_amount(opened: OpenPreparation) -> None:
    """Every text of every view during the check is searched for the weight and for every amount of the list."""
    tray = opened.session.work_out().tray
    assert tray is not None
    lines = {line.id: line for line in tray.lines}
    checked = [line for line in tray.lines if line.declared.check]
    shown = {say(line.outcome.show) for line in checked}
    secrets = shown | {"1450", "3.625", "290 mg", "29 microgram", "3 mL + 1.5 mL"}
    assert opened.check.begin("TO") == ""
    said = [repr(opened.check.show_check()), repr(opened.check.show_cover())]
    assert opened.check.enter_fact("birth_weight", "1450") == ""
    said.append(repr(opened.check.show_check()))
    read_baby(opened)
    while (field := opened.check.show_check().field) is not None:
        said.append(repr(opened.check.show_check()))
        said.append(repr(opened.check.show_cover()))
        assert opened.check.enter(field.line, *enter_as_listed(lines[field.line])) == ""
    assert len(said) == 3 + 2 * len(checked)
    for text in said:
        for secret in secrets - {"size 1"}:
            assert secret not in text, (secret, text)
    assert any("200 mg/kg" in text and "80 mg/mL" in text for text in said)
    assert not any("size 1'" in text for text in said)


def test_the_checker_is_asked_to_hold_each_order_against_the_prescription(opened: OpenPreparation) -> None:
    """The order comes from the same kit as the list: what is wrong in it would be agreed on by both."""
    tray = opened.session.work_out().tray
    assert tray is not None
    ordered = {line.id for line in tray.lines if line.declared.check and line.outcome.prescribed}
    assert opened.check.begin("TO") == ""
    read_baby(opened)
    told = set()
    while (field := opened.check.show_check().field) is not None:
        if field.ask.startswith("Compare the order with the prescription."):
            told.add(field.line)
        line = next(line for line in tray.lines if line.id == field.line)
        assert opened.check.enter(line.id, *enter_as_listed(line)) == ""
    assert told == ordered == {"surfactant", "atropine"}


def test_every_device_is_covered_while_somebody_checks(make_desk: MakeDesk) -> None:
    first = make_desk(who="RA")
    opened = start(first)
    other = make_desk(who="KM").resume(opened.session.prep)
    assert not isinstance(other, str)
    assert other.check.show_cover() is None
    assert opened.check.begin("TO") == ""
    assert other.session.refresh()
    cover = other.check.show_cover()
    assert cover is not None
    assert "TO at 03:00 began the second check." in cover.words
    assert "1450" not in repr(cover)
    assert not other.check.is_signed_in


def test_a_weight_that_differs_stops_everything_until_it_is_given_again(opened: OpenPreparation) -> None:
    assert opened.check.begin("TO") == ""
    assert opened.check.enter_fact("birth_weight", "1540") == ""
    view = opened.lines.show_list()
    assert view.groups == ()
    assert "TO at 03:00 read birth weight 1540 g; the list was made for 1450 g." in view.withheld
    assert opened.lines.tick("drape") == "This line is no longer on the list: look at the list again."
    assert not opened.ready.show_ready().is_open
    assert opened.baby.give_fact("birth_weight", "1540") == ""
    assert opened.lines.show_list().groups != ()
    assert find_row(opened, "surfactant").sign is Sign.CHANGED


def test_a_weight_that_was_right_all_along_is_given_again_and_checked_again(opened: OpenPreparation) -> None:
    assert opened.check.begin("TO") == ""
    assert opened.check.enter_fact("birth_weight", "1540") == ""
    assert opened.baby.give_fact("birth_weight", "1450") == ""
    assert opened.lines.show_list().withheld == ""
    assert find_row(opened, "surfactant").sign is Sign.DONE
    assert any(words.startswith("Second check") for words in opened.ready.show_ready().missing)
    check_all(opened)
    assert opened.ready.show_ready().is_open


def test_a_difference_shows_both_workings_and_holds_the_line_until_it_is_settled(opened: OpenPreparation) -> None:
    begin(opened)
    enter_all(opened, {"surfactant": "3.2"})
    row = next(row for row in opened.check.show_checked().rows if row.line == "surfactant")
    assert (row.ours, row.theirs) == ("3.6 mL; open 3 mL + 1.5 mL", "3.2 mL; open 3 mL + 1.5 mL")
    assert any("290 mg ÷ 80 mg/mL = 3.625 mL" in words for words in row.our_working)
    # By hand: 3.2 x 80 = 256 mg; 256 / 1.45 = 176.55 mg/kg.
    assert row.their_working[:2] == ("Entered: 3.2 mL × 80 mg/mL = 256 mg.", "256 mg ÷ 1450 g = 176.55 mg/kg.")
    assert opened.ready.show_ready().missing == ("Surfactant: TO's check differs: settle it, or correct the fact",)
    assert opened.check.settle("surfactant", "no") == "The reason is too short: at least 3 characters (got 'no')."
    assert opened.check.settle("surfactant", "TO used 176 mg/kg; 200 mg/kg is ordered") == ""
    assert opened.ready.show_ready().is_open
    said = "Surfactant: the check said 3.2 mL, settled by RA (TO used 176 mg/kg; 200 mg/kg is ordered)."
    assert said in opened.ready.show_ready().summary
    assert opened.check.settle("surfactant", "again") == "Surfactant is checked: there is nothing to settle."


def test_what_was_entered_is_hidden_until_everything_is_entered(opened: OpenPreparation) -> None:
    begin(opened)
    field = opened.check.show_check().field
    assert field is not None
    assert opened.check.enter(field.line, "1.5") == ""
    assert all(row.theirs == "" for row in opened.check.show_checked().rows)
    assert opened.check.show_cover() is not None


def test_a_change_voids_the_check_of_exactly_that_line_and_says_so(opened: OpenPreparation) -> None:
    check_all(opened)
    assert opened.baby.give_fact("birth_weight", "1460") == ""
    rows = {row.line: row for row in opened.check.show_checked().rows}
    assert rows["airway-device"].sign is Sign.DONE
    assert rows["surfactant"].note == "changed since TO checked it"
    assert "Surfactant: changed since TO checked it: check it again" in opened.ready.show_ready().missing


def test_a_weight_whose_lines_all_stay_the_same_is_still_read_again(opened: OpenPreparation) -> None:
    check_all(opened)
    assert opened.baby.give_fact("birth_weight", "1451") == ""
    checked = [row for row in opened.check.show_checked().rows if row.sign is not Sign.DONE]
    missing = opened.ready.show_ready().missing
    assert checked or missing == ("A second person has to read the weights off the cot and the notes.",)


def test_only_the_checker_goes_on_with_a_check_and_anybody_may_stop_it(make_desk: MakeDesk) -> None:
    opened = start(make_desk(who="RA"))
    begin(opened, "TO")
    other = make_desk(who="LB").resume(opened.session.prep)
    assert not isinstance(other, str)
    assert other.check.begin("KM") == "TO at 03:00 began to check: one person checks at a time."
    assert other.check.begin("TO") == ""
    assert other.check.show_check().field is not None
    assert other.check.stop() == ""
    assert opened.session.refresh()
    assert opened.check.show_cover() is None


def test_whoever_stops_their_own_check_has_seen_the_list_and_cannot_check_it(opened: OpenPreparation) -> None:
    begin(opened)
    assert opened.check.stop() == ""
    assert opened.check.begin("TO").startswith("TO stopped a check half way and has seen the list since")
    assert opened.check.begin("KM") == ""


def test_a_check_that_somebody_else_stopped_can_be_begun_again(make_desk: MakeDesk) -> None:
    opened = start(make_desk(who="RA"))
    begin(opened, "TO")
    other = make_desk(who="RA").resume(opened.session.prep)
    assert not isinstance(other, str)
    assert other.check.stop() == ""
    assert opened.check.begin("TO") == ""


def test_the_baby_comes_first(opened: OpenPreparation) -> None:
    assert opened.check.begin("TO") == ""
    assert (
        opened.check.enter("airway-device", "1") == "The baby comes first: read the weights off the cot and the notes."
    )
    assert opened.check.enter_fact("birth_weight", "1.45") == '"1.45" is not whole grams.'


def test_the_checker_does_not_tick_what_they_checked(opened: OpenPreparation, desk: Workstation) -> None:
    check_all(opened)
    assert opened.lines.tick("surfactant") == ""
    desk.identity.who = "TO"
    assert opened.lines.tick("surfactant") == "TO checked Surfactant: somebody else ticks it."


def test_a_line_that_was_set_aside_or_is_blocked_is_not_checked(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.lines.set_aside("sucrose", "no sucrose tonight") == ""
    assert "sucrose" not in [row.line for row in opened.check.show_checked().rows]
    assert "sucrose" in list_lines(opened)


def test_a_handover_is_taken_as_it_was_shown(opened: OpenPreparation, desk: Workstation) -> None:
    assert opened.handover.hand_over("") == "The note is empty: type it."
    assert opened.handover.hand_over("catheter still to mark, parents told") == ""
    assert "Handed over by RA at 03:00: to be taken" in opened.ready.show_ready().missing
    desk.identity.who = "LB"
    seen = opened.handover.show_handover()
    assert seen.is_offered
    assert seen.note == 'RA at 03:00: "catheter still to mark, parents told"'
    assert "Surfactant 3.6 mL: RA at 03:00" in seen.done
    assert opened.lines.tick("drape") == ""
    assert opened.handover.take_over(seen.standing) == "It changed while you read: look again, then take it."
    assert opened.handover.take_over(opened.handover.show_handover().standing) == ""
    assert opened.session.state.taken_over_by == "LB"
    assert "taken it already" in opened.handover.take_over(seen.standing)


@pytest.mark.parametrize(
    ("typed", "counts", "why"),
    [
        ("3.6", {}, ""),
        ("3.6", {"1.5 mL": "0"}, ""),
        ("3,6", {}, "What was typed"),
        ("0", {}, "Enter more than nothing."),
        ("3.6", {"1.5 mL": "one"}, "How many of 1.5 mL: a whole number up to 20."),
        ("3.6", {"1.5 mL": ""}, "How many of 1.5 mL: a whole number up to 20."),
    ],
)
def test_each_part_of_an_entry_is_refused_where_it_stands_and_none_is_kept(
    opened: OpenPreparation, typed: str, counts: dict[str, str], why: str
) -> None:
    begin(opened)
    refusal = opened.check.refuse_part("surfactant", typed, counts)
    assert refusal.startswith(why)
    assert bool(refusal) == bool(why)
    assert opened.session.state.check is not None
    assert not opened.session.state.check.entries


def test_where_only_the_weight_is_to_be_read_again_a_check_begins_and_ends_with_it(opened: OpenPreparation) -> None:
    check_all(opened)
    assert opened.baby.give_fact("nil_by_mouth", "no") == ""
    assert opened.check.begin("KM") == "", "another checker reads all of the baby anew"
    assert opened.check.enter_fact("birth_weight", "1540") == ""
    assert opened.baby.give_fact("birth_weight", "1450") == ""
    assert opened.lines.set_aside("sucrose", "none tonight") == ""
    assert opened.ready.show_ready().missing == ("A second person has to read the weights off the cot and the notes.",)
    assert opened.check.show_checked().begin.refusal == ""
    assert opened.check.begin("TO") == ""
    assert opened.check.enter_fact("birth_weight", "1450") == ""
    assert opened.check.show_check().field is None
    assert opened.check.end() == ""
    assert opened.ready.show_ready().is_open


def test_a_disputed_weight_is_asked_for_again_with_an_empty_field(opened: OpenPreparation) -> None:
    assert opened.check.begin("TO") == ""
    assert opened.check.enter_fact("birth_weight", "1540") == ""
    baby = opened.baby.show_baby()
    weight = next(fact for fact in baby.facts if fact.id == "birth_weight")
    assert baby.next_fact == "birth_weight"
    assert (weight.value, weight.typed, weight.note) == ("1450 g", "", "TO read 1540 g")


def test_a_row_says_that_its_line_was_checked_differs_or_has_to_be_checked_again(opened: OpenPreparation) -> None:
    check_all(opened, wrong={"surfactant": "3.2"})
    assert find_row(opened, "atropine").word == "done RA 03:00, checked TO"
    held = find_row(opened, "surfactant")
    assert (held.sign, held.word) == (Sign.QUESTION, "done RA 03:00, check differs")
    assert opened.baby.give_fact("nil_by_mouth", "no") == ""
    assert find_row(opened, "sucrose").note.endswith("check again")
    assert find_row(opened, "drape").word == "done RA 03:00"


def test_no_banner_has_the_weight_while_somebody_checks(opened: OpenPreparation) -> None:
    assert opened.check.begin("TO") == ""
    views = (
        opened.lines.show_list(),
        opened.baby.show_baby(),
        opened.ready.show_ready(),
        opened.baby.show_suitability(),
    )
    assert [view.banner.baby for view in views] == ["weights: on the cot · 30+2"] * 4


def test_home_says_that_it_is_being_checked_and_that_it_was_handed_over(
    opened: OpenPreparation, desk: Workstation
) -> None:
    assert opened.check.begin("TO") == ""
    assert desk.show_home().rows[0].left == "being checked by TO"
    assert opened.check.stop() == ""
    assert opened.handover.hand_over("parents told") == ""
    assert desk.show_home().rows[0].left.startswith("handed over by RA · ")


def test_whoever_had_the_list_open_on_this_desk_cannot_check_it_here(make_desk: MakeDesk) -> None:
    opened = start(make_desk(who="RA"))
    theirs = make_desk(who="LB").resume(opened.session.prep)
    assert not isinstance(theirs, str)
    assert theirs.lines.show_list().groups
    assert theirs.check.begin("LB").startswith("LB has had this list open here, with its amounts")
    assert theirs.check.show_cover() is None
    assert theirs.check.begin("TO") == ""


def test_somebody_who_begins_before_the_list_is_opened_checks_on_their_own_device(make_desk: MakeDesk) -> None:
    opened = start(make_desk(who="RA"))
    theirs = make_desk(who="LB").resume(opened.session.prep)
    assert not isinstance(theirs, str)
    assert theirs.check.begin("LB") == ""
    assert theirs.lines.show_list().groups, "what a screen shows is covered there; the check goes on"
    assert theirs.check.is_signed_in


def test_no_check_is_offered_of_what_was_stood_down(opened: OpenPreparation) -> None:
    assert opened.check.show_checked().begin.refusal == ""
    assert opened.ready.stand_down("better by itself") == ""
    offered = opened.check.show_checked().begin
    assert "stood this preparation down" in offered.refusal
    assert offered.refusal == opened.check.begin("TO")
