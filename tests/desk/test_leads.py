"""Each sentence that can be touched carries where it leads; no screen has to guess it from the words."""

import pytest
from desk_scene import KIT, Clock, MakeDesk, answer_all, check_all, find_row, start, tick_all

from prepkit.desk.opened import OpenPreparation
from prepkit.view.models import Lead, Place


def read_leads(opened: OpenPreparation) -> dict[str, Lead]:
    view = opened.show_ready()
    return dict(zip(view.missing, view.leads, strict=True))


def find_lead(opened: OpenPreparation, begins: str) -> Lead:
    return next(lead for words, lead in read_leads(opened).items() if words.startswith(begins))


def test_what_is_to_do_leads_to_its_line_and_what_is_asked_to_its_question(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    assert find_lead(opened, "Surfactant: to do") == Lead(Place.LINE, "surfactant")
    assert find_lead(opened, "To answer: ") == Lead(Place.SUITABILITY)
    assert find_lead(opened, "To confirm, ") == Lead(Place.BABY)
    assert find_lead(opened, "Second check: ") == Lead(Place.CHECK)


def test_a_line_is_found_although_its_name_begins_another_one(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    for words, lead in read_leads(opened).items():
        if words.endswith(": to do"):
            assert lead == Lead(Place.LINE, lead.line)
            assert find_row(opened, lead.line).name == words.removesuffix(": to do")


def test_a_list_that_is_withheld_leads_to_the_baby(make_desk: MakeDesk) -> None:
    started = make_desk().start(KIT, "Cot 4")
    assert not isinstance(started, str)
    assert set(read_leads(started).values()) == {Lead(Place.BABY)}
    assert started.give_fact("weight", "3200") == started.give_fact("gestation", "26+0") == ""
    assert set(read_leads(started).values()) == {Lead(Place.BABY)}


def test_a_difference_leads_to_its_workings_and_a_handover_to_itself(make_desk: MakeDesk) -> None:
    opened = start(make_desk())
    tick_all(opened)
    answer_all(opened)
    check_all(opened, wrong={"surfactant": "3.2"})
    assert opened.handing.hand_over("catheter to mark") == ""
    assert list(read_leads(opened).values()) == [Lead(Place.DIFFERENCE, "surfactant"), Lead(Place.HANDOVER)]


def test_what_time_has_made_stale_leads_to_its_line(make_desk: MakeDesk, clock: Clock) -> None:
    opened = start(make_desk())
    tick_all(opened)
    clock.move(hours=30)
    opened.refresh()
    stale = {words: lead for words, lead in read_leads(opened).items() if "take another one" in words}
    assert stale
    assert all(lead.place is Place.LINE and find_row(opened, lead.line) for lead in stale.values())


@pytest.mark.parametrize(("weight", "gestation"), [("1450", "30+2"), ("600", "24+0")])
def test_each_notice_over_the_list_has_its_lead(make_desk: MakeDesk, weight: str, gestation: str) -> None:
    view = start(make_desk(), weight, gestation).show_list()
    leads = dict(zip(view.notices, view.leads, strict=True))
    assert leads
    for words, lead in leads.items():
        assert lead.place is (Place.BABY if "assumed" in words else Place.SUITABILITY), words
