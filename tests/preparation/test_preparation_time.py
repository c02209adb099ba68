"""What time does to a list: nothing from minute to minute, and at midnight only where a line's value changes."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kept_night import NIGHT, KeptNight
from shipped import KIT_IDS

from prepkit.kit.axes import OF_TODAY, Axis
from prepkit.kit.layer import find_followed
from prepkit.list.lines import ListLine
from prepkit.preparation.baby.events import WeightConfirmed
from prepkit.preparation.events import WardReplaced
from prepkit.preparation.recompute import recompute_lists
from prepkit.wording.say import say, say_all

MIDNIGHT = NIGHT.replace(hour=0) + timedelta(days=1)
FACTS = {"birth_weight": "1450", "birth_gestation": "30+2"}


def walk(since: datetime, until: datetime) -> Iterator[datetime]:
    """Every minute about midnight and about the same hour of the next day, and every eleventh else."""
    at = since
    while at < until:
        yield at
        is_near = any(abs(at - edge) < timedelta(minutes=15) for edge in (MIDNIGHT, NIGHT + timedelta(days=1)))
        at += timedelta(minutes=1 if is_near else 11)


def make_night(kit: str = KIT_IDS[1], **facts: str) -> KeptNight:
    night = KeptNight(kit)
    night.give(NIGHT, **FACTS | facts)
    return night


@pytest.mark.parametrize("kit", KIT_IDS)
@pytest.mark.parametrize(
    "facts",
    [
        {"born": "02:10", "weight_now": "not weighed since"},
        {"born": "today", "weight_now": "1440"},
        {"born": "2026-11-24 23:50", "weight_now": "not weighed since"},
        {"weight_now": "not weighed since"},
        {"born": "today"},
        {"born": "02:50"},
        {},
    ],
)
def test_no_list_is_recorded_from_minute_to_minute(kit: str, facts: dict[str, str]) -> None:
    night = KeptNight(kit)
    night.give(NIGHT, **FACTS | facts)
    recorded = [at for at in walk(NIGHT, MIDNIGHT + timedelta(hours=4)) if night.look(at)]
    # 30+2 becomes 30+3 at midnight, which no band of these kits tells apart. What is known of the weight now stands;
    # without it the lines that go by it are blocked once the baby may be older than a day, and stay so. A baby of whom
    # nobody said when it was born stands as born on the day the preparation began.
    day_old = {"today": MIDNIGHT, "02:50": NIGHT + timedelta(hours=23, minutes=50)}.get(facts.get("born", "today"))
    expected = [] if "weight_now" in facts or day_old is None else [day_old + timedelta(minutes=1)]
    assert recorded == expected


@pytest.mark.parametrize("kit", KIT_IDS)
@pytest.mark.parametrize(
    ("grams", "gestation"), [("1450", "30+2"), ("900", "27+6"), ("4200", "41+0"), ("2150", "32+6"), ("1300", "28+6")]
)
def test_over_midnight_exactly_the_lines_change_whose_value_does(kit: str, grams: str, gestation: str) -> None:
    night = KeptNight(kit)
    night.give(NIGHT, birth_weight=grams, birth_gestation=gestation, born="today", weight_now="not weighed since")
    assert night.state.why == "", "an unlikely weight has no list"
    before = night.work_out(MIDNIGHT - timedelta(minutes=1)).tray
    after = night.work_out(MIDNIGHT + timedelta(minutes=1)).tray
    assert before is not None
    assert after is not None
    changed = [
        (old, new)
        for old, new, was, now in zip(before.lines, after.lines, before.fingerprints, after.fingerprints, strict=True)
        if was != now
    ]
    for old, new in changed:
        shown = [
            (say(each.outcome.show), say_all(each.outcome.details), bool(each.outcome.blocked)) for each in (old, new)
        ]
        assert shown[0] != shown[1], f"{old.id} has another fingerprint, and nothing else that is new"
        assert not OF_TODAY.isdisjoint(old.declared.reads)
    assert (night.look(MIDNIGHT + timedelta(minutes=1)) is not None) == bool(changed)


def test_a_line_in_whose_band_the_gestation_of_the_next_day_is_not_changes_at_midnight() -> None:
    night = make_night(birth_weight="1450", birth_gestation="28+6", born="today", weight_now="not weighed since")
    ticked = night.tick_all(NIGHT)
    assert night.look(MIDNIGHT - timedelta(seconds=1)) is None
    assert night.look(MIDNIGHT) is not None
    lost = ticked - night.list_ticked()
    # The face mask's bands by gestation end at 29+0; the tick of no other line falls.
    assert lost == set(night.state.changes) == {"face-mask"}
    assert night.look(MIDNIGHT + timedelta(hours=23)) is None


def _lines(night: KeptNight) -> tuple[ListLine, ...]:
    tray = night.work_out(NIGHT).tray
    assert tray is not None
    return tray.lines


@pytest.mark.parametrize("kit", KIT_IDS)
def test_a_preparation_that_crosses_a_day_of_age_finds_its_ticks_where_the_very_same_line_comes_back(kit: str) -> None:
    night = KeptNight(kit)
    night.give(NIGHT, **FACTS, born="02:10")
    ticked = night.tick_all(NIGHT)
    by_now = {each.id for each in _lines(night) if Axis.WEIGHT_NOW in each.declared.reads}
    late = NIGHT.replace(hour=2, minute=11) + timedelta(days=1)
    assert night.look(late - timedelta(minutes=1)) is None
    assert night.look(late) is not None
    waiting = {each.id for each in night.state.lines if each.is_waiting}
    assert "gastric-tube" in waiting
    assert waiting <= by_now
    assert {each.asks for each in night.state.lines if each.is_waiting} == {"weight_now"}
    assert not night.state.changes
    assert night.list_ticked() == ticked - waiting
    night.give(late, weight_now="not weighed since")
    assert night.list_ticked() == ticked
    night.give(late, weight_now="1310 on 2026-11-25")
    lost = ticked - night.list_ticked()
    assert lost <= by_now & set(night.state.changes)


def test_without_a_day_of_birth_it_stands_as_today_and_is_asked_for_where_it_matters() -> None:
    night = make_night()
    reads = {line.id: line.declared.reads for line in _lines(night)}
    asks = {each.id for each in night.state.lines if each.asks}
    assert asks == {name for name, axes in reads.items() if not OF_TODAY.isdisjoint(axes)}
    assert {each.asks for each in night.state.lines} == {"", "born"}
    ticked = night.tick_all(NIGHT)
    assert ticked == reads.keys() - asks
    before = {each.id: each.fingerprint for each in night.state.lines}
    night.give(NIGHT, born="today")
    assert {each.id: each.fingerprint for each in night.state.lines} == before
    assert night.list_ticked() == ticked
    assert not [each for each in night.state.lines if each.asks]
    ticked |= night.tick_all(NIGHT, lambda each: each.id in asks)
    night.give(NIGHT, born="2026-11-23")
    now = {each.id: each for each in night.state.lines}
    assert {name for name, each in now.items() if each.is_waiting} <= asks
    assert night.list_ticked() == {name for name in ticked if now[name].fingerprint == before[name]}
    assert night.list_ticked() >= ticked - asks


@pytest.mark.parametrize("kit", KIT_IDS)
@pytest.mark.parametrize("zone", [UTC, timezone(timedelta(hours=-9)), timezone(timedelta(hours=5, minutes=45))])
def test_a_record_of_several_days_comes_out_the_same_again(kit: str, zone: timezone) -> None:
    start = datetime(2026, 11, 25, 22, 0, tzinfo=zone)
    night = KeptNight(kit, start)
    night.give(start, birth_weight="1450", birth_gestation="32+5")
    night.give(start + timedelta(hours=1), born="21:30", line_patent="yes")
    for hours in range(2, 60, 3):
        night.look(start + timedelta(hours=hours))
    night.give(start + timedelta(hours=61), weight_now="1360")
    night.give(start + timedelta(hours=62), born="2026-11-24 23:59", weight_now="1360 on 2026-11-26")
    found = list(recompute_lists(night.events))
    assert len(found) > 6
    assert [each.wrong for each in found if each.wrong] == []


GIVEN = {"birth_weight": "1450", "birth_gestation": "30+2", "born": "yesterday", "weight_now": "1390", "sex": "girl"}
GIVEN |= {"cpap": "7", "line_patent": "yes"}


@given(st.permutations(sorted(GIVEN)))
def test_a_list_is_the_same_in_whatever_order_its_facts_are_given(order: list[str]) -> None:
    night, plain = KeptNight(), KeptNight()
    night.give(NIGHT, **{fact: GIVEN[fact] for fact in order})
    plain.give(NIGHT, **GIVEN)
    assert night.state.lines == plain.state.lines != ()
    assert night.work_out(NIGHT).tray == plain.work_out(NIGHT).tray
    assert night.state.facts_to_read == plain.state.facts_to_read


def test_the_fact_that_is_wanted_does_not_hang_on_an_order() -> None:
    night = make_night(birth_gestation="not known", born="2026-11-22")
    baby = night.work_out(NIGHT).baby
    assert baby is not None
    axes = [Axis.GESTATION_TODAY, Axis.WEIGHT_NOW, Axis.AGE, Axis.BIRTH_GESTATION, Axis.BIRTH_WEIGHT]
    assert {baby.find_missing(order) for order in permutations(axes)} == {Axis.WEIGHT_NOW}
    assert baby.find_missing((Axis.AGE, Axis.BIRTH_WEIGHT)) is None


def test_a_line_waits_only_where_it_is_blocked_for_want_of_the_fact_alone() -> None:
    """Without a ward file medicines are blocked for want of stock, whatever is known of the baby."""
    night = KeptNight()
    night.add((WardReplaced(night.state.kit_text, "1", None, None),), NIGHT)
    night.give(NIGHT, birth_weight="1450", birth_gestation="30+2", born="2026-11-22")
    lines = {each.id: each for each in night.state.lines}
    tray = night.work_out(NIGHT).tray
    assert tray is not None
    wanting = {each.id for each in tray.lines if each.outcome.blocked and "weight now" in say(each.outcome.blocked)}
    waiting = {name for name, each in lines.items() if each.is_waiting}
    assert wanting <= waiting
    assert lines["surfactant"].blocked
    assert "surfactant" not in waiting
    followers = {each.id: find_followed(each.declared.line) for each in tray.lines if each.id in waiting - wanting}
    assert all(waiting.intersection(followed) for followed in followers.values())
    held_up = [{other for other in followed if lines[other].blocked} for followed in followers.values()]
    assert all(others <= waiting for others in held_up), "what also follows a line without stock does not wait"
    stocked = make_night(born="2026-11-22")
    assert {each.id for each in stocked.state.lines if each.is_waiting} >= waiting


def test_a_line_blocked_for_want_of_the_gestation_waits_for_that() -> None:
    night = make_night(birth_gestation="not known", born="today")
    held = {"birth_weight": "1450", "birth_gestation": "not known"}
    night.add((WeightConfirmed("birth_weight", held, ""),), NIGHT)
    assert night.look(NIGHT) is not None
    tray = night.work_out(NIGHT).tray
    assert tray is not None
    assert any(each.outcome.blocked for each in tray.lines)
    wanting = {each.id for each in tray.lines if each.outcome.blocked and "gestation" in say(each.outcome.blocked)}
    waiting = {each.id for each in night.state.lines if each.asks == "birth_gestation"}
    assert waiting >= wanting != set()
