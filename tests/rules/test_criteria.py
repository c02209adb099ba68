"""Whether the route is for this baby: each criterion, and the worst of them as the verdict. Figures are invented."""

from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trays import KIT, NOW, check_criteria, find_baby, make_small_kit, word_reason

from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile
from prepkit.rules.criteria import WEIGHT_CRITERION, Reason, find_verdict

NEEDED = '[[line]]\nkind = "supply"\nid = "it"\ngroup = "all"\nname = "It"\nbasis = "local"\n'
FACTS = """
[[fact]]
kind = "amount"
id = "oxygen"
label = "Oxygen"
ask = "Oxygen?"
least = "21 %"
most = "100 %"
"""
CRITERION = '[[criterion]]\nid = "it"\ntext = "It holds"\nbasis = "common practice"\n'
REASONS = tuple(row.id for row in KIT.model.criterion if row.is_against)
LIKELY = 1450  # at 30+2: near the 50th centile of the growth reference


def make_kit(rest: str) -> ParsedFile[Kit]:
    return make_small_kit(FACTS + CRITERION + rest + NEEDED)


def judge(rest: str, weight: int = LIKELY, answer: str = "", **facts: str) -> Reason:
    kit = make_kit(rest)
    baby = find_baby(weight, "30+2", kit, NOW, **facts)
    return word_reason(check_criteria(kit, baby, {"it": answer} if answer else {})[0])


@pytest.mark.parametrize("otherwise", ["not suitable", "ask a senior", "advice"])
@pytest.mark.parametrize(("weight", "met"), [(1199, False), (1200, True), (1201, True)])
def test_a_criterion_of_facts_is_met_or_says_what_the_baby_is(otherwise: str, weight: int, *, met: bool) -> None:
    reason = judge(f'where = {{ birth_weight = {{ at_least = "1200 g" }} }}\notherwise = "{otherwise}"\n', weight)
    assert reason.verdict == ("met" if met else otherwise)
    assert reason.text == ("It holds" if met else "It holds (birth weight: 1199 g)")
    assert reason.source == "common practice, no source to cite"


OXYGEN = 'where = { birth_weight = { at_least = "1200 g" }, facts = { oxygen = { above = "30 %" } } }\n'


@pytest.mark.parametrize(
    ("weight", "oxygen", "verdict"),
    [
        (1450, "31", "met"),
        (1450, "30", "not suitable"),
        (1450, "", "questions open"),
        # Not given, but it could not help either.
        (1199, "", "not suitable"),
    ],
)
def test_a_fact_that_was_not_given_leaves_the_question_open_only_where_it_decides(
    weight: int, oxygen: str, verdict: str
) -> None:
    facts = {"oxygen": oxygen} if oxygen else {}
    kit = make_kit(OXYGEN + 'otherwise = "not suitable"\n')
    reason = word_reason(check_criteria(kit, find_baby(weight, "30+2", kit, NOW, **facts), {})[0])
    assert reason.verdict == verdict
    if not oxygen:
        assert "Oxygen: not recorded" in reason.text


def test_advice_is_never_a_question() -> None:
    assert judge(OXYGEN + 'otherwise = "advice"\n').verdict == "advice"


@pytest.mark.parametrize("otherwise", ["not suitable", "ask a senior"])
def test_a_reason_against_is_open_until_somebody_says_whether_it_applies(otherwise: str) -> None:
    rest = f'otherwise = "{otherwise}"\n'
    said = {answer: judge(rest, answer=answer) for answer in ("", "no", "yes", "unsure", "done")}
    assert {answer: reason.verdict for answer, reason in said.items()} == {
        "": "questions open",
        "no": "met",
        "yes": otherwise,
        "unsure": "ask a senior",
        "done": "questions open",
    }
    assert [said[answer].text for answer in ("", "no", "yes", "unsure")] == [
        "It holds",
        "It holds: no",
        "It holds: applies",
        "It holds: not sure",
    ]


def test_what_was_said_or_done_is_never_open_and_is_said_to_be_not_recorded() -> None:
    rest = 'otherwise = "advice"\n'
    said = {answer: judge(rest, answer=answer) for answer in ("", "no", "yes", "unsure", "done")}
    assert {answer for answer, reason in said.items() if reason.verdict == "met"} == {"done"}
    assert {reason.verdict for answer, reason in said.items() if answer != "done"} == {"advice"}
    assert (said[""].text, said["done"].text) == ("It holds: not recorded", "It holds: done")
    assert find_verdict((said[""],)) == "suitable"


def reasons_for(
    weight: int, *, confirmed: bool = False, answers: Mapping[str, str] | None = None
) -> tuple[Reason, ...]:
    baby = find_baby(weight, "30+2")
    reasons = check_criteria(KIT, baby, answers or dict.fromkeys(REASONS, "no"), ["birth_weight"] if confirmed else ())
    return tuple(map(word_reason, reasons))


def test_with_no_reason_against_the_route_is_suitable() -> None:
    reasons = reasons_for(LIKELY)
    assert find_verdict(reasons) == "suitable"
    assert [reason.criterion for reason in reasons] == [*(row.id for row in KIT.model.criterion), WEIGHT_CRITERION]


@pytest.mark.parametrize("reason", REASONS)
def test_each_reason_of_the_kit_decides_alone(reason: str) -> None:
    well = dict.fromkeys(REASONS, "no")
    verdicts = [find_verdict(reasons_for(LIKELY, answers=well | {reason: said})) for said in ("yes", "unsure")]
    assert verdicts == ["not suitable", "ask a senior"]
    del well[reason]
    assert find_verdict(reasons_for(LIKELY, answers=well)) == "questions open"


@pytest.mark.parametrize(
    ("weight", "verdict"),
    # INTERGROWTH-21st at 30+0 (Villar 2016, doi 10.1016/S0140-6736(16)00384-6): 50th centile 1.30 to 1.37 kg,
    # 97th to 1.97.
    [(1450, "suitable"), (2300, "questions open"), (4500, "ask a senior")],
)
def test_a_weight_that_is_hard_to_believe_is_asked_for_again(weight: int, verdict: str) -> None:
    assert find_verdict(reasons_for(weight)) == verdict
    again = reasons_for(weight, confirmed=True)
    assert find_verdict(again) == "suitable"
    assert again[-1].text.endswith("(entered again and confirmed)") == (verdict != "suitable")
    assert again[-1].source


@settings(max_examples=60)
@given(st.lists(st.sampled_from(["met", "advice", "ask a senior", "questions open", "not suitable"]), max_size=6))
def test_the_verdict_is_the_worst_of_the_reasons(said: list[str]) -> None:
    reasons = tuple(Reason("it", verdict, "", "") for verdict in said)  # type: ignore[arg-type]
    verdict = find_verdict(reasons)
    order = ["suitable", "ask a senior", "questions open", "not suitable"]
    assert order.index(verdict) == max((order.index(each) for each in said if each in order), default=0)


def test_where_the_route_is_ruled_out_no_open_question_hides_it() -> None:
    reasons = check_criteria(KIT, find_baby(1199, "30+2"), {})
    assert any(reason.verdict == "questions open" for reason in reasons)
    assert find_verdict(reasons) == "not suitable"
