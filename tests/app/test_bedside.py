"""The time at the cot and the record after it, over a real store."""

import pytest
from workstation_scene import Clock, MakeDesk, answer_all, check_all, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.models import Sign
from prepkit.view.routes import Stage


@pytest.fixture
def opened(desk: Workstation) -> OpenPreparation:
    opened = start(desk)
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    assert opened.ready.read_aloud() == ""
    return opened


def do_all(opened: OpenPreparation, clock: Clock) -> None:
    while (step := opened.bedside.show_cot().next_step) is not None:
        clock.move(minutes=1)
        assert opened.bedside.do_step(step.step) == ""


READ = {"spo2": "93", "fio2_now": "25", "heart_rate": "150", "respiratory_rate": "54", "breathing": "easy"}
"""What every follow-up asks for, of the kit's and of the ward's."""


def find_entry(opened: OpenPreparation, step: str) -> str:
    return next(row.entry for row in opened.bedside.show_cot().steps if row.step == step)


def complete(opened: OpenPreparation, clock: Clock) -> None:
    do_all(opened, clock)
    assert opened.bedside.give_reading(find_entry(opened, "catheter-out"), "volume_given", "3.6") == ""
    assert opened.bedside.give_reading(find_entry(opened, "stomach-measured"), "volume_recovered", "0.4") == ""
    clock.move(hours=7)
    for row in opened.bedside.show_record().follow_ups:
        for reading, typed in READ.items():
            assert opened.bedside.give_reading(row.follow_up, reading, typed) == ""
    assert opened.bedside.give_outcome("given in full") == ""
    assert opened.bedside.say_complications(()) == ""


def test_nothing_is_recorded_before_the_summary_was_read_aloud(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.bedside.show_cot().refusal == "The summary has to be read aloud first, on the ready screen."
    assert opened.bedside.do_step("t-piece-on").startswith("The team has not gone to the cot")


def test_one_touch_stamps_a_step_and_the_next_one_comes_up(opened: OpenPreparation, clock: Clock) -> None:
    view = opened.bedside.show_cot()
    assert (view.refusal, view.progress) == ("", "0 of 16 steps")
    assert view.next_step is not None
    assert view.next_step.step == "t-piece-on"
    clock.move(minutes=4)
    assert opened.bedside.do_step("t-piece-on") == ""
    view = opened.bedside.show_cot()
    assert view.steps[0].word == "done RA 03:04"
    assert view.next_step is not None
    assert view.next_step.step == "stomach-emptied"
    assert opened.bedside.do_step("t-piece-on").startswith("This step is done already, by RA at 03:04")


def test_steps_are_done_out_of_order_and_left_out_with_a_reason(opened: OpenPreparation) -> None:
    assert opened.bedside.do_step("atropine-given") == ""
    assert opened.bedside.leave_out("sucrose-given", "") == "The reason is empty: type it."
    assert opened.bedside.leave_out("sucrose-given", "muscle-relaxed") == ""
    rows = {row.step: row for row in opened.bedside.show_cot().steps}
    assert rows["sucrose-given"].sign is Sign.NOT_NEEDED
    assert rows["sucrose-given"].note == "muscle-relaxed"
    assert opened.bedside.show_cot().progress == "2 of 16 steps"
    assert opened.bedside.do_step("no-such") == "This kit has no such step."


def test_clocks_run_where_the_kit_asks_for_them(opened: OpenPreparation, clock: Clock) -> None:
    assert opened.bedside.do_step("t-piece-on") == ""
    assert opened.bedside.show_cot().clocks == ()
    assert opened.bedside.do_step("atropine-given") == ""
    clock.move(minutes=3, seconds=20)
    running = opened.bedside.show_cot().clocks[0]
    assert (running.name, running.elapsed, running.since) == ("since atropine", "3 min 20 s", "03:00")
    clock.move(hours=-1)
    assert opened.bedside.show_cot().clocks[0].elapsed == "0 s"


def test_a_clock_says_until_when_it_holds_and_that_it_is_past(opened: OpenPreparation, clock: Clock) -> None:
    # Corrections, section 4: sucrose lasts about 5 min (Ireland 2022, R).
    assert opened.bedside.do_step("sucrose-given") == ""
    clock.move(minutes=4, seconds=59)
    assert opened.bedside.show_cot().clocks[0].end == "until 03:05: it helps"
    clock.move(seconds=1)
    assert opened.bedside.show_cot().clocks[0].end == "past 5 min: it no longer helps"
    assert opened.bedside.do_step("surfactant-begun") == ""
    assert opened.bedside.show_cot().clocks[1].end == "", "a clock without an end says nothing of one"


def test_a_later_clock_of_one_name_takes_the_place_of_the_earlier_one(opened: OpenPreparation, clock: Clock) -> None:
    assert opened.bedside.do_step("catheter-out") == ""
    clock.move(minutes=2)
    assert opened.bedside.do_step("surfactant-begun") == ""
    assert [(each.name, each.since) for each in opened.bedside.show_cot().clocks] == [("since surfactant", "03:02")]
    assert opened.bedside.correct_time(find_entry(opened, "surfactant-begun"), "02:58") == ""
    assert [(each.name, each.since) for each in opened.bedside.show_cot().clocks] == [("since surfactant", "03:00")]


def test_no_airway_suction_for_the_labels_hour_stands_at_the_cot_and_beside_the_follow_up(
    opened: OpenPreparation, clock: Clock
) -> None:
    # Corrections, section 1.4: no airway suction for 1 h unless plainly obstructed (labels, R2).
    hour = "until 04:00: no airway suction unless blocked (the stomach may be emptied)"
    assert opened.bedside.do_step("catheter-out") == ""
    assert opened.bedside.show_cot().clocks[-1].end == hour
    assert opened.bedside.show_record().clocks == (hour,)
    entry = opened.bedside.show_entry(find_entry(opened, "catheter-out"))
    assert entry is not None
    assert entry.notes[0].startswith(f"{hour} [excerpt or account: ")
    clock.move(minutes=59)
    assert opened.bedside.show_record().clocks == (hour,)
    clock.move(minutes=1)
    assert opened.bedside.show_record().clocks == ()
    assert opened.bedside.show_record().timeline[0].note == hour, "the record keeps it"


def test_a_clock_goes_on_after_the_team_came_back_and_stops_when_its_step_is_struck_out(
    opened: OpenPreparation, clock: Clock
) -> None:
    assert opened.bedside.do_step("catheter-out") == ""
    assert opened.bedside.come_back("new gastric tube") == ""
    clock.move(minutes=5)
    assert len(opened.bedside.show_record().clocks) == 1, "what was given then was given"
    entry = opened.bedside.show_record().timeline[0].entry
    assert opened.bedside.strike(entry, "wrong baby") == ""
    assert opened.bedside.show_record().clocks == ()
    assert "until" not in opened.bedside.show_record().timeline[0].note


def test_who_holds_and_who_gives_is_recorded_on_the_step_and_never_needed_to_go_on(
    opened: OpenPreparation, clock: Clock
) -> None:
    assert opened.bedside.do_step("device-in") == ""
    entry = find_entry(opened, "device-in")
    assert opened.bedside.give_reading(entry, "device_holder", "t0") == "Initials are 2 to 4 letters (got 't0')."
    assert opened.bedside.give_reading(entry, "device_holder", " to ") == ""
    assert opened.bedside.do_step("surfactant-begun") == ""
    assert opened.bedside.give_reading(find_entry(opened, "surfactant-begun"), "instiller", "TO") == ""
    assert [row.note for row in opened.bedside.show_record().timeline] == [
        "Holds the device TO",
        "Gives the surfactant TO",
    ]
    assert opened.bedside.strike(entry, "nobody said who") == ""
    complete(opened, clock)
    assert opened.bedside.show_record().missing == ()


def test_the_steps_of_the_supraglottic_route_are_in_their_true_order(opened: OpenPreparation) -> None:
    steps = [row.step for row in opened.bedside.show_cot().steps]
    order = ["sucrose-given", "device-in", "t-piece-on-device", "cpap-gas-off", "catheter-out", "cpap-on", "device-out"]
    assert [step for step in steps if step in order] == order


def test_follow_ups_are_the_kits_published_ones_and_the_wards_own_by_their_times(opened: OpenPreparation) -> None:
    # Corrections, A19: 1 h (Pinheiro, Gallup) and 3 h (Barbosa) are published; the other times are the demo ward's.
    assert opened.bedside.do_step("catheter-out") == ""
    rows = opened.bedside.show_record().follow_ups
    assert [(row.name, row.word) for row in rows] == [
        ("30 min after", "due 03:30"),
        ("1 h after", "due 04:00"),
        ("2 h after", "due 05:00"),
        ("3 h after", "due 06:00"),
        ("6 h after", "due 09:00"),
    ]
    assert {tuple(reading.reading for reading in row.readings) for row in rows} == {tuple(READ)}
    assert {row.how for row in rows} == {("Wean oxygen early.",)}


def test_a_corrected_time_keeps_the_old_one_and_moves_the_follow_ups(opened: OpenPreparation, clock: Clock) -> None:
    clock.move(minutes=10)
    assert opened.bedside.do_step("catheter-out") == ""
    assert opened.bedside.show_record().follow_ups[0].word == "due 03:40"
    entry = find_entry(opened, "catheter-out")
    clock.move(minutes=5)
    assert opened.bedside.correct_time(entry, "0305") == "Enter the time as HH:MM, such as 03:41."
    assert opened.bedside.correct_time(entry, "03:05") == ""
    row = opened.bedside.show_record().timeline[0]
    hour = "until 04:05: no airway suction unless blocked (the stomach may be emptied)"
    assert (row.at, row.note) == ("03:05", f"{hour} · time corrected, was 03:10")
    assert opened.bedside.show_record().follow_ups[0].word == "due 03:35"
    assert opened.bedside.correct_time("99", "03:05").startswith("There is no such entry")


def test_what_was_entered_by_mistake_is_struck_out_and_stays_to_be_seen(opened: OpenPreparation) -> None:
    assert opened.bedside.do_step("device-in") == ""
    entry = find_entry(opened, "device-in")
    assert opened.bedside.strike(entry, "wrong baby") == ""
    assert opened.bedside.show_record().timeline[0].is_struck
    assert opened.bedside.show_record().timeline[0].note == "struck out: wrong baby"
    assert opened.bedside.give_reading(entry, "attempts", "first").startswith("It was struck out (wrong baby)")
    assert opened.bedside.do_step("device-in") == ""


@pytest.mark.parametrize("typed", ["301", "-3", "72,5", "fast", ""])
def test_a_reading_that_cannot_be_is_refused(opened: OpenPreparation, typed: str) -> None:
    assert opened.bedside.do_step("t-piece-on") == ""
    assert opened.bedside.give_reading(find_entry(opened, "t-piece-on"), "heart_rate", typed) != ""


def test_something_that_is_not_in_the_plan_brings_the_rescue_lines(opened: OpenPreparation) -> None:
    choices = {each.name for each in opened.bedside.show_cot().happenings}
    assert {"Desaturation", "Heart rate under 100/min", "Stopped"} <= choices
    assert opened.bedside.note_happening("bradycardia", "during the device") == ""
    assert [line.id for line in opened.bedside.show_cot().rescue][:1] == ["tracheal-tube"]
    entry = opened.bedside.show_record().timeline[0]
    assert opened.bedside.give_reading(entry.entry, "heart_rate", "84") == ""
    assert opened.bedside.show_record().timeline[0].note == "Heart rate 84 /min · during the device"


def test_the_list_stands_as_it_was_read_aloud_while_the_team_is_at_the_cot(opened: OpenPreparation) -> None:
    assert opened.bedside.do_step("t-piece-on") == ""
    assert opened.baby.give_fact("birth_weight", "1500").startswith("The team is at the cot")
    assert opened.lines.tick("drape").startswith("The team is at the cot")
    assert opened.bedside.come_back("device will not seal, size again") == ""
    assert opened.baby.give_fact("birth_weight", "1500") == ""
    assert not opened.ready.show_ready().is_open
    assert opened.bedside.do_step("device-in").startswith("The team has not gone")


def test_a_second_going_does_its_steps_afresh(opened: OpenPreparation) -> None:
    assert opened.bedside.do_step("t-piece-on") == ""
    assert opened.bedside.come_back("new gastric tube") == ""
    assert opened.ready.read_aloud() == ""
    assert opened.bedside.show_cot().progress == "0 of 16 steps"
    assert opened.bedside.do_step("t-piece-on") == ""
    assert len(opened.bedside.show_record().timeline) == 2


def test_the_share_recovered_is_worked_out_and_when_a_repeat_could_be_given(
    opened: OpenPreparation, clock: Clock
) -> None:
    complete(opened, clock)
    # By hand: 3.6 x 80 / 1.45 = 198.6 mg/kg; 0.4 / 3.6 = 11.1 %. Given by 03:12, and 12 h later by the label.
    assert opened.bedside.show_record().results == (
        "290 mg due, 288 mg in the syringe, 288 mg given (3.6 mL × 80 mg/mL), which is 198.6 mg/kg (1450 g).",
        "Share recovered: 0.4 mL ÷ 3.6 mL given = 11.1 % of the dose.",
        "A repeat of Poractant alfa: from 15:12 on 25 Nov at the earliest, 12 h after 03:12. [excerpt or account]",
        "Its label's repeats are for babies who remain intubated; after this route the baby is not.",
    )


def test_over_half_recovered_the_wards_own_words_say_what_now(opened: OpenPreparation, clock: Clock) -> None:
    do_all(opened, clock)
    assert opened.bedside.give_reading(find_entry(opened, "catheter-out"), "volume_given", "3.6") == ""
    assert opened.bedside.give_reading(find_entry(opened, "stomach-measured"), "volume_recovered", "1.8") == ""
    assert not any("ward's" in words for words in opened.bedside.show_record().results)
    assert opened.bedside.give_reading(find_entry(opened, "stomach-measured"), "volume_recovered", "1.9") == ""
    over = "Over the ward's 50 % (ours, unsourced): tell the consultant;"
    assert any(words.startswith(over) for words in opened.bedside.show_record().results)


@pytest.mark.parametrize("given", ["", "0"])
def test_no_repeat_is_spoken_of_while_nothing_was_given(opened: OpenPreparation, given: str) -> None:
    assert opened.bedside.do_step("catheter-in") == ""
    if given:
        assert opened.bedside.do_step("surfactant-begun") == ""
        assert opened.bedside.give_reading("afterwards", "volume_given", given) == ""
    assert opened.bedside.show_record().results == ()


def test_follow_ups_are_due_on_the_home_screen(opened: OpenPreparation, clock: Clock, desk: Workstation) -> None:
    do_all(opened, clock)
    assert desk.show_home().rows[0].left == "30 min after: due 03:42"
    clock.move(minutes=40)
    assert desk.show_home().rows[0].left == "30 min after: due now, since 03:42"
    assert opened.bedside.give_reading("after-30-min", "fio2_now", "30") == ""
    assert opened.bedside.show_record().follow_ups[0].sign is Sign.QUESTION, "half of it is not all of it"
    assert desk.show_home().rows[0].left == "30 min after: due now, since 03:42"
    for reading, typed in READ.items():
        assert opened.bedside.give_reading("after-30-min", reading, typed) == ""
    assert opened.bedside.miss_follow_up("after-1-h", "in theatre") == ""
    assert desk.show_home().rows[0].left == "2 h after: due 05:12"


def test_the_record_closes_when_it_is_complete_and_signed_as_it_was_shown(
    opened: OpenPreparation, clock: Clock, desk: Workstation
) -> None:
    record = opened.bedside.show_record()
    assert opened.bedside.sign(record.standing).startswith("The team has not gone")
    complete(opened, clock)
    record = opened.bedside.show_record()
    assert record.missing == ()
    assert opened.bedside.give_outcome("given in full", "calm throughout") == ""
    assert opened.bedside.sign(record.standing) == "The record changed while you read: look again, then sign."
    assert opened.bedside.sign(opened.bedside.show_record().standing) == ""
    assert opened.bedside.show_record().is_closed
    assert desk.show_home().rows == ()
    assert opened.bedside.give_outcome("not given").startswith("The record was closed by RA at 10:16")
    assert opened.bedside.add("reflux noted later by the parents") == ""
    assert opened.bedside.show_record().addenda == ("RA at 10:16: reflux noted later by the parents",)


def test_what_is_missing_is_said_and_keeps_the_record_open(opened: OpenPreparation) -> None:
    assert opened.bedside.do_step("t-piece-on") == ""
    missing = opened.bedside.show_record().missing
    assert "Device out: done, or left out and why" in missing
    assert {"Surfactant given: not recorded", "Outcome: not recorded", "Complications: which, or none"} <= set(missing)
    assert opened.bedside.sign(opened.bedside.show_record().standing).startswith("The record is not complete.")


def test_nothing_of_a_closed_record_can_be_given_anew_and_each_attempt_says_why(
    opened: OpenPreparation, clock: Clock
) -> None:
    complete(opened, clock)
    assert opened.bedside.sign(opened.bedside.show_record().standing) == ""
    option = opened.lines.show_options("surfactant")
    attempts = (
        opened.baby.give_fact("birth_weight", "1500"),
        opened.baby.confirm_weight("1450"),
        opened.lines.order("surfactant", option.choices[0][0] if option else "", "KM"),
        opened.lines.take_news(),
        opened.lines.tick("drape"),
    )
    assert all(attempts)
    assert "The record was closed by RA" in attempts[0]
    assert opened.session.state.cot_record.closed is not None


def test_an_addendum_is_for_a_closed_record_only(opened: OpenPreparation) -> None:
    assert opened.bedside.add("something") == "The record is open: enter it where it belongs."


def test_another_device_sees_the_step_and_cannot_do_it_again(make_desk: MakeDesk, clock: Clock) -> None:
    first = start(make_desk(who="RA"))
    answer_all(first)
    tick_all(first)
    check_all(first)
    assert first.ready.read_aloud() == ""
    other = make_desk(who="LB").resume(first.session.prep)
    assert not isinstance(other, str)
    assert first.bedside.do_step("t-piece-on") == ""
    assert other.bedside.do_step("t-piece-on").startswith("This step is done already, by RA")


def test_a_step_shows_the_amount_that_a_hand_needs_with_it(opened: OpenPreparation) -> None:
    rows = {row.step: row for row in opened.bedside.show_cot().steps}
    assert [line.show for line in rows["atropine-given"].lines] == ["0.58 mL"]
    assert rows["cpap-on"].lines == ()


def test_where_a_preparation_is_follows_the_team(opened: OpenPreparation, clock: Clock) -> None:
    assert opened.bedside.stage is Stage.COT
    assert opened.bedside.do_step("catheter-out") == ""
    assert opened.bedside.stage is Stage.COT
    clock.move(minutes=31)
    assert opened.bedside.stage is Stage.RECORD, "a follow-up is due"
    assert opened.bedside.come_back("another size") == ""
    assert opened.bedside.stage is Stage.TRAY


def test_what_has_ended_is_listed_with_how_it_ended(desk: Workstation, opened: OpenPreparation, clock: Clock) -> None:
    assert desk.show_ended().rows == ()
    complete(opened, clock)
    assert opened.bedside.sign(opened.bedside.show_record().standing, "KM") == ""
    row = desk.show_ended().rows[0]
    assert (row.cot, row.how, row.sign) == ("Cot 4", "closed by KM at 10:16", Sign.DONE)


def test_a_note_is_added_to_an_entry_and_keeps_what_was_noted_before(opened: OpenPreparation) -> None:
    assert opened.bedside.note_happening("stopped") == ""
    entry = opened.bedside.last_entry
    assert opened.bedside.add_note(entry, "") == "The note is empty: type it."
    assert opened.bedside.add_note(entry, "heart rate 70") == ""
    assert opened.bedside.add_note(entry, "intubated") == ""
    assert opened.bedside.show_record().timeline[0].note == "heart rate 70; intubated"
    assert opened.bedside.strike(entry, "wrong baby") == ""
    assert opened.bedside.add_note(entry, "more").startswith("It was struck out")


def test_what_has_ended_is_shown_a_page_at_a_time_the_last_ended_first(
    desk: Workstation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("prepkit.app.workstation._ROWS_A_PAGE", 2)
    opened = [start(desk, cot=f"Cot {cot}") for cot in range(1, 6)]
    for one in reversed(opened[1:]):
        assert one.ready.stand_down("not needed") == ""
    pages, before = [], None
    while True:
        view = desk.show_ended(before)
        pages.append([row.cot for row in view.rows])
        before = view.older
        if before is None:
            break
    assert pages == [["Cot 2", "Cot 3"], ["Cot 4", "Cot 5"]]
    assert opened[0].ready.stand_down("not needed") == ""
    assert [row.cot for row in desk.show_ended().rows] == ["Cot 1", "Cot 2"]
