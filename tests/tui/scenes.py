"""Every screen in every state that it can be in: the one table that geometry, colours, marks and goldens are tried on.

A scene says how the desk stands (`stages.py`), which keys lead there from home and which screen they show. Each goes
through geometry at every size and through every light. Those with `golden` have a text and a picture in `golden/` too:
the main states of each screen only, so that a person can read every difference.
"""

from dataclasses import dataclass, replace

import pytest
from hands import Hands, let_idle, move_to, settle, write_code
from stages import LONG_BATCH, STAGES
from textual.screen import Screen
from tui_samples import ATROPINE
from workstation_scene import Clock

from prepkit.app.workstation import Workstation
from prepkit.tui.screens.baby import BabyScreen
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

TO = "to "
"""What a key begins with that stands for as many as move the mark down to the row named after it."""
IDLE = "idle"
"""Among keys: nobody touches anything for as long as locks a screen."""
NEW = ("n", *"ra", "enter")
LINE = ("enter", "to line surfactant", "enter")
CHECK = ("enter", "c", *"to", "enter")
WEIGHED = (*CHECK, *"1450", "enter")
BORN = (*WEIGHED, "enter")
SIZED = (*BORN, "enter")
DRAWN_UP = (*SIZED, *"3.6", "enter")
DIFFERENCE = ("enter", "c", "to surfactant", "enter")
IN_HAND = ("enter", "to line surfactant", "space")
ADD_DOSE = ("enter", "b", "to earlier_surfactant", "enter", "to add", "enter")
STEP, ENTRY = ("enter", "to step t-piece-on-device", "enter"), ("enter", "to step sucrose-given", "enter")


@dataclass(frozen=True, slots=True)
class Scene:
    """One state of one screen."""

    screen: type[Screen[object]]
    keys: tuple[str, ...] = ()
    golden: bool = False
    stage: str = ""


_BY_STAGE: dict[str, dict[str, Scene]] = {
    "nothing": {
        "home-empty": Scene(HomeScreen),
        "pad-new-who": Scene(PadScreen, ("n",)),
        "pad-kit": Scene(PadScreen, NEW, golden=True),
        "pad-cot-label": Scene(PadScreen, (*NEW, "enter"), golden=True),
        "menu-of-home": Scene(MenuScreen, ("m",)),
        "ended-empty": Scene(EndedScreen, ("e", *"ra", "enter")),
        "help-of-home": Scene(HelpScreen, ("h",)),
        "message-nothing-to-check": Scene(MessageScreen, ("c",)),
    },
    "no facts": {
        "list-no-facts": Scene(ListScreen, ("enter",), golden=True),
        "pad-first-fact": Scene(PadScreen, ("enter", "f")),
        "baby-no-facts": Scene(BabyScreen, ("enter", "b")),
        "suitability-no-facts": Scene(SuitabilityScreen, ("enter", "s")),
        "ready-no-facts": Scene(ReadyScreen, ("enter", "r")),
    },
    "unlikely": {
        "list-withheld": Scene(ListScreen, ("enter",)),
        "baby-unlikely": Scene(BabyScreen, ("enter", "b")),
        "pad-weight-again": Scene(PadScreen, ("enter", "f"), golden=True),
        "ready-unlikely": Scene(ReadyScreen, ("enter", "r")),
    },
    "begun": {
        "home": Scene(HomeScreen, golden=True),
        "list": Scene(ListScreen, ("enter",), golden=True),
        "line-first": Scene(LineScreen, ("enter", "to line", "enter")),
        "line": Scene(LineScreen, LINE, golden=True),
        "pad-order": Scene(PadScreen, (*LINE, "o"), golden=True),
        "pad-not-needed": Scene(PadScreen, ("enter", "to line", "n")),
        "baby": Scene(BabyScreen, ("enter", "b"), golden=True),
        "suitability": Scene(SuitabilityScreen, ("enter", "s")),
        "ready-shut": Scene(ReadyScreen, ("enter", "r"), golden=True),
        "labels-none": Scene(LabelsScreen, ("enter", "e")),
        "pad-born": Scene(PadScreen, ("enter", "b", "to born", "enter"), golden=True),
        "pad-weight": Scene(PadScreen, ("enter", "b", "enter")),
        "pad-weight-refused": Scene(
            PadScreen, ("enter", "b", "enter", *["backspace"] * 4, *"1,45", "enter"), golden=True
        ),
        "pad-who": Scene(PadScreen, ("w",), golden=True),
        "menu": Scene(MenuScreen, ("enter", "m"), golden=True),
        "help": Scene(HelpScreen, ("enter", "h"), golden=True),
        "pad-reasons": Scene(PadScreen, ("enter", "d")),
        "message": Scene(MessageScreen, ("enter", "d", "enter"), golden=True),
        "pad-hand-over": Scene(PadScreen, ("enter", "o"), golden=True),
    },
    "unborn": {
        "list-born-today": Scene(ListScreen, ("enter",), golden=True),
        "pad-born-earlier": Scene(PadScreen, ("enter", "a"), golden=True),
        "pad-born-typed": Scene(PadScreen, ("enter", "a", "to type it", "enter")),
        "line-if-born-today": Scene(LineScreen, ("enter", "to line airway-device", "enter"), golden=True),
        "ready-unborn": Scene(ReadyScreen, ("enter", "r")),
    },
    "older": {
        "list-both-weights": Scene(ListScreen, ("enter",), golden=True),
        "baby-both-weights": Scene(BabyScreen, ("enter", "b"), golden=True),
        "pad-weight-day": Scene(PadScreen, ("enter", "b", "to weight_now", "enter", "enter"), golden=True),
    },
    "given before": {
        "baby-given-before": Scene(BabyScreen, ("enter", "b", "to earlier_surfactant"), golden=True),
        "line-given-before": Scene(LineScreen, LINE),
        "pad-order-given-before": Scene(PadScreen, (*LINE, "o")),
        "pad-doses": Scene(PadScreen, ("enter", "b", "to earlier_surfactant", "enter"), golden=True),
        "pad-doses-amount": Scene(PadScreen, (*ADD_DOSE, "to poractant-alfa", "enter")),
    },
    "not weighed": {
        "list-weight-wanted": Scene(ListScreen, ("enter",), golden=True),
        "pad-weight-now": Scene(PadScreen, ("enter", "f"), golden=True),
        "baby-weight-wanted": Scene(BabyScreen, ("enter", "b")),
    },
    "change": {
        "baby-weight-since-birth": Scene(BabyScreen, ("enter", "b"), golden=True),
        "pad-weight-since-birth": Scene(PadScreen, ("enter", "b", "l"), golden=True),
        "suitability-since-birth": Scene(SuitabilityScreen, ("enter", "s")),
    },
    "no birth weight": {
        "list-by-weight-now": Scene(ListScreen, ("enter",), golden=True),
        "line-by-weight-now": Scene(LineScreen, LINE),
    },
    "no gestation": {
        "list-no-gestation": Scene(ListScreen, ("enter",), golden=True),
        "baby-no-gestation": Scene(BabyScreen, ("enter", "b")),
    },
    "practice": {
        "home-practice": Scene(HomeScreen),
        "list-practice-by-night": Scene(ListScreen, ("l", "l", "up", "enter"), golden=True),
    },
    "changed": {
        "list-changed": Scene(ListScreen, ("enter", "to line surfactant"), golden=True),
        "line-changed": Scene(LineScreen, LINE),
        "suitability-unsure": Scene(SuitabilityScreen, ("enter", "s"), golden=True),
    },
    "done": {
        "ready-unchecked": Scene(ReadyScreen, ("enter", "r")),
        "check-who": Scene(CheckPadScreen, ("enter", "c")),
        "check-who-refused": Scene(CheckPadScreen, ("enter", "c", *"ra", "enter"), golden=True),
        "check-weight": Scene(CheckPadScreen, CHECK),
        "list-weight-differs": Scene(ListScreen, (*CHECK, *"1540", "enter"), golden=True),
        "check-born": Scene(CheckPadScreen, WEIGHED, golden=True),
        "check-size": Scene(CheckPadScreen, BORN),
        "check-volume": Scene(CheckPadScreen, SIZED, golden=True),
        "check-vials": Scene(CheckPadScreen, DRAWN_UP),
        "check-long-order": Scene(CheckPadScreen, (*DRAWN_UP, "1", "enter", "1", "enter", *"15", "enter")),
        "cover": Scene(CoverScreen, (*CHECK, "escape"), golden=True),
        "message-stop-the-check": Scene(MessageScreen, (*CHECK, "escape", "s")),
        "pad-stop-the-check": Scene(PadScreen, (*CHECK, "escape", "s", "right", "enter")),
    },
    "checked": {
        "ready": Scene(ReadyScreen, ("enter", "r"), golden=True),
        "labels": Scene(LabelsScreen, ("enter", "e"), golden=True),
        "checked-alike": Scene(CheckedScreen, ("enter", "c")),
    },
    "read aloud": {"ready-read-aloud": Scene(ReadyScreen, ("enter", "escape", "r"))},
    "differs": {
        "handover": Scene(HandoverScreen, ("enter", "enter"), golden=True),
        "checked": Scene(CheckedScreen, ("enter", "c"), golden=True),
        "difference": Scene(DifferenceScreen, DIFFERENCE, golden=True),
        "pad-settle": Scene(PadScreen, (*DIFFERENCE, "s")),
        "line-differs": Scene(LineScreen, LINE, golden=True),
        "list-differs": Scene(ListScreen, ("enter",)),
        "ready-differs": Scene(ReadyScreen, ("enter", "r")),
    },
    "pins": {
        "pad-sign-in": Scene(PadScreen, ("w",)),
        "pad-pin": Scene(PadScreen, ("w", "enter", *"1234"), golden=True),
        "pad-pin-refused": Scene(PadScreen, ("w", "enter", *"1234", "enter")),
        "pad-sign-in-over-a-list": Scene(PadScreen, ("enter", "w")),
        "lock": Scene(LockScreen, (IDLE,), golden=True),
        "lock-sign-in": Scene(PadScreen, (IDLE, "s")),
    },
    "in hand": {
        "pad-batch": Scene(PadScreen, IN_HAND, golden=True),
        "pad-batch-of-another": Scene(PadScreen, (*IN_HAND, *write_code(ATROPINE), "enter")),
        "pad-expiry": Scene(PadScreen, (*IN_HAND, *LONG_BATCH, "enter")),
        "line-in-hand": Scene(LineScreen, ("enter", "to line atropine", "enter", "pagedown"), golden=True),
        "labels-in-hand": Scene(LabelsScreen, ("enter", "e")),
    },
    "at the cot": {
        "cot": Scene(CotScreen, ("enter",), golden=True),
        "cot-further-down": Scene(CotScreen, ("enter", *["down"] * 9)),
        "step": Scene(StepScreen, STEP, golden=True),
        "pad-leave-out": Scene(PadScreen, (*STEP, "n")),
        "entry": Scene(EntryScreen, ENTRY, golden=True),
        "pad-note": Scene(PadScreen, (*ENTRY, "n")),
        "pad-strike": Scene(PadScreen, (*ENTRY, "s")),
        "pad-time": Scene(PadScreen, (*ENTRY, "t"), golden=True),
        "pad-reading": Scene(PadScreen, ("enter", "down", "enter"), golden=True),
        "pad-attempts": Scene(PadScreen, ("enter", "down", "down", "enter")),
        "happening": Scene(HappeningScreen, ("enter", "e"), golden=True),
        "entry-with-rescue": Scene(EntryScreen, ("enter", "e", "down", "enter"), golden=True),
        "rescue": Scene(RescueScreen, ("enter", "r"), golden=True),
        "pad-come-back": Scene(PadScreen, ("enter", "a")),
        "record-at-the-cot": Scene(RecordScreen, ("enter", "t")),
    },
    "afterwards": {
        "record": Scene(RecordScreen, ("enter",), golden=True),
        "pad-follow-up": Scene(PadScreen, ("enter", "enter")),
        "pad-outcome": Scene(PadScreen, ("enter", "to outcome", "enter"), golden=True),
        "complications": Scene(ComplicationsScreen, ("enter", "to complications", "enter", "enter"), golden=True),
        "ended-none-yet": Scene(EndedScreen, ("e",)),
    },
    "complete": {
        "record-to-sign": Scene(RecordScreen, ("enter",)),
        "message-sign": Scene(MessageScreen, ("enter", "s"), golden=True),
        "record-closed": Scene(RecordScreen, ("enter", "s", "right", "enter"), golden=True),
        "ended": Scene(EndedScreen, ("enter", "s", "right", "enter", "escape", "e"), golden=True),
    },
}

SCENES = {name: replace(scene, stage=stage) for stage, scenes in _BY_STAGE.items() for name, scene in scenes.items()}
GOLDEN = [name for name, scene in SCENES.items() if scene.golden]
ONE_OF_EACH = list({scene.screen: name for name, scene in reversed(SCENES.items())}.values())
"""A state of every screen."""
PADS = [name for name, scene in SCENES.items() if issubclass(scene.screen, PadScreen)]


def set_stage(request: pytest.FixtureRequest, name: str) -> Workstation:
    """The desk as a scene has it before the first key."""
    return STAGES[SCENES[name].stage](request)


async def follow(pilot: Hands, desk: Workstation, name: str) -> None:
    """Press the keys of a scene; the screen it leads to is shown."""
    await settle(pilot)
    for key in SCENES[name].keys:
        if key.startswith(TO):
            await move_to(pilot, key.removeprefix(TO))
        elif key == IDLE:
            assert isinstance(desk.identity.clock, Clock)
            await let_idle(pilot, desk.identity.clock, minutes=5)
        else:
            await pilot.press(key)
    await settle(pilot)
    assert type(pilot.app.screen) is SCENES[name].screen, pilot.app.screen
