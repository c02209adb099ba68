"""The weight now against the weight at birth, and the weight that the surfactants' labels name; figures with sources.

Statuses as in the other tests here: R, read in a copy of the document; R2, read in somebody else's account of it.
"""

from fractions import Fraction

import pytest
from shipped import KIT_IDS, read_kit_text
from trays import KIT, WARD, change_ward, check_criteria, find_baby, find_line, make_kit

from prepkit.kit.axes import Axis
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DoseLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.spans import AgeSpan
from prepkit.kit.ward import Ward, WeightChange
from prepkit.quantities.amount import make_amount
from prepkit.rules.criteria import CHANGE_CRITERION, Reason, find_verdict
from prepkit.rules.findings import Finding
from prepkit.rules.weights import prepare_changes
from prepkit.wording.say import say

# NOW is 25 November, 03:00 UTC.
AT_72_H, PAST_72_H = "2026-11-22T03:00+00:00", "2026-11-22T02:59+00:00"
ON = " on 2026-11-25"


def judge(
    birth: int | str, now: int, born: str, *confirmed: str, ward: ParsedFile[Ward] | None = None, weeks: str = "30+2"
) -> Reason | None:
    baby = find_baby(birth, weeks, born=born, weight_now=f"{now}{ON}")
    reasons = check_criteria(KIT, baby, {}, confirmed, ward)
    return next((reason for reason in reasons if reason.criterion == CHANGE_CRITERION), None)


@pytest.mark.parametrize(
    ("birth", "now", "asks"),
    [
        # 85 % of 2000 g is 1700 g, 105 % is 2100 g.
        (2000, 1699, True),
        (2000, 1700, False),
        (2000, 2000, False),
        (2000, 2100, False),
        (2000, 2101, True),
        # 85 % of 1450 g is 1232.5 g, 105 % is 1522.5 g.
        (1450, 1232, True),
        (1450, 1233, False),
        (1450, 1522, False),
        (1450, 1523, True),
    ],
)
@pytest.mark.parametrize("born", ["2026-11-25", "2026-11-24", AT_72_H])
def test_up_to_72_h_a_weight_outside_85_to_105_percent_of_the_birth_weight_is_asked_for_again(
    birth: int, now: int, born: str, *, asks: bool
) -> None:
    found = judge(birth, now, born)
    assert (found is not None) == asks
    if found is not None:
        assert found.verdict == "advice"
        assert judge(birth, now, born, "birth_weight").verdict == "advice"  # type: ignore[union-attr]
        again = judge(birth, now, born, "weight_now")
        assert again is not None
        assert again.verdict == "met"
        assert say(again.text).endswith("(entered again and confirmed)")


@pytest.mark.parametrize(
    ("born", "asks"),
    # A day without a time may be one at which it is asked: 51 to 75 h, and 75 to 99 h.
    [(AT_72_H, True), (PAST_72_H, False), ("2026-11-22", True), ("2026-11-21", False)],
)
def test_past_72_h_nothing_is_asked_without_figures_of_the_wards_own(born: str, *, asks: bool) -> None:
    assert (judge(2000, 1000, born) is not None) == asks
    assert (judge(1000, 2000, born) is not None) == asks


def make_ward_row(age: AgeSpan, least: int, most: int) -> ParsedFile[Ward]:
    row = WeightChange(age=age, least=make_amount(least, "%"), most=make_amount(most, "%"))
    return change_ward(WARD, weight_change=(row,))


def test_past_72_h_the_wards_own_figures_ask_to_the_gram() -> None:
    ward = make_ward_row(AgeSpan(above=make_amount(72, "h"), at_most=make_amount(10 * 24, "h")), 80, 110)
    asked = {now: judge(2000, now, PAST_72_H, ward=ward) for now in (1599, 1600, 2200, 2201)}
    assert [found is not None for found in asked.values()] == [True, False, False, True]
    found = asked[1599]
    assert found is not None
    assert found.source == "the ward's own"
    assert say(found.text).startswith("1599 g now is 80 % of the birth weight of 2000 g, outside 80\N{EN DASH}110 %.")
    assert judge(2000, 1000, "2026-11-10", ward=ward) is None
    # Before that the program's own stand beside it.
    assert judge(2000, 1699, AT_72_H, ward=ward) is not None
    assert judge(2000, 1700, AT_72_H, ward=ward) is None


def test_for_the_ages_that_it_names_the_wards_row_goes_before_the_programs_own() -> None:
    ward = make_ward_row(AgeSpan(at_most=make_amount(48, "h")), 90, 100)
    assert judge(2000, 1799, "2026-11-24", ward=ward) is not None
    assert judge(2000, 1800, "2026-11-24", ward=ward) is None
    assert judge(2000, 2001, "2026-11-24", ward=ward) is not None
    assert judge(2000, 1799, AT_72_H, ward=ward) is None


@pytest.mark.parametrize(
    "facts",
    [
        {"birth_weight": "not known", "weight_now": f"1000{ON}"},
        {"birth_weight": "2000", "weight_now": "not weighed since"},
        {"birth_weight": "2000"},
    ],
)
def test_where_there_are_not_two_weights_there_is_nothing_to_hold_together(facts: dict[str, str]) -> None:
    baby = find_baby(facts.pop("birth_weight"), "34+0", born="2026-11-24", **facts)
    assert prepare_changes(None).judge(baby) is None


# Rochow 2016, doi 10.1038/pr.2016.15, 981 healthy preterm babies: the loss by day 5, per cent of the birth weight (R).
# Anchieta 2003, 260 babies under 2500 g at birth: 5.9 to 13.3 % at days 4 to 6 (R).
LOSSES = [("25+0", "11"), ("29+6", "11"), ("30+0", "7"), ("34+6", "7"), ("28+0", "5.9"), ("28+0", "13.3")]


@pytest.mark.parametrize(("weeks", "percent"), LOSSES)
@pytest.mark.parametrize("birth", [800, 1000, 1450, 1999, 2400])
def test_what_healthy_preterm_babies_lose_is_never_asked_about(weeks: str, percent: str, birth: int) -> None:
    least = birth * (100 - Fraction(percent)) / 100
    for born in ("2026-11-25", "2026-11-23", AT_72_H, "2026-11-20"):
        for now in (int(least), birth):
            assert judge(birth, now, born, weeks=weeks) is None


@pytest.mark.parametrize("birth", [1000, 1450, 2000])
@pytest.mark.parametrize("loss", [7, 11, 15])
def test_two_weights_that_were_swapped_are_asked_about(birth: int, loss: int) -> None:
    now = birth * (100 - loss) // 100
    assert judge(birth, now, "2026-11-24") is None or loss == 15
    swapped = judge(now, birth, "2026-11-24")
    assert swapped is not None
    assert "two weights swapped" in say(swapped.text)


def test_that_the_weight_is_asked_for_again_withholds_nothing_and_changes_no_verdict() -> None:
    answers = {row.id: "no" for row in KIT.model.criterion if row.is_against}
    facts = {"born": "2026-11-24", "cpap": "6", "fio2": "40"}
    verdicts = []
    for now in ("1450", "1230"):
        baby = find_baby(1450, "30+2", weight_now=now, **facts)
        verdicts.append(find_verdict(check_criteria(KIT, baby, answers)))
    assert verdicts == ["suitable", "suitable"]


def test_the_weight_of_a_later_day_is_never_held_against_the_size_at_birth() -> None:
    """1450 g is likely at 30+2 at birth; 900 g three weeks later is not for 33+2, and is not judged as that."""
    baby = find_baby(1450, "30+2", born="2026-11-04", weight_now=f"900{ON}")
    found = check_criteria(KIT, baby, {})[-1]
    assert found.criterion == "weight-for-gestation"
    assert isinstance(found.text, Finding)
    assert (found.verdict, found.text.values["found"].weight_g) == ("met", 1450)
    assert found.text.values["found"].gestation.days == 30 * 7 + 2


# ---------------------------------------------------------------------------------------- the weight that labels name

LABELS = {
    # US: 2.5 mL/kg birth weight, repeats 1.25 mL/kg birth weight; the chart's column is birth weight in grams (R2, R).
    "poractant-alfa": ("2.5", "1.25"),
    # US and UK: 100 mg/kg birth weight (R2), of 25 mg/mL.
    "beractant": ("4", "4"),
    # US: 3 mL/kg body weight at birth (R).
    "calfactant": ("3", "3"),
}
KITS = {name: make_kit(read_kit_text(name)) for name in KIT_IDS}


def find_surfactant(kit: ParsedFile[Kit]) -> DoseLine:
    line = next(line for line in kit.model.line if line.id == "surfactant")
    assert isinstance(line, DoseLine)
    return line


@pytest.mark.parametrize("kit", KIT_IDS)
@pytest.mark.parametrize("product", LABELS)
@pytest.mark.parametrize("now", ["1000", "1070", "1300"])
def test_surfactant_goes_by_the_birth_weight_as_every_label_that_names_one_says(
    kit: str, product: str, now: str
) -> None:
    first, repeat = map(Fraction, LABELS[product])
    holds = {row.id: row.holds for row in KITS[kit].model.product}[product]
    stock = tuple(row for row in WARD.model.stock if row.product != product)
    own = change_ward(WARD, stock=(type(WARD.model.stock[0])(product=product, holds=holds), *stock))
    facts = {"born": "2026-11-22", "weight_now": now}
    line = find_line("surfactant", 1200, "29+0", kit=KITS[kit], ward=own, **facts)
    assert (line.product, line.outcome.axis, line.outcome.weight) == (
        product, Axis.BIRTH_WEIGHT, make_amount(1200, "g"))  # fmt: skip
    assert line.exact == make_amount(first * Fraction(1200, 1000), "mL")
    assert " 1200 g (birth weight) = " in line.working[0]
    given = {"earlier_surfactant": f"{product}, 100 mg/kg, 2026-11-24 03:00"}
    again = find_line("surfactant", 1200, "29+0", kit=KITS[kit], ward=own, **facts, **given)
    assert again.exact == make_amount(repeat * Fraction(1200, 1000), "mL")


@pytest.mark.parametrize("kit", KIT_IDS)
def test_the_kits_say_birth_weight_for_surfactant_and_weight_now_for_everything_else(kit: str) -> None:
    """Corrections A1: atropine, tube sizes and lengths go by today's weight; what has to hold the dose by the dose's."""
    assert find_surfactant(KITS[kit]).weight == "birth"
    doses = {line.id: line.weight for line in KITS[kit].model.line if isinstance(line, DoseLine)}
    assert {weight for name, weight in doses.items() if name != "surfactant"} <= {"now"}
    tray = {line.id: line for line in KITS[kit].model.line}
    assert all(str(Axis.BIRTH_WEIGHT) not in repr(line).replace("birth_weight=None", "") for name, line in tray.items()
               if name not in {"surfactant", "enteral-syringe"})  # fmt: skip


def test_the_corrections_own_example_of_a_baby_that_lost_weight() -> None:
    """Corrections A1: 1.20 kg at birth, 1.07 kg today: 3.0 mL of poractant alfa by its label, not 2.67 mL."""
    line = find_line("surfactant", 1200, "29+0", born="2026-11-22", weight_now="1070")
    assert line.exact == make_amount(3, "mL")
