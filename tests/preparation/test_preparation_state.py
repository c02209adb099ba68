"""What the events of a preparation add up to."""

import pytest
from preparation_samples import (
    BLOCKED_DEVICE,
    DEVICE,
    LIST,
    MORE_SURFACTANT,
    START,
    STARTED,
    SURFACTANT,
    TUBE,
    Record,
    line,
    listed,
    record_with,
    replay,
    withheld,
)

from prepkit.attribution import Attribution
from prepkit.preparation.baby.events import Answered, AnswerTakenBack, FactGiven, SeniorAgreed, WeightConfirmed
from prepkit.preparation.check.events import CheckBegun, CheckRead
from prepkit.preparation.codec import RecordUnreadable
from prepkit.preparation.events import Event, Payload, ReadAloud, StoodDown, WardReplaced
from prepkit.preparation.evolve import evolve, fold
from prepkit.preparation.lines.decide import decide_relist
from prepkit.preparation.lines.events import LineSnapshot, Listed, Restored, SetAside, Ticked, Unticked
from prepkit.preparation.lines.marks import GroupCount
from prepkit.preparation.state import LIST_IS_OLD, NO_LIST_YET


def tick(of: LineSnapshot) -> Ticked:
    return Ticked(of.id, of.fingerprint)


def aside(of: LineSnapshot) -> SetAside:
    return SetAside(of.id, of.fingerprint, "one is in place")


def ready(*more: Payload) -> Record:
    return record_with(LIST, tick(SURFACTANT), tick(DEVICE), aside(TUBE), *more)


def test_a_preparation_just_started_has_no_list_and_is_not_complete() -> None:
    state = Record().state
    assert (state.withheld, state.lines, state.left, state.is_complete) == (NO_LIST_YET, (), 0, False)
    assert (state.cot, state.started, state.last) == ("Cot 3", state.last, state.started)


def test_while_two_weights_stand_against_each_other_no_list_is_decided_nor_believed() -> None:
    record = record_with(FactGiven("birth_weight", "1450"), LIST)
    record.add(CheckBegun(), "CD")
    state = record.add(CheckRead("birth_weight", "1540", agrees=False), "CD")
    assert state.disputed is not None
    assert decide_relist(state, listed(MORE_SURFACTANT)) == ()
    assert record.add(listed(MORE_SURFACTANT)).lines == ()
    assert record.add((FactGiven("birth_weight", "1540"), listed(MORE_SURFACTANT))).lines == (MORE_SURFACTANT,)


def test_a_tick_counts_for_the_line_it_was_made_for() -> None:
    state = record_with(LIST, tick(SURFACTANT)).state
    assert state.is_ticked("surfactant")
    assert not state.is_ticked("device")
    assert not state.is_ticked("nothing of that name")
    assert state.left == 2
    assert state.ticks["surfactant"].stamp.who == "AB"


def test_groups_count_their_ticks_and_their_lines_set_aside() -> None:
    state = record_with(LIST, tick(DEVICE), aside(TUBE)).state
    assert state.groups == (GroupCount("medicines", 0, 0, 1), GroupCount("airway", 1, 1, 2))
    assert [group.left for group in state.groups] == [1, 0]


def test_a_list_is_complete_when_nothing_is_left() -> None:
    assert ready().state.is_complete
    assert not ready(Unticked("device")).state.is_complete
    assert not ready(Restored("tube")).state.is_complete
    assert not ready(withheld()).state.is_complete


def test_a_new_list_takes_exactly_the_ticks_whose_lines_changed() -> None:
    record = record_with(LIST, tick(SURFACTANT), tick(DEVICE), listed(MORE_SURFACTANT, DEVICE, TUBE))
    state = record.state
    assert not state.is_ticked("surfactant")
    assert state.is_ticked("device")
    assert set(state.changes) == {"surfactant"}
    change = state.changes["surfactant"]
    assert (change.old_show, change.new_show, change.was_by) == ("3.6 mL", "3.8 mL", "AB")
    assert change.at == state.last.at
    assert not change.gone


def test_a_line_that_was_not_ticked_changes_without_a_word() -> None:
    assert record_with(LIST, listed(MORE_SURFACTANT, DEVICE, TUBE)).state.changes == {}


def test_a_tick_made_for_an_old_value_does_not_count() -> None:
    state = record_with(LIST, listed(MORE_SURFACTANT, DEVICE, TUBE), tick(SURFACTANT)).state
    assert not state.is_ticked("surfactant")
    assert state.ticks == {}


def test_a_value_that_changes_and_changes_back_is_not_ticked_again_by_itself() -> None:
    state = record_with(LIST, tick(SURFACTANT), listed(MORE_SURFACTANT, DEVICE, TUBE), LIST).state
    assert not state.is_ticked("surfactant")
    assert state.changes["surfactant"].old_show == state.changes["surfactant"].new_show == "3.6 mL"


def test_a_change_keeps_what_was_ticked_through_several_lists() -> None:
    state = record_with(
        LIST, tick(SURFACTANT), listed(MORE_SURFACTANT), listed(line("surfactant", "4.0 mL", essential=True))
    ).state
    assert (state.changes["surfactant"].old_show, state.changes["surfactant"].new_show) == ("3.6 mL", "4.0 mL")


def test_a_changed_line_that_goes_is_gone_and_comes_back_changed() -> None:
    record = record_with(LIST, tick(SURFACTANT), listed(MORE_SURFACTANT, DEVICE), listed(DEVICE))
    gone = record.state.changes["surfactant"]
    assert (gone.old_show, gone.new_show, gone.gone, gone.at) == ("3.6 mL", "", True, record.state.last.at)
    assert record.state.gone == (gone,)
    assert record.add(listed(DEVICE, TUBE)).changes["surfactant"] == gone
    back = record.add(LIST).changes["surfactant"]
    assert (back.old_show, back.new_show, back.gone, back.at) == ("3.6 mL", "3.6 mL", False, record.state.last.at)
    assert record.add(listed(SURFACTANT)).changes["surfactant"] == back


@pytest.mark.parametrize("cleared_by", [tick(TUBE), aside(TUBE)])
def test_a_change_is_cleared_by_ticking_or_setting_the_line_aside_again(cleared_by: Payload) -> None:
    old = line("tube", "2")
    record = record_with(listed(old, DEVICE), tick(old), listed(TUBE, DEVICE))
    assert set(record.state.changes) == {"tube"}
    assert record.add(cleared_by).changes == {}


def test_while_a_list_is_withheld_no_tick_counts_and_none_is_lost() -> None:
    record = record_with(LIST, tick(SURFACTANT), aside(TUBE), withheld())
    state = record.state
    assert not state.is_ticked("surfactant")
    assert not state.is_set_aside("tube")
    assert not state.is_complete
    assert state.groups == ()
    back = record.add(LIST)
    assert back.is_ticked("surfactant")
    assert back.is_set_aside("tube")
    assert back.changes == {}


def test_a_list_that_comes_back_with_another_value_takes_the_tick_and_says_so() -> None:
    state = record_with(LIST, tick(SURFACTANT), tick(DEVICE), withheld(), listed(MORE_SURFACTANT, DEVICE)).state
    assert not state.is_ticked("surfactant")
    assert state.is_ticked("device")
    assert (state.changes["surfactant"].old_show, state.changes["surfactant"].new_show) == ("3.6 mL", "3.8 mL")


def test_nothing_is_ticked_while_the_list_is_withheld() -> None:
    state = record_with(LIST, withheld(), tick(DEVICE), aside(TUBE), LIST).state
    assert state.ticks == {}
    assert state.set_asides == {}


@pytest.mark.parametrize("between", [(), (withheld(),)])
def test_a_line_that_goes_and_comes_back_the_same_has_to_be_ticked_again(between: tuple[Listed, ...]) -> None:
    record = record_with(LIST, tick(DEVICE), listed(SURFACTANT, TUBE), *between)
    assert [change.name for change in record.state.gone] == ["Device"]
    state = record.add(LIST)
    assert not state.is_ticked("device")
    change = state.changes["device"]
    assert (change.old_show, change.new_show, change.gone) == ("size 1", "size 1", False)
    assert state.gone == ()


def test_a_line_set_aside_that_goes_and_comes_back_has_to_be_decided_again() -> None:
    state = record_with(LIST, aside(TUBE), listed(SURFACTANT), LIST).state
    assert not state.is_set_aside("tube")
    assert state.changes["tube"].was_set_aside


def test_a_line_that_becomes_blocked_is_not_ticked_whatever_its_fingerprint() -> None:
    blocked = LineSnapshot("device", "airway", "Device", "", DEVICE.fingerprint, "recalled", essential=False)
    state = record_with(LIST, tick(DEVICE), listed(blocked)).state
    assert not state.is_ticked("device")
    assert set(state.changes) == {"device"}


def test_a_line_that_becomes_essential_is_not_set_aside_whatever_its_fingerprint() -> None:
    needed = LineSnapshot("tube", "airway", "Tube", "", TUBE.fingerprint, "", essential=True)
    assert not record_with(LIST, aside(TUBE), listed(needed)).state.is_set_aside("tube")


def test_a_fact_given_takes_the_list_away_until_the_next_one() -> None:
    record = record_with(FactGiven("birth_weight", "1450"), LIST, tick(DEVICE), FactGiven("birth_weight", "1500"))
    assert record.state.withheld == LIST_IS_OLD
    assert not record.state.is_ticked("device")
    assert record.add(LIST).is_ticked("device")


def test_new_texts_take_the_list_away_until_the_next_one() -> None:
    state = record_with(LIST, WardReplaced("kit 2", "2", "ward", "Ward 9")).state
    assert (state.kit_text, state.kit_edition, state.ward_text, state.ward_name) == ("kit 2", "2", "ward", "Ward 9")
    assert state.withheld == LIST_IS_OLD


def test_facts_keep_the_order_in_which_they_were_first_given() -> None:
    given = [
        FactGiven(*each) for each in (("birth_weight", "1450"), ("birth_gestation", "30+2"), ("birth_weight", "1500"))
    ]
    assert list(record_with(*given).state.facts.items()) == [("birth_weight", "1500"), ("birth_gestation", "30+2")]


WEIGHED = (FactGiven("birth_weight", "1450"), FactGiven("birth_gestation", "30+2"), FactGiven("sex", "girl"))
CONFIRMED = WeightConfirmed("birth_weight", {"birth_weight": "1450", "birth_gestation": "30+2", "sex": "girl"}, "CD")


def test_a_confirmed_weight_counts_with_the_facts_it_was_confirmed_for() -> None:
    state = record_with(*WEIGHED, CONFIRMED, FactGiven("cpap", "6 cmH2O"), FactGiven("sex", "girl")).state
    confirmation = state.confirmations["birth_weight"]
    assert (confirmation.second, confirmation.stamp.who) == ("CD", "AB")


@pytest.mark.parametrize(("fact", "other"), [("birth_weight", "1500"), ("birth_gestation", "28+0"), ("sex", "boy")])
def test_a_change_of_any_fact_it_was_confirmed_for_voids_a_weight_for_good(fact: str, other: str) -> None:
    record = record_with(*WEIGHED, CONFIRMED, FactGiven(fact, other))
    assert record.state.confirmations == {}
    back = {"birth_weight": "1450", "birth_gestation": "30+2", "sex": "girl"}[fact]
    assert record.add(FactGiven(fact, back)).confirmations == {}


def test_a_weight_stays_confirmed_when_an_assumed_fact_is_given_as_assumed() -> None:
    assumed = record_with(WEIGHED[0], WEIGHED[1], CONFIRMED)
    assert set(assumed.add(FactGiven("sex", "girl")).confirmations) == {"birth_weight"}
    assert assumed.add(FactGiven("sex", "boy")).confirmations == {}


@pytest.mark.parametrize("given", [(), WEIGHED[1:], (FactGiven("birth_weight", "1500"),)])
def test_a_confirmation_of_a_weight_that_was_not_given_is_not_believed(given: tuple[Payload, ...]) -> None:
    assert record_with(*given, CONFIRMED).state.confirmations == {}


def test_a_senior_agreed_to_one_verdict_and_no_other() -> None:
    state = record_with(SeniorAgreed("EF", "go on", "verdict 1")).state
    assert state.is_senior_agreed("verdict 1")
    assert not state.is_senior_agreed("verdict 2")


def test_the_last_answer_to_a_question_counts() -> None:
    state = record_with(Answered("malformation", "unsure"), Answered("malformation", "no")).state
    assert state.answers["malformation"].answer == "no"


def test_a_summary_read_aloud_counts_for_the_list_it_was_read_for() -> None:
    state = ready(ReadAloud("s1")).state
    assert state.is_read_aloud("s1")
    assert not state.is_read_aloud("s2")


@pytest.mark.parametrize(
    "later",
    [
        (Unticked("device"), tick(DEVICE)),
        (Restored("tube"), aside(TUBE)),
        (LIST,),
        (withheld(), LIST),
        (FactGiven("cpap", "7 cmH2O"), LIST),
        (Answered("malformation", "yes"),),
        (AnswerTakenBack("malformation"),),
        (SeniorAgreed("EF", "go on", "v"),),
        (WardReplaced("k", "2", None, None), LIST),
    ],
)
def test_a_summary_read_aloud_stops_counting_when_anything_happens(later: tuple[Payload, ...]) -> None:
    record = ready(ReadAloud("s1"), *later)
    assert record.state.is_complete
    assert not record.state.is_read_aloud("s1")


def test_what_was_read_aloud_is_kept_when_the_team_stands_down() -> None:
    state = ready(ReadAloud("s1"), StoodDown("baby improved")).state
    assert state.is_read_aloud("s1")
    assert state.stood_down is not None
    assert state.stood_down.reason == "baby improved"


def test_a_list_read_aloud_with_something_left_does_not_count() -> None:
    assert not record_with(LIST, ReadAloud("s1")).state.is_read_aloud("s1")


def test_marks_that_cannot_be_are_kept_out() -> None:
    state = record_with(listed(BLOCKED_DEVICE, SURFACTANT), tick(BLOCKED_DEVICE), aside(SURFACTANT), tick(TUBE)).state
    assert (state.ticks, state.set_asides) == ({}, {})
    state = record_with(LIST, tick(TUBE), aside(TUBE)).state
    assert (set(state.ticks), set(state.set_asides)) == ({"tube"}, set())
    state = record_with(LIST, aside(TUBE), tick(TUBE)).state
    assert (set(state.ticks), set(state.set_asides)) == (set(), {"tube"})


def test_an_empty_record_is_unreadable() -> None:
    with pytest.raises(RecordUnreadable, match="empty"):
        fold([])


def test_a_record_that_does_not_begin_with_a_start_is_unreadable() -> None:
    with pytest.raises(RecordUnreadable, match=r"event 1 \(listed\): the record has to begin"):
        fold([Event(1, Attribution("AB", START, "desk 1"), LIST)])


def test_a_second_start_a_gap_and_anything_after_the_end_are_unreadable() -> None:
    stamp = Attribution("AB", START, "desk 1")
    with pytest.raises(RecordUnreadable, match=r"event 2 \(started\)"):
        evolve(Record().state, Event(2, stamp, STARTED))
    for seq in (0, 1, 3):
        with pytest.raises(RecordUnreadable, match="expected event 2"):
            evolve(Record().state, Event(seq, stamp, LIST))
    with pytest.raises(RecordUnreadable, match=r"event 3 \(listed\): comes after the preparation was stood down"):
        evolve(record_with(StoodDown("baby improved")).state, Event(3, stamp, LIST))


def test_a_record_read_back_gives_the_same_preparation() -> None:
    record = ready(*WEIGHED, CONFIRMED, LIST, Answered("m", "no"), SeniorAgreed("EF", "go", "v"), ReadAloud("s"))
    assert replay(record.events) == record.state
    assert list(replay(record.events).facts) == list(record.state.facts)


def test_taking_an_event_in_leaves_the_state_before_it_as_it_was() -> None:
    record = record_with(LIST)
    before = record.state
    record.add((tick(DEVICE), aside(TUBE), listed(MORE_SURFACTANT)))
    assert before == replay(record.events[:2])
