"""The page of reasons against the route: touched, answered for all at once, each kept by its name; advice; roles."""

from pathlib import Path

import pytest
from workstation_scene import MakeDesk, answer_all, check_all, find_row, start, tick_all

from prepkit.app.open_preparation import OpenPreparation
from prepkit.app.reports import find_stored_preparations, make_record_export
from prepkit.app.workstation import Workstation
from prepkit.preparation.baby.events import Answered
from prepkit.view.models import Sign
from prepkit.view.routes import ScreenRoute, Target

REASONS = ("intubation-near", "pneumothorax", "malformation", "major-anomaly", "other-cause")
LOCAL_REASON = """
[[local]]
kits = ["surfactant-supraglottic"]
criterion = [{ id = "no-hands", text = "No hands free", otherwise = "ask a senior", basis = "local" }]
"""
SAID = ("corrected", "parents-told", "senior-informed")


def find_signs(opened: OpenPreparation) -> dict[str, Sign]:
    view = opened.baby.show_suitability()
    return {row.id: row.sign for row in (*view.against, *view.said)}


def make_ready(opened: OpenPreparation) -> None:
    tick_all(opened)
    answer_all(opened)
    check_all(opened)
    assert opened.ready.show_ready().is_open


# The page


def test_the_page_has_every_reason_and_a_touch_says_that_one_applies_or_takes_it_back(desk: Workstation) -> None:
    opened = start(desk)
    view = opened.baby.show_suitability()
    assert tuple(row.id for row in view.against) == REASONS
    assert tuple(row.id for row in view.said) == SAID
    assert (view.progress, view.none_offer) == ("0 of 5", "None of these")
    assert opened.baby.touch("pneumothorax") == ""
    view = opened.baby.show_suitability()
    assert find_signs(opened)["pneumothorax"] is Sign.BLOCKED
    assert (view.verdict, view.progress, view.none_offer) == ("not suitable", "1 of 5", "None of the others")
    assert opened.baby.touch("pneumothorax") == ""
    assert find_signs(opened)["pneumothorax"] is Sign.TO_DO
    assert opened.baby.show_suitability().verdict == "questions open"


def test_a_reason_that_was_said_not_to_apply_applies_when_it_is_touched(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.answer_others() == ""
    assert opened.baby.touch("malformation") == ""
    assert find_signs(opened)["malformation"] is Sign.BLOCKED


def test_not_sure_is_taken_back_by_a_touch(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.answer("malformation", "unsure") == ""
    assert opened.baby.touch("malformation") == ""
    assert "malformation" not in opened.session.state.answers


def test_none_of_the_others_answers_what_is_open_at_once_and_each_by_its_name(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.touch("malformation") == ""
    before = opened.session.state.seq
    desk.identity.who = "KM"
    assert opened.baby.answer_others() == ""
    stored = find_stored_preparations(desk.store, "Cot 4")[0]
    made = [event for event in stored.events if event.seq > before]
    assert [event.payload for event in made] == [Answered(each, "no") for each in REASONS if each != "malformation"]
    assert {event.stamp.who for event in made} == {"KM"}
    assert opened.session.state.answers["malformation"].answer == "yes"
    assert opened.baby.show_suitability().none_offer == ""
    assert opened.baby.answer_others() == "", "nothing is left to say"
    assert opened.session.state.seq == made[-1].seq


def test_the_record_keeps_each_reason_with_its_answer_and_who_gave_it(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.touch("malformation") == ""
    assert opened.baby.touch("malformation") == ""
    desk.identity.who = "KM"
    assert opened.baby.answer_others() == ""
    assert opened.baby.touch("parents-told") == ""
    export = make_record_export(find_stored_preparations(desk.store, "Cot 4")[0], opened.session.clock())
    assert not isinstance(export, str)
    record = export.record
    kept = {row.id: row for row in record.reasons}
    assert {(kept[each].answer, kept[each].said.who if kept[each].said else "") for each in REASONS} == {("no", "KM")}
    assert (kept["parents-told"].answer, kept["senior-informed"].answer) == ("done", "")
    told = [f"{row.said.who} {row.words}" for row in record.timeline]
    assert "RA Applies: Malformation of face, jaw, trachea or lung" in told
    assert "RA Taken back, open again: Malformation of face, jaw, trachea or lung" in told
    named = "; ".join(row.text for row in opened.baby.show_suitability().against)
    assert f"KM Does not apply: {named}" in told
    assert "KM Done: Parents told" in told


def test_none_of_the_others_leaves_alone_what_another_device_answered_meanwhile(make_desk: MakeDesk) -> None:
    mine = start(make_desk("RA"))
    theirs = make_desk("KM").resume(mine.session.prep)
    assert not isinstance(theirs, str)
    assert theirs.baby.touch("malformation") == ""
    assert mine.baby.answer_others() == ""
    assert mine.session.state.answers["malformation"].answer == "yes"
    assert mine.session.state.answers["other-cause"].answer == "no"


def test_a_reason_that_another_device_opened_again_is_not_answered_unseen(make_desk: MakeDesk) -> None:
    mine = start(make_desk("RA"))
    assert mine.baby.touch("malformation") == ""
    theirs = make_desk("KM").resume(mine.session.prep)
    assert not isinstance(theirs, str)
    assert theirs.baby.touch("malformation") == ""
    assert mine.baby.answer_others() == ""
    assert "malformation" not in mine.session.state.answers


def test_none_of_the_others_is_refused_where_the_reasons_changed_meanwhile(
    make_desk: MakeDesk, ward_file: Path
) -> None:
    mine = start(make_desk("RA"))
    theirs = make_desk("KM").resume(mine.session.prep)
    assert not isinstance(theirs, str)
    ward_file.write_text(f"{ward_file.read_text('utf-8')}\n{LOCAL_REASON}", "utf-8")
    assert theirs.lines.take_news() == ""
    assert "changed while you looked" in mine.baby.answer_others()
    assert not mine.session.state.answers


# Advice


def test_advice_never_shuts_ready_and_what_was_not_recorded_is_read_aloud(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.give_fact("fio2", "80") == ""
    make_ready(opened)
    facts = {row.id: (row.sign, row.text) for row in opened.baby.show_suitability().facts}
    sign, words = facts["fio2-of-trials"]
    assert sign is Sign.ADVICE
    assert words.endswith("(FiO2 now: 80 %)")
    aloud = " ".join(opened.ready.show_ready().summary)
    assert "Not recorded: Cold, low glucose, acidosis" in aloud
    assert "Parents told; Senior informed." in aloud


@pytest.mark.parametrize(
    ("weight", "gestation", "verdict"),
    # Gallup 2023: 27 to 36 weeks, babies of 810 to 3560 g.
    [("2900", "36+6", "met"), ("2900", "37+0", "advice"), ("3560", "36+6", "met"), ("3561", "36+6", "advice")],
)
def test_past_the_babies_of_the_trials_it_asks_whether_this_is_rds(
    desk: Workstation, weight: str, gestation: str, verdict: str
) -> None:
    opened = start(desk, weight, gestation)
    assert opened.session.state.withheld == "" or opened.baby.confirm_weight(weight) == ""
    tray = opened.session.work_out().tray
    assert tray is not None
    assert {reason.criterion: reason.verdict for reason in tray.reasons}["size-of-trials"] == verdict


@pytest.mark.parametrize(("fio2", "verdict"), [("30", "met"), ("60", "met"), ("61", "advice")])
def test_above_the_fio2_of_the_trials_it_is_said(desk: Workstation, fio2: str, verdict: str) -> None:
    opened = start(desk)
    assert opened.baby.give_fact("fio2", fio2) == ""
    tray = opened.session.work_out().tray
    assert tray is not None
    assert {reason.criterion: reason.verdict for reason in tray.reasons}["fio2-of-trials"] == verdict


def test_what_is_said_after_the_summary_was_read_aloud_takes_nothing_back(desk: Workstation) -> None:
    opened = start(desk)
    make_ready(opened)
    assert opened.ready.read_aloud() == ""
    assert opened.baby.touch("parents-told") == ""
    assert find_signs(opened)["parents-told"] is Sign.DONE
    assert opened.ready.show_ready().said
    assert opened.baby.touch("parents-told") == ""
    assert find_signs(opened)["parents-told"] is Sign.TO_DO
    assert opened.ready.show_ready().said


def test_what_is_said_takes_no_seniors_agreement_back(desk: Workstation) -> None:
    opened = start(desk)
    make_ready(opened)
    assert opened.baby.answer("malformation", "unsure") == ""
    assert opened.baby.agree_senior("CW", "seen, go on") == ""
    assert opened.ready.show_ready().is_open
    assert opened.baby.touch("senior-informed") == ""
    assert opened.ready.show_ready().is_open


# Who leads, and who intubates if it fails


def test_ready_asks_for_each_fact_and_each_role_and_leads_to_it(desk: Workstation) -> None:
    opened = start(desk)
    view = opened.ready.show_ready()
    leads = dict(zip(view.missing, view.targets, strict=True))
    assert leads["Leads: not recorded"] == Target(ScreenRoute.BABY, fact="leads")
    assert leads["Intubates if it fails: not recorded"] == Target(ScreenRoute.BABY, fact="intubates")
    assert leads["FiO2 now: not recorded"] == Target(ScreenRoute.BABY, fact="fio2")


@pytest.mark.parametrize("role", ["leads", "intubates"])
def test_it_cannot_go_ready_without_any_of_them(desk: Workstation, role: str) -> None:
    opened = start(desk)
    given = {"fio2": "38", "leads": "KM, skilled", "intubates": "KM, in the room", "line_patent": "yes"}
    for fact, typed in given.items():
        assert fact == role or opened.baby.give_fact(fact, typed) == ""
    assert opened.baby.answer_others() == opened.baby.confirm_facts() == ""
    tick_all(opened)
    check_all(opened)
    assert len(opened.ready.show_ready().missing) == 1
    assert opened.baby.give_fact(role, given[role]) == ""
    assert opened.ready.show_ready().is_open, "one person may have several roles"


def test_roles_are_read_aloud_and_stand_in_the_record(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.give_fact("leads", "lb, supervised by km") == ""
    assert opened.baby.give_fact("intubates", "KM, on call elsewhere") == ""
    make_ready(opened)
    aloud = opened.ready.show_ready().summary
    assert "Leads: LB, supervised by KM." in aloud
    assert "Intubates if it fails: KM, on call elsewhere." in aloud
    export = make_record_export(find_stored_preparations(desk.store, "Cot 4")[0], opened.session.clock())
    assert not isinstance(export, str)
    kept = {row.id: row.value for row in export.record.facts}
    assert (kept["leads"], kept["intubates"]) == ("LB, supervised by KM", "KM, on call elsewhere")


def test_another_person_in_a_role_is_read_aloud_anew(desk: Workstation) -> None:
    opened = start(desk)
    make_ready(opened)
    assert opened.ready.read_aloud() == ""
    assert opened.baby.give_fact("intubates", "CW, in the room") == ""
    view = opened.ready.show_ready()
    assert view.is_open
    assert not view.said


# Ticks and facts that contradict each other


def test_a_tick_that_says_otherwise_than_a_fact_is_said_on_its_row_and_shuts_ready(desk: Workstation) -> None:
    opened = start(desk)
    make_ready(opened)
    assert opened.baby.give_fact("line_patent", "no") == ""
    row = find_row(opened, "line-flushed")
    assert row.sign is Sign.QUESTION
    assert row.word.startswith("done ")
    assert row.note == "but Line checked as patent: no"
    view = opened.ready.show_ready()
    assert not view.is_open
    words = "Line flushed and patent: ticked, but Line checked as patent: no. Correct one of the two."
    assert dict(zip(view.missing, view.targets, strict=True)) == {words: Target(ScreenRoute.LINE, "line-flushed")}
    assert words in opened.lines.show_list().notices
    line = opened.lines.show_line("line-flushed")
    assert line is not None
    assert line.contradicts == "line_patent"


@pytest.mark.parametrize("by", ["fact", "tick"])
def test_either_may_be_put_right(desk: Workstation, by: str) -> None:
    opened = start(desk)
    make_ready(opened)
    assert opened.baby.give_fact("line_patent", "no") == ""
    if by == "fact":
        assert opened.baby.give_fact("line_patent", "yes") == ""
        assert opened.ready.show_ready().is_open
    else:
        assert opened.lines.tick("line-flushed") == ""
        assert opened.ready.show_ready().missing == ("Line flushed and patent: to do",)
    assert find_row(opened, "line-flushed").note == ""


def test_a_default_that_nobody_confirmed_is_said_beside_the_tick_too(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.lines.tick("line-flushed") == ""
    assert find_row(opened, "line-flushed").note == "but Line checked as patent: no"


def test_a_line_that_is_not_needed_says_nothing_of_the_fact(desk: Workstation) -> None:
    opened = start(desk)
    assert opened.baby.give_fact("line_patent", "no") == ""
    assert opened.lines.set_aside("line-flushed", "no line to be had") == ""
    assert find_row(opened, "line-flushed").note == "no line to be had"


def test_before_its_tick_a_line_asks_for_the_fact_that_it_would_contradict(desk: Workstation) -> None:
    opened = start(desk)
    for value, asks in (("no", "line_patent"), ("yes", "")):
        assert opened.baby.give_fact("line_patent", value) == ""
        line = opened.lines.show_line("line-flushed")
        assert line is not None
        assert (line.asks, line.contradicts) == (asks, "")
