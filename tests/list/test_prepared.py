"""What is prepared once gives what is worked out plainly: for every kind of line, over kits, ward files and babies.

The slow way is that of `tests.bench.plain_list`: quantities of pint's default registry, written on its own.
"""

from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from prepared_scene import SHIPPED_PAIRS, SMALL, SMALL_PAIRS, SMALL_WARDS, draw_all, draw_facts, read_baby
from trays import DEMO_TEXT, KIT, NOW, WARD, change_ward, find_baby

from prepkit.kit.baby import Baby, make_newborn
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.kit.spans import AmountSpan, GestationSpan, WeightSpan, Where
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list, compute_prepared, prepare_kit
from prepkit.list.lines import compute_line_fingerprint
from prepkit.preparation.listing import prepare_texts
from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.rules.condition import prepare_condition
from prepkit.rules.kinds import RULES, apply_rule, work_out_known
from prepkit.rules.rule import Outcome, RuleContext
from prepkit.wording.say import say
from tests.bench.plain import find_differences
from tests.bench.plain_list import PlainList


def test_every_kind_of_line_is_tried() -> None:
    assert {line.kind for line in SMALL.model.line} == {*RULES}


Drawn = tuple[ParsedFile[Kit], ParsedFile[Ward] | None, Baby]


def compare(drawn: Drawn) -> list[str]:
    kit, ward, baby = drawn
    plain = PlainList(kit.model, ward.model if ward else None, NOW).work_out(baby)
    found = {line.id: line.outcome for line in compute_list(kit, ward, baby, {}, NOW).lines}
    return find_differences(kit.model, plain, found)


@settings(max_examples=100)
@given(drawn=draw_all(SMALL_PAIRS))
def test_the_quick_way_gives_the_amounts_of_the_slow_way_for_every_kind_of_line(drawn: Drawn) -> None:
    assert compare(drawn) == []


@settings(max_examples=25)
@given(drawn=draw_all(SHIPPED_PAIRS))
def test_the_quick_way_gives_the_amounts_of_the_slow_way_for_the_shipped_kits(drawn: Drawn) -> None:
    assert compare(drawn) == []


@pytest.mark.thorough
@settings(max_examples=3000)
@given(drawn=draw_all(SMALL_PAIRS + SHIPPED_PAIRS))
def test_the_quick_way_gives_the_amounts_of_the_slow_way_thousands_of_times(drawn: Drawn) -> None:
    assert compare(drawn) == []


@settings(max_examples=40)
@given(drawn=draw_all(SMALL_PAIRS + SHIPPED_PAIRS))
def test_what_is_prepared_of_a_line_is_what_its_rule_gives_alone(drawn: Drawn) -> None:
    kit, ward, baby = drawn
    prepared, found = prepare_kit(kit, ward), dict[str, Outcome]()
    context = RuleContext(prepared.layer.kit, ward.model if ward else None, baby, NOW, found)
    for each in prepared.lines:
        line = each.declared.line
        found[line.id] = work_out_known(line, each.axes, each.rule, context)
        assert found[line.id] == apply_rule(line, context)


def test_a_trial_is_prepared_for_what_its_lines_may_give_and_worked_out_for_anything_else() -> None:
    rules = {each.declared.line.id: each.rule for each in prepare_kit(KIT, WARD).lines}
    trial, device, depth = (rules[name] for name in ("catheter-passes-port", "airway-device", "catheter-depth"))
    assert [say(outcome.show) for outcome in trial.fixed] == ["size 1 and 14–16 cm", "size 1.5 and 14–16 cm"]
    found = {"airway-device": device.fixed[0], "catheter-depth": depth.fixed[0]}
    context = RuleContext(KIT.model, WARD.model, find_baby(1450), NOW, found)
    assert trial.work_out(context) is trial.fixed[0]
    found["airway-device"] = device.fixed[0]._replace(show="size 77")
    assert say(trial.work_out(context).show) == "size 77 and 14–16 cm"


@settings(max_examples=30)
@given(babies=st.lists(draw_facts(SMALL), min_size=2, max_size=4))
def test_a_prepared_list_owes_nothing_to_the_babies_before(babies: list[Mapping[str, str]]) -> None:
    ward = SMALL_WARDS[0]
    prepared = prepare_kit(SMALL, ward)
    for facts in babies:
        baby = read_baby(SMALL, facts)
        assert compute_prepared(prepared, baby, {}, NOW) == compute_list(SMALL, ward, baby, {}, NOW)


@pytest.mark.parametrize("grams", [1450, 2600])
def test_a_list_bears_the_fingerprint_of_each_of_its_lines(grams: int) -> None:
    tray = compute_list(KIT, WARD, find_baby(grams), {}, NOW)
    assert tray.fingerprints == tuple(compute_line_fingerprint(line) for line in tray.lines)


@pytest.mark.parametrize(
    ("kit_edit", "ward_edit", "show"),
    [(("", ""), ("", ""), "3.6 mL"),
     (('dose = "200 mg/kg"', 'dose = "150 mg/kg"'), ("", ""), "2.8 mL"),
     (('strength = "80 mg/mL"', 'strength = "40 mg/mL"'), ("", ""), "7.2 mL"),
     (("", ""), ('marks = "0.2 mL"\nleast = "2 mL"', 'marks = "0.5 mL"\nleast = "2 mL"'), "3.5 mL")],
)  # fmt: skip
def test_what_is_kept_for_texts_never_answers_for_others(
    kit_edit: tuple[str, str], ward_edit: tuple[str, str], show: str
) -> None:
    """The names stay, one figure changes: the kept ones, asked for before and after, give each its own."""
    kit_text, ward_text = KIT.text.replace(*kit_edit, 1), DEMO_TEXT.replace(*ward_edit, 1)
    for texts, expected in (((KIT.text, DEMO_TEXT), "3.6 mL"), ((kit_text, ward_text), show)) * 2:
        prepared = prepare_texts(texts[0], "kit", texts[1], "ward")
        assert (prepared.kit.text, prepared.ward and prepared.ward.text) == texts
        tray = compute_prepared(prepared, find_baby(1450), {}, NOW)
        assert next(say(line.outcome.show) for line in tray.lines if line.id == "surfactant") == expected


def test_what_is_prepared_holds_the_two_files_that_it_was_made_from() -> None:
    ward = change_ward(deviation=make_amount("1", "%"))
    prepared = prepare_kit(KIT, ward)
    assert (prepared.kit, prepared.ward) == (KIT, ward)
    assert prepare_kit(replace(KIT, sha256="other"), ward) != prepared


GRAMS = st.integers(300, 6000).map(lambda grams: make_amount(grams, "g"))
KILOGRAMS = st.integers(3000, 60000).map(lambda tenths: make_amount(Fraction(tenths, 10_000), "kg"))
DAYS = st.integers(154, 314).map(Gestation)
LOW, HIGH = st.sampled_from(["at_least", "above"]), st.sampled_from(["at_most", "below"])


@settings(max_examples=200)
@given(
    ends=st.tuples(GRAMS | KILOGRAMS, GRAMS | KILOGRAMS), low=LOW, high=HIGH, sides=st.sampled_from(["l", "h", "lh"])
)
def test_whole_grams_hold_whom_the_span_holds(ends: tuple[Amount, Amount], low: str, high: str, sides: str) -> None:
    first, last = sorted(ends)
    assume(first < last)
    edges = {key: edge for key, edge, side in ((low, first, "l"), (high, last, "h")) if side in sides}
    span = WeightSpan(**edges)
    condition = prepare_condition(Where(birth_weight=span))
    for edge in edges.values():
        for grams in range(int(convert(edge, "g").value) - 1, int(convert(edge, "g").value) + 3):
            baby = make_newborn(grams, 212, {})
            assert condition.holds_for(baby) == span.contains(make_amount(grams, "g"))


@settings(max_examples=100)
@given(ends=st.tuples(DAYS, DAYS), low=LOW, high=HIGH, sides=st.sampled_from(["l", "h", "lh"]))
def test_whole_days_hold_whom_the_span_holds(
    ends: tuple[Gestation, Gestation], low: str, high: str, sides: str
) -> None:
    first, last = sorted(ends)
    assume(first < last)
    edges = {key: edge for key, edge, side in ((low, first, "l"), (high, last, "h")) if side in sides}
    span = GestationSpan(**edges)
    condition = prepare_condition(Where(birth_gestation=span))
    for days in (edge.days + near for edge in edges.values() for near in (-1, 0, 1)):
        baby = make_newborn(1450, days, {})
        assert condition.holds_for(baby) == span.contains(Gestation(days))


def test_a_condition_of_facts_holds_as_its_test_says() -> None:
    where = Where(facts={"flow": AmountSpan(at_least=make_amount(4, "L/min")), "side": "left"})
    condition = prepare_condition(where)
    for flow, side, expected in (
        ("4", "left", True),
        ("3.99", "left", False),
        ("4", "right", False),
        (None, "left", False),
    ):
        facts = {"flow": make_amount(flow, "L/min") if flow else None, "side": side}
        assert condition.holds_for(make_newborn(1450, 212, facts)) is expected
