"""Keys, colours, and that the screens do without colour."""

import itertools
import os
import subprocess
import sys

import pytest
from contrast import compute_contrast, compute_luminance
from hands import read_screen, run, type_in
from textual.color import Color

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.cli.main import LIGHTS
from prepkit.tui.app import PrepkitApp
from prepkit.tui.console import PLAIN_SIGNS, has_few_colours, has_plain_font
from prepkit.tui.input.keypad import Keypad
from prepkit.tui.input.keys import KEYS, SCREEN_NAMES
from prepkit.tui.layout import wrap
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
from prepkit.tui.themes import CONTRAST, NIGHT, PALETTES, Palette
from prepkit.tui.widgets.button import Button

SCREENS: list[type[WorkstationScreen[object]]] = [
    BabyScreen,
    CheckPadScreen,
    CheckedScreen,
    CoverScreen,
    DifferenceScreen,
    HandoverScreen,
    HelpScreen,
    HomeScreen,
    LineScreen,
    ListScreen,
    MenuScreen,
    PadScreen,
    ReadyScreen,
    SuitabilityScreen,
    CotScreen,
    StepScreen,
    EntryScreen,
    HappeningScreen,
    RescueScreen,
    RecordScreen,
    ComplicationsScreen,
    EndedScreen,
    LabelsScreen,
    LockScreen,
]  # type: ignore[list-item]


def _contrast(ink: str, ground: str) -> float:
    return compute_contrast(Color.parse(ink), Color.parse(ground))


@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
def test_every_ink_can_be_read_on_every_ground(palette: Palette) -> None:
    least = 7 if palette.name == CONTRAST else 4.5
    pairs = [
        *itertools.product(palette.inks.values(), palette.grounds.values()),
        (palette.on_primary, palette.primary),
        # Reverse video, which marks a row and a button without colour.
        *itertools.product(palette.grounds.values(), palette.inks.values()),
    ]
    assert [(pair, _contrast(*pair)) for pair in pairs if _contrast(*pair) < least] == []


def test_the_night_palette_is_dim_and_warm() -> None:
    """Dim: no colour is brighter than half of full white. Warm: no colour has more blue than red."""
    night = PALETTES[NIGHT]
    for each in (*night.inks.values(), *night.grounds.values()):
        colour = Color.parse(each)
        assert compute_luminance(colour) < 0.5
        assert colour.b <= colour.r


@pytest.mark.parametrize(
    ("environment", "few", "plain"),
    [
        ({"TERM": "xterm-256color"}, False, False),
        ({"TERM": "xterm-256color", "NO_COLOR": ""}, True, False),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, True, False),
        ({"TERM": "xterm-16color"}, True, False),
        ({"TERM": "linux"}, True, True),
        ({"TERM": "linux", "COLORTERM": "truecolor"}, False, True),
        ({}, False, False),
    ],
)
def test_what_a_terminal_can_show_is_found_from_its_environment(
    environment: dict[str, str], few: bool, plain: bool
) -> None:
    assert (has_few_colours(environment), has_plain_font(environment)) == (few, plain)


def test_plain_signs_take_one_cell_each_and_are_in_a_consoles_font() -> None:
    for sign, plain in PLAIN_SIGNS.items():
        assert isinstance(plain, str)
        assert len(plain) == 1
        # Arrows stand in the first 32 places of code page 437, which Python's codec leaves to controls.
        assert plain in "►◄" or plain.encode("cp437"), chr(sign)


def test_the_command_line_knows_every_light() -> None:
    assert tuple(PALETTES) == LIGHTS


async def test_one_key_goes_through_the_lights(desk: Workstation) -> None:
    async with run(desk, (80, 24)) as pilot:
        seen = []
        for _ in PALETTES:
            seen.append(pilot.app.theme)
            await type_in(pilot, "l")
        assert seen == list(PALETTES)
        assert pilot.app.theme == seen[0]


@pytest.mark.parametrize("screen", SCREENS)
def test_every_key_of_the_table_does_something(screen: type[WorkstationScreen[object]]) -> None:
    for key in KEYS[screen.ROUTE]:
        assert hasattr(screen, f"action_{key.action.partition('(')[0]}"), key
        assert not any("+" in name for name in key.keys.split(","))


def test_no_screen_gives_one_key_to_two_things() -> None:
    for screen, keys in KEYS.items():
        names = [name for key in keys for name in key.keys.split(",")]
        assert len(names) == len(set(names)), screen


def test_the_help_sheet_leaves_out_no_part_of_the_table_and_no_key_of_it() -> None:
    assert SCREEN_NAMES.keys() == KEYS.keys()
    for key in (key for keys in KEYS.values() for key in keys):
        assert len(key.shown_all.split()) == len(key.keys.split(",")), key


def test_every_binding_that_there_is_comes_from_the_table() -> None:
    listed = {name for keys in KEYS.values() for key in keys for name in key.keys.split(",")}
    for owner in (*SCREENS, MessageScreen, Button, Keypad, PrepkitApp):
        bound = set(owner._merge_bindings().key_to_bindings)
        assert bound - listed <= {"super+c"}, owner  # the library's own, which copies what cannot be selected here


async def test_the_help_sheet_names_every_key_of_every_screen(desk: Workstation) -> None:
    async with run(desk, (120, 400)) as pilot:
        await type_in(pilot, "h")
        words = " ".join(" ".join(read_screen(pilot)).split())
        for screen, name in SCREEN_NAMES.items():
            assert f"Keys: {name}" in words
            for key in KEYS[screen]:
                assert f"{key.shown_all} {key.does}" in words, key


async def test_without_colour_the_mark_the_signs_and_the_buttons_are_still_there(
    desk: Workstation, begun: OpenPreparation, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert begun.lines.tick("drape") == ""
    monkeypatch.setenv("NO_COLOR", "1")
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        app = pilot.app
        segments = [segment for strip in app.screen._compositor.render_strips() for segment in strip]
        for line_filter in app._filters:
            segments = line_filter.apply(segments, Color.parse("black")) if line_filter.enabled else segments
        colours = {str(segment.style.color) for segment in segments if segment.style and segment.style.color}
        assert {colour for colour in colours if "default" not in colour} == set()
        text = "\n".join(read_screen(pilot))
        assert "▶" in text
        assert "✓ done" in text
        assert "╔" in text
        assert any(segment.style and segment.style.reverse for segment in segments)


def test_a_number_stays_with_its_unit_where_lines_are_broken() -> None:
    assert wrap("open 3 mL + 1.5 mL, discard 0.9 mL", 12) == ["open 3 mL +", "1.5 mL,", "discard", "0.9 mL"]
    assert wrap("200 mg/kg (due 200)", 14) == ["200 mg/kg", "(due 200)"]
    assert wrap("2 x 8 Fr to 16.5 cm", 11) == ["2 x 8 Fr to", "16.5 cm"]
    assert "".join(wrap("14-16 cm", 4)).replace(" ", "") == "14-16cm", "nothing is lost where nothing fits"


def test_the_screens_start_without_what_is_heavy() -> None:
    code = (
        "import sys, prepkit.cli.screens_command, prepkit.tui.app;"
        " heavy = {'pint', 'pydantic', 'numpy', 'prepkit.kit.kit', 'prepkit.kit.facts', 'prepkit.rules',"
        " 'prepkit.preparation.events'};"
        " sys.exit(' '.join(heavy & set(sys.modules)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, env=os.environ)
    assert done.returncode == 0, done.stderr
