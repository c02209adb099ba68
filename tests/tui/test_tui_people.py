"""Who is at the screen: PINs, another person in two touches, and the lock."""

import pytest
from hands import (
    LINES,
    Hands,
    let_idle,
    move_to,
    place,
    run,
    see,
    touch_at,
    touch_button,
    touch_keys,
    touch_row,
    type_in,
)
from textual.app import App
from textual.geometry import Offset
from textual.widget import Widget
from tui_samples import STAFF
from workstation_scene import Clock, answer_all, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.people.staff import TRIES_BEFORE_WAIT
from prepkit.tui.app import CRASHED, PrepkitApp, run_app
from prepkit.tui.widgets.banner import TitleLine

pytestmark = pytest.mark.thorough

RA, KM, SN = (STAFF[who][1] for who in ("RA", "KM", "SN"))
WRONG = "86420975"
SIZES = [(36, 18), (40, 20), (80, 24)]


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


async def touch_who(pilot: Hands) -> None:
    """Touch the initials in the title."""
    title = pilot.app.screen.query_one(TitleLine)
    shown = "".join(line.plain for line in title.lines(title.content_size.width))
    at = shown.index(f"[{pilot.app.desk.identity.who}]")  # type: ignore[attr-defined]
    await touch_at(pilot, title.content_region.offset + Offset(at + 1, 0))


# Signing in


@pytest.mark.parametrize("size", SIZES)
async def test_signing_in_is_two_touches_and_the_pin_and_ticks_carry_the_person(
    pins_desk: Workstation, size: tuple[int, int]
) -> None:
    async with run(pins_desk, size) as pilot:
        await type_in(pilot, "")
        await touch_button(pilot, "who")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        assert place(pilot) == "home"
        assert pins_desk.identity.who == "KM"
    opened = start(pins_desk)
    assert opened.lines.tick("drape") == ""
    last = pins_desk.store.read(opened.session.prep)[-1]
    assert (last.who, last.verified) == ("KM", 1)


async def test_a_preparation_starts_after_initials_typed_and_a_pin(pins_desk: Workstation) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "n")
        await touch_button(pilot, "other")
        await type_in(pilot, "ra", "enter")
        assert "RA: enter your PIN." in words(pilot)
        await type_in(pilot, RA, "enter")
        assert "What is being prepared?" in words(pilot)
        assert pins_desk.identity.who == "RA"


def find_digits(pilot: Hands, pin: str) -> list[str]:
    """Where a PIN, or the beginning of it, can be read: on the screen, or in what shows a widget."""
    everything = [see(pilot), *(repr(widget) for widget in pilot.app.screen.walk_children(Widget))]
    everything += [repr(message) for message in (pilot.app, pilot.app.screen, getattr(pilot.app.screen, "_ask", None))]
    everything += [repr(getattr(pilot.app.screen, "_before", None))]
    return [text for text in everything if pin[:4] in text]


def test_the_report_of_a_fault_while_a_pin_was_tried_does_not_hold_it(
    pins_desk: Workstation, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object, **__: object) -> object:
        raise RuntimeError("a fault made for this test")

    async def act(pilot: Hands) -> None:
        await type_in(pilot, "w", "down", "enter")
        await type_in(pilot, RA, "enter")

    monkeypatch.setattr(type(pins_desk.store), "append", fail)
    plain_run = App.run
    monkeypatch.setattr(PrepkitApp, "run", lambda app: plain_run(app, headless=True, size=(40, 20), auto_pilot=act))
    assert run_app(pins_desk) == CRASHED
    said = "".join(capsys.readouterr())
    assert "a fault made for this test" in said
    assert "try_pin" in said, "it was while the PIN was tried"
    assert RA[:4] not in said
    assert RA[-4:] not in said


async def test_a_pin_is_dots_everywhere_and_is_gone_once_it_was_given(pins_desk: Workstation) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "w", "down", "enter")
        await type_in(pilot, RA)
        assert "••••••••" in see(pilot)
        assert find_digits(pilot, RA) == []
        await type_in(pilot, "", "escape")
        await type_in(pilot, "", "enter")
        assert "•" not in see(pilot)
        await type_in(pilot, WRONG, "enter")
        assert "The initials and the PIN do not go together." in words(pilot)
        assert "•" not in see(pilot)
        assert find_digits(pilot, WRONG) == []
        await type_in(pilot, RA, "enter")
        assert place(pilot) == "home"
        assert find_digits(pilot, RA) == []


async def test_too_many_wrong_pins_are_said_with_how_long_to_wait(pins_desk: Workstation, clock: Clock) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "w", "down", "enter")
        for _ in range(TRIES_BEFORE_WAIT):
            await type_in(pilot, WRONG, "enter")
        await type_in(pilot, RA, "enter")
        assert "Too many refused PINs for RA: none is taken for 1 min." in words(pilot)
        assert place(pilot) == "pad"
        assert pins_desk.identity.who == ""
        clock.move(minutes=2)
        await type_in(pilot, RA, "enter")
        assert pins_desk.identity.who == "RA"


@pytest.mark.parametrize("size", SIZES)
async def test_another_person_takes_the_desk_with_two_touches_and_a_pin_where_they_are(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, size: tuple[int, int]
) -> None:
    async with run(pins_desk, size) as pilot:
        await type_in(pilot, "", "enter")
        await touch_who(pilot)
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        assert place(pilot) == "list"
        assert "[KM]" in see(pilot)
        await move_to(pilot, "line drape")
        await type_in(pilot, "", "space")
    begun_with_pins.session.refresh()
    assert pins_desk.store.read(begun_with_pins.session.prep)[-1].who == "KM"


async def test_the_menu_and_its_title_lead_to_another_person_too(
    pins_desk: Workstation, begun_with_pins: OpenPreparation
) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "m")
        await touch_row(pilot, "who")
        assert "Who is at this desk?" in words(pilot)
        await type_in(pilot, "", "escape", "m")
        await touch_who(pilot)
        assert "Who is at this desk?" in words(pilot)


async def test_without_pins_a_staff_list_gives_one_touch_and_other_initials_are_typed(desk: Workstation) -> None:
    desk.identity.who = "RA"
    from prepkit.app.staff import StaffList  # noqa: PLC0415

    assert StaffList(desk.store, desk.clock, "office").add("KM", "registrar", None, "admin") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "w")
        await touch_row(pilot, "KM")
        assert (place(pilot), desk.identity.who) == ("home", "KM")
        await type_in(pilot, "w")
        await touch_button(pilot, "other")
        await type_in(pilot, "to", "enter")
        assert (place(pilot), desk.identity.who) == ("home", "TO")


# A second person on the spot


async def test_a_checker_signs_in_with_a_pin_and_the_first_stays_signed_in(
    pins_desk: Workstation, begun_with_pins: OpenPreparation
) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "c")
        await touch_row(pilot, "SN")
        await touch_keys(pilot, SN)
        assert "do not check" in words(pilot) or "does not check" in words(pilot), words(pilot)
        await type_in(pilot, "", "escape")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        assert "Read the birth weight off the notes yourself" in words(pilot)
        assert pins_desk.identity.who == "RA"
    last = pins_desk.store.read(begun_with_pins.session.prep)[-1]
    assert (last.who, last.verified) == ("KM", 1)


async def test_a_second_person_signs_for_an_unlikely_weight_after_the_weight(pins_desk: Workstation) -> None:
    assert pins_desk.identity.sign_on("RA", RA) == ""
    opened = start(pins_desk, "3100", "28+0")
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "f")
        await type_in(pilot, "3100", "enter")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        assert place(pilot) == "list"
        assert pins_desk.identity.who == "RA"
    opened.session.refresh()
    assert opened.session.state.confirmations["birth_weight"].second == "KM"


# The lock


@pytest.mark.parametrize("size", SIZES)
async def test_an_idle_screen_locks_and_shows_progress_and_nothing_about_the_baby(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, clock: Clock, size: tuple[int, int]
) -> None:
    async with run(pins_desk, size) as pilot:
        await type_in(pilot, "", "enter", "b", "enter")
        await type_in(pilot, "15")
        await let_idle(pilot, clock, minutes=4, seconds=59)
        assert place(pilot) == "pad"
        await let_idle(pilot, clock, seconds=1)
        assert place(pilot) == "lock"
        assert f"Cot 4: {LINES} of {LINES} left" in words(pilot)
        for fact in ("1450", "30+2", "Surfactant", " mg", " mL", " g "):
            assert fact not in see(pilot)
        await type_in(pilot, "", "escape", "b", "up")
        assert place(pilot) == "lock"
        await touch_button(pilot, "sign_in")
        await touch_row(pilot, "RA")
        await touch_keys(pilot, RA)
        assert "15▏" in see(pilot)
        assert place(pilot) == "pad"


async def test_somebody_else_who_signs_in_at_a_locked_screen_starts_at_home(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, clock: Clock
) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r")
        await let_idle(pilot, clock, minutes=5)
        await type_in(pilot, "", "enter")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, WRONG)
        assert pins_desk.identity.is_locked
        await type_in(pilot, "", "escape", "escape")
        assert place(pilot) == "lock"
        await type_in(pilot, "", "s")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        assert (place(pilot), pins_desk.identity.who, len(pilot.app.screen_stack)) == ("home", "KM", 1)


async def test_a_key_after_the_idle_time_locks_and_does_nothing_else(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, clock: Clock
) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "down", "down")
        seq = len(pins_desk.store.read(begun_with_pins.session.prep))
        clock.move(minutes=6)
        await type_in(pilot, "", "space")
        assert place(pilot) == "lock"
        assert len(pins_desk.store.read(begun_with_pins.session.prep)) == seq


async def test_a_sign_in_begun_and_left_goes_back_to_the_lock_without_its_pin(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, clock: Clock
) -> None:
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await let_idle(pilot, clock, minutes=5)
        await type_in(pilot, "", "s", "enter")
        await type_in(pilot, "1234")
        await let_idle(pilot, clock, minutes=5)
        assert place(pilot) == "lock"


async def test_the_lock_lies_over_a_check_and_signs_the_checker_out(
    pins_desk: Workstation, begun_with_pins: OpenPreparation, clock: Clock
) -> None:
    tick_all(begun_with_pins)
    answer_all(begun_with_pins)
    async with run(pins_desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "c")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        await let_idle(pilot, clock, minutes=5)
        assert place(pilot) == "lock"
        assert "Cot 4: being checked by KM" in words(pilot)
        await type_in(pilot, "", "s", "enter")
        await touch_keys(pilot, RA)
        assert place(pilot) == "cover"
        await type_in(pilot, "", "g")
        await touch_row(pilot, "KM")
        await touch_keys(pilot, KM)
        assert "Read the birth weight off the notes yourself" in words(pilot)


async def test_a_ward_without_pins_never_locks(desk: Workstation, begun: OpenPreparation) -> None:
    clock = Clock()
    desk.identity.clock = clock
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter")
        await let_idle(pilot, clock, hours=9)
        assert place(pilot) == "list"
