"""Whether a condition holds for a baby: known to, at every age that it may have; may, for all that is known."""

from datetime import date
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shipped import KIT_IDS, read_kit_text
from trays import KIT, NOW, check_criteria, find_baby, make_kit, make_small_kit

from prepkit.kit.axes import Axis
from prepkit.kit.baby import Age, Baby, BabySize
from prepkit.kit.facts import Birth
from prepkit.kit.kit import Domain
from prepkit.kit.spans import AgeSpan, AxisSpans, GestationSpan, Span, WeightSpan, Where
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.rules.condition import ANY_BABY, prepare_condition
from prepkit.rules.criteria import DOMAIN_CRITERION, find_verdict

HALF_GRAMS = st.integers(20, 44).map(lambda halves: make_amount(halves * 50, "g"))
DAYS = st.integers(200, 212).map(Gestation)
AGES = st.integers(1, 8).map(lambda hours: make_amount(hours, "h")) | st.integers(1, 400).map(
    lambda minutes: make_amount(minutes, "min")
)


@st.composite
def draw_span(draw: st.DrawFn, kind: type[Span], values: st.SearchStrategy) -> Span:
    first, last = sorted(draw(st.lists(values, min_size=2, max_size=2, unique_by=lambda value: value)))
    sides = draw(st.sampled_from([(1, 0), (0, 1), (1, 1)]))
    edges = {}
    if sides[0]:
        edges[draw(st.sampled_from(["at_least", "above"]))] = first
    if sides[1]:
        edges[draw(st.sampled_from(["at_most", "below"]))] = last
    return kind(**edges)


SPANS = st.fixed_dictionaries(
    {},
    optional={
        "birth_weight": draw_span(WeightSpan, HALF_GRAMS),
        "weight_now": draw_span(WeightSpan, HALF_GRAMS),
        "greater_weight": draw_span(WeightSpan, HALF_GRAMS),
        "birth_gestation": draw_span(GestationSpan, DAYS),
        "gestation_today": draw_span(GestationSpan, DAYS),
        "age": draw_span(AgeSpan, AGES),
    },
)


@st.composite
def draw_baby(draw: st.DrawFn) -> Baby:
    """A baby, of whom anything may be unknown: then what is known of it stands in `measures` alone."""
    grams, days = st.none() | st.integers(990, 2210), st.none() | st.integers(198, 214)
    measures = {axis: draw(grams if "weight" in axis else days) for axis in list(Axis)[:5]}
    least, most = sorted((draw(st.integers(0, 500)), draw(st.integers(0, 500))))
    age = Age(least, draw(st.sampled_from([least, most])))
    size = BabySize(None, None, None, None)
    return Baby(size, Birth(date.min), None, age, "unknown", {}, (), MappingProxyType(measures))


def weigh(axis: Axis, number: int) -> Amount | Gestation:
    if axis is Axis.AGE:
        return make_amount(number, "min")
    return make_amount(number, "g") if "weight" in axis else Gestation(number)


def list_possible(axis: Axis, baby: Baby) -> list[int | None]:
    """Everything that a measure of this baby may be: each age in minutes; nothing known, None alone."""
    if axis is Axis.AGE:
        return [*range(baby.age.least_min, baby.age.most_min + 1)]
    return [baby.measures[axis]]


@given(spans=SPANS, baby=draw_baby())
def test_it_holds_where_everything_that_may_be_fits_and_may_hold_where_something_does(
    spans: dict[str, Span], baby: Baby
) -> None:
    condition = prepare_condition(AxisSpans(**spans))
    fits = [
        [
            None if value is None else span.contains(weigh(Axis(axis), value))
            for value in list_possible(Axis(axis), baby)
        ]
        for axis, span in spans.items()
    ]
    assert condition.holds_for(baby) == all(all(fit is True for fit in each) for each in fits)
    assert condition.may_hold_for(baby) == all(any(fit is not False for fit in each) for each in fits)
    assert condition.may_hold_for(baby) or not condition.holds_for(baby)


def test_without_a_condition_it_holds_for_any_baby_whatever_is_unknown() -> None:
    measures = dict.fromkeys(list(Axis)[:5])
    size = BabySize(None, None, None, None)
    baby = Baby(size, Birth(date.min), None, Age(0, 2**40), "unknown", {}, (), measures)
    assert ANY_BABY.holds_for(baby)
    assert ANY_BABY.may_hold_for(baby)


def test_where_a_fact_is_not_given_it_may_hold_and_is_not_known_to() -> None:
    where = Where(facts={"cpap": "high"}, birth_weight=WeightSpan(at_least=make_amount(1200, "g")))
    condition = prepare_condition(where)
    for cpap, grams, holds, may in (
        ("high", 1200, True, True),
        ("low", 1200, False, False),
        (None, 1200, False, True),
        (None, 1199, False, False),
    ):
        size = BabySize(grams, grams, None, None)
        baby = Baby(size, Birth(date.min), None, Age(0, 0), "unknown", {"cpap": cpap}, (), {Axis.BIRTH_WEIGHT: grams})
        assert (condition.holds_for(baby), condition.may_hold_for(baby)) == (holds, may)


def test_a_condition_keeps_what_was_stated_and_nothing_else_of_its_band() -> None:
    domain = Domain(birth_weight=WeightSpan(at_least=make_amount(1, "kg")))
    assert prepare_condition(domain).where == Where(birth_weight=domain.birth_weight)
    assert prepare_condition(domain).where.words() == "birth weight at least 1 kg"


# ------------------------------------------------------------------------------------------- at birth, and today

BORN = {"born": "2026-11-22", "weight_now": "1400"}  # NOW is 25 November, 03:00: the third day after
CRITERION = """
[[criterion]]
id = "weeks"
text = "28 weeks"
where = {{ {axis} = {{ at_least = "28+0" }} }}
otherwise = "not suitable"
basis = "local"

[[group]]"""


@pytest.mark.parametrize("kit", KIT_IDS)
@pytest.mark.parametrize(
    ("gestation", "axis", "verdict"),
    [
        ("27+4", "birth_gestation", "not suitable"),
        ("27+4", "gestation_today", "met"),
        ("27+3", "gestation_today", "not suitable"),
        ("28+0", "birth_gestation", "met"),
        ("27+6", "birth_gestation", "not suitable"),
        ("not known", "birth_gestation", "ask a senior"),
        ("not known", "gestation_today", "ask a senior"),
    ],
)
def test_27_weeks_and_4_days_at_birth_is_28_weeks_on_the_third_day_only_for_what_means_today(
    kit: str, gestation: str, axis: str, verdict: str
) -> None:
    text = read_kit_text(kit)
    made = make_kit(text.replace("\n[[group]]", CRITERION.format(axis=axis), 1))
    baby = find_baby(1450, gestation, made, **BORN)
    found = next(reason for reason in check_criteria(made, baby, {}) if reason.criterion == "weeks")
    assert found.verdict == verdict


@pytest.mark.parametrize(
    ("birth", "now", "verdict"),
    [("27+4", "2026-11-25", "not suitable"), ("27+4", "2026-11-22", "not suitable"), ("28+0", "2026-11-22", "met")],
)
def test_the_supraglottic_kits_own_criterion_means_birth(birth: str, now: str, verdict: str) -> None:
    baby = find_baby(1450, birth, born=now, weight_now="1400")
    found = next(reason for reason in check_criteria(KIT, baby, {}) if reason.criterion == "gestation-least")
    assert found.verdict == verdict


@pytest.mark.parametrize(
    ("facts", "weights", "gestations", "domain"),
    [
        # Nobody can say the gestation: a senior weighs it. The weight now can still be given.
        ({"birth_gestation": "not known"}, "met", "ask a senior", "ask a senior"),
        ({"born": "2026-11-22"}, "questions open", "met", "questions open"),
        ({"born": "2026-11-22", "birth_gestation": "not known"}, "questions open", "ask a senior", "questions open"),
        ({"born": "2026-11-22", "weight_now": "1300"}, "met", "met", None),
        # Ruled out by what is known.
        ({"born": "2026-11-22", "birth_gestation": "27+6"}, "questions open", "not suitable", "not suitable"),
        ({"birth_weight": "1199"}, "not suitable", "met", None),
        ({"birth_weight": "1199", "birth_gestation": "not known"}, "not suitable", "ask a senior", "ask a senior"),
        ({"birth_weight": "not known", "weight_now": "1300"}, "met", "met", None),
    ],
)
def test_what_can_still_be_given_is_a_question_and_what_nobody_knows_is_a_seniors(
    facts: dict[str, str], weights: str, gestations: str, domain: str | None
) -> None:
    given = {"birth_weight": "1450", "birth_gestation": "30+2"} | facts
    baby = find_baby(given.pop("birth_weight"), given.pop("birth_gestation"), **given)
    found = {reason.criterion: reason.verdict for reason in check_criteria(KIT, baby, {})}
    assert (found["weight-least"], found["gestation-least"]) == (weights, gestations)
    assert found.get(DOMAIN_CRITERION) == domain


YOUNG = """
[[criterion]]
id = "young"
text = "Not over 72 h old"
where = { age = { at_most = "72 h" } }
otherwise = "not suitable"
basis = "local"

[[line]]
kind = "supply"
id = "it"
group = "all"
name = "It"
basis = "local"
"""


@pytest.mark.parametrize(
    ("born", "verdict"),
    # NOW is 25 November, 03:00 UTC.
    [
        ("2026-11-22T03:00+00:00", "met"),
        ("2026-11-22T02:59+00:00", "not suitable"),
        ("2026-11-23", "met"),
        ("2026-11-22", "questions open"),  # 51 to 75 h
        ("2026-11-21", "not suitable"),
    ],
)
def test_an_age_that_the_day_alone_leaves_open_is_a_question(born: str, verdict: str) -> None:
    kit = make_small_kit(YOUNG)
    baby = find_baby(1450, "30+2", kit, NOW, born=born, weight_now="1400 on 2026-11-25")
    reasons = check_criteria(kit, baby, {})
    assert reasons[0].verdict == verdict
    if verdict == "met":
        assert find_verdict(reasons) == "suitable"
