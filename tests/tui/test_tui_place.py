"""Opening where somebody was: each screen, how far it was scrolled, and what is not there any more."""

from datetime import timedelta
from importlib import import_module
from pkgutil import iter_modules

import pytest
from cot_scene import Clock as CotClock
from cot_scene import complete, do_all
from hands import begin, let_idle, move_to, place, run, see, settle, touch_keys, touch_row, type_in
from tui_samples import STAFF
from workstation_scene import Clock, check_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui import screens
from prepkit.tui.app import PrepkitApp
from prepkit.tui.place import HOME, REOPENED, Place, find_place, read_place, write_place
from prepkit.tui.screens.preparation import PreparationScreen

SIZE = (40, 24)


async def look_again(desk: Workstation, at: Place) -> tuple[str, Place | None, str]:
    """Open a new app at a place: the screen shown, the place it then says it is at, and its text."""
    async with PrepkitApp(desk, at).run_test(size=SIZE) as pilot:
        await pilot.pause(0.4)
        await settle(pilot)
        return place(pilot), find_place(pilot.app, desk), see(pilot)


async def leave_and_look(desk: Workstation, way: tuple[str, ...], screen: str) -> Place:
    """Go a way from home, leave, and start anew: the same screen of the same place, with the same text."""
    async with run(desk, SIZE) as pilot:
        for key in way:
            await (move_to(pilot, key.removeprefix("to ")) if key.startswith("to ") else type_in(pilot, "", key))
        await pilot.pause(0.2)
        left, on, text = find_place(pilot.app, desk), place(pilot), see(pilot)
    assert on == screen
    assert left is not None
    assert left.who == "RA"
    desk.identity.who = ""
    assert await look_again(desk, read_place(write_place(left))) == (on, left, text)
    return left


WAYS_AT_THE_TRAY = {
    "list": ("enter",),
    "baby": ("enter", "b"),
    "suitability": ("enter", "s"),
    "ready": ("enter", "r"),
    "line": ("enter", "to line atropine", "enter"),
    "labels": ("enter", "e"),
    "handover": ("enter", "enter"),
}
WAYS_AT_THE_COT = {
    "cot": (),
    "step": ("enter",),
    "entry": ("to step t-piece-on", "enter"),
    "happening": ("e",),
    "rescue": ("r",),
    "record": ("t",),
}


@pytest.mark.parametrize("screen", WAYS_AT_THE_TRAY)
async def test_a_new_program_opens_on_the_screen_that_was_left(
    desk: Workstation, begun: OpenPreparation, screen: str
) -> None:
    if screen == "handover":
        assert begun.handover.hand_over("catheter still to mark") == ""
    left = await leave_and_look(desk, WAYS_AT_THE_TRAY[screen], screen)
    assert left.under == ""


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("way", "screen"), [(("enter", "c"), "checked"), (("enter", "c", "down", "enter"), "difference")]
)
async def test_it_does_so_after_a_check_that_differs(
    desk: Workstation, done: OpenPreparation, way: tuple[str, ...], screen: str
) -> None:
    check_all(done, wrong={"surfactant": "3.2"})
    await leave_and_look(desk, way, screen)


@pytest.mark.parametrize(
    "screen", [pytest.param(each, marks=() if each == "entry" else pytest.mark.thorough) for each in WAYS_AT_THE_COT]
)
async def test_it_does_so_at_the_cot_with_the_cot_behind_it(
    desk: Workstation, checked: OpenPreparation, screen: str
) -> None:
    assert checked.ready.read_aloud() == ""
    assert checked.bedside.do_step("t-piece-on") == ""
    left = await leave_and_look(desk, ("enter", *WAYS_AT_THE_COT[screen]), screen)
    assert left.under == ("" if screen == "cot" else "cot")


@pytest.mark.thorough
@pytest.mark.parametrize(("way", "screen"), [((), "record"), (("to complications", "enter"), "complications")])
async def test_it_does_so_afterwards(
    desk: Workstation, checked: OpenPreparation, way: tuple[str, ...], screen: str
) -> None:
    assert checked.ready.read_aloud() == ""
    do_all(checked, CotClock(desk))
    left = await leave_and_look(desk, ("enter", *way), screen)
    assert left.under == ("" if screen == "record" else "record")


async def test_a_record_that_was_looked_at_again_is_shown_again(desk: Workstation, checked: OpenPreparation) -> None:
    assert checked.ready.read_aloud() == ""
    complete(checked, CotClock(desk))
    assert checked.bedside.sign(checked.bedside.show_record().standing) == ""
    left = await leave_and_look(desk, ("e", "enter"), "record")
    assert left.under == "ended"


async def test_a_screen_over_the_gate_comes_back_with_the_gate_behind_it(
    desk: Workstation, begun: OpenPreparation
) -> None:
    left = await leave_and_look(desk, ("enter", "r", "enter"), "suitability")
    assert left.under == "ready"


async def test_who_has_come_back_from_the_cot_meanwhile_opens_on_the_list(
    desk: Workstation, checked: OpenPreparation
) -> None:
    assert checked.ready.read_aloud() == ""
    assert checked.bedside.do_step("t-piece-on") == ""
    left = Place("RA", checked.session.prep, "entry", "1", under="cot")
    assert checked.bedside.come_back("Wrong baby") == ""
    on, _, text = await look_again(desk, left)
    assert on == "list"
    assert "Cot 4" in text


async def test_a_list_scrolled_away_from_its_mark_opens_as_it_was_scrolled(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SIZE) as pilot:
        await type_in(pilot, "", "enter")
        body = pilot.app.screen.query_one("#body")
        body.scroll_to(y=17, animate=False, immediate=True)
        await settle(pilot)
        left = find_place(pilot.app, desk)
    assert left is not None
    assert left.rows == 17
    _, found, _ = await look_again(desk, left)
    assert found == left


async def test_questions_half_answered_come_back_to_their_preparation_without_what_was_typed(desk: Workstation) -> None:
    async with run(desk, SIZE) as pilot:
        await begin(pilot, "RA", "Cot 9", "1450")
        await type_in(pilot, "30")
        left = find_place(pilot.app, desk)
        assert place(pilot) == "pad"
    assert left is not None
    assert (left.who, bool(left.prep), left.screen) == ("RA", True, "")
    on, _, text = await look_again(desk, left)
    assert on == "list"
    assert "Cot 9" in text


async def test_what_has_ended_meanwhile_opens_at_home(desk: Workstation, begun: OpenPreparation) -> None:
    begun.ready.stand_down("Started by mistake")
    on, _, _ = await look_again(desk, Place("RA", begun.session.prep, "list"))
    assert on == "home"


@pytest.mark.parametrize(
    "at", [Place("RA", "no-such-preparation", "list"), Place("", "x"), Place("not initials"), HOME]
)
async def test_a_place_that_is_not_there_opens_at_home(desk: Workstation, begun: OpenPreparation, at: Place) -> None:
    on, _, _ = await look_again(desk, at)
    assert on == "home"


async def test_an_app_tells_where_it_is_when_that_changes(desk: Workstation, begun: OpenPreparation) -> None:
    told: list[Place] = []
    async with PrepkitApp(desk, HOME, told.append).run_test(size=SIZE) as pilot:
        await type_in(pilot, "", "enter")
        await pilot.pause(0.5)
        await type_in(pilot, "s")
        await pilot.pause(0.5)
    assert [each.screen for each in told if each.prep][-1] == "suitability"
    assert {each.prep for each in told} <= {"", begun.session.prep}


def test_only_a_place_that_was_written_here_is_read() -> None:
    place = Place("RA", "abc", "line", "atropine", "line atropine", 4)
    assert read_place(write_place(place)) == place
    for text in (
        "",
        "[]",
        "nonsense",
        '{"who": 3}',
        '{"rows": true}',
        '{"birth_weight": "1450"}',
        '{"who": "' + "a" * 2000 + '"}',
    ):
        assert read_place(text) == HOME


def test_every_screen_of_a_preparation_has_a_way_back() -> None:
    for module in iter_modules(screens.__path__):
        import_module(f"{screens.__name__}.{module.name}")
    kinds, below = [], [PreparationScreen]
    while below:
        kinds.append(kind := below.pop())
        below += kind.__subclasses__()
    of_a_preparation = {kind.ROUTE for kind in kinds if "ROUTE" in vars(kind)}
    assert set(REOPENED) == of_a_preparation - {"list", "cover"}


async def test_a_screen_that_is_going_up_or_down_is_no_place(desk: Workstation, begun: OpenPreparation) -> None:
    told: list[Place] = []
    app = PrepkitApp(desk, HOME, told.append)
    async with app.run_test(size=SIZE) as pilot:
        await type_in(pilot, "", "enter")
        for key in ("s", "b", "r", "escape") * 3:
            await pilot.press(key)
            app._tell_place()
    app._tell_place()
    assert {each.screen for each in told} <= {"", "list", "suitability", "baby", "ready"}
    assert not [each for each in told[1:] if not each.prep], "once in, never told to be out"


# Somebody who signed in before the app was opened


async def leave_the_list(desk: Workstation) -> Place:
    """Sign in, mark a line on the list and go: the place that was left."""
    assert desk.identity.sign_on("RA", STAFF["RA"][1]) == ""
    async with run(desk, SIZE) as pilot:
        await type_in(pilot, "", "enter", "down", "down")
        left = find_place(pilot.app, desk)
    assert left is not None
    assert left.screen == "list"
    return left


async def test_with_pins_a_new_program_opens_where_the_person_was_without_asking_again(
    pins_desk: Workstation, begun_with_pins: OpenPreparation
) -> None:
    left, signed = await leave_the_list(pins_desk), pins_desk.identity.verified_person
    assert signed is not None
    pins_desk.identity.resume_sign_in(signed, locked=False)
    assert (await look_again(pins_desk, left))[:2] == ("list", left)


@pytest.mark.parametrize("how", ["was locked", "idle", "idle in all"])
async def test_it_asks_for_the_pin_where_the_desk_would_have_locked_and_comes_back_then(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, clock: Clock, how: str
) -> None:
    left, signed, told = await leave_the_list(pins_desk), pins_desk.identity.verified_person, list[Place]()
    assert signed is not None
    pins_desk.identity.resume_sign_in(signed, locked=how == "was locked")
    idle = {"was locked": 0, "idle": 300, "idle in all": 299}[how]
    async with PrepkitApp(pins_desk, left, told.append, idle=timedelta(seconds=idle)).run_test(size=SIZE) as pilot:
        await pilot.pause(0.4)
        if how == "idle in all":
            assert (place(pilot), pilot.app.idle) == ("list", timedelta(seconds=299))  # type: ignore[attr-defined]
            await let_idle(pilot, clock, seconds=1)
        assert (place(pilot), pins_desk.identity.is_locked) == ("lock", True)
        assert "1450" not in see(pilot)
        await type_in(pilot, "", "s")
        await touch_row(pilot, "RA")
        await touch_keys(pilot, STAFF["RA"][1])
        await pilot.pause(0.4)
        assert (place(pilot), find_place(pilot.app, pins_desk)) == ("list", left)
    assert {each.screen for each in told} <= {"list"}, "while it is locked the place stays what it was"


async def test_somebody_else_who_unlocks_it_starts_at_home(
    pins_desk: Workstation, begun_with_pins: OpenPreparation
) -> None:
    left, signed = await leave_the_list(pins_desk), pins_desk.identity.verified_person
    assert signed is not None
    pins_desk.identity.resume_sign_in(signed, locked=True)
    async with PrepkitApp(pins_desk, left).run_test(size=SIZE) as pilot:
        await type_in(pilot, "", "s")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, STAFF["KM"][1])
        await pilot.pause(0.4)
        assert (place(pilot), pins_desk.identity.who) == ("home", "KM")


async def test_a_place_of_another_person_than_the_one_signed_in_opens_at_home(
    pins_desk: Workstation, begun_with_pins: OpenPreparation
) -> None:
    left = await leave_the_list(pins_desk)
    assert pins_desk.identity.sign_on("KM", STAFF["KM"][1]) == ""
    assert (await look_again(pins_desk, left))[0] == "home"
    assert pins_desk.identity.who == "KM"
