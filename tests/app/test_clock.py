"""The machine's own zone, with its changes of the clocks: London's, on the nights of 2026 when they change."""

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workstation_scene import Clock, MakeDesk, answer_all, check_all, find_row, start, tick_all

from prepkit.app.clock import HERE, fix_offset, read_clock
from prepkit.app.staff import StaffList
from prepkit.people.decide import NO_MATCH
from prepkit.people.pin import Pin
from prepkit.people.staff import TRIES_BEFORE_WAIT

LONDON = ZoneInfo("Europe/London")


@pytest.fixture(scope="module", autouse=True)
def london() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "Europe/London")
        time.tzset()
        yield
    time.tzset()


@given(st.datetimes(datetime(2025, 1, 1), datetime(2027, 12, 31), timezones=st.just(UTC)))  # noqa: DTZ001
def test_the_machines_zone_tells_every_moment_as_its_rules_do(moment: datetime) -> None:
    here, there = moment.astimezone(HERE), moment.astimezone(LONDON)
    assert (here.isoformat(), here.fold, here.tzname()) == (there.isoformat(), there.fold, there.tzname())
    assert here.astimezone(UTC) == moment
    assert fix_offset(here) == moment


@pytest.mark.parametrize("night", ["2026-10-25", "2026-03-29"])
def test_every_minute_of_a_night_on_which_the_clocks_change_reads_as_its_rules_do(night: str) -> None:
    for minute in range(240):
        wall = datetime.fromisoformat(night) + timedelta(minutes=minute)
        for fold in (0, 1):
            here, there = (wall.replace(tzinfo=zone, fold=fold) for zone in (HERE, LONDON))
            assert (wall, fold, here.utcoffset()) == (wall, fold, there.utcoffset())


def test_the_clock_carries_the_zone_and_a_stamp_its_offset_alone(make_desk: MakeDesk, clock: Clock) -> None:
    assert read_clock().tzinfo is HERE
    clock.now = datetime(2026, 10, 25, 1, 30, tzinfo=HERE, fold=1)
    stamp = make_desk().identity.make_attribution()
    assert stamp.at.isoformat() == "2026-10-25T01:30:00+00:00"
    assert stamp.at == datetime.fromisoformat(stamp.at.isoformat())


def test_a_dose_given_before_the_clocks_went_back_is_due_at_the_right_hour(make_desk: MakeDesk, clock: Clock) -> None:
    clock.now = datetime(2026, 10, 25, 6, 30, tzinfo=HERE)
    opened = start(make_desk(), born="2026-10-24 13:00")
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 2026-10-24 20:00") == ""
    assert "may be given from 07:00 on 25 Oct" in find_row(opened, "surfactant").note
    clock.move(minutes=30)
    opened.session.refresh()
    assert find_row(opened, "surfactant").note == "" or "may be given" not in find_row(opened, "surfactant").note


def test_a_time_that_was_twice_is_refused_at_the_desk_with_what_to_write(make_desk: MakeDesk, clock: Clock) -> None:
    clock.now = datetime(2026, 10, 25, 6, 30, tzinfo=HERE)
    opened = start(make_desk())
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 01:30") == (
        "25 Oct 01:30 was twice, as the clocks went back: "
        'write which was meant: "2026-10-25 01:30+01:00" or "2026-10-25 01:30+00:00"'
    )
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 2026-10-25 01:30+01:00") == ""


def test_a_list_worked_out_an_hour_ago_by_the_same_clock_face_is_not_taken_for_a_new_one(
    make_desk: MakeDesk, clock: Clock
) -> None:
    clock.now = datetime(2026, 10, 25, 1, 30, tzinfo=HERE)
    opened = start(make_desk(), born="2026-10-24 13:00")
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 2026-10-24 14:00") == ""
    assert "may be given from 01:00+00:00 on 25 Oct" in find_row(opened, "surfactant").note
    clock.now = datetime(2026, 10, 25, 1, 30, 2, tzinfo=HERE, fold=1)
    opened.session.refresh()
    assert find_row(opened, "surfactant").show


def test_a_clock_set_back_past_an_earlier_dose_blocks_its_line_and_keeps_the_rest(
    make_desk: MakeDesk, clock: Clock
) -> None:
    opened = start(make_desk())
    assert opened.baby.give_fact("earlier_surfactant", "poractant-alfa, 200 mg/kg, 02:59") == ""
    assert opened.lines.tick("drape") == ""
    clock.move(minutes=-30)
    opened.session.refresh()
    assert "which has not been yet by this clock (02:30)" in find_row(opened, "surfactant").note
    assert find_row(opened, "drape").sign.name == "DONE"


def test_times_at_the_cot_are_counted_across_a_change_of_the_clocks(make_desk: MakeDesk, clock: Clock) -> None:
    clock.now = datetime(2026, 10, 25, 0, 50, tzinfo=HERE)
    opened = start(make_desk())
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    assert opened.ready.read_aloud() == ""
    clock.now = datetime(2026, 10, 25, 1, 40, tzinfo=HERE)
    assert opened.bedside.do_step("catheter-out") == ""
    (due,) = [
        row.at for row in opened.session.state.cot_record.dues.values() if row.at < clock.now + timedelta(hours=1)
    ][:1]
    assert due.isoformat() == "2026-10-25T02:10:00+01:00"  # half an hour later, which the wall shows as 01:10
    # The clocks have gone back: 01:50 was twenty minutes ago, and will be again.
    clock.now = datetime(2026, 10, 25, 1, 10, tzinfo=HERE, fold=1)
    entry = next(row.entry for row in opened.bedside.show_cot().steps if row.step == "catheter-out")
    assert opened.bedside.correct_time(entry, "01:50") == ""
    found = opened.session.state.cot_record.find_step("catheter-out")
    assert found is not None
    assert found.at.isoformat() == "2026-10-25T01:50:00+01:00"
    assert opened.bedside.show_record().follow_ups[0].word == "due 01:20"


def test_a_wait_after_wrong_pins_is_not_begun_again_by_the_clocks_going_back(make_desk: MakeDesk, clock: Clock) -> None:
    clock.now = datetime(2026, 10, 25, 1, 59, 30, tzinfo=HERE)
    staff = StaffList(make_desk().store, clock, "office")
    assert staff.add("KM", "registrar", Pin("4711"), "admin") == ""
    for _ in range(TRIES_BEFORE_WAIT):
        assert staff.try_pin("KM", Pin("4712")) == NO_MATCH
    clock.now = datetime(2026, 10, 25, 1, 0, 31, tzinfo=HERE, fold=1)  # 61 s later, and the wait is a minute
    assert staff.try_pin("KM", Pin("4711")) == ""
