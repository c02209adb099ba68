"""Criteria of the ward's own, beside the kit's. Figures are invented."""

from datetime import timedelta

import pytest
from layer_scene import BARE, CRITERION, QUESTION, SMALL, list_tray, make
from trays import KIT, NOW, make_tray, write_widening

from prepkit.kit.baby import make_baby
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.criteria import find_other_kits
from prepkit.preparation.baby.suitability import compute_suitability_fingerprint


def find_reason(weight: int, ward: ParsedFile[Ward], criterion: str = "weight-least") -> tuple[str, str]:
    reason = next(row for row in list_tray(weight, ward).reasons if row.criterion == criterion)
    return reason.verdict, reason.text


@pytest.mark.parametrize(
    ("weight", "verdict"), [(1199, "not suitable"), (1200, "not suitable"), (1299, "not suitable"), (1300, "met")]
)
def test_a_stricter_criterion_stands_and_says_the_kits_own(weight: int, verdict: str) -> None:
    found, text = find_reason(weight, make(CRITERION.format(least=1300)))
    assert found == verdict
    kits = "met" if weight >= 1200 else "not suitable"
    assert text.endswith(f"(the ward's own; the kit's: Weight is at least 1200 g, {kits})")


@pytest.mark.parametrize(("weight", "verdict"), [(1199, "not suitable"), (1200, "met")])
def test_a_milder_criterion_does_not_count_without_an_approval(weight: int, verdict: str) -> None:
    ward = make(CRITERION.format(least=1100))
    found, text = find_reason(weight, ward)
    assert found == verdict
    assert list_tray(weight, ward).verdict == ("not suitable" if weight < 1200 else "questions open")
    if weight < 1200:
        assert text == (
            "Weight is at least 1200 g (birth weight: 1199 g)"
            " (the ward's own is wider, and no approval on file: Weight is at least 1100 g)"
        )


@pytest.mark.parametrize(("weight", "verdict"), [(1099, "not suitable"), (1100, "met"), (1199, "met"), (1200, "met")])
def test_a_milder_criterion_counts_as_approved_and_says_the_kits_own(weight: int, verdict: str) -> None:
    found, text = find_reason(weight, make(CRITERION.format(least=1100), write_widening("weight-least")))
    assert found == verdict
    assert "the kit's: Weight is at least 1200 g" in text
    assert ("on ward approval W-9, approved by lead consultant on 01 Jan 2026, review by 01 Jan 2028" in text) == (
        1100 <= weight < 1200
    )


def test_a_milder_verdict_is_wider_too() -> None:
    advice = CRITERION.format(least=1200).replace('otherwise = "not suitable"', 'otherwise = "advice"')
    assert find_reason(1199, make(advice))[0] == "not suitable"
    assert find_reason(1199, make(advice, write_widening("weight-least")))[0] == "advice"


@pytest.mark.parametrize(
    ("end", "verdict", "words", "notices"),
    [
        ("2026-11-24", "not suitable", "the ward's approval W-9 was due for review by 24 Nov 2026", 0),
        ("2026-11-25", "met", "review by 25 Nov 2026", 1),
        ("2027-01-24", "met", "review by 24 Jan 2027", 1),
        ("2027-01-25", "met", "review by 25 Jan 2027", 0),
    ],
)
def test_an_approval_of_a_criterion_ends_with_its_review_and_is_told_60_days_before(
    end: str, verdict: str, words: str, notices: int
) -> None:
    ward = make(CRITERION.format(least=1100), write_widening("weight-least", end=end))
    found, text = find_reason(1150, ward)
    assert found == verdict
    assert words in text
    said = [words for words in list_tray(1150, ward).overdue if "W-9" in words]
    assert len(said) == notices


def test_an_added_question_is_asked_and_says_whose_it_is() -> None:
    ward = make(QUESTION)
    assert find_reason(2000, ward, "unseen") == ("questions open", "No senior has seen the baby (added by the ward)")
    tray = make_tray(2000, kit=SMALL, ward=ward, answers={"unseen": "yes", "asked": "no"})
    assert tray.verdict == "not suitable"


def test_another_kit_is_offered_as_the_ward_has_it() -> None:
    baby, _ = make_baby(KIT.model, {"birth_weight": "1199", "birth_gestation": "30+2"}, NOW)
    assert baby is not None
    criterion, widening = CRITERION.format(least=1100), write_widening("weight-least")
    for ward, offered in ((BARE, False), (make(criterion), False), (make(criterion, widening), True), (None, False)):
        assert bool(find_other_kits((SMALL,), KIT.model.id, baby, ward, NOW)) == offered


def test_a_seniors_agreement_falls_when_what_the_ward_approved_or_asks_changes() -> None:
    criterion = CRITERION.format(least=1100).replace('"not suitable"', '"ask a senior"')
    wards = [
        make(criterion),
        make(criterion, write_widening("weight-least")),
        make(criterion, write_widening("weight-least", reference="W-10")),
        make(criterion, write_widening("weight-least", end="2028-01-02")),
        make(criterion, write_widening("weight-least", end="2026-11-24")),
        make(criterion.replace("1100 g", "1150 g"), write_widening("weight-least")),
    ]
    trays = [list_tray(1050, ward) for ward in wards]
    assert len({compute_suitability_fingerprint(tray) for tray in trays}) == len(wards)
    assert trays[1].reasons[0].verdict == "ask a senior"
    assert trays[4].reasons[0].verdict == "not suitable"
    # The days before the review change nothing that was agreed to.
    soon = list_tray(1050, wards[1], NOW + timedelta(days=390))
    assert compute_suitability_fingerprint(soon) == compute_suitability_fingerprint(trays[1])
    assert soon.overdue[-1].startswith("The approval W-9 of a criterion is due for review by 01 Jan 2028")
