"""A scan where no field waits for it: it does nothing but what a scan is for, and says where that is."""

import pytest
from hands import LINES, Hands, make_keys, place, row_of, run, scan, see, settle, touch_button, type_in, write_code
from textual import events
from tui_samples import ATROPINE, SURFACTANT

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.scanner import GAP, StrayScanFilter
from prepkit.tui.widgets.field import Field

WHERE = "Scan on the list, on a line, or where batch and expiry are asked for."


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).replace("│", " ").split())


def find_acting(text: str, gap: float, bound: str = "") -> tuple[str, str]:
    """Which keys of a text still act, where those in `bound` and Enter would; and what was scanned."""
    stray, acting = StrayScanFilter(), ""
    for key in make_keys(text, gap):
        acts = key.key in bound or key.key == "enter"
        if not stray.take(key, acts=acts) and acts:
            acting += "⏎" if key.key == "enter" else key.key
    return acting, stray.text


def test_no_key_of_a_scan_acts() -> None:
    code = write_code(SURFACTANT, batch="ab12cdef")
    assert find_acting(code, 0.004, bound="abcdef") == ("", code)
    assert find_acting("]d2" + code, 0.03, bound="abcdef") == ("", "]d2" + code)
    assert find_acting("4012345678901", 0.004, bound="") == ("", "4012345678901")


def test_a_scan_that_begins_with_letters_is_stopped_at_the_third() -> None:
    acting, _ = find_acting("bsrhgtwe", 0.004, bound="bsrhgtwe")
    assert acting == "bs"


def test_a_persons_keys_act_one_by_one() -> None:
    assert find_acting("bsrbsrbsrbsrbsrbsrbsrbsr", 0.2, bound="bsr") == ("bsrbsrbsrbsrbsrbsrbsrbsr⏎", "")
    assert find_acting("7b", 2 * GAP, bound="b") == ("b⏎", "")


def test_keys_that_move_the_mark_are_never_part_of_a_scan() -> None:
    stray = StrayScanFilter()
    for name in ("space", "down") * 10:
        key = events.Key(name, " " if name == "space" else None)
        key.time = 1.0
        assert not stray.take(key, acts=True)


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("way", "screen"),
    [((), "home"), (("enter", "b"), "baby"), (("enter", "s"), "suitability"), (("enter", "m"), "menu")],
)
async def test_a_scan_on_a_screen_that_takes_none_does_nothing_and_says_where(
    hand_desk: Workstation, begun_in_hand: OpenPreparation, way: tuple[str, ...], screen: str
) -> None:
    seq = begun_in_hand.session.state.seq
    async with run(hand_desk, (40, 20)) as pilot:
        await type_in(pilot, "", *way)
        await scan(pilot, write_code(SURFACTANT, batch="abehrst"))
        assert "That was a scan" in words(pilot)
        assert WHERE in words(pilot)
        await type_in(pilot, "", "enter")
        assert place(pilot) == screen
    begun_in_hand.session.refresh()
    assert begun_in_hand.session.state.seq == seq


async def test_a_scan_on_the_list_is_in_hand_for_its_line_and_opens_it(
    hand_desk: Workstation, begun_in_hand: OpenPreparation
) -> None:
    async with run(hand_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await scan(pilot, write_code(ATROPINE))
        assert place(pilot) == "line"
        begun_in_hand.session.refresh()
        hand = begun_in_hand.batches.show("atropine")
        assert hand is not None
        assert [row.show for row in hand.rows] == ["batch AB12, in date to 2027-12-31"]
        assert not begun_in_hand.session.state.is_ticked("atropine"), "a scan is nobody's word that it is drawn up"
        await touch_button(pilot, "tick")
        assert place(pilot) == "list"
        assert row_of(pilot, "line atropine").text.word.startswith("done RA")


@pytest.mark.thorough
async def test_a_scan_on_an_opened_line_is_for_that_line(
    hand_desk: Workstation, begun_in_hand: OpenPreparation
) -> None:
    async with run(hand_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await scan(pilot, write_code(ATROPINE))
        await scan(pilot, write_code(SURFACTANT))
        assert "this is Poractant alfa, and Atropine is wanted here." in words(pilot)
        await type_in(pilot, "", "enter")
        await scan(pilot, write_code(ATROPINE, batch="CD34"))
        assert place(pilot) == "line"
    begun_in_hand.session.refresh()
    hand = begun_in_hand.batches.show("atropine")
    assert hand is not None
    assert len(hand.rows) == 2


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("code", "says"),
    [
        (write_code("09524000000026"), "No line of this list is for the product number 09524000000026"),
        (write_code(ATROPINE, expiry="251231"), "Out of date"),
        ("9524000000019", "the product number alone"),
    ],
)
async def test_a_scan_on_the_list_that_cannot_be_taken_says_why(
    hand_desk: Workstation, begun_in_hand: OpenPreparation, code: str, says: str
) -> None:
    async with run(hand_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await scan(pilot, code)
        assert says in words(pilot)
    begun_in_hand.session.refresh()
    assert begun_in_hand.lines.show_list().left == f"{LINES} of {LINES} left"
    assert not begun_in_hand.session.state.find_in_hand("atropine")


@pytest.mark.thorough
async def test_a_ward_that_asks_for_nothing_in_hand_says_so(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await scan(pilot, write_code(SURFACTANT))
        assert "there is nothing to scan" in words(pilot)
    begun.session.refresh()
    assert begun.lines.show_list().left == f"{LINES} of {LINES} left"


@pytest.mark.thorough
async def test_a_scan_into_a_question_that_takes_none_leaves_it_as_it_was(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "o")
        await type_in(pilot, "parents told, ")
        await scan(pilot, write_code(SURFACTANT))
        assert place(pilot) == "pad"
        assert WHERE in words(pilot)
        await type_in(pilot, "tube")
        assert pilot.app.screen.query_one(Field).typed == "parents told, tube"
        await type_in(pilot, "", "escape", "d")
        await scan(pilot, "4012345678901")
        assert place(pilot) == "pad", "Enter of a scan chooses nothing"
        await settle(pilot)
    begun.session.refresh()
    assert begun.session.state.handover is None
