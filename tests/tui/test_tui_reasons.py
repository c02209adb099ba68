"""The page of reasons, roles before ready and a tick that contradicts a fact: by keys alone and by touch alone."""

import pytest
from hands import Hands, bring_in_sight, move_to, place, row_of, run, see, touch_button, touch_row, type_in
from workstation_scene import answer_all, check_all, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.workstation import Workstation
from prepkit.tui.widgets.button import Button
from prepkit.tui.widgets.row import Row

SMALL = (40, 20)


def find_cut(pilot: Hands) -> list[str]:
    """Rows of reasons that are not wholly in sight, and the button where it is not."""
    body = pilot.app.screen.query_one("#body").region
    rows = [row for row in pilot.app.screen.query(Row) if row.key.startswith("against ")]
    assert len(rows) == 5
    return [row.key for row in rows if not body.contains_region(row.region)]


async def test_every_reason_and_the_button_for_the_others_are_in_sight_at_once(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "s")
        assert find_cut(pilot) == []
        assert "None of these" in see(pilot)
        await type_in(pilot, "", "space")
        assert find_cut(pilot) == []
        assert "None of the others" in see(pilot)


async def test_by_keys_a_reason_applies_is_taken_back_and_the_others_are_answered(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "s")
        await move_to(pilot, "against pneumothorax")
        await type_in(pilot, "", "space")
        assert row_of(pilot, "against pneumothorax").text.word == "applies"
        assert "not suitable" in see(pilot)
        await type_in(pilot, "", "enter")
        assert row_of(pilot, "against pneumothorax").text.word == "open"
        await type_in(pilot, "", "u")
        assert row_of(pilot, "against pneumothorax").text.word == "not sure"
        await type_in(pilot, "", "a")
        words = {row.key: row.text.word for row in pilot.app.screen.query(Row) if row.key.startswith("against ")}
        assert words.pop("against pneumothorax") == "not sure"
        assert set(words.values()) == {"no"}
        await move_to(pilot, "said parents-told")
        await type_in(pilot, "", "space")
        assert row_of(pilot, "said parents-told").text.word == "done"
    begun.session.refresh()
    assert begun.session.state.said.keys() == {"parents-told"}
    assert begun.session.state.answers["pneumothorax"].answer == "unsure"


async def test_by_touch_a_reason_applies_is_taken_back_and_the_others_are_answered(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "s")
        await touch_row(pilot, "against malformation")
        assert row_of(pilot, "against malformation").text.word == "applies"
        await touch_row(pilot, "against malformation", sign=True)
        assert row_of(pilot, "against malformation").text.word == "open"
        await touch_button(pilot, "none_of_others")
        words = {row.text.word for row in pilot.app.screen.query(Row) if row.key.startswith("against ")}
        assert words == {"no"}
        assert not any(each.name == "none_of_others" and each.display for each in pilot.app.screen.query(Button))
        await touch_row(pilot, "said senior-informed")
        assert row_of(pilot, "said senior-informed").text.word == "done"


async def test_not_sure_is_of_a_marked_reason_alone(desk: Workstation, begun: OpenPreparation) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "s")
        await move_to(pilot, "said parents-told")
        await type_in(pilot, "", "u")
        assert "Mark a reason first" in see(pilot)
    assert not begun.session.state.answers


@pytest.mark.parametrize("by", ["keys", "touch"])
async def test_from_ready_one_touch_asks_who_leads_and_who_intubates(
    desk: Workstation, begun: OpenPreparation, by: str
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "r")
        for role, answers in (("leads", ("RA", "supervised by")), ("intubates", ("KM", "type it"))):
            at = next(at for at, each in enumerate(begun.ready.show_ready().targets) if each.fact == role)
            for key in (f"missing {at}", *answers):
                if by == "touch":
                    await bring_in_sight(pilot, row_of(pilot, key))
                    await touch_row(pilot, key)
                else:
                    await move_to(pilot, key)
                    await type_in(pilot, "", "enter")
            await type_in(pilot, "km" if role == "leads" else "theatre 2", "enter")
            assert place(pilot) == "ready"
            begun.session.refresh()
    facts = begun.session.state.facts
    assert facts["leads"] == "RA, supervised by KM"
    assert facts["intubates"] == "KM, theatre 2"


async def test_initials_that_are_none_are_refused_where_they_are_typed(
    desk: Workstation, begun: OpenPreparation
) -> None:
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "b")
        await move_to(pilot, "leads")
        await type_in(pilot, "", "enter")
        await move_to(pilot, "type it")
        await type_in(pilot, "", "enter")
        await type_in(pilot, "K", "enter")
        assert "is not 2 to 4 letters" in see(pilot).replace("\n", " ")
        assert place(pilot) == "pad"


@pytest.mark.parametrize("size", [SMALL, (120, 40)])
async def test_ticking_a_line_asks_for_the_fact_that_it_would_contradict(
    desk: Workstation, begun: OpenPreparation, size: tuple[int, int]
) -> None:
    async with run(desk, size) as pilot:
        await type_in(pilot, "", "enter")
        await move_to(pilot, "line line-flushed")
        await type_in(pilot, "", "space")
        assert place(pilot) == "pad"
        assert "Has an intravenous line been checked" in see(pilot)
        await type_in(pilot, "", "enter")
        begun.session.refresh()
        assert not begun.session.state.is_ticked("line-flushed"), "the fact stayed as it was: the tick would deny it"
        await type_in(pilot, "", "space")
        await type_in(pilot, "", "up", "enter")
        assert place(pilot) == "list"
    begun.session.refresh()
    assert begun.session.state.is_ticked("line-flushed")
    assert begun.session.state.facts["line_patent"] == "yes"


@pytest.mark.parametrize("by", ["keys", "touch"])
async def test_a_contradiction_leads_from_ready_to_its_line_and_from_there_to_the_fact(
    desk: Workstation, begun: OpenPreparation, by: str
) -> None:
    tick_all(begun)
    answer_all(begun)
    check_all(begun)
    assert begun.baby.give_fact("line_patent", "no") == ""
    async with run(desk, SMALL) as pilot:
        await type_in(pilot, "", "enter", "r")
        if by == "touch":
            await touch_row(pilot, "missing 0")
            await touch_button(pilot, "correct")
            await touch_row(pilot, "yes")
        else:
            await move_to(pilot, "missing 0")
            await type_in(pilot, "", "enter", "f")
            await type_in(pilot, "", "up", "enter")
        assert place(pilot) == "line"
    begun.session.refresh()
    assert begun.ready.show_ready().is_open
