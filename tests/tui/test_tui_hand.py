"""What is in the hand: scanned or typed before the tick, refused in words, put back; and the labels of what is done."""

import pytest
from hands import (
    Hands,
    bring_in_sight,
    make_keys,
    move_to,
    place,
    row_of,
    run,
    scan,
    see,
    touch_button,
    touch_keys,
    touch_row,
    type_in,
    write_code,
)
from textual import events
from tui_samples import ATROPINE, SURFACTANT
from workstation_scene import find_row

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.input.scanner import GAP, LEAST, SEPARATOR, ScanDetector, is_code
from prepkit.tui.widgets.field import Field
from prepkit.view.models import Sign

pytestmark = pytest.mark.thorough

SIZES = [(36, 18), (40, 20), (80, 24)]


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


def find_burst(text: str, gap: float, end: float = 0.0) -> str:
    return give_keys(ScanDetector(), make_keys(text, gap, end))


def give_keys(burst: ScanDetector, keys: list[events.Key]) -> str:
    """Give every key; what was scanned where the last of them ends a scan."""
    *before, last = keys
    for key in before:
        assert not burst.take(key)
    return burst.text if burst.take(last) else ""


# A burst


def test_what_comes_faster_than_hands_and_ends_in_enter_is_a_scan() -> None:
    assert find_burst("4012345678901", GAP / 10) == "4012345678901"
    assert find_burst("L23456789", GAP * 2) == ""
    assert find_burst("L2345678", GAP / 10, end=1.0) == ""
    assert find_burst("L23456789"[: LEAST - 1], GAP / 10) == ""


def test_what_can_only_be_a_code_is_a_scan_however_slowly_it_came() -> None:
    for code in (write_code(SURFACTANT), f"]d2{write_code(SURFACTANT)}", f"10AB{SEPARATOR}21S"):
        assert is_code(code)
        assert find_burst(code, 1.0, end=9.0) == code
    assert not is_code("ABCDEFGHIJ1234567890")


def test_a_code_scanned_behind_something_half_typed_is_the_code_alone() -> None:
    burst = ScanDetector()
    slow = events.Key("A", "A")
    slow.time = 1.0
    assert not burst.take(slow)
    assert give_keys(burst, make_keys(write_code(SURFACTANT), 0.002)) == write_code(SURFACTANT)


def test_a_key_of_another_kind_of_terminal_is_the_separator_too() -> None:
    keys = make_keys("1234567890", 0.002)
    keys[5] = events.Key(f"ctrl+{SEPARATOR}", None)
    keys[5].time = keys[4].time
    assert give_keys(ScanDetector(), keys) == f"12345{SEPARATOR}7890"


# The pad


@pytest.mark.parametrize("size", SIZES)
async def test_a_scanned_vial_ticks_its_line_in_one_go(
    hand_desk: Workstation, begun_in_hand: OpenPreparation, size: tuple[int, int]
) -> None:
    async with run(hand_desk, size) as pilot:
        await type_in(pilot, "", "enter")
        await touch_row(pilot, "line surfactant", sign=True)
        assert "Poractant alfa" in words(pilot)
        await scan(pilot, f"]d201{SURFACTANT}21S7{SEPARATOR}1727120010AB12")
        assert place(pilot) == "list"
        begun_in_hand.session.refresh()
        assert find_row(begun_in_hand, "surfactant").sign is Sign.DONE
        hand = begun_in_hand.batches.show("surfactant")
        assert hand is not None
        assert [row.word for row in hand.rows] == ["scanned RA at 03:12"]


async def test_a_wrong_product_is_refused_in_words_and_nothing_is_ticked(
    hand_desk: Workstation, begun_in_hand: OpenPreparation
) -> None:
    async with run(hand_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line surfactant")
        await type_in(pilot, "", "space")
        await scan(pilot, write_code(ATROPINE))
        assert "this is Atropine, and Poractant alfa is wanted here." in words(pilot)
        assert pilot.app.screen.query_one(Field).typed == ""
        begun_in_hand.session.refresh()
        assert find_row(begun_in_hand, "surfactant").sign is Sign.TO_DO
        await scan(pilot, "4012345678901")
        assert "✗" in see(pilot)
        assert place(pilot) == "pad"
        await scan(pilot, write_code(SURFACTANT))
        assert place(pilot) == "list"


@pytest.mark.parametrize("size", SIZES)
async def test_batch_and_expiry_are_typed_by_touch_and_an_old_one_is_refused(
    hand_desk: Workstation, begun_in_hand: OpenPreparation, size: tuple[int, int]
) -> None:
    async with run(hand_desk, size) as pilot:
        await type_in(pilot, "", "enter")
        await touch_row(pilot, "line atropine", sign=True)
        await touch_keys(pilot, "AB12")
        assert "Atropine, batch AB12: until when is it in date?" in words(pilot)
        await touch_keys(pilot, "2026-10")
        assert "Out of date: batch AB12 was in date until 2026-10-31." in words(pilot)
        await touch_keys(pilot, "2027-03")
        assert place(pilot) == "list"
        begun_in_hand.session.refresh()
        assert find_row(begun_in_hand, "atropine").sign is Sign.DONE


async def test_the_line_shows_what_is_in_hand_takes_another_and_puts_all_back(
    hand_desk: Workstation, begun_in_hand: OpenPreparation
) -> None:
    async with run(hand_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line surfactant")
        await type_in(pilot, "", "enter", "t")
        await scan(pilot, write_code(SURFACTANT))
        assert place(pilot) == "list"
        await type_in(pilot, "", "enter", "i")
        assert "1 given." in words(pilot)
        await scan(pilot, write_code(SURFACTANT, batch="CD34"))
        assert place(pilot) == "line"
        begun_in_hand.session.refresh()
        hand = begun_in_hand.batches.show("surfactant")
        assert hand is not None
        assert [row.show.partition(",")[0] for row in hand.rows] == ["batch AB12", "batch CD34"]
        assert begun_in_hand.session.state.is_ticked("surfactant")
        await touch_button(pilot, "put_back")
        assert "Put back?" in words(pilot)
        await type_in(pilot, "", "right", "enter")
        begun_in_hand.session.refresh()
        assert not begun_in_hand.session.state.is_ticked("surfactant")
        assert begun_in_hand.batches.show("surfactant").rows == ()  # type: ignore[union-attr]
        assert "Scan the pack" in await read_column(pilot)


async def read_column(pilot: Hands) -> str:
    """All words of the screen's column, from its top to its end."""
    found = []
    for _ in range(12):
        found.append(see(pilot))
        await type_in(pilot, "", "pagedown")
    return " ".join(" ".join(found).split())


async def test_a_line_of_a_ward_that_asks_for_nothing_has_nothing_in_hand(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line surfactant")
        await type_in(pilot, "", "enter", "i", "p")
        assert place(pilot) == "line"
        await type_in(pilot, "t")
        assert place(pilot) == "list"
        begun.session.refresh()
        assert begun.session.state.is_ticked("surfactant")


# Labels


async def test_the_labels_show_what_is_ticked_and_what_prints_them(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await touch_button(pilot, "more")
        await touch_row(pilot, "labels")
        assert "There is no label yet" in words(pilot)
        assert "prepkit labels" not in await read_column(pilot)
        await type_in(pilot, "", "escape")
        await move_to(pilot, "line surfactant")
        await type_in(pilot, "", "space", "e")
        column = await read_column(pilot)
        assert "Poractant alfa" in column
        assert "3.6 mL of 80 mg/mL" in column
        assert "prepkit labels 'Cot 4'" in column
        assert place(pilot) == "labels"


# Going back


async def test_a_question_opened_from_ready_leads_back_to_ready(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r")
        question = begun.baby.show_suitability().against[0]
        missing = begun.ready.show_ready().missing
        at = next(at for at, each in enumerate(missing) if question.text in each)
        await bring_in_sight(pilot, row_of(pilot, f"missing {at}"))
        await touch_row(pilot, f"missing {at}")
        assert place(pilot) == "suitability"
        await type_in(pilot, "", "escape")
        assert place(pilot) == "ready"
        await type_in(pilot, "", "escape")
        assert place(pilot) == "list"


async def test_typing_after_a_refusal_replaces_what_was_typed_and_rubbing_out_mends_it(desk: Workstation) -> None:
    desk.identity.who = "RA"
    started = desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(started, str)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "f")
        await type_in(pilot, "1,45", "enter")
        await type_in(pilot, "", "backspace")
        assert pilot.app.screen.query_one(Field).typed == "1,4"
        await type_in(pilot, "5", "enter")
        await type_in(pilot, "1450")
        assert pilot.app.screen.query_one(Field).typed == "1450"
