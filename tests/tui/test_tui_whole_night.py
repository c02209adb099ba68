"""The whole night on two devices: begun by one, corrected, handed over, checked by another, settled, ready."""

import pytest
from hands import check_by_keys, move_to, place, run, see, touch_button, touch_keys, touch_row, type_in
from workstation_scene import answer_all, find_row, list_lines, tick

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.view.models import Sign

pytestmark = pytest.mark.thorough


def words(text: str) -> str:
    return " ".join(text.split())


async def test_prepared_corrected_handed_over_checked_elsewhere_settled_and_ready(
    desk: Workstation, other_desk: Workstation, begun: OpenPreparation
) -> None:
    # RA prepares half of it on the workstation, for a weight with two digits turned round.
    assert begun.baby.give_fact("birth_weight", "1540") == ""
    for line in list_lines(begun)[:12]:
        assert tick(begun, line) == ""
    async with run(desk, (40, 20)) as workstation:
        await touch_row(workstation, begun.session.prep)
        # It is read again: exactly what it changes is un-ticked, and says so.
        await type_in(workstation, "", "b")
        await move_to(workstation, "birth_weight")
        await type_in(workstation, "", "enter", *["backspace"] * 4)
        await type_in(workstation, "1450", "enter")
        begun.session.refresh()
        changed = [line for line in list_lines(begun) if find_row(begun, line).sign is Sign.CHANGED]
        assert "surfactant" in changed
        assert "t-piece-circuit" not in changed
        while place(workstation) != "list":
            await type_in(workstation, "", "escape")
        await touch_button(workstation, "hand_over")
        await touch_keys(workstation, "drugs to draw up")
        assert "Handed over by RA at 03:12: take it" in words(see(workstation))

    # KM takes it on a phone of their own, and finishes it.
    async with run(other_desk, (40, 20)) as phone:
        await touch_row(phone, begun.session.prep)
        await touch_row(phone, "handover")
        assert '"drugs to draw up"' in see(phone)
        await touch_button(phone, "take")
        assert place(phone) == "list"
    taken = other_desk.resume(begun.session.prep)
    assert not isinstance(taken, str)
    assert taken.session.state.taken_over_by == "KM"
    answer_all(taken)
    for line in list_lines(taken):
        if not taken.session.state.is_ticked(line):
            assert tick(taken, line) == ""
    assert taken.ready.show_ready().missing[0].startswith("Second check")

    # TO checks blind, signed in on the spot at the workstation; the phone shows no amount meanwhile, and one differs.
    async with run(desk, (40, 20)) as workstation:
        await touch_row(workstation, begun.session.prep)
        await type_in(workstation, "", "r", "c")
        await check_by_keys(workstation, wrong="3.2")
        assert place(workstation) == "checked"
        assert "1 differs: settle or correct." in see(workstation)
        await touch_row(workstation, "surfactant")
        await touch_button(workstation, "settle")
        await touch_keys(workstation, "to used 176")
        await touch_button(workstation, "ready")
        assert "Ready: read this aloud" in see(workstation)
        await touch_button(workstation, "read_aloud")
    taken.session.refresh()
    assert taken.ready.show_ready().said == "Read aloud by RA at 03:12."
    assert "Surfactant: the check said 3.2 mL, settled by RA (to used 176)." in taken.ready.show_ready().summary
