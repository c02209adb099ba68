"""Faster than the screens: what is taken down while it goes up, and what is gone when it is touched."""

from collections.abc import Callable

import pytest
from hands import KIT, Hands, make_touch, middle, move_to, place, run, see, settle, touch_button, touch_twice, type_in
from monkey import list_screens
from scenes import follow, set_stage
from stages import STEPS
from textual import events
from textual.geometry import Offset, Size
from textual.screen import Screen

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.keys import KEYS
from prepkit.tui.prompts.start import FactWizard
from prepkit.tui.screens.baby import BabyScreen
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.check import CheckedScreen, CheckPadScreen, CoverScreen, DifferenceScreen
from prepkit.tui.screens.cot import CotScreen, HappeningScreen, RescueScreen
from prepkit.tui.screens.ended import EndedScreen
from prepkit.tui.screens.handover import HandoverScreen
from prepkit.tui.screens.home import HomeScreen
from prepkit.tui.screens.labels import LabelsScreen
from prepkit.tui.screens.line import LineScreen
from prepkit.tui.screens.list import ListScreen
from prepkit.tui.screens.lock import LockScreen
from prepkit.tui.screens.overlays import HelpScreen, MenuScreen, MessageScreen
from prepkit.tui.screens.pad import PadScreen
from prepkit.tui.screens.ready import ReadyScreen
from prepkit.tui.screens.record import ComplicationsScreen, RecordScreen
from prepkit.tui.screens.steps import EntryScreen, StepScreen
from prepkit.tui.screens.suitability import SuitabilityScreen
from prepkit.tui.widgets.button import Action
from prepkit.tui.widgets.row import Row

SIZE = (40, 20)

SCREENS: dict[type[Screen[object]], Callable[[Workstation, OpenPreparation], Screen[object]]] = {
    HomeScreen: lambda desk, _: HomeScreen(desk),
    ListScreen: ListScreen,
    LineScreen: lambda desk, prep: LineScreen(desk, prep, "surfactant"),
    BabyScreen: BabyScreen,
    SuitabilityScreen: SuitabilityScreen,
    ReadyScreen: ReadyScreen,
    CotScreen: CotScreen,
    StepScreen: lambda desk, prep: StepScreen(desk, prep, "t-piece-on"),
    EntryScreen: lambda desk, prep: EntryScreen(desk, prep, "none"),
    HappeningScreen: HappeningScreen,
    RescueScreen: RescueScreen,
    RecordScreen: RecordScreen,
    ComplicationsScreen: ComplicationsScreen,
    EndedScreen: lambda desk, _: EndedScreen(desk),
    CheckedScreen: CheckedScreen,
    DifferenceScreen: lambda desk, prep: DifferenceScreen(desk, prep, "surfactant"),
    LabelsScreen: LabelsScreen,
    LockScreen: lambda desk, _: LockScreen(desk),
    CoverScreen: CoverScreen,
    HandoverScreen: HandoverScreen,
    PadScreen: lambda desk, prep: PadScreen(desk, FactWizard(prep)),
    CheckPadScreen: CheckPadScreen,
    MenuScreen: lambda desk, prep: MenuScreen(desk, prep, (Action("ready", "Ready", "r"),), None),
    HelpScreen: lambda desk, prep: HelpScreen(desk, prep, "list", None),
    MessageScreen: lambda desk, prep: MessageScreen(desk, "Put back?", ("Is it meant?",), prep, confirm="Put back"),
}
"""How each screen is made, over one preparation."""


@pytest.mark.parametrize("kind", [MessageScreen, LockScreen, ReadyScreen, EntryScreen])
@pytest.mark.parametrize(
    "ending", ["closed", *(pytest.param(each, marks=pytest.mark.thorough) for each in ("left", "killed"))]
)
async def test_a_screen_that_is_taken_down_while_it_goes_up_is_no_fault(
    desk: Workstation, begun: OpenPreparation, kind: type[Screen[object]], ending: str
) -> None:
    screen = SCREENS[kind](desk, begun)
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        pilot.app.push_screen(screen)
        pilot.app.post_message(events.Resize(Size(60, 20), Size(60, 20)))
        if ending == "closed":
            pilot.app.pop_screen()
            await settle(pilot)
            assert place(pilot) == "home"
        elif ending == "left":
            pilot.app.exit()


LEAVES = {"ctrl+c", "ctrl+q"}
"""Keys of the program itself: it is left by them whatever the screen has."""
EVERY_KEY = sorted({name for keys in KEYS.values() for key in keys for name in key.keys.split(",")} - LEAVES)
EVERY_ACTION = sorted({key.action for screen, keys in KEYS.items() if screen != "anywhere" for key in keys})


async def press_all(pilot: Hands) -> None:
    """Every key there is, when it has come through the widgets of the screen before and is looked up."""
    for key in EVERY_KEY:
        event = events.Key(key, None)
        event._set_forwarded()
        await pilot.app.on_event(event)


async def do_all(screen: Screen[object]) -> None:
    """Every action there is, and a scan, as a button, the menu or a scanner asks for it."""
    for action in (*EVERY_ACTION, "scan('0109524000000002')"):
        await screen.run_action(action)


def read_all(desk: Workstation, begun: OpenPreparation) -> object:
    """What a key could change at the desk."""
    return desk.store.read(begun.session.prep), desk.identity.who, desk.identity.is_locked


def test_each_screen_is_among_those_that_are_touched_too_soon() -> None:
    assert {kind.__name__ for kind in SCREENS} == list_screens()


async def test_what_is_touched_before_a_screen_has_its_parts_does_nothing(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        stack, before, light = list(pilot.app.screen_stack), read_all(desk, begun), pilot.app.theme
        for make in SCREENS.values():
            screen = make(desk, begun)
            pilot.app.push_screen(screen)
            stack.append(screen)
            assert not screen.children, "it has no parts yet"
            await press_all(pilot)
            await do_all(screen)
            assert (pilot.app.screen_stack, pilot.app.focused) == (stack, None)
        assert (read_all(desk, begun), pilot.app.theme) == (before, light)
        pilot.app.push_screen(ReadyScreen(desk, begun))
        await settle(pilot)
        await type_in(pilot, "", "f1")
        assert place(pilot) == "help", "it has them now, and does what it is asked"


async def test_what_is_touched_on_a_screen_that_lies_under_another_or_was_taken_down_does_nothing(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        screens = [make(desk, begun) for make in SCREENS.values()]
        for screen in screens:
            pilot.app.push_screen(screen)
        await settle(pilot)
        stack, before = list(pilot.app.screen_stack), read_all(desk, begun)
        for screen in stack[:-1]:
            await do_all(screen)
        assert (pilot.app.screen_stack, read_all(desk, begun)) == (stack, before)
        while len(pilot.app.screen_stack) > 1:
            pilot.app.pop_screen()
        for screen in screens:
            await do_all(screen)
        await settle(pilot)
        for screen in screens:
            await do_all(screen)
            if isinstance(screen, WorkstationScreen):
                screen.keep_mark()  # as one does that was taken down before its first refresh
        pilot.app.exit()
        await press_all(pilot)
        assert (pilot.app.screen_stack, read_all(desk, begun)) == (stack[:1], before)


@pytest.mark.parametrize("is_killed", [False, True])
async def test_what_is_touched_while_the_program_ends_does_nothing(desk: Workstation, *, is_killed: bool) -> None:
    async with run(desk, SIZE) as pilot:
        await settle(pilot)
        if not is_killed:
            pilot.app.exit()
    assert not pilot.app._screen_stack, "no screen is left"
    await press_all(pilot)
    touches = [make_touch(kind, Offset(3, 3)) for kind in (events.MouseDown, events.MouseMove, events.MouseUp)]
    for event in (events.Key("down", None), events.Paste("1450"), *touches):
        await pilot.app.on_event(event)


@pytest.mark.parametrize(
    ("name", "row", "shown"),
    [
        ("home", "", "home list"),
        ("happening", "desaturation", "home list cot entry"),
        ("pad-kit", KIT, "home pad"),
        *(
            pytest.param(*each, marks=pytest.mark.thorough)
            for each in (
                ("list", "notice 0", "home list suitability"),
                ("baby", "birth_weight", "home list baby pad"),
                ("ready-shut", "missing 0", "home list ready suitability"),
                ("cot", "readings", "home list cot pad"),
                ("cot-further-down", "step sucrose-given", "home list cot entry"),
                ("record", "follow-up", "home list record pad"),
                ("ended", "", "home ended record"),
                ("checked", "surfactant", "home list difference"),
                ("menu", "not_needed", "home list message"),
            )
        ),
    ],
)
async def test_a_row_that_is_touched_twice_at_once_is_touched_once(
    request: pytest.FixtureRequest, name: str, row: str, shown: str
) -> None:
    desk = set_stage(request, name)
    async with run(desk, (60, 60)) as pilot:
        await follow(pilot, desk, name)
        touched = next(each for each in pilot.app.screen.query(Row) if each.key.startswith(row))
        await touch_twice(pilot, middle(touched))
        assert " ".join(getattr(each, "ROUTE", "message") for each in pilot.app.screen_stack) == shown
        if name == "happening":
            opened = desk.resume(*desk.store.read_open())
            assert not isinstance(opened, str)
            assert len(opened.bedside.show_record().timeline) == len(STEPS) + 1
        if name == "pad-kit":
            assert "✗" not in see(pilot), "the next question was not answered with what was touched"


async def test_why_a_line_was_not_ticked_can_be_read_although_the_line_is_gone(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SIZE) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line atropine")
        await type_in(pilot, "", "enter")
        elsewhere = other_desk.resume(begun.session.prep)
        assert not isinstance(elsewhere, str)
        assert elsewhere.baby.give_fact("birth_gestation", "22+0") == ""
        assert elsewhere.lines.show_list().withheld
        await touch_button(pilot, "tick")
        assert isinstance(pilot.app.screen, MessageScreen)
        assert "Not done" in see(pilot)
        await type_in(pilot, "", "enter")
        assert place(pilot) == "list"


async def test_a_screen_under_a_message_does_not_close_in_its_place(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, SIZE) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line atropine")
        await type_in(pilot, "", "enter")
        under = pilot.app.screen
        message = MessageScreen(desk, "Not done", ("It is said here.",), None)
        pilot.app.push_screen(message)
        await settle(pilot)
        under.dismiss()
        await settle(pilot)
        assert pilot.app.screen is message
        await type_in(pilot, "", "enter")
        assert pilot.app.screen is under
        await type_in(pilot, "", "escape")
        assert place(pilot) == "list"
