"""Lists that grow with the ward: a screen reads what it shows, and no more for its first frame."""

import textwrap

import pytest
from hands import Hands, place, run, see, settle, type_in
from hypothesis import given
from hypothesis import strategies as st

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.layout import AFTER_NUMBER, NO_BREAK, wrap
from prepkit.tui.screens.lock import LockScreen

COTS = 70


def _fill(desk: Workstation, cots: int, *, ended: bool) -> None:
    for cot in range(cots):
        begun = desk.start("surfactant-supraglottic", f"Cot {cot:02}")
        assert isinstance(begun, OpenPreparation)
        assert not ended or begun.ready.stand_down("not needed") == ""


@pytest.fixture
def counted(desk: Workstation, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many preparations each look of a list read."""
    found: list[int] = []
    read = desk._state_cache.read_each

    def count(preps: "tuple[str, ...]") -> object:
        asked = tuple(preps)
        found.append(len(asked))
        return read(asked)

    monkeypatch.setattr(desk._state_cache, "read_each", count)
    assert desk.identity.sign_on("RA") == ""
    return found


async def test_the_first_frame_of_what_has_ended_reads_what_fits(desk: Workstation, counted: list[int]) -> None:
    _fill(desk, 22, ended=True)
    async with run(desk, (40, 20)) as pilot:
        await settle(pilot)
        counted.clear()
        await type_in(pilot, "e")
        assert place(pilot) == "ended"
        assert counted[0] == 10
        assert max(counted) == 20
        assert len(pilot.app.screen.query("Row")) == 20
        assert "Cot 21" in see(pilot)
        counted.clear()
        await type_in(pilot, "o")
        assert counted == [2, 2]
        assert "Cot 00" in see(pilot)


async def test_a_locked_screen_reads_on_as_it_is_scrolled_and_leaves_nothing_out(
    desk: Workstation, counted: list[int]
) -> None:
    _fill(desk, COTS, ended=False)
    async with run(desk, (40, 20)) as pilot:
        await settle(pilot)
        counted.clear()
        await pilot.app.push_screen(LockScreen(desk))
        await settle(pilot)
        assert set(counted) == {20}
        assert str(COTS) in see(pilot)
        seen = await _read_to_the_end(pilot)
        assert [f"Cot {cot:02}" for cot in range(COTS) if f"Cot {cot:02}" not in seen] == []
        assert "Everything done is kept" in " ".join(seen.split())


async def _read_to_the_end(pilot: Hands) -> str:
    seen, body = see(pilot), pilot.app.screen.query_one("#body")
    for _ in range(COTS):
        body.scroll_relative(y=10, animate=False, immediate=True)
        await settle(pilot)
        seen += f"\n{see(pilot)}"
        if body.scroll_offset.y >= body.max_scroll_y:
            return seen
    raise AssertionError("there was no end to it")


@given(st.text("ab 12.\u00a0\n\t(-", max_size=30), st.integers(1, 40))
def test_words_that_fit_are_laid_out_as_any_others(text: str, width: int) -> None:

    glued = AFTER_NUMBER.sub(rf"\1{NO_BREAK}", text)
    if any(len(word) > width for word in glued.split(" ")):
        glued = text
    long_way = textwrap.wrap(glued, width, break_on_hyphens=False)
    assert wrap(text, width) == [line.replace(NO_BREAK, " ") for line in long_way]
