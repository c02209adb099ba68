"""What may be done to a preparation, and what is refused in which words."""

from collections.abc import Callable

import pytest
from preparation_samples import (
    BLOCKED_DEVICE,
    DEVICE,
    LIST,
    MORE_SURFACTANT,
    STARTED,
    SURFACTANT,
    TUBE,
    Record,
    listed,
    record_with,
    refused,
    withheld,
)

from prepkit.preparation.baby.decide import (
    decide_answer,
    decide_answer_back,
    decide_fact,
    decide_none_of_others,
    decide_said,
    decide_senior,
    decide_weight,
)
from prepkit.preparation.baby.events import (
    Answered,
    AnswerTakenBack,
    FactGiven,
    SaidDone,
    SeniorAgreed,
    WeightConfirmed,
)
from prepkit.preparation.decide import decide_read_aloud, decide_stand_down, decide_start, decide_ward
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import ReadAloud, StoodDown, WardReplaced
from prepkit.preparation.lines.decide import decide_relist, decide_restore, decide_set_aside, decide_tick, decide_untick
from prepkit.preparation.lines.events import LineSnapshot, Listed, Restored, SetAside, Ticked, Unticked
from prepkit.preparation.state import Preparation

ESCAPE = "all \x1b[2J well"
TURNED = "all \u202e well"


def start(cot: str, first: Listed | None = None) -> Decision:
    return decide_start(
        cot,
        STARTED.kit,
        kit_edition=STARTED.kit_edition,
        kit_name=STARTED.kit_name,
        kit_text=STARTED.kit_text,
        ward_text=None,
        ward_name=None,
        practice=False,
        listed=first,
    )


HELD_AGAINST = {"birth_weight": "1450", "birth_gestation": "30+2", "sex": "unknown"}


def weigh(
    state: Preparation,
    again: str = "1450",
    second: str = "",
    *,
    needs_second: bool = False,
    new: Listed | None = None,
    who: str = "AB",
) -> Decision:
    return decide_weight(
        state,
        "birth_weight",
        HELD_AGAINST,
        again=again,
        second=second,
        who=who,
        needs_second=needs_second,
        listed=new,
    )


def confirm(second: str = "") -> WeightConfirmed:
    return WeightConfirmed("birth_weight", HELD_AGAINST, second)


def replace_ward(state: Preparation, ward_text: str | None = "ward", new: Listed | None = None) -> Decision:
    return decide_ward(
        state,
        kit_text=STARTED.kit_text,
        kit_edition=STARTED.kit_edition,
        ward_text=ward_text,
        ward_name=None,
        listed=new,
    )


def see(of: LineSnapshot) -> str:
    return of.fingerprint


# Starting


def test_a_preparation_starts_with_a_clean_cot_label() -> None:
    assert start("  Cot  3 ") == (STARTED,)
    assert start("Cot 3", withheld()) == (STARTED, withheld())


@pytest.mark.parametrize("cot", ["", "  ", "x" * 21, "\x1b[31m3", "3\u202e4", "3\n4", "--"])
def test_a_preparation_does_not_start_for_a_cot_that_cannot_be_read(cot: str) -> None:
    assert "cot label" in refused(start(cot))


# Facts


def test_a_fact_is_recorded_with_the_list_it_gives() -> None:
    assert decide_fact(Record().state, "birth_weight", "1450", LIST) == (FactGiven("birth_weight", "1450"), LIST)
    assert decide_fact(Record().state, "birth_weight", " 1450 ", None) == (FactGiven("birth_weight", "1450"),)


def test_the_same_fact_again_gives_nothing() -> None:
    state = record_with(FactGiven("birth_weight", "1450")).state
    assert decide_fact(state, "birth_weight", "1450", LIST) == ()


def test_a_fact_given_as_it_was_assumed_is_recorded_and_takes_no_tick() -> None:
    record = record_with(FactGiven("birth_weight", "1450"), LIST, Ticked("device", see(DEVICE)))
    state = record.add(decide_fact(record.state, "lines_patent", "yes", LIST))
    assert state.facts["lines_patent"] == "yes"
    assert state.is_ticked("device")


@pytest.mark.parametrize("value", ["", ESCAPE, TURNED, "x" * 1001])
def test_a_fact_that_cannot_be_shown_is_refused(value: str) -> None:
    assert "weight" in refused(decide_fact(Record().state, "birth_weight", value, None))


# The weight entered again

WEIGHED = (FactGiven("birth_weight", "1450"), FactGiven("birth_gestation", "30+2"), withheld())


def test_a_weight_entered_again_is_confirmed_with_the_list_it_gives() -> None:
    state = record_with(*WEIGHED).state
    confirmed = confirm()
    assert weigh(state, new=LIST) == (confirmed, LIST)
    assert weigh(state, " 1450 ", new=withheld()) == (confirmed,)
    assert weigh(state) == (confirmed,)


def test_a_weight_entered_differently_is_refused_with_both_numbers() -> None:
    reason = refused(weigh(record_with(*WEIGHED).state, "1540"))
    assert "1450" in reason
    assert "1540" in reason
    assert "nothing" in refused(weigh(record_with(*WEIGHED).state, " "))


def test_a_second_person_is_somebody_else() -> None:
    state = record_with(*WEIGHED).state
    assert "Another person" in refused(weigh(state, needs_second=True))
    assert "someone else" in refused(weigh(state, second="ab", needs_second=True))
    assert "someone else" in refused(weigh(state, second="AB"))
    assert "someone else" in refused(weigh(state, second=" Ab ", who="ab", needs_second=True))
    assert "2 to 4 letters" in refused(weigh(state, second="c", needs_second=True))
    assert weigh(state, second=" cd ", needs_second=True) == (confirm("CD"),)


def test_a_weight_is_not_confirmed_by_nobody() -> None:
    assert "signed on" in refused(weigh(record_with(*WEIGHED).state, who=""))


@pytest.mark.parametrize(
    ("fact", "value", "said"),
    [
        ("birth_weight", "1500", "birth weight"),
        ("birth_gestation", "28+0", "gestation at birth"),
        ("sex", "girl", "sex"),
    ],
)
def test_a_weight_is_not_confirmed_for_facts_that_changed_meanwhile(fact: str, value: str, said: str) -> None:
    reason = refused(weigh(record_with(*WEIGHED, FactGiven(fact, value)).state))
    assert reason == f"The {said} changed while you looked: it is {value} now. Look at the weight again."


def test_a_weight_nobody_gave_is_not_confirmed() -> None:
    assert "not given" in refused(weigh(Record().state))


def test_the_same_confirmation_again_gives_nothing_but_a_second_person_is_recorded() -> None:
    record = record_with(*WEIGHED, confirm())
    assert weigh(record.state) == ()
    assert weigh(record.state, new=LIST) == (LIST,)
    assert weigh(record.state, second="CD") == (confirm("CD"),)
    assert weigh(record.state, who="EF") == (confirm(),)


# Suitability


def test_an_answer_is_recorded_once() -> None:
    record = record_with()
    assert decide_answer(record.state, "malformation", "no") == (Answered("malformation", "no"),)
    record.add(Answered("malformation", "no"))
    assert decide_answer(record.state, "malformation", "no") == ()
    assert decide_answer(record.state, "malformation", "unsure") == (Answered("malformation", "unsure"),)


@pytest.mark.parametrize("answer", ["", "No", "maybe", "\x1b[2J"])
def test_an_answer_that_is_none_is_refused(answer: str) -> None:
    reason = refused(decide_answer(Record().state, "malformation", answer))
    assert "yes, no or unsure" in reason
    assert reason.isprintable()


def test_what_was_said_of_a_reason_is_taken_back_once() -> None:
    record = record_with(Answered("malformation", "yes"))
    assert decide_answer_back(record.state, "malformation") == (AnswerTakenBack("malformation"),)
    record.add(AnswerTakenBack("malformation"))
    assert decide_answer_back(record.state, "malformation") == ()
    assert not record.state.answers


def test_none_of_the_others_is_one_decision_with_an_answer_for_each_open_reason() -> None:
    seen = record_with(Answered("malformation", "yes")).state
    said = decide_none_of_others(seen, ("intubation-near", "malformation", "other-cause"), seen)
    assert said == (Answered("intubation-near", "no"), Answered("other-cause", "no"))
    assert decide_none_of_others(seen, ("malformation",), seen) == ()


def test_none_of_the_others_is_refused_on_texts_that_nobody_read() -> None:
    seen, other = record_with().state, record_with(WardReplaced("kit", "2", None, None)).state
    assert "changed while you looked" in refused(decide_none_of_others(other, ("malformation",), seen))


def test_something_is_said_to_be_done_once_and_taken_back_once() -> None:
    record = record_with()
    assert decide_said(record.state, "parents-told", is_done=False) == ()
    assert decide_said(record.state, "parents-told", is_done=True) == (SaidDone("parents-told", is_done=True),)
    record.add(SaidDone("parents-told", is_done=True))
    assert record.state.said["parents-told"].who == "AB"
    assert decide_said(record.state, "parents-told", is_done=True) == ()
    assert decide_said(record.state, "parents-told", is_done=False) == (SaidDone("parents-told", is_done=False),)
    record.add(SaidDone("parents-told", is_done=False))
    assert not record.state.said


def test_a_senior_agrees_with_initials_and_a_note() -> None:
    state = Record().state
    assert decide_senior(state, "ef", " go on ", "v", "AB") == (SeniorAgreed("EF", "go on", "v"),)
    assert decide_senior(state, "AB", "go on", "v", "AB") == (SeniorAgreed("AB", "go on", "v"),)
    assert "Who agreed" in refused(decide_senior(state, "", "go on", "v", "AB"))
    assert "note is empty" in refused(decide_senior(state, "EF", " ", "v", "AB"))
    assert "U+001B" in refused(decide_senior(state, "EF", ESCAPE, "v", "AB"))
    assert "signed on" in refused(decide_senior(state, "EF", "go on", "v", ""))


def test_the_same_agreement_again_gives_nothing_and_one_to_a_new_verdict_is_recorded() -> None:
    state = record_with(SeniorAgreed("EF", "go on", "v")).state
    assert decide_senior(state, "EF", "go on", "v", "AB") == ()
    assert decide_senior(state, "EF", "go on", "w", "AB") == (SeniorAgreed("EF", "go on", "w"),)


# Lines


def test_a_line_is_ticked_for_what_it_is() -> None:
    assert decide_tick(record_with(LIST).state, "device", see(DEVICE)) == (Ticked("device", see(DEVICE)),)


def test_a_line_that_is_not_on_the_list_is_refused() -> None:
    assert "no line 'x'" in refused(decide_tick(record_with(LIST).state, "x", "f"))
    state = record_with(LIST, Ticked("device", see(DEVICE)), listed(TUBE)).state
    assert refused(decide_tick(state, "device", see(DEVICE))) == "Device is not on the list any more."


def test_a_blocked_line_is_refused_with_its_reason() -> None:
    reason = refused(decide_tick(record_with(listed(BLOCKED_DEVICE)).state, "device", see(BLOCKED_DEVICE)))
    assert reason == "Device is blocked: no size is approved for this weight"


@pytest.mark.parametrize("do", [decide_untick, decide_restore])
def test_nothing_is_taken_back_that_was_not_done(do: Callable[[Preparation, str], Decision]) -> None:
    assert "there is nothing to" in refused(do(record_with(LIST).state, "device"))


def test_no_line_is_touched_while_the_list_is_withheld() -> None:
    state = record_with(
        LIST, Ticked("device", see(DEVICE)), SetAside("tube", see(TUBE), "in place"), withheld("Weigh first.")
    ).state
    for decision in (
        decide_tick(state, "surfactant", see(SURFACTANT)),
        decide_untick(state, "device"),
        decide_set_aside(state, "tube", see(TUBE), "in place"),
        decide_restore(state, "tube"),
    ):
        assert refused(decision) == "There is no list now. Weigh first."


def test_a_line_set_aside_is_not_ticked_and_the_refusal_says_who_and_why() -> None:
    record = record_with(LIST)
    record.add(SetAside("tube", see(TUBE), "one is in place"), "CD")
    reason = refused(decide_tick(record.state, "tube", see(TUBE)))
    assert reason == 'Tube was set aside by CD at 03:03 ("one is in place"): restore it first.'
    assert refused(decide_set_aside(record.state, "tube", see(TUBE), "again")) == reason


def test_a_line_that_changed_while_somebody_looked_is_not_ticked() -> None:
    state = record_with(LIST, listed(MORE_SURFACTANT, DEVICE)).state
    reason = refused(decide_tick(state, "surfactant", see(SURFACTANT)))
    assert reason == "Surfactant changed while you looked: was 3.6 mL, now 3.8 mL. Look again, then tick it."
    assert "now 3.8 mL" in refused(decide_tick(state, "surfactant", "never seen"))
    details = LineSnapshot("tube", "airway", "Tube", "", "other details", "", essential=False)
    state = record_with(LIST, listed(details)).state
    assert "changed in its details" in refused(decide_set_aside(state, "tube", see(TUBE), "in place"))


def test_a_change_is_told_before_a_tick_somebody_else_made_for_it() -> None:
    state = record_with(LIST, listed(MORE_SURFACTANT), Ticked("surfactant", see(MORE_SURFACTANT))).state
    assert "was 3.6 mL, now 3.8 mL" in refused(decide_tick(state, "surfactant", see(SURFACTANT)))


def test_a_line_ticked_already_is_refused_with_who_and_when() -> None:
    record = record_with(LIST)
    record.add(Ticked("device", see(DEVICE)), "CD")
    assert refused(decide_tick(record.state, "device", see(DEVICE))) == "Device was ticked by CD at 03:03 already."
    assert refused(decide_set_aside(record.state, "device", see(DEVICE), "none in stock")) == (
        "Device was ticked by CD at 03:03: un-tick it first."
    )


def test_anybody_may_take_a_tick_back() -> None:
    record = record_with(LIST, Ticked("device", see(DEVICE)))
    assert decide_untick(record.state, "device") == (Unticked("device"),)
    state = record.add(Unticked("device"), "CD")
    assert not state.is_ticked("device")
    assert decide_tick(state, "device", see(DEVICE)) == (Ticked("device", see(DEVICE)),)


def test_a_line_is_set_aside_with_a_reason_and_restored() -> None:
    record = record_with(LIST)
    decision = decide_set_aside(record.state, "tube", see(TUBE), "  in  place ")
    assert decision == (SetAside("tube", see(TUBE), "in place"),)
    record.add(decision)
    assert decide_restore(record.state, "tube") == (Restored("tube"),)
    assert not record.add(Restored("tube")).is_set_aside("tube")


@pytest.mark.parametrize("reason", ["", "no", "  a ", "x" * 201, ESCAPE, TURNED])
def test_a_line_is_not_set_aside_without_a_proper_reason(reason: str) -> None:
    assert "reason" in refused(decide_set_aside(record_with(LIST).state, "tube", see(TUBE), reason))


def test_an_essential_line_is_never_set_aside_and_a_blocked_one_may_be() -> None:
    state = record_with(listed(SURFACTANT, BLOCKED_DEVICE)).state
    assert "essential" in refused(decide_set_aside(state, "surfactant", see(SURFACTANT), "none in stock"))
    decision = decide_set_aside(state, "device", see(BLOCKED_DEVICE), "another route")
    assert decision == (SetAside("device", see(BLOCKED_DEVICE), "another route"),)


# The list and the ward


def test_a_list_is_taken_in_only_where_it_differs() -> None:
    state = record_with(LIST).state
    assert decide_relist(state, Listed("time", LIST.lines, "", "")) == ()
    assert decide_relist(state, listed(DEVICE)) == (listed(DEVICE),)
    assert decide_relist(state, withheld()) == (withheld(),)
    assert decide_relist(record_with(withheld()).state, withheld()) == ()
    assert decide_relist(record_with(withheld()).state, withheld("Other.", "weight")) == (withheld("Other.", "weight"),)
    stale = record_with(LIST, FactGiven("cpap", "6 cmH2O")).state
    assert decide_relist(stale, LIST) == (LIST,)


def test_new_texts_are_taken_in_only_where_they_differ() -> None:
    state = Record().state
    assert replace_ward(state, None, LIST) == ()
    replaced = WardReplaced(STARTED.kit_text, STARTED.kit_edition, "ward", None)
    assert replace_ward(state) == (replaced,)
    assert replace_ward(state, "ward", LIST) == (replaced, LIST)


# Reading aloud, standing down


def ready() -> Record:
    marks = (Ticked(each.id, each.fingerprint) for each in LIST.lines)
    return record_with(LIST, *marks)


def test_a_ready_list_is_read_aloud_once() -> None:
    record = ready()
    assert decide_read_aloud(record.state, (), "s") == (ReadAloud("s"),)
    record.add(ReadAloud("s"))
    assert decide_read_aloud(record.state, (), "s") == ()
    assert decide_read_aloud(record.state, (), "t") == (ReadAloud("t"),)


def test_reading_aloud_is_refused_with_what_is_missing() -> None:
    reason = refused(decide_read_aloud(ready().state, ("Weight: enter it again", "Tube: to do"), "s"))
    assert "Weight: enter it again" in reason
    assert "Tube: to do" in reason


def test_reading_aloud_is_refused_by_the_list_itself_where_nobody_says_what_is_missing() -> None:
    assert "3 lines are left" in refused(decide_read_aloud(record_with(LIST).state, (), "s"))
    assert "Weigh first." in refused(decide_read_aloud(record_with(withheld("Weigh first.")).state, (), "s"))
    assert "not been worked out" in refused(decide_read_aloud(Record().state, (), "s"))


def test_another_list_than_the_one_on_the_screen_is_not_read_aloud() -> None:
    assert "changed while you were reading" in refused(decide_read_aloud(ready().state, (), "s", seen="r"))
    assert decide_read_aloud(ready().state, (), "s", seen="s") == (ReadAloud("s"),)


@pytest.mark.parametrize("reason", ["", "no", ESCAPE, TURNED, "x" * 201])
def test_nobody_stands_down_without_a_proper_reason(reason: str) -> None:
    assert "reason" in refused(decide_stand_down(Record().state, reason))


def test_after_standing_down_every_command_is_refused_with_who_when_and_why() -> None:
    record = ready()
    record.add(decide_stand_down(record.state, "baby improved"), "CD")
    state = record.state
    decisions = (
        decide_fact(state, "birth_weight", "1450", LIST),
        weigh(state),
        decide_answer(state, "malformation", "no"),
        decide_answer_back(state, "malformation"),
        decide_none_of_others(state, ("malformation",), state),
        decide_said(state, "parents-told", is_done=True),
        decide_senior(state, "EF", "go on", "v", "AB"),
        decide_tick(state, "device", see(DEVICE)),
        decide_untick(state, "device"),
        decide_set_aside(state, "tube", see(TUBE), "in place"),
        decide_restore(state, "tube"),
        decide_relist(state, listed(DEVICE)),
        decide_read_aloud(state, (), "s"),
        decide_stand_down(state, "once more"),
        replace_ward(state),
    )
    sentence = (
        'CD stood this preparation down at 03:06 on 2025-03-04 ("baby improved"): nothing more can be recorded on it.'
    )
    assert {refused(each) for each in decisions} == {sentence}
    assert record.events[-1].payload == StoodDown("baby improved")
