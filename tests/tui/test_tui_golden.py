"""The golden text and the golden picture of every screen at 40x20 and at 80x24: what a person sees, held to the letter.

Write them anew with PREPKIT_GOLDEN=write, then read the difference before it is kept; the pictures are SVG, and
`rsvg-convert` makes a PNG of one.
"""

import os
from pathlib import Path

import pytest
from hands import read_screen, run, settle
from scenes import SCENES, begin_scene

from docs.svg import make_small

pytestmark = pytest.mark.thorough

GOLDEN = Path(__file__).parent / "golden"
SIZES = [(40, 20), (80, 24)]


@pytest.mark.usefixtures("unresting")
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", SCENES)
async def test_the_screen_says_and_looks_what_it_did(
    request: pytest.FixtureRequest, name: str, size: tuple[int, int]
) -> None:
    begun = begin_scene(request, name)
    path = GOLDEN / f"{name}-{size[0]}x{size[1]}"
    async with run(begun.desk, size) as pilot:
        await settle(pilot)
        await SCENES[name](pilot, begun)
        await settle(pilot)
        shown = {
            ".txt": "\n".join(read_screen(pilot)) + "\n",
            ".svg": make_small(pilot.app.export_screenshot()),
        }
    for ending, text in shown.items():
        if os.environ.get("PREPKIT_GOLDEN") == "write":
            path.with_suffix(ending).write_text(text, "utf-8")
        assert text == path.with_suffix(ending).read_text("utf-8")


def test_no_golden_text_or_picture_is_left_over() -> None:
    wanted = {
        f"{name}-{width}x{height}.{ending}" for name in SCENES for width, height in SIZES for ending in ("txt", "svg")
    }
    assert {path.name for path in GOLDEN.iterdir()} == wanted


def test_no_picture_names_a_host_or_runs_anything() -> None:
    for path in GOLDEN.glob("*.svg"):
        text = path.read_text("utf-8").replace('xmlns="http://www.w3.org/2000/svg"', "")
        assert not [word for word in ("http", "//", "url(", "@font", "@import", "<script", "href") if word in text], (
            path
        )
