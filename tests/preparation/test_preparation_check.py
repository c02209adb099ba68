"""The second check of the baby: what a checker reads, blind; what a reading that differs stops, and what ends it."""

from collections.abc import Mapping

import pytest
from preparation_samples import DEVICE, LIST, SURFACTANT, TUBE, Record, line, listed, record_with, refused

from prepkit.preparation.baby.decide import decide_fact
from prepkit.preparation.baby.events import FactGiven
from prepkit.preparation.check.decide import (
    decide_check_begin,
    decide_check_entry,
    decide_check_read,
    list_left_to_read,
)
from prepkit.preparation.check.events import CheckBegun, CheckEnded, CheckEntered, CheckRead
from prepkit.preparation.lines.decide import decide_relist
from prepkit.preparation.lines.events import Ticked

WANTED = ("surfactant", "device")
BOTH = {"birth_weight": "1450", "born": "2025-03-01", "weight_now": "1310 on 2025-03-04"}
NOT_SINCE = {"birth_weight": "1450", "born": "2025-03-01", "weight_now": "not weighed since"}


def give(facts: Mapping[str, str], *more: str) -> Record:
    """A record with these facts and a list, and a check begun by CD, who read the facts named."""
    record = record_with(*(FactGiven(*each) for each in facts.items()), LIST)
    if more:
        begin(record, "CD", *more)
    return record


def begin(record: Record, who: str, *reads: str) -> None:
    record.add(decide_check_begin(record.state, who, WANTED), who)
    for fact in reads:
        record.add(decide_check_read(record.state, who, fact, record.state.facts[fact], None), who)


@pytest.mark.parametrize(
    ("facts", "read"),
    [
        ({}, ()),
        ({"birth_weight": "1450"}, ("birth_weight",)),
        ({"birth_weight": "not known", "weight_now": "1310 on 2025-03-04"}, ("birth_weight", "weight_now")),
        ({"born": "2025-03-01", "birth_weight": "1450"}, ("birth_weight", "born")),
        (BOTH, ("birth_weight", "weight_now")),
        (NOT_SINCE, ("birth_weight", "weight_now", "born")),
        ({"birth_weight": "1450", "weight_now": "not weighed since"}, ("birth_weight", "weight_now")),
        ({"birth_weight": "1450", "birth_gestation": "30+2", "sex": "girl"}, ("birth_weight",)),
    ],
)
def test_both_weights_are_read_and_where_it_was_not_weighed_since_the_day_of_birth(
    facts: Mapping[str, str], read: tuple[str, ...]
) -> None:
    state = give(facts).state
    assert state.facts_to_read == state.facts_unread == read
    assert state.is_baby_checked == (not read)
    assert list_left_to_read(state) == (), "nobody checks yet"


@pytest.mark.parametrize(
    ("fact", "ours", "read", "agrees"),
    [
        ("birth_weight", "1450", "1450", True),
        ("birth_weight", "1450", "145", False),
        ("birth_weight", "1450", "1310", False),
        ("birth_weight", "not known", "not known", True),
        ("birth_weight", "not known", "1450", False),
        ("weight_now", "1310 on 2025-03-04", "1310 on 2025-03-03", True),
        ("weight_now", "1310 on 2025-03-04", "1301 on 2025-03-04", False),
        ("weight_now", "1310 on 2025-03-04", "not weighed since", False),
        ("weight_now", "not weighed since", "not weighed since", True),
        ("weight_now", "not weighed since", "1450 on 2025-03-04", False),
        ("born", "2025-03-01", "2025-03-01T02:10+00:00", True),
        ("born", "2025-03-01T23:50+01:00", "2025-03-01", True),
        ("born", "2025-03-01T23:50+01:00", "2025-03-02", False),
        ("born", "2025-03-01", "2025-03-11", False),
    ],
)
def test_grams_and_day_are_compared_and_one_that_differs_stops_everything(
    fact: str, ours: str, read: str, *, agrees: bool
) -> None:
    start = {"birth_weight": "1450"} | ({"weight_now": "not weighed since"} if fact == "born" else {}) | {fact: ours}
    record = give(start)
    begin(record, "CD")
    decision = decide_check_read(record.state, "CD", fact, read, None)
    assert decision == (CheckRead(fact, read, agrees=agrees),)
    state = record.add(decision, "CD")
    assert (state.disputed is None) == (state.check is not None) == (not state.withheld) == agrees
    assert (fact not in state.facts_unread) == agrees
    assert state.is_disputed(fact) == (not agrees)
    assert not state.is_disputed("cpap")


def test_the_list_withheld_by_a_reading_comes_with_it_and_only_where_it_differs() -> None:
    record = give(BOTH)
    begin(record, "CD")
    none = listed(SURFACTANT)  # whatever the service works out for it
    assert decide_check_read(record.state, "CD", "birth_weight", "1310", none) == (
        CheckRead("birth_weight", "1310", agrees=False),
        none,
    )
    assert decide_check_read(record.state, "CD", "birth_weight", "1450", none) == (
        CheckRead("birth_weight", "1450", agrees=True),
    )


@pytest.mark.parametrize("fact", BOTH)
def test_a_fact_that_is_read_already_or_not_to_be_read_is_refused(fact: str) -> None:
    record = give(BOTH, "birth_weight", "weight_now")
    assert "not to be read any more" in refused(decide_check_read(record.state, "CD", fact, BOTH[fact], None))
    assert "only they can go on" in refused(decide_check_read(record.state, "EF", fact, BOTH[fact], None))


@pytest.mark.parametrize("again", ["1450", "1405"])
def test_a_dispute_is_answered_by_giving_that_fact_and_by_no_other(again: str) -> None:
    record = give(BOTH, "weight_now")
    record.add(decide_check_read(record.state, "CD", "birth_weight", "1405", None), "CD")
    record.add(decide_fact(record.state, "weight_now", "1320 on 2025-03-04", LIST))
    record.add(decide_fact(record.state, "weight_now", "1310 on 2025-03-04", LIST))
    record.add(decide_fact(record.state, "sex", "girl", LIST))
    assert decide_fact(record.state, "sex", "girl", LIST) == ()
    assert record.state.is_disputed("birth_weight")
    assert record.state.lines == ()
    assert decide_relist(record.state, LIST) == ()
    decision = decide_fact(record.state, "birth_weight", again, LIST)
    assert decision == (FactGiven("birth_weight", again), LIST)
    state = record.add(decision)
    assert (state.disputed, state.lines) == (None, LIST.lines)
    assert state.facts_unread == ("birth_weight",), "it was looked at again, not read by the checker"
    assert decide_fact(state, "birth_weight", again, LIST) == ()


@pytest.mark.parametrize(
    ("fact", "value", "ends"),
    [
        ("birth_weight", "1451", True),
        ("weight_now", "1311 on 2025-03-04", True),
        ("weight_now", "1310 on 2025-03-03", True),
        ("born", "2025-03-02", True),
        ("birth_weight", "1450", False),
        ("sex", "girl", False),
        ("birth_gestation", "30+2", False),
        ("cpap", "7 cmH2O", False),
    ],
)
def test_a_fact_that_is_read_ends_the_check_under_way_where_it_is_given_anew(
    fact: str, value: str, *, ends: bool
) -> None:
    record = give(BOTH, "birth_weight")
    state = record.add(decide_fact(record.state, fact, value, LIST))
    assert (state.check is None) == ends


def test_each_check_reads_everything_anew_whoever_read_it_before() -> None:
    record = give(NOT_SINCE, *NOT_SINCE)
    assert record.state.is_baby_checked
    record.add(decide_fact(record.state, "born", "2025-03-02", LIST))
    assert not record.state.is_baby_checked
    assert record.state.facts_unread == ("born",)
    begin(record, "EF")
    assert list_left_to_read(record.state) == ("birth_weight", "weight_now", "born")
    record.add(decide_fact(record.state, "weight_now", "1310 on 2025-03-04", LIST))
    begin(record, "CD")
    assert record.state.facts_unread == ("weight_now",)
    assert list_left_to_read(record.state) == ("birth_weight", "weight_now")
    record.add(decide_check_read(record.state, "CD", "weight_now", "1310 on 2025-03-04", None), "CD")
    assert list_left_to_read(record.state) == ("birth_weight",)
    record.add(decide_check_read(record.state, "CD", "birth_weight", NOT_SINCE["birth_weight"], None), "CD")
    assert list_left_to_read(record.state) == ()
    assert record.state.is_baby_checked


@pytest.mark.parametrize("later", ["2025-03-01T02:10+00:00", "2025-03-01"])
def test_a_time_added_to_the_day_of_birth_is_not_read_again(later: str) -> None:
    record = give(NOT_SINCE, *NOT_SINCE)
    record.add(decide_fact(record.state, "born", later, LIST))
    assert record.state.is_baby_checked


def test_no_line_is_entered_before_the_baby_was_read() -> None:
    record = give(BOTH, "birth_weight")
    entry = CheckEntered("device", DEVICE.fingerprint, "1", "", agrees=True)
    assert "read the weights off the cot" in refused(decide_check_entry(record.state, "CD", entry, WANTED))
    record.add(decide_check_read(record.state, "CD", "weight_now", BOTH["weight_now"], None), "CD")
    record.add(decide_check_entry(record.state, "CD", entry, ("device",)), "CD")
    assert record.events[-1].payload == CheckEnded()
    assert record.state.is_checked("device")


def test_a_check_does_not_begin_while_one_of_its_lines_hangs_on_a_birth_that_nobody_gave() -> None:
    asking = line("device", "size 1", group="airway", asks="born")
    record = record_with(FactGiven("birth_weight", "1450"), listed(SURFACTANT, asking, TUBE))
    reason = refused(decide_check_begin(record.state, "CD", WANTED))
    assert reason == "Was the baby born today? Device hangs on it: say so on the list first."
    assert decide_check_begin(record.state, "CD", ("surfactant", "tube")) == (CheckBegun(),)
    record.add(decide_fact(record.state, "born", "2025-03-04", LIST))
    assert decide_check_begin(record.state, "CD", WANTED) == (CheckBegun(),)


def test_a_reading_that_differs_lets_the_ticks_rest_and_the_same_list_finds_them() -> None:
    record = give(BOTH)
    record.add(Ticked("device", DEVICE.fingerprint))
    begin(record, "CD")
    state = record.add(decide_check_read(record.state, "CD", "weight_now", "1450 on 2025-03-04", None), "CD")
    assert not state.is_ticked("device")
    assert record.add(decide_fact(state, "weight_now", BOTH["weight_now"], LIST)).is_ticked("device")


def test_a_reading_that_differs_undoes_an_earlier_one_that_agreed() -> None:
    record = give(BOTH, "birth_weight")
    record.add(CheckRead("birth_weight", "1405", agrees=False), "EF")
    state = record.add(decide_fact(record.state, "birth_weight", "1450", LIST))
    assert "birth_weight" in state.facts_unread
