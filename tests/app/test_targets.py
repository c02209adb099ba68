"""Each sentence that can be touched carries where it leads; no screen has to guess it from the words."""

import pytest
from workstation_scene import KIT, Clock, MakeDesk, answer_all, check_all, find_row, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.view.routes import ScreenRoute, Target


def read_leads(opened: OpenPreparation) -> dict[str, Target]:
    view = opened.ready.show_ready()
    return dict(zip(view.missing, view.targets, strict=True))


def find_lead(opened: OpenPreparation, begins: str) -> Target:
    return next(target for words, target in read_leads(opened).items() if words.startswith(begins))


def test_what_is_to_do_leads_to_its_line_and_what_is_asked_to_its_question(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    assert find_lead(opened, "Surfactant: to do") == Target(ScreenRoute.LINE, "surfactant")
    assert find_lead(opened, "To answer: ") == Target(ScreenRoute.SUITABILITY)
    assert find_lead(opened, "CPAP now: default, ") == Target(ScreenRoute.BABY)
    assert find_lead(opened, "Second check: ") == Target(ScreenRoute.CHECK)


def test_a_line_is_found_although_its_name_begins_another_one(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    for words, target in read_leads(opened).items():
        if words.endswith(": to do"):
            assert target == Target(ScreenRoute.LINE, target.line)
            assert find_row(opened, target.line).name == words.removesuffix(": to do")


def test_a_list_that_is_withheld_leads_to_the_baby(make_desk: MakeDesk) -> None:
    started = make_desk().start(KIT, "Cot 4")
    assert not isinstance(started, str)
    assert set(read_leads(started).values()) == {Target(ScreenRoute.BABY)}
    assert started.baby.give_fact("birth_weight", "3200") == started.baby.give_fact("birth_gestation", "26+0") == ""
    assert set(read_leads(started).values()) == {Target(ScreenRoute.BABY)}


def test_a_difference_leads_to_its_workings_and_a_handover_to_itself(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    tick_all(opened)
    answer_all(opened)
    check_all(opened, wrong={"surfactant": "3.2"})
    assert opened.handover.hand_over("catheter to mark") == ""
    assert list(read_leads(opened).values()) == [
        Target(ScreenRoute.DIFFERENCE, "surfactant"),
        Target(ScreenRoute.HANDOVER),
    ]


def test_what_time_has_made_stale_leads_to_its_line(make_desk: MakeDesk, clock: Clock) -> None:
    opened = start(make_desk())
    tick_all(opened)
    clock.move(hours=30)
    opened.session.refresh()
    stale = {words: target for words, target in read_leads(opened).items() if "take another one" in words}
    assert stale
    assert all(target.route is ScreenRoute.LINE and find_row(opened, target.line) for target in stale.values())


@pytest.mark.parametrize(("weight", "gestation"), [("1450", "30+2"), ("600", "24+0")])
def test_each_notice_over_the_list_has_its_lead(make_desk: MakeDesk, weight: str, gestation: str) -> None:
    view = start(make_desk(), weight, gestation).lines.show_list()
    targets = dict(zip(view.notices, view.targets, strict=True))
    assert targets
    for words, target in targets.items():
        is_of_baby = "to confirm" in words or "to give" in words
        assert target.route is (ScreenRoute.BABY if is_of_baby else ScreenRoute.SUITABILITY), words
