"""Which baby: with no birth weight, no gestation, weighed today, not weighed since; born today or earlier."""

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hands import (
    KIT,
    Hands,
    begin,
    find_touched,
    move_to,
    place,
    row_of,
    run,
    see,
    touch_button,
    touch_keys,
    touch_row,
    type_in,
)
from workstation_scene import answer_all, check_all, start, tick_all

from prepkit.app.clock import read_clock
from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.cli.main import main
from prepkit.documents.list_json import write_list_json
from prepkit.paths import find_shipped
from prepkit.store import open_sqlite
from prepkit.tui.screens.list import ListScreen
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.field import Field
from prepkit.view.models import Sign

SMALL = (40, 20)
BORN, YESTERDAY, DAY_3 = "2026-11-25", "2026-11-24", "2026-11-22"


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


def find_only(desk: Workstation) -> OpenPreparation:
    opened = desk.resume(desk.show_home().rows[0].prep)
    assert isinstance(opened, OpenPreparation), opened
    return opened


def details(pilot: Hands, line: str) -> tuple[str, ...]:
    return row_of(pilot, f"line {line}").text.details


def sign(pilot: Hands, line: str) -> str:
    return row_of(pilot, f"line {line}").text.sign


async def test_no_birth_weight_is_one_touch_and_the_weight_now_is_asked_at_once(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await touch_button(pilot, "other")
        assert "What does the baby weigh now, in grams?" in words(pilot)
        assert not [each for each in pilot.app.screen.query(Button) if each.name == "other" and each.display], (
            "there has to be one weight"
        )
        await touch_keys(pilot, "1310")
        await touch_keys(pilot, "30+2")
        assert "Weight now again" in see(pilot), "nothing tells a slip"
        await touch_keys(pilot, "1310")
        assert place(pilot) == "list"
        assert "birth not known, now 1310 g · 30+2" in see(pilot)
        assert details(pilot, "surfactant")[0] == "by the weight now: the birth weight is not known"
        await touch_row(pilot, "line surfactant", sign=True)
        assert sign(pilot, "surfactant") == Sign.DONE


async def test_no_birth_weight_is_said_once_of_what_is_read_aloud(desk: Workstation) -> None:
    desk.identity.who = "RA"
    opened = desk.start(KIT, "Cot 4")
    assert not isinstance(opened, str)
    for fact, typed in (("birth_weight", "not known"), ("weight_now", "1310"), ("birth_gestation", "30+2")):
        assert opened.baby.give_fact(fact, typed) == ""
    assert opened.baby.confirm_weight("1310") == ""
    assert opened.baby.give_fact("born", "today") == ""
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    first, *rest = opened.ready.show_ready().summary
    second = next(words for words in rest if words.startswith("The birth weight is not known. By the weight now: "))
    assert first.startswith("Cot 4: birth not known, now 1310 g · 30+2.")
    assert "Surfactant" in second
    assert [words for words in rest if "not known" in words] == [second]
    assert any("Checked blind by TO: birth weight and weight now; " in line for line in rest)


async def test_no_gestation_leaves_what_needs_it_blocked_and_no_more(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await begin(pilot, "ra", "Cot 4", "1450")
        await touch_button(pilot, "other")
        await touch_keys(pilot, "1450")
        assert place(pilot) == "list"
        assert "1450 g · gestation not known" in see(pilot)
        blocked = {row.id for group in find_only(desk).lines.show_list().groups for row in group.lines
                   if row.sign == Sign.BLOCKED}  # fmt: skip
        assert "airway-device" in blocked
        assert "surfactant" not in blocked
        await touch_row(pilot, "line surfactant", sign=True)
        assert sign(pilot, "surfactant") == Sign.DONE


async def test_going_back_after_not_known_asks_for_the_birth_weight_again(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await begin(pilot, "ra", "Cot 4")
        await touch_button(pilot, "other")
        await type_in(pilot, "", "escape")
        assert "What did the baby weigh at birth, in grams?" in words(pilot)
        await touch_keys(pilot, "1450")
        assert "What was the gestation at birth" in words(pilot)


@pytest.mark.usefixtures("unborn")
async def test_born_today_is_one_touch_and_the_question_is_gone(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter")
        assert "Born today, 25 Nov?" in words(pilot)
        assert details(pilot, "airway-device")[0] == "if born today"
        buttons = [find_touched(pilot, name) for name in ("answer_yes", "answer_other")]
        assert [(button.region.height, button.region.width >= 9) for button in buttons] == [(3, True)] * 2
        await touch_button(pilot, "answer_yes")
        assert "Born today" not in words(pilot)
        assert "if born today" not in details(pilot, "airway-device")
        state = find_only(desk).session.state
        assert state.facts["born"] == BORN


@pytest.mark.usefixtures("unborn")
async def test_enter_never_answers_whether_the_baby_was_born_today(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter")
        await type_in(pilot, "", *["up"] * 5, "enter", "escape", "enter")
    assert "born" not in find_only(desk).session.state.facts


@pytest.mark.usefixtures("unborn")
async def test_earlier_asks_the_day_then_the_weight_now_then_of_which_day_it_is(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter")
        await touch_button(pilot, "answer_other")
        assert "today, Wed 25 Nov" not in see(pilot)
        assert "yesterday, Tue 24 Nov" in see(pilot)
        await touch_row(pilot, DAY_3)
        assert "What does the baby weigh now, in grams?" in words(pilot)
        await touch_keys(pilot, "1310")
        assert "Of which day is that weight?" in see(pilot)
        await touch_row(pilot, YESTERDAY)
        assert place(pilot) == "list"
        assert "birth 1450, now 1310 g · 30+2" in see(pilot)
        facts = find_only(desk).session.state.facts
        assert (facts["born"], facts["weight_now"]) == (DAY_3, f"1310 on {YESTERDAY}")
        await type_in(pilot, "b")
        assert "Gestation today 30+5 · Age 51–75 h" in see(pilot)
        await pilot.resize_terminal(80, 24)
        await type_in(pilot, "")
        assert "30+2, today 30+5" in see(pilot)


@pytest.mark.usefixtures("unborn")
async def test_not_weighed_since_is_one_touch_and_the_weight_at_birth_stands(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "a")
        await touch_row(pilot, DAY_3)
        await touch_button(pilot, "other")
        assert place(pilot) == "list"
        assert "1450 g · 30+2" in see(pilot)
        assert find_only(desk).session.state.facts["weight_now"] == "not weighed since"
        await touch_row(pilot, "line surfactant", sign=True)
        assert sign(pilot, "surfactant") == Sign.DONE


@pytest.mark.usefixtures("unborn")
async def test_a_day_longer_ago_is_typed_and_so_is_a_time(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "a")
        await touch_row(pilot, "type it")
        await touch_keys(pilot, "2026-11-10")
        await touch_button(pilot, "other")
        assert find_only(desk).session.state.facts["born"] == "2026-11-10"
        await type_in(pilot, "b")
        await move_to(pilot, "born")
        await type_in(pilot, "", "enter")
        await touch_row(pilot, "type it")
        await touch_keys(pilot, "02:10")
        assert find_only(desk).session.state.facts["born"] == "2026-11-25T02:10+01:00"
        assert "Age 1 h" in see(pilot)


@pytest.mark.usefixtures("unborn")
async def test_weight_now_left_open_is_said_above_the_list_and_entered_from_there(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "a")
        await touch_row(pilot, DAY_3)
        await type_in(pilot, "", "escape", "escape")
        assert place(pilot) == "list"
        assert "birth 1450, now ? g" in see(pilot)
        assert "Weight now to enter" in words(pilot)
        assert sign(pilot, "airway-device") == Sign.BLOCKED
        assert sign(pilot, "surfactant") == Sign.TO_DO
        await touch_row(pilot, "wanted")
        await touch_keys(pilot, "1310")
        await touch_row(pilot, BORN)
        assert "Weight now to enter" not in words(pilot)
        assert sign(pilot, "airway-device") == Sign.TO_DO


@pytest.mark.usefixtures("unborn")
async def test_ticking_what_hangs_on_the_birth_asks_first_and_then_ticks(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter")
        await touch_row(pilot, "line airway-device", sign=True)
        assert "When was the baby born?" in words(pilot)
        await type_in(pilot, "", "escape")
        assert sign(pilot, "airway-device") == Sign.TO_DO
        await move_to(pilot, "line airway-device")
        await type_in(pilot, "", "space")
        await touch_row(pilot, BORN)
        assert place(pilot) == "list"
        assert sign(pilot, "airway-device") == Sign.DONE


async def test_a_line_that_the_answer_changes_is_looked_at_again_before_its_tick(
    desk: Workstation, unborn: OpenPreparation
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter")
        assert row_of(pilot, "line atropine").text.show == "0.58 mL"
        await touch_row(pilot, "line atropine", sign=True)
        await touch_row(pilot, DAY_3)
        await touch_keys(pilot, "1310")
        await touch_row(pilot, BORN)
        message = words(pilot).replace("│ │ ", "")
        assert "Atropine changed by that: look at it again, then tick it." in message
        assert "birth 1450, now 1310 g" in message, "the banner is the changed baby's"
        await type_in(pilot, "", "enter")
        assert row_of(pilot, "line atropine").text.show == "0.52 mL"
        assert sign(pilot, "atropine") == Sign.TO_DO
        await touch_row(pilot, "line atropine", sign=True)
        assert sign(pilot, "atropine") == Sign.DONE


async def test_a_weight_unlike_that_at_birth_is_asked_again_and_withholds_nothing(
    desk: Workstation, unborn: OpenPreparation
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "a")
        await touch_row(pilot, YESTERDAY)
        await touch_keys(pilot, "1150")
        await touch_row(pilot, BORN)
        assert "1150 g now is 79 % of the birth weight of 1450 g, outside 85–105 %." in words(pilot)
        await type_in(pilot, "", "escape")
        assert place(pilot) == "list"
        assert sign(pilot, "surfactant") == Sign.TO_DO
        await type_in(pilot, "b")
        assert "? 1150 g now is 79 %" in words(pilot)
        await touch_button(pilot, "onward")
        await touch_keys(pilot, "1105")
        assert "The two entries differ: 1150 first, then 1105." in words(pilot)
        await type_in(pilot, "", *["backspace"] * 4)
        await touch_keys(pilot, "1150")
        assert place(pilot) == "baby"
        assert "79 %" not in see(pilot)
    unborn.session.refresh()
    assert unborn.session.state.confirmations["weight_now"].facts["weight_now"] == f"1150 on {BORN}"


async def test_who_checks_reads_both_weights_blind_and_then_works(desk: Workstation) -> None:
    desk.identity.who = "RA"
    opened = start(desk)
    for fact, typed in (("born", DAY_3), ("weight_now", "1310 on yesterday")):
        assert opened.baby.give_fact(fact, typed) == ""
    answer_all(opened)
    tick_all(opened)
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "c", *"to", "enter")
        for asked, typed in (
            ("Read the birth weight off the notes", "1450"),
            ("Read the weight now off the cot", "1310"),
        ):
            assert asked in words(pilot)
            assert not [secret for secret in ("1450", "1310", "22 Nov") if secret in see(pilot)]
            assert pilot.app.screen.query_one(Field).typed == ""
            await touch_keys(pilot, typed)
        assert "1 of " in see(pilot)
        assert not [secret for secret in ("1450", "1310", "22 Nov") if secret in see(pilot)]


async def test_who_checks_reads_that_it_was_not_weighed_since_and_the_day_of_birth(desk: Workstation) -> None:
    desk.identity.who = "RA"
    opened = start(desk)
    for fact, typed in (("born", DAY_3), ("weight_now", "not weighed since")):
        assert opened.baby.give_fact(fact, typed) == ""
    answer_all(opened)
    tick_all(opened)
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "c", *"to", "enter")
        await touch_keys(pilot, "1450")
        await touch_button(pilot, "other")
        await touch_row(pilot, YESTERDAY)
        assert place(pilot) == "list"
        assert f"TO at 03:12 read day of birth {YESTERDAY}" in words(pilot)
        await touch_button(pilot, "facts")
        assert "Look at the notes together. When was the baby born?" in words(pilot)


GIVEN = {
    "newborn": (("birth_weight", "1450"), ("birth_gestation", "30+2")),
    "weighed": (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("born", "{ago}"), ("weight_now", "1380")),
    "unweighed": (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("born", "{ago}"),
                  ("weight_now", "not weighed since")),
}  # fmt: skip


@pytest.mark.parametrize("name", GIVEN)
async def test_the_list_is_the_same_by_screen_by_flag_and_resumed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    now = read_clock()
    ago = (now - timedelta(days=3)).date().isoformat()
    given = [(fact, typed.format(ago=ago)) for fact, typed in GIVEN[name]]
    ward = find_shipped("demo") / "ward.toml"
    store = open_sqlite(tmp_path / "store.sqlite")
    desk = Workstation(store, WorkstationFiles(ward, None), who="RA", clock=lambda: now)
    async with run(desk, SMALL) as pilot:
        await give_on_the_screen(pilot, given, now)
        assert isinstance(pilot.app.screen, ListScreen)
        shown = make_json(pilot.app.screen.prep)
    resumed = make_json(find_only(Workstation(store, WorkstationFiles(ward, None), who="KM", clock=lambda: now)))
    flags = [part for fact, typed in given for part in (f"--{fact.replace('_', '-')}", typed)]
    main(["list", "--format", "json", "--ward", str(ward), *flags, KIT])
    flagged = drop_moment(json.loads(capsys.readouterr().out))
    store.close()
    assert shown == resumed
    assert shown == flagged


async def give_on_the_screen(pilot: Hands, given: list[tuple[str, str]], now: datetime) -> None:
    facts = dict(given)
    await type_in(pilot, "n")
    await move_to(pilot, KIT)
    await type_in(pilot, "", "enter")
    for typed in ("Cot 4", facts["birth_weight"], facts["birth_gestation"]):
        await type_in(pilot, typed, "enter")
    if "born" not in facts:
        return
    await touch_button(pilot, "answer_other")
    await touch_row(pilot, facts["born"])
    if facts["weight_now"].isdigit():
        await touch_keys(pilot, facts["weight_now"])
        await touch_row(pilot, now.date().isoformat())
    else:
        await touch_button(pilot, "other")


def make_json(opened: OpenPreparation) -> dict[str, object]:
    tray = opened.session.work_out().tray
    assert tray is not None
    return drop_moment(json.loads(write_list_json(tray)))


def drop_moment(made: dict[str, object]) -> dict[str, object]:
    """The list without its age: the command's clock may have gone on by a minute."""
    baby = made["baby"]
    assert isinstance(baby, dict)
    return {**made, "baby": {fact: value for fact, value in baby.items() if not fact.startswith("age")}}
