"""Doses given before: by touch alone and by keys alone on the smallest screen; whose those under a cot label were."""

from hands import Hands, begin, move_to, place, row_of, run, see, settle, touch_button, touch_keys, touch_row, type_in
from workstation_scene import Clock, answer_all, check_all, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.models import Sign

SMALL = (40, 20)
FACT = "earlier_surfactant"


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


def find_only(desk: Workstation) -> OpenPreparation:
    opened = desk.resume(desk.show_home().rows[0].prep)
    assert isinstance(opened, OpenPreparation), opened
    return opened


async def test_a_dose_is_added_and_taken_off_by_touch_alone(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await begin(pilot, "ra", "Cot 4", "1450", "30+2")
        await touch_button(pilot, "baby")
        row = row_of(pilot, FACT)
        assert (row.text.show, row.text.note) == ("none", "default, not confirmed")
        await touch_row(pilot, FACT)
        await touch_row(pilot, "add")
        await touch_row(pilot, "poractant-alfa")
        await touch_keys(pilot, "250")
        assert "Poractant alfa: 250 of what?" in words(pilot)
        await touch_row(pilot, "mg")
        await touch_row(pilot, "2026-11-24")
        await touch_keys(pilot, "20:00")
        assert "Poractant alfa, 250 mg, 24 Nov 20:00: take it off" in words(pilot)
        await touch_row(pilot, "done")
        assert place(pilot) == "baby"
        assert row_of(pilot, FACT).text.show == "Poractant alfa, 250 mg, 24 Nov 20:00"
        await touch_row(pilot, FACT)
        await touch_row(pilot, "0 poractant-alfa, 250 mg, 2026-11-24T20:00+01:00")
        assert "Take it off? It counts no longer." in words(pilot)
        await touch_row(pilot, "off")
        await touch_row(pilot, "none")
        row = row_of(pilot, FACT)
        assert (row.text.show, row.text.note) == ("none", "")


async def test_a_dose_of_which_nothing_is_known_is_added_by_keys_alone(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await begin(pilot, "ra", "Cot 4", "1450", "30+2")
        await type_in(pilot, "b")
        await move_to(pilot, FACT)
        await type_in(pilot, "", "enter")
        await move_to(pilot, "add")
        await type_in(pilot, "", "enter")
        await move_to(pilot, "not known")
        await type_in(pilot, "", "enter")
        await pilot.press("tab")
        await touch_button(pilot, "other")
        await move_to(pilot, "not known")
        await type_in(pilot, "", "enter")
        assert "product not known, amount not known, time not known: take it off" in words(pilot)
        await type_in(pilot, "", "escape")
        assert "On which day?" in words(pilot)
        await type_in(pilot, "", "enter")
        assert "take it off" in words(pilot), "what was added is not added again by going back"
        await type_in(pilot, "", "escape", "escape", "escape", "escape", "escape")
    assert find_only(desk).session.state.facts[FACT] == "not known, not known, not known"


async def test_what_cannot_be_is_said_where_it_is_typed_and_going_back_asks_again(desk: Workstation) -> None:
    async with run(desk, SMALL) as pilot:
        await begin(pilot, "ra", "Cot 4", "1450", "30+2")
        await type_in(pilot, "b")
        await touch_row(pilot, FACT)
        await touch_row(pilot, "add")
        await touch_row(pilot, "poractant-alfa")
        await touch_keys(pilot, "0")
        assert "is not a dose" in words(pilot)
        await type_in(pilot, "", "backspace", "3", ".", "2", "enter")
        await touch_row(pilot, "mL")
        await touch_row(pilot, "2026-11-25")
        await touch_keys(pilot, "03:50")
        assert "has not been yet by this clock" in words(pilot)
        await type_in(pilot, "", "escape")
        await touch_row(pilot, "2026-11-24")
        await touch_keys(pilot, "03:50")
    assert find_only(desk).session.state.facts[FACT] == "poractant-alfa, 3.2 mL, 2026-11-24T03:50+01:00"


def give_one(desk: Workstation, clock: Clock) -> None:
    """A preparation for Cot 7 whose dose was given at 03:12."""
    desk.identity.who = "RA"
    opened = start(desk, cot="Cot 7")
    answer_all(opened)
    tick_all(opened)
    check_all(opened)
    assert opened.ready.read_aloud() == ""
    for step in opened.bedside.show_cot().steps:
        assert opened.bedside.do_step(step.step) == ""
    assert opened.bedside.give_reading("afterwards", "volume_given", "3.6") == ""
    clock.move(minutes=30)


async def test_whose_dose_it_was_is_one_touch_on_top_of_the_list(desk: Workstation, clock: Clock) -> None:
    give_one(desk, clock)
    desk.identity.who = "RA"
    opened = start(desk, cot="Cot 7")
    async with run(desk, SMALL) as pilot:
        await settle(pilot)
        await move_to(pilot, opened.session.prep)
        await type_in(pilot, "", "enter")
        assert place(pilot) == "list"
        said = words(pilot).replace("Yes No \N{LOWER ONE EIGHTH BLOCK} ", "")
        assert all(each in said for each in ("? Poractant alfa, 3.6 mL", "at 03:12 under Cot 7. The same baby?"))
        await touch_button(pilot, "answer_yes")
        assert "same baby" not in words(pilot)
        assert row_of(pilot, "line surfactant").text.sign == Sign.BLOCKED


async def test_another_baby_by_a_key_had_none(desk: Workstation, clock: Clock) -> None:
    give_one(desk, clock)
    desk.identity.who = "RA"
    opened = start(desk, cot="Cot 7")
    assert opened.baby.give_fact("born", "today") == ""
    async with run(desk, SMALL) as pilot:
        await settle(pilot)
        await move_to(pilot, opened.session.prep)
        await type_in(pilot, "", "enter")
        await type_in(pilot, "a")
        assert "same baby" not in words(pilot)
        assert row_of(pilot, "line surfactant").text.show == "3.6 mL"


def test_whole_containers_are_all_of_them_and_a_plunger_stands_at_a_mark_alone(desk: Workstation) -> None:
    desk.identity.who = "RA"
    opened = start(desk)
    line = opened.lines.show_line("surfactant")
    assert line is not None
    assert [picture(40).words.partition(":")[0] for picture in line.pictures] == ["3.6 mL", "3 mL + 1.5 mL opened"]
    assert opened.lines.order("surfactant", "poractant-alfa 3 mL", "KM") == ""
    line = opened.lines.show_line("surfactant")
    assert line is not None
    said = [picture(40).words for picture in line.pictures]
    assert said[-1] == "All of 3 mL: 3 mL used, nothing discarded."
    assert said[0].startswith("3 mL: "), "3 mL is on a mark of the one syringe that holds it"
