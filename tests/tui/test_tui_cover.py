"""While somebody checks, no screen of any device shows the weight or an amount, at no moment."""

import importlib
import pkgutil
import re
from collections.abc import Callable

import pytest
from hands import check_by_keys, move_to, place, run, see, settle, type_in
from test_tui_news import resume_elsewhere, wait_for_news
from textual.screen import Screen
from workstation_scene import check_all

import prepkit.tui.screens
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.app import PrepkitApp
from prepkit.tui.prompts.start import FactWizard
from prepkit.tui.screens.baby import BabyScreen
from prepkit.tui.screens.base import WorkstationScreen
from prepkit.tui.screens.check import CheckedScreen, CheckPadScreen, CoverScreen, DifferenceScreen
from prepkit.tui.screens.cot import CotScreen, HappeningScreen, RescueScreen
from prepkit.tui.screens.covered import CoveredScreen
from prepkit.tui.screens.ended import EndedScreen
from prepkit.tui.screens.focus import FocusScreen
from prepkit.tui.screens.handover import HandoverScreen
from prepkit.tui.screens.home import HomeScreen
from prepkit.tui.screens.labels import LabelsScreen
from prepkit.tui.screens.line import LineScreen
from prepkit.tui.screens.list import ListScreen
from prepkit.tui.screens.lock import LockScreen
from prepkit.tui.screens.overlays import HelpScreen, MenuScreen, MessageScreen
from prepkit.tui.screens.pad import PadScreen
from prepkit.tui.screens.preparation import PreparationScreen
from prepkit.tui.screens.ready import ReadyScreen
from prepkit.tui.screens.record import ComplicationsScreen, RecordScreen
from prepkit.tui.screens.steps import EntryScreen, StepScreen
from prepkit.tui.screens.suitability import SuitabilityScreen
from prepkit.tui.widgets.button import Action

Make = Callable[[Workstation, OpenPreparation], "Screen[object]"]


def banner_of(opened: OpenPreparation):  # noqa: ANN201 (the view's own type)
    return opened.lines.show_list().banner


SCREENS: dict[type, Make] = {
    BabyScreen: BabyScreen,
    CheckPadScreen: CheckPadScreen,
    CheckedScreen: CheckedScreen,
    CoverScreen: CoverScreen,
    ComplicationsScreen: ComplicationsScreen,
    CotScreen: CotScreen,
    DifferenceScreen: lambda desk, opened: DifferenceScreen(desk, opened, "surfactant"),
    EndedScreen: lambda desk, _: EndedScreen(desk),
    EntryScreen: lambda desk, opened: EntryScreen(desk, opened, "1"),
    HandoverScreen: HandoverScreen,
    HappeningScreen: HappeningScreen,
    HelpScreen: lambda desk, opened: HelpScreen(desk, opened, "list", banner_of(opened)),
    HomeScreen: lambda desk, _: HomeScreen(desk),
    LineScreen: lambda desk, opened: LineScreen(desk, opened, "surfactant"),
    LabelsScreen: LabelsScreen,
    ListScreen: ListScreen,
    LockScreen: lambda desk, _: LockScreen(desk),
    MenuScreen: lambda desk, opened: MenuScreen(desk, opened, (Action("a", "3.6 mL"),), banner_of(opened)),
    MessageScreen: lambda desk, opened: MessageScreen(
        desk, "Not done", ("It was 3.6 mL.",), opened, banner=banner_of(opened)
    ),
    PadScreen: lambda desk, opened: PadScreen(desk, FactWizard(opened, "birth_weight")),
    ReadyScreen: ReadyScreen,
    RecordScreen: RecordScreen,
    RescueScreen: RescueScreen,
    StepScreen: lambda desk, opened: StepScreen(desk, opened, "t-piece-on"),
    SuitabilityScreen: SuitabilityScreen,
}  # type: ignore[assignment]
NOT_OF_ONE = {EndedScreen, HomeScreen, LockScreen}
"""Screens that are of no single preparation, and show nothing of a list. (An entry is made at the cot alone.)"""
ABSTRACT = {CoveredScreen, FocusScreen, WorkstationScreen, PreparationScreen}


def list_secrets(opened: OpenPreparation) -> set[str]:
    """The weight, and every amount of the list as it is shown."""
    shows = {row.show for group in opened.lines.show_list().groups for row in group.lines if re.search(r"\d", row.show)}
    assert {"3.6 mL", "0.58 mL", "15 cm"} <= shows
    return {"1450", *shows}


def find_secrets(text: str, secrets: set[str]) -> list[str]:
    together = " ".join(text.split())
    return [secret for secret in secrets if secret in together]


def _all_subclasses(of: type) -> set[type]:
    return {of}.union(*(_all_subclasses(each) for each in of.__subclasses__()))


def test_every_screen_there_is_can_be_covered_and_is_walked_over_here() -> None:
    for module in pkgutil.iter_modules(prepkit.tui.screens.__path__):
        importlib.import_module(f"prepkit.tui.screens.{module.name}")
    ours = {each for each in _all_subclasses(Screen) if each.__module__.startswith("prepkit.")}
    assert {each for each in ours if not issubclass(each, CoveredScreen)} == set()
    assert ours - ABSTRACT == set(SCREENS)


@pytest.mark.parametrize("kind", SCREENS, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("size", [(40, 20), pytest.param((120, 60), marks=pytest.mark.thorough)])
async def test_no_screen_shows_an_amount_while_somebody_checks(
    desk: Workstation, done: OpenPreparation, kind: type, size: tuple[int, int]
) -> None:
    secrets = list_secrets(done)
    made = SCREENS[kind](desk, done)
    assert done.check.begin("TO") == ""
    async with run(desk, size) as pilot:
        await settle(pilot)
        pilot.app.push_screen(made)
        await settle(pilot)
        assert find_secrets(see(pilot), secrets) == []
        for other in ((36, 18), (100, 40), size):
            await pilot.resize_terminal(*other)
            await settle(pilot)
            assert find_secrets(see(pilot), secrets) == []
        assert kind in {*NOT_OF_ONE, CheckPadScreen} or place(pilot) == "cover"
        if place(pilot) == "cover":
            assert "Cot 4" in see(pilot)
            assert "TO at 03:12 began the second check." in " ".join(see(pilot).split())
        await type_in(pilot, "", "escape")
        assert find_secrets(see(pilot), secrets) == []


@pytest.mark.thorough
@pytest.mark.parametrize(
    "kind",
    sorted(set(SCREENS) - NOT_OF_ONE - {CheckPadScreen, CoverScreen, EntryScreen}, key=str),
    ids=lambda kind: kind.__name__,
)
async def test_a_screen_open_on_another_device_is_covered_when_a_check_begins_and_uncovered_when_it_stops(
    desk: Workstation, other_desk: Workstation, done: OpenPreparation, kind: type
) -> None:
    # A difference to show, and a line that is to be checked: another check can begin.
    check_all(done, wrong={"surfactant": "3.2"})
    assert done.baby.give_fact("nil_by_mouth", "no") == ""
    secrets = list_secrets(done)
    elsewhere = resume_elsewhere(done, other_desk)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        preparation = pilot.app.screen.prep  # type: ignore[attr-defined]
        made = SCREENS[kind](desk, preparation)
        if kind is not ListScreen:
            pilot.app.push_screen(made)
        await settle(pilot)
        before = type(pilot.app.screen)
        assert elsewhere.check.begin("TO") == ""
        await wait_for_news(pilot)
        assert place(pilot) == "cover"
        assert find_secrets(see(pilot), secrets) == []
        assert elsewhere.check.stop() == ""
        await wait_for_news(pilot)
        assert type(pilot.app.screen) is before


async def test_a_tick_that_meets_a_check_begun_elsewhere_shows_the_cover(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation, monkeypatch: pytest.MonkeyPatch
) -> None:
    # No look for news comes between: the tick itself has to meet the check.
    monkeypatch.setattr("prepkit.tui.screens.base.NEWS_EVERY", 3600)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line drape")
        assert resume_elsewhere(begun, other_desk).check.begin("TO") == ""
        await type_in(pilot, "", "space")
        assert place(pilot) == "cover"


async def test_what_is_half_typed_on_a_covered_device_is_there_when_the_check_has_ended(
    desk: Workstation, other_desk: Workstation, done: OpenPreparation
) -> None:
    elsewhere = resume_elsewhere(done, other_desk)
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter", "o")
        await type_in(pilot, "parents told")
        assert elsewhere.check.begin("TO") == ""
        await wait_for_news(pilot)
        assert place(pilot) == "cover"
        assert elsewhere.check.stop() == ""
        await wait_for_news(pilot)
        assert "parents told" in see(pilot)
        await type_in(pilot, "", "enter")
    done.session.refresh()
    assert done.handover.show_handover().note == 'RA at 03:12: "parents told"'


async def test_not_one_frame_between_begin_and_end_shows_an_amount(
    desk: Workstation, done: OpenPreparation, monkeypatch: pytest.MonkeyPatch
) -> None:
    secrets = list_secrets(done)
    frames: list[str] = []

    def record(app: PrepkitApp, screen: Screen[object], renderable: object) -> None:
        if screen is app.screen and renderable is not None:
            strips = screen._compositor.render_strips()
            frames.append("\n".join("".join(segment.text for segment in strip) for strip in strips))

    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r", "c")
        await type_in(pilot, "to")
        monkeypatch.setattr(PrepkitApp, "_display", record)
        await type_in(pilot, "", "enter")
        await type_in(pilot, "", "escape", "s", "escape", "g", "escape", "escape", "enter", "g")
        await type_in(pilot, "to", "enter")
        await pilot.resize_terminal(120, 40)
        await type_in(pilot, "", "escape")
        await pilot.resize_terminal(40, 20)
        await type_in(pilot, "g")
        await type_in(pilot, "to", "enter", *"1450")
        assert any("Read the birth weight off the notes" in " ".join(frame.split()) for frame in frames)
        assert any("began the second check" in " ".join(frame.split()) for frame in frames)
        typed = [frame.replace("1450▏", "") for frame in frames]
        assert [found for frame in typed if (found := find_secrets(frame, secrets))] == []


async def test_after_a_check_begun_on_a_covered_device_the_result_is_shown(
    desk: Workstation, done: OpenPreparation
) -> None:
    assert done.check.begin("TO") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "g")
        await check_by_keys(pilot)
        assert place(pilot) == "checked"
        await type_in(pilot, "", "escape")
        assert place(pilot) == "list"
