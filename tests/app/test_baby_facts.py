"""The baby's facts at a desk, over a real store: when it was born, both weights, and what each of them asks again."""

from datetime import timedelta

import pytest
from workstation_scene import (
    KIT,
    Clock,
    MakeDesk,
    answer_all,
    check_all,
    find_row,
    list_lines,
    read_baby,
    start,
    tick,
    tick_all,
)

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.verification import verify_store
from prepkit.app.workstation import Workstation
from prepkit.preparation.readiness import About
from prepkit.view.models import Sign

IN_WORDS = "Was the baby born today? Say so on the list."


def list_done(opened: OpenPreparation) -> set[str]:
    return {line for line in list_lines(opened) if find_row(opened, line).sign is Sign.DONE}


def list_missing(opened: OpenPreparation, about: About) -> list[str]:
    return [words for words in opened.ready.show_ready().missing if getattr(words, "about", None) is about]


def give(opened: OpenPreparation, **typed: str) -> None:
    for fact, value in typed.items():
        assert opened.baby.give_fact(fact, value) == ""


def test_a_line_that_hangs_on_the_birth_waits_for_it_and_today_takes_no_tick(desk: Workstation) -> None:
    opened = start(desk, born="")
    refused = {line: tick(opened, line) for line in list_lines(opened)}
    asked = {line for line, refusal in refused.items() if "was the baby born today? Say so first." in refusal}
    assert {line for line, refusal in refused.items() if refusal} == asked
    assert asked >= {"airway-device", "gastric-tube"}
    assert not asked & {"surfactant", "drape"}
    assert list_missing(opened, About.BIRTH) == [IN_WORDS]
    assert opened.check.begin("TO").startswith("Was the baby born today? ")
    done = list_done(opened)
    give(opened, born="today")
    assert list_done(opened) == done
    assert list_missing(opened, About.BIRTH) == []
    for line in asked:
        assert tick(opened, line) == ""
    assert opened.check.begin("TO") == ""


def test_everything_as_shown_says_that_the_baby_was_born_today(desk: Workstation, clock: Clock) -> None:
    opened = start(desk, born="")
    assert opened.baby.confirm_facts() == ""
    assert opened.session.state.facts["born"] == f"{clock.now:%Y-%m-%d}"
    assert opened.session.work_out().baby.is_birth_assumed is False  # type: ignore[union-attr]


def test_past_midnight_a_birth_that_nobody_gave_is_asked_for_by_its_day(desk: Workstation, clock: Clock) -> None:
    opened = start(desk, born="")
    day = f"{clock.now:%Y-%m-%d}"
    for hours, asked in ((0, f"Born today, {clock.now:%d %b}?"), (22, f"Born {clock.now:%d %b}?")):
        clock.move(hours=hours)
        opened.session.refresh()
        question = opened.lines.show_list().birth
        assert question is not None
        assert (question.ask, question.today) == (asked, day)
    assert opened.baby.confirm_facts() == ""
    assert opened.session.state.facts["born"] == day


def test_a_day_of_age_reached_half_way_asks_for_the_weight_now_and_loses_no_tick(
    desk: Workstation, clock: Clock
) -> None:
    opened = start(desk, born="02:10")
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    assert opened.ready.show_ready().is_open
    done, seq = list_done(opened), opened.session.state.seq
    clock.move(hours=23, minutes=10)
    assert not opened.session.refresh()
    clock.move(minutes=1)
    assert opened.session.refresh()
    assert opened.session.state.seq == seq + 1
    assert (
        "Supraglottic airway: blocked, the weight now is not known: enter it first" in opened.ready.show_ready().missing
    )
    assert "blocked" in opened.lines.tick("airway-device")
    assert list_done(opened) < done
    assert list_done(opened) >= {"surfactant", "drape"}
    give(opened, weight_now="not weighed since")
    assert list_done(opened) == done
    checked = {row.line for row in opened.check.show_checked().rows if row.sign is Sign.DONE}
    assert checked >= {"airway-device", "surfactant"}
    # The checker read the birth weight and the day of birth; that it was not weighed since is new.
    assert opened.session.state.facts_unread == ("weight_now",)
    assert [each.about for each in opened.ready.show_ready().missing] == [About.CHECK]
    assert opened.check.begin("TO") == ""
    read_baby(opened)
    assert opened.check.show_check().field is None
    if opened.check.show_cover() is not None:
        assert opened.check.end() == ""
    assert opened.ready.show_ready().is_open, opened.ready.show_ready().missing


def test_a_reading_that_is_none_of_this_baby_is_refused_in_words(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.check.begin("TO") == ""
    assert "not to be read any more" in opened.check.enter_fact("weight_now", "1310")
    assert opened.check.enter_fact("born", "next week") != ""
    assert opened.session.state.check is not None


@pytest.mark.parametrize(("fact", "read"), [("birth_weight", "1310"), ("weight_now", "1450"), ("weight_now", "1301")])
def test_either_weight_that_differs_stops_everything_and_says_which(desk: Workstation, fact: str, read: str) -> None:
    opened = start(desk, born="yesterday")
    give(opened, weight_now="1310 on yesterday")
    assert opened.check.begin("TO") == ""
    for each in ("birth_weight", "weight_now"):
        if each != fact:
            assert opened.check.enter_fact(each, opened.session.state.facts[each]) == ""
            continue
        assert opened.check.enter_fact(each, read) == ""
        break
    withheld = opened.lines.show_list().withheld
    said = {"birth_weight": "birth weight", "weight_now": "weight now"}[fact]
    assert f"read {said} {read} g" in withheld
    assert f"whoever made the list enters the {said} again" in withheld
    give(opened, sex="girl")
    assert opened.lines.show_list().withheld == withheld
    give(opened, **{fact: opened.session.state.facts[fact]})
    assert opened.lines.show_list().withheld == ""
    assert fact in opened.session.state.facts_unread


def test_an_unlikely_birth_weight_then_an_unusual_change_are_asked_one_after_the_other(desk: Workstation) -> None:
    opened = start(desk, weight="2100", born="yesterday")  # 44 % over the middle of 30+2: unlikely
    give(opened, weight_now="1600")  # 76 % of 2100
    assert opened.lines.show_list().withheld.startswith("No amount is shown yet.")
    assert "differ" in opened.baby.confirm_weight("1600")
    assert opened.baby.confirm_weight("2100") == ""
    assert set(opened.session.state.confirmations) == {"birth_weight"}
    assert opened.lines.show_list().withheld == ""
    worked = opened.session.work_out()
    assert worked.change is not None
    assert (worked.change.birth_g, worked.change.now_g) == (2100, 1600)
    done = tick_what_can_be(opened)
    assert opened.baby.refuse_weight_again("2100") != ""
    assert opened.baby.confirm_weight("1600") == ""
    assert list_done(opened) == done, "it withholds nothing and takes nothing"
    assert opened.session.work_out().change is None
    assert opened.baby.confirm_weight("1600") == "The weight needs no confirmation any more."
    give(opened, weight_now="1601")
    assert set(opened.session.state.confirmations) == {"birth_weight"}
    assert opened.session.work_out().change is not None
    assert opened.baby.confirm_weight("1601") == ""
    give(opened, birth_gestation="30+1")
    assert set(opened.session.state.confirmations) == {"weight_now"}, "the change is not held against the gestation"
    assert opened.baby.confirm_weight("2100") == ""
    give(opened, born="2026-11-23")
    assert set(opened.session.state.confirmations) == {"birth_weight"}, "the change was judged for another age"


def tick_what_can_be(opened: OpenPreparation) -> set[str]:
    for line in list_lines(opened):
        opened.lines.tick(line)
    return list_done(opened)


@pytest.mark.parametrize(
    ("facts", "confirmed", "again"),
    [
        ({"birth_weight": "not known", "weight_now": "1450", "birth_gestation": "30+2"}, "weight_now", "1450"),
        ({"birth_weight": "1450", "birth_gestation": "not known"}, "birth_weight", "1450"),
    ],
)
def test_what_nobody_knows_withholds_the_list_until_the_weight_is_entered_again(
    desk: Workstation, facts: dict[str, str], confirmed: str, again: str
) -> None:
    opened = desk.start(KIT, "Cot 4")
    assert not isinstance(opened, str), opened
    give(opened, **facts, born="today")
    assert opened.lines.show_list().groups == ()
    assert opened.baby.refuse_weight_again("1540") != ""
    assert opened.baby.confirm_weight(again) == ""
    assert set(opened.session.state.confirmations) == {confirmed}
    assert opened.lines.show_list().groups != ()
    give(opened, birth_weight="1460", birth_gestation="30+2")
    assert opened.session.state.confirmations == {}


def test_without_a_birth_weight_the_weight_now_is_needed_and_not_weighed_since_is_none(desk: Workstation) -> None:
    opened = desk.start(KIT, "Cot 4")
    assert not isinstance(opened, str), opened
    give(opened, birth_weight="not known", weight_now="not weighed since", birth_gestation="30+2")
    assert opened.lines.show_list().withheld == "The weight now is needed for the list."


def test_a_record_of_some_days_comes_out_the_same_again_and_nobody_wrote_a_list_meanwhile(
    make_desk: MakeDesk, clock: Clock
) -> None:
    desk = make_desk()
    opened = start(desk, gestation="28+6", born="")
    give(opened, born="02:10")
    lists = []
    for _ in range(80):
        clock.move(hours=1)
        if opened.session.refresh():
            lists.append(clock.now)
    give(opened, weight_now="1390", birth_weight="1440", born="2026-11-24 23:59")
    # 29+0 at midnight is another mask's, a day of age asks for the weight now; no other hour changes anything.
    assert [(each.day, each.hour) for each in lists] == [(26, 0), (26, 3)]
    clock.move(days=9)
    found = verify_store(make_desk().store)
    assert (found.chain, found.wrong) == ((), ())


def test_a_preparation_resumed_on_another_desk_has_the_very_same_list(make_desk: MakeDesk, clock: Clock) -> None:
    opened = start(make_desk(), born="yesterday")
    give(opened, weight_now="1390")
    clock.now += timedelta(hours=1)
    other = make_desk(who="KM").resume(opened.session.prep)
    assert not isinstance(other, str), other
    seq = opened.session.state.seq
    assert other.session.state.seq == seq
    assert [list_lines(other), other.session.work_out().baby] == [list_lines(opened), opened.session.work_out().baby]
