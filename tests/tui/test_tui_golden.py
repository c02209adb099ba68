"""The golden text and the golden picture of every screen at 40x20 and at 80x24: what a person sees, held to the letter.

Write them anew with PREPKIT_GOLDEN=write, then read the difference before it is kept; the pictures are SVG, and
`rsvg-convert` makes a PNG of one.
"""

import os
from pathlib import Path

import pytest
from hands import read_screen, run, settle
from scenes import GOLDEN, follow, set_stage

from docs.svg import make_small

pytestmark = pytest.mark.thorough

FOLDER = Path(__file__).parent / "golden"
SIZES = [(40, 20), (80, 24)]


@pytest.mark.parametrize("name", GOLDEN)
async def test_the_screen_says_and_looks_what_it_did(request: pytest.FixtureRequest, name: str) -> None:
    desk = set_stage(request, name)
    shown = {}
    async with run(desk, SIZES[0]) as pilot:
        await follow(pilot, desk, name)
        for width, height in SIZES:
            await pilot.resize_terminal(width, height)
            await settle(pilot)
            shown[f"{name}-{width}x{height}.txt"] = "\n".join(read_screen(pilot)) + "\n"
            shown[f"{name}-{width}x{height}.svg"] = make_small(pilot.app.export_screenshot())
    if os.environ.get("PREPKIT_GOLDEN") == "write":
        for file, text in shown.items():
            (FOLDER / file).write_text(text, "utf-8")
    assert shown == {file: (FOLDER / file).read_text("utf-8") for file in shown}


def test_no_golden_text_or_picture_is_left_over() -> None:
    wanted = {
        f"{name}-{width}x{height}.{ending}" for name in GOLDEN for width, height in SIZES for ending in ("txt", "svg")
    }
    assert {path.name for path in FOLDER.iterdir()} == wanted


def test_the_folder_is_small_enough_to_be_read() -> None:
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 1_000_000


def test_no_picture_names_a_host_or_runs_anything() -> None:
    for path in FOLDER.glob("*.svg"):
        text = path.read_text("utf-8").replace('xmlns="http://www.w3.org/2000/svg"', "")
        assert not [word for word in ("http", "//", "url(", "@font", "@import", "<script", "href") if word in text], (
            path
        )
