"""Handing a preparation over on the screens, and taking it."""

import pytest
from hands import Hands, move_to, place, run, see, touch_button, touch_keys, touch_row, type_in
from test_tui_news import resume_elsewhere

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation

pytestmark = pytest.mark.thorough


def words(pilot: Hands) -> str:
    return " ".join(see(pilot).split())


async def test_it_is_handed_over_and_taken_by_touch_alone(desk: Workstation, begun: OpenPreparation) -> None:
    assert begun.lines.tick("drape") == ""
    async with run(desk, (40, 20)) as pilot:
        await touch_row(pilot, begun.session.prep)
        await touch_button(pilot, "hand_over")
        await touch_keys(pilot, "parents told")
        assert place(pilot) == "list"
        assert "Handed over by RA at 03:12: take it" in words(pilot)
        await touch_button(pilot, "back")
        assert "handed over by RA" in see(pilot)
        await touch_row(pilot, begun.session.prep)
        await touch_row(pilot, "handover")
        assert place(pilot) == "handover"
        assert 'RA at 03:12: "parents told"' in see(pilot)
        assert "Left to do" in see(pilot)
        seen = ""
        for _ in range(20):
            await type_in(pilot, "", "pagedown")
            seen += f" {words(pilot)}"
        assert "✓ Clean drape: RA at 03:12" in seen
        await touch_button(pilot, "take")
        assert "Who takes the preparation over?" in see(pilot)
        await touch_keys(pilot, "LB")
        assert place(pilot) == "list"
        assert "Handed over" not in see(pilot)
    assert desk.identity.who == "LB"
    begun.session.refresh()
    assert begun.session.state.taken_over_by == "LB"


async def test_whoever_is_signed_on_and_is_not_the_leaver_takes_it_at_once(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation
) -> None:
    assert resume_elsewhere(begun, other_desk).handover.hand_over("parents told") == ""
    async with run(desk, (80, 24)) as pilot:
        await type_in(pilot, "", "enter", "enter", "t")
        assert place(pilot) == "list"
    begun.session.refresh()
    assert begun.session.state.taken_over_by == "RA"


async def test_what_changed_while_it_was_read_is_looked_at_again(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("prepkit.tui.screens.base.NEWS_EVERY", 3600)  # no timer is quicker than the touch
    elsewhere = resume_elsewhere(begun, other_desk)
    assert elsewhere.handover.hand_over("parents told") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "enter")
        assert elsewhere.lines.tick("drape") == ""
        await type_in(pilot, "t")
        assert "It changed while you read: look again, then take it." in words(pilot).replace("│ │ ", "")
        begun.session.refresh()
        assert begun.session.state.taken_over_by == ""
        await type_in(pilot, "", "enter")
        await type_in(pilot, "t")
    begun.session.refresh()
    assert begun.session.state.taken_over_by == "RA"


async def test_ready_names_the_handover_and_leads_to_it(desk: Workstation, checked: OpenPreparation) -> None:
    assert checked.handover.hand_over("parents told") == ""
    async with run(desk, (40, 20)) as pilot:
        await type_in(pilot, "", "enter", "r")
        await move_to(pilot, "missing")
        await type_in(pilot, "", "enter")
        assert place(pilot) == "handover"
