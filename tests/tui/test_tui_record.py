"""The record on the screens: what is due, what is missing, signing, adding, and looking at what has ended."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from cot_scene import ASKING, Clock, complete, do_all, do_next, words
from hands import Hands, move_to, place, row_of, run, see, touch_button, touch_keys, touch_row, type_in
from test_tui_news import wait_for_news
from tui_samples import NIGHT
from workstation_scene import answer_all, check_all, tick_all

from prepkit.app.files import WorkstationFiles
from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.paths import find_shipped
from prepkit.store import open_sqlite
from prepkit.tui.screens.cot import CotScreen
from prepkit.view.models import Sign

pytestmark = [pytest.mark.usefixtures("unresting"), pytest.mark.thorough]


@pytest.fixture
def unresting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Steps may follow each other as fast as a test touches."""
    monkeypatch.setattr(CotScreen, "REST", 0.0)


@pytest.fixture
def clock(desk: Workstation) -> Clock:
    return Clock(desk)


@pytest.fixture
def away(checked: OpenPreparation, clock: Clock) -> OpenPreparation:
    """Read aloud; the team has gone to the cot."""
    assert checked.ready.read_aloud() == ""
    return checked


async def test_the_whole_way_by_touch_alone(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        steps = [row.step for row in away.bedside.show_cot().steps]
        for step in steps:
            clock.move(minutes=1)
            await touch_button(pilot, "done")
            if step == "catheter-out":
                await touch_keys(pilot, "3.6")
            if step in ASKING - {"stomach-measured"}:
                await touch_button(pilot, "other")
            elif step == "stomach-measured":
                await touch_keys(pilot, "0.4")
        assert "Every step is recorded." in see(pilot)
        await touch_button(pilot, "record")
        assert place(pilot) == "record"
        away.session.refresh()
        share = "Share recovered: 0.4 mL ÷ 3.6 mL given = 11.1 % of the dose."
        assert share in away.bedside.show_record().results
        await touch_button(pilot, "home")
        assert "30 min after: due 03:54" in words(pilot)
        clock.move(minutes=40)
        await touch_row(pilot, away.session.prep)
        assert place(pilot) == "record"
        await _give_follow_ups(pilot)
        await _say_how_it_went(pilot)
        assert "to sign" in see(pilot)
        await touch_button(pilot, "sign")
        assert "You sign the record as it is shown here." in words(pilot)
        await touch_button(pilot, "accept")
        await type_in(pilot, "", *["pageup"] * 12)
        assert "Closed by RA" in words(pilot)
        await touch_button(pilot, "add")
        await touch_keys(pilot, "parents told")
        await type_in(pilot, "", *["pagedown"] * 12)
        await touch_button(pilot, "back")
        assert place(pilot) == "home"
        assert "No preparation is in progress" in words(pilot)
    away.session.refresh()
    record = away.bedside.show_record()
    assert record.is_closed
    assert record.outcome == "given in full"
    assert record.complications == "desaturation; reflux"
    assert record.addenda[0].endswith("parents told")
    assert [row.word for row in record.follow_ups] == ["done", *["not done"] * 4]


async def _give_follow_ups(pilot: Hands) -> None:
    assert "due now, since" in words(pilot)
    await touch_button(pilot, "fill")
    assert "Wean oxygen early." in see(pilot)
    for asked, typed in (("SpO2", "93"), ("FiO2", "25"), ("heart rate", "150"), ("breaths", "54")):
        assert asked in see(pilot)
        await touch_keys(pilot, typed)
    await touch_row(pilot, "easy")
    assert row_of(pilot, "follow-up after-30-min").text.sign == Sign.DONE
    for follow_up in ("after-1-h", "after-2-h", "after-3-h", "after-6-h"):
        await touch_row(pilot, f"follow-up {follow_up}")
        await touch_button(pilot, "other")
        await touch_row(pilot, "Gone to another ward")


async def _say_how_it_went(pilot: Hands) -> None:
    await touch_button(pilot, "fill")
    await touch_row(pilot, "given in full")
    await touch_button(pilot, "other")
    await touch_button(pilot, "fill")
    assert place(pilot) == "complications"
    assert "None of these" in see(pilot)
    for name in ("desaturation", "air leak", "reflux", "air leak"):
        await touch_row(pilot, name)
    assert "That is all" in see(pilot)
    await touch_button(pilot, "keep")


async def test_no_complications_are_said_too(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    do_all(away, clock)
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_row(pilot, "complications")
        await touch_button(pilot, "keep")
        assert row_of(pilot, "complications").text.details == ("none",)


async def test_a_missing_volume_is_entered_where_it_is_missing(
    desk: Workstation, away: OpenPreparation, clock: Clock
) -> None:
    while (step := away.bedside.show_cot().next_step) is not None:
        assert away.bedside.do_step(step.step) == ""
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        assert place(pilot) == "record"
        await touch_row(pilot, "missing Surfactant given: not recorded")
        await touch_keys(pilot, "3.6")
        await touch_row(pilot, "missing Recovered: not recorded")
        await touch_keys(pilot, "2.0")
    away.session.refresh()
    assert "55.6 % of the dose" in " ".join(away.bedside.show_record().results)


async def test_a_missing_step_leads_to_the_step(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    assert away.bedside.do_step("catheter-out") == ""
    clock.move(minutes=31)
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        assert place(pilot) == "record", "a follow-up is due"
        await touch_row(pilot, "missing Device out: done, or left out and why")
        assert place(pilot) == "step"
        await touch_button(pilot, "done")
        await touch_button(pilot, "other")  # what is read as the device comes out may wait
        assert place(pilot) == "record"
        await touch_button(pilot, "cot")
        assert place(pilot) == "cot"


async def test_nothing_is_to_fill_in_while_only_later_looks_are_missing(
    desk: Workstation, away: OpenPreparation, clock: Clock
) -> None:
    do_all(away, clock)
    assert away.bedside.give_outcome("given in full") == ""
    assert away.bedside.say_complications(()) == ""
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        assert "Fill in the next" not in see(pilot)
        await touch_button(pilot, "home")
        assert place(pilot) == "home"


async def test_signing_names_who_signs_and_can_be_left(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    complete(away, clock)
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "s")
        assert "RA:" in see(pilot)
        await touch_button(pilot, "back")
        assert not away.bedside.show_record().is_closed
        await type_in(pilot, "", "s")
        await touch_button(pilot, "accept")
    away.session.refresh()
    assert away.bedside.show_record().is_closed


async def test_an_outcome_is_given_with_a_note(desk: Workstation, away: OpenPreparation, clock: Clock) -> None:
    do_all(away, clock)
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, away.session.prep)
        await touch_row(pilot, "outcome")
        await touch_row(pilot, "given in part")
        await touch_keys(pilot, "half came back")
        assert row_of(pilot, "outcome").text.details == ("given in part · half came back",)


@pytest.fixture
def strict_desk(tmp_path: Path) -> Iterator[Workstation]:
    """A desk of a ward that asks for two signatures."""
    ward = tmp_path / "ward.toml"
    text = (find_shipped("demo") / "ward.toml").read_text("utf-8")
    ward.write_text(text.replace('edition = "2026-10"', 'edition = "2026-10"\nsignatures = 2'), "utf-8")
    desk = Workstation(
        open_sqlite(tmp_path / "strict" / "p.sqlite"), WorkstationFiles(ward, None), who="RA", clock=lambda: NIGHT
    )
    yield desk
    desk.store.close()  # type: ignore[attr-defined]


async def test_the_second_person_signs_on_the_spot_where_the_ward_asks_for_two(strict_desk: Workstation) -> None:
    opened = strict_desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(opened, str)
    assert opened.baby.give_fact("birth_weight", "1450") == ""
    assert opened.baby.give_fact("birth_gestation", "30+2") == ""
    assert opened.baby.give_fact("born", "today") == ""
    tick_all(opened)
    answer_all(opened)
    check_all(opened)
    assert opened.ready.read_aloud() == ""
    complete(opened, Clock(strict_desk))
    async with run(strict_desk, (40, 20)) as pilot:
        await touch_row(pilot, opened.session.prep)
        await touch_button(pilot, "sign")
        await touch_button(pilot, "accept")
        assert "Second signature" in see(pilot)
        assert strict_desk.show_home().rows != ()
        await touch_button(pilot, "sign")
        await touch_keys(pilot, "RA")
        assert "another person signs next" in words(pilot)
        await type_in(pilot, "", *["backspace"] * 2)
        await touch_keys(pilot, "KM")
        assert "Closed by KM" in words(pilot)
    assert strict_desk.identity.who == "RA", "the first stays signed in"
    opened.session.refresh()
    assert len(opened.bedside.show_record().signed) == 2


async def test_what_has_ended_is_listed_and_read_with_its_list(
    desk: Workstation, away: OpenPreparation, clock: Clock
) -> None:
    complete(away, clock)
    assert away.bedside.sign(away.bedside.show_record().standing) == ""
    other = desk.start("surfactant-supraglottic", "Cot 9", practice=True)
    assert not isinstance(other, str)
    clock.move(minutes=5)
    assert other.ready.stand_down("end of the practice") == ""
    async with run(desk, (40, 20)) as pilot:
        await touch_button(pilot, "ended")
        rows = [row.key for row in pilot.app.screen.query("Row")]  # type: ignore[attr-defined]
        assert rows == [other.session.prep, away.session.prep]
        assert "Cot 9 (practice)" in see(pilot)
        assert "stood down by RA at 03:33: end of the practice" in words(pilot)
        await touch_row(pilot, other.session.prep)
        assert "practice" in see(pilot)
        assert "Stood down by RA" in words(pilot)
        await touch_button(pilot, "back")
        await touch_row(pilot, away.session.prep)
        assert "Closed by RA" in words(pilot)
        seen = ""
        for _ in range(20):
            seen += f" {words(pilot)}"
            await type_in(pilot, "", "pagedown")
        assert "Clean drape · done RA" in seen
        assert "Device out (RA)" in seen
        assert "Signed by RA" in seen
        await touch_button(pilot, "back")
        assert place(pilot) == "ended"


async def test_more_that_has_ended_is_a_page_away_and_back(desk: Workstation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("prepkit.app.workstation._ROWS_A_PAGE", 2)
    assert desk.identity.sign_on("RA") == ""
    for cot in range(5):
        begun = desk.start("surfactant-supraglottic", f"Cot {cot}")
        assert isinstance(begun, OpenPreparation)
        assert begun.ready.stand_down("not needed") == ""

    def list_cots(pilot: Hands) -> list[str]:
        return [cot for cot in (f"Cot {number}" for number in range(5)) if cot in see(pilot)]

    async with run(desk, (40, 20)) as pilot:
        await touch_button(pilot, "ended")
        assert list_cots(pilot) == ["Cot 3", "Cot 4"]
        assert "Newer" not in see(pilot)
        await touch_button(pilot, "older")
        assert list_cots(pilot) == ["Cot 1", "Cot 2"]
        await type_in(pilot, "o")
        assert list_cots(pilot) == ["Cot 0"]
        assert "Older" not in see(pilot)
        await type_in(pilot, "o")
        assert list_cots(pilot) == ["Cot 0"]
        await touch_button(pilot, "newer")
        await type_in(pilot, "n")
        await type_in(pilot, "n")
        assert list_cots(pilot) == ["Cot 3", "Cot 4"]
        await type_in(pilot, "", "escape")
        assert place(pilot) == "home"


async def test_one_that_was_stood_down_shows_its_list_as_it_was_then(
    desk: Workstation, begun: OpenPreparation, clock: Clock
) -> None:
    assert begun.lines.tick("drape") == ""
    assert begun.ready.stand_down("the baby got better") == ""
    clock.move(days=400)
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "e", "enter")
        seen = ""
        for _ in range(8):
            seen += f" {words(pilot)}"
            await type_in(pilot, "", "pagedown")
        assert "✓ Clean drape · done RA" in seen
        assert "Supraglottic airway · size 1 · to do" in seen
        assert "in sight" not in seen


async def test_practice_is_started_from_home_and_every_screen_says_so(
    desk: Workstation, other_desk: Workstation
) -> None:
    async with run(desk, (40, 20)) as pilot:
        await touch_button(pilot, "practise")
        assert "New practice" in see(pilot)
        await touch_keys(pilot, "RA")
        await move_to(pilot, "surfactant-supraglottic")
        await type_in(pilot, "", "enter")
        for typed in ("Cot 9".upper(), "1450", "30+2"):
            await touch_keys(pilot, typed)
        assert place(pilot) == "list"
        opened = other_desk.resume(desk.show_home().rows[0].prep)
        assert not isinstance(opened, str)
        assert opened.baby.give_fact("born", "today") == ""
        tick_all(opened)
        answer_all(opened)
        check_all(opened)
        await wait_for_news(pilot)
        for way in ("r", "a", "g"):
            await type_in(pilot, "", way)
            assert "practice" in see(pilot), way
        await do_next(pilot)
        for key in ("r", "escape", "e", "enter", "escape", "enter", "escape", "t", "down", "enter"):
            await type_in(pilot, "", key)
            assert "practice" in see(pilot), key
