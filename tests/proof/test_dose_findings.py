"""What a proof tells a pharmacist of each stock: stand-ins, spans of syringes, shares of what is due, containers.

The kits are the shipped ones; the wards are the demo's with another stock. Volumes and shares beside each check are
worked out by hand from the labels' strengths: poractant alfa 80 mg/mL, 200 mg/kg first and 100 mg/kg after.
"""

from fractions import Fraction

import pytest
from proof_kits import (
    DOSE,
    FINE,
    OTHERS,
    PORACTANT,
    STOCK,
    TWO_STOCKED,
    TWO_STRENGTHS,
    WEAK,
    make_syringe,
    prove_small,
    prove_stock,
    say,
    use_containers,
    write_syringe,
)
from shipped import KIT_IDS, read_kit_text
from trays import NOW, make_kit

from prepkit.documents.proof_text import write_proof_text
from prepkit.documents.proof_words import say_note, say_situation
from prepkit.kit.axes import Axis
from prepkit.kit.facts import read_fact, write_fact
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import SyringeStock
from prepkit.proof.domain import Run
from prepkit.proof.dose_findings import find_spans
from prepkit.proof.findings import NoteKind, SyringeAgain
from prepkit.proof.notes import Proof
from prepkit.proof.situations import Situation, Told, list_situations
from prepkit.proof.walk import Point, Track
from prepkit.quantities.amount import make_amount
from prepkit.rules.rule import Outcome

FIRST = "first dose"


def list_first(proof: Proof, kind: NoteKind) -> list[str]:
    """What is said of the first dose."""
    return [
        words for words in say(proof, kind, "surfactant") if "further dose" not in words and "last dose" not in words
    ]


def test_a_ward_with_one_product_has_no_gap_and_nothing_stands_in() -> None:
    proof = prove_stock()
    assert proof.gaps == ()
    assert say(proof, NoteKind.STANDS_IN, "surfactant") == []
    assert {note.about: say_note(note) for note in proof.notes if note.about in {"beractant", "calfactant"}} == {
        "beractant": "not in the ward's stock: its cautions can never fire",
        "calfactant": "not in the ward's stock: its cautions can never fire",
    }


def test_a_ward_with_three_products_draws_the_others_up_by_order_alone() -> None:
    proof = prove_stock(PORACTANT + OTHERS)
    assert proof.gaps == ()
    assert say(proof, NoteKind.STANDS_IN, "surfactant") == []
    said = "in stock, another substance: never drawn up but by an order that names it"
    for name in ("beractant", "calfactant"):
        assert say(proof, NoteKind.UNUSED, name) == [said]
    assert say(proof, NoteKind.UNUSED, "poractant-alfa") == []
    assert say(proof, NoteKind.CHANGE, "surfactant") == say(prove_stock(), NoteKind.CHANGE, "surfactant")


def test_where_the_first_of_three_products_cannot_be_measured_it_is_a_gap_that_names_the_orders() -> None:
    # 200 mg/kg is 2.5 mL a kg: under 3.2 mL, at 1280 g, where no syringe measures less.
    coarse = (make_syringe("20", "0.2", "3.2"),)
    proof = prove_stock(PORACTANT + OTHERS, (1270, 1290), syringe=coarse)
    first = [
        note for note in proof.gaps if not any(told.doses[0].given for each in note.where for told in each.situations)
    ]
    (words,) = map(say_note, first)
    assert words.startswith("birth weight 1270\N{EN DASH}1279 g: ")
    assert "Beractant" in words
    assert "Calfactant" in words
    assert "order" in words
    assert say(proof, NoteKind.STANDS_IN, "surfactant") == []


def test_two_strengths_of_one_substance_are_marked_where_the_second_stands_in_with_its_grams_and_why() -> None:
    # 2 mg/kg of 10 mg/mL is 0.2 mL at 1000 g: under 0.21 mL up to 1049 g, and of 1 mg/mL ten times as much.
    proof = prove_small(TWO_STRENGTHS, TWO_STOCKED + write_syringe("5", "0.01", "0.21"))
    (words,) = say(proof, NoteKind.STANDS_IN)
    assert words.startswith("weak stands in for drug at 50 weights (birth weight 1000\N{EN DASH}1049 g); at 1000 g: ")
    assert "0.2 mL is under the 0.21 mL that a 5 mL syringe measures" in words
    assert proof.gaps == ()
    text = write_proof_text(proof)
    assert "\n! another product: weak stands in for drug" in text
    assert "Another product stands in, marked with ! too: It." in " ".join(text.split())
    (change,) = say(proof, NoteKind.CHANGE)
    assert "weak undiluted 1 mg/mL" in change
    never = prove_small(TWO_STRENGTHS, TWO_STOCKED + FINE)
    assert say(never, NoteKind.STANDS_IN) == []
    assert "!" not in write_proof_text(never)


def test_a_strength_that_stands_in_for_two_reasons_is_told_once_for_each() -> None:
    barred = TWO_STRENGTHS.replace("[[line]]", 'where = { birth_weight = { below = "1090 g" } }\n\n[[line]]')
    proof = prove_small(barred, TWO_STOCKED + write_syringe("5", "0.01", "0.21"))
    said = [words.partition(")")[0] for words in say(proof, NoteKind.STANDS_IN)]
    assert said == [
        "weak stands in for drug at 50 weights (birth weight 1000\N{EN DASH}1049 g",
        "weak stands in for drug at 11 weights (birth weight 1090\N{EN DASH}1100 g",
    ]


def test_another_substance_beside_two_strengths_never_stands_in() -> None:
    other = WEAK.replace('"weak"', '"other"').replace('substance = "drug"', 'substance = "another"')
    text = other + DOSE.replace('products = ["drug"]', 'products = ["drug", "other"]')
    proof = prove_small(text, TWO_STOCKED.replace("weak", "other") + write_syringe("5", "0.01", "0.21"))
    assert say(proof, NoteKind.STANDS_IN) == []
    (words,) = say(proof, NoteKind.UNMEASURED)
    assert words.startswith("birth weight 1000\N{EN DASH}1049 g: ")
    assert len(proof.gaps) == 1


def test_a_ward_with_only_a_coarse_syringe_has_gaps_where_its_marks_lie_too_far_off() -> None:
    # Marks of 1 mL from 2 mL on: within 5 % of 2.5 mL a kg at no more than 0.1 mL off 2 mL, 0.15 mL off 3 mL, ...
    coarse = (make_syringe("20", "1", "2"),)
    proof = prove_stock(grams=(1000, 1300), syringe=coarse)
    words = next(words for words in list_first(proof, NoteKind.UNMEASURED))
    # 2.857 mL to 3.157 mL go to 3 mL: 1143 g (2.8575 mL) to 1263 g (3.1575 mL).
    runs = "birth weight 1000\N{EN DASH}1142 g, 1264\N{EN DASH}1300 g"
    assert words.startswith(runs)
    assert "5 %" not in words.partition(":")[0]
    assert proof.gaps != ()


def test_every_switch_of_syringe_is_told_with_its_gram() -> None:
    # With 0.5 mL of air a 5 mL syringe holds 4.4 mL, up to 4.5 mL rounded: 1800 g; 10 mL hold 9.4 mL: 3800 g.
    (words,) = list_first(prove_stock(), NoteKind.CHANGE)
    assert words == (
        "from birth weight 1000 g 5 mL syringe, undiluted 80 mg/mL; from 1800 g 10 mL syringe, undiluted 80 mg/mL;"
        " from 3800 g 20 mL syringe, undiluted 80 mg/mL (first dose)"
    )


def test_not_over_tells_where_the_mark_below_is_taken_and_the_share_that_is_left() -> None:
    proof = prove_stock(round="not over", deviation=make_amount(20, "%"))
    held = [words for words in list_first(proof, NoteKind.CEILING) if "the mark below is taken" in words]
    assert len(held) == 1
    # 5 mL with marks of 0.2 mL: 2.5 mL at 1000 g goes up to 2.6 mL, and down to 2.4 mL where it never goes over.
    assert "birth weight 1000" in held[0]
    (rounding,) = list_first(proof, NoteKind.ROUNDING)
    assert rounding.startswith("\N{MINUS SIGN}")
    assert "the caution that the mark passes the 200 mg/kg of the label's range can never fire (poractant-alfa)" in say(
        proof, NoteKind.UNUSED, "surfactant"
    )
    nearest = prove_stock(deviation=make_amount(20, "%"))
    assert [words for words in list_first(nearest, NoteKind.CEILING) if "the mark below is taken" in words] == []


def test_fewest_tells_where_one_container_less_is_opened() -> None:
    # 3 mL is one vial: within 5 % of up to 3.157 mL, 1263 g; of 3.1 mL on, from 1240 g, the nearest mark is 3.2 mL.
    proof = prove_stock(grams=(1200, 1300), **use_containers("fewest"))
    assert list_first(proof, NoteKind.CONTAINERS) == [
        "one less than the nearest mark would take, at 24 weights (birth weight 1240\N{EN DASH}1263 g) (first dose)"
    ]
    assert say(prove_stock(grams=(1200, 1300)), NoteKind.CONTAINERS, "surfactant") == []


def test_whole_tells_where_whole_vials_are_taken_and_measures_where_they_hold_under_90_percent() -> None:
    # Of 1.5 and 3 mL: 240 mg are 200 mg/kg of 1200 g and under 90 % of it from 1334 g on (89.96 %); 360 mg from 1800 g.
    proof = prove_stock(grams=(1200, 1800), **use_containers("whole"))
    assert list_first(proof, NoteKind.CONTAINERS) == [
        "whole ones, nothing measured off, at 135 weights (birth weight 1200\N{EN DASH}1333 g, 1800 g) (first dose)"
    ]
    assert proof.gaps == ()
    assert list_first(proof, NoteKind.SHARE) == []


def test_each_share_under_90_percent_is_told_by_its_grams() -> None:
    # Never over 200 mg/kg with marks of 0.5 mL: 2.5 mL up to 1199 g, under 90 % of what is due from 1112 g on.
    changes = {"round": "not over", "deviation": make_amount(20, "%"), "syringe": (make_syringe("20", "0.5", "2"),)}
    (share,) = list_first(prove_stock(grams=(1000, 1199), **changes), NoteKind.SHARE)
    said = "the row says what share it is at 88 weights (birth weight 1112\N{EN DASH}1199 g); the least, 83.4 %"
    assert share == f"{said} of what is due, at 1199 g (first dose)"
    assert list_first(prove_stock(grams=(1000, 1111), **changes), NoteKind.SHARE) == []


def test_a_share_past_what_the_ward_tells_is_told_too() -> None:
    # 3.1 mL of 1240 g goes up to 3.2 mL, and 1.55 mL to 1.6 mL: 103.2 %.
    proof = prove_stock(grams=(1240, 1240), tell_over=make_amount(3, "%"))
    (share,) = say(proof, NoteKind.SHARE, "surfactant")
    assert share.startswith("the row says what share it is at 1 weights (birth weight 1240 g); the most, 103")
    assert share.endswith("(first dose or further dose after 200 mg/kg)")
    assert say(prove_stock(grams=(1240, 1240)), NoteKind.SHARE, "surfactant") == []


# -------------------------------------------------------------------------------------------------- spans of a syringe

SMALL, LARGE = make_syringe("5", "0.2", "2"), make_syringe("10", "0.2", "4")


def make_track(*rows: tuple[int, str, SyringeStock], **fields: object) -> Track:
    points = []
    for grams, volume, syringe in rows:
        exact = make_amount(volume, "mL")
        outcome = Outcome(exact=exact, amount=exact, syringe=syringe, product="drug", **fields)  # type: ignore[arg-type]
        points.append(Point(Run(Axis.BIRTH_WEIGHT, grams, grams), outcome, outcome, is_suitable=True))
    return Track(Situation(Told(), {}), None, tuple(points))


def test_a_syringe_that_serves_again_is_a_gap_by_its_grams() -> None:
    rows = ((1000, "2", SMALL), (1001, "2.1", LARGE), (1002, "2.2", SMALL), (1003, "2.3", SMALL), (1004, "2.4", LARGE))
    small, large = find_spans(make_track(*rows))
    assert small == SyringeAgain(SMALL.holds, SMALL.marks, (Run(Axis.BIRTH_WEIGHT, 1002, 1003),))
    assert large == SyringeAgain(LARGE.holds, LARGE.marks, (Run(Axis.BIRTH_WEIGHT, 1004, 1004),))
    # Whole containers go to no mark, and into whatever holds them.
    assert [*find_spans(make_track(*rows, is_whole=True))] == []
    assert [*find_spans(make_track(*rows[:2], rows[4]))] == []


def test_a_span_goes_by_the_volumes_of_a_strength_and_not_by_the_weight() -> None:
    # A dose by bands that falls with the weight: the same volumes again, in the same syringes.
    rows = ((1000, "2", SMALL), (1001, "4.5", LARGE), (1002, "2.1", SMALL), (1003, "4.6", LARGE))
    assert [*find_spans(make_track(*rows))] == []


def test_a_rule_that_lets_a_syringe_serve_twice_fails_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    """The engine makes it impossible; were it not to, the proof would say so."""
    turns = {}

    def take_turns(self: object, volume: Fraction) -> object:
        scales = [scale for _, scale in self]  # type: ignore[attr-defined]
        turns[volume] = None
        return scales[len(turns) % 2]

    both = STOCK + write_syringe("50", "0.01", "0.01") + write_syringe("60", "0.01", "0.01")
    assert prove_small(DOSE, both, grams=(1000, 1005)).gaps == ()
    monkeypatch.setattr("prepkit.rules.dose.syringe.find_serving", take_turns)
    monkeypatch.setattr("prepkit.rules.dose.syringe.share_out", lambda scales, _: tuple((0, scale) for scale in scales))
    proof = prove_small(DOSE, both, grams=(1000, 1005))
    assert {note.kind for note in proof.gaps} == {NoteKind.SPANS}
    assert "! syringes: the 50 mL syringe with marks of 0.01 mL serves again" in write_proof_text(proof)


# ------------------------------------------------------------------------------------------------------------ courses


@pytest.mark.parametrize("name", KIT_IDS)
def test_every_state_that_is_walked_can_be_entered(name: str) -> None:
    kit, late = make_kit(read_kit_text(name)).model, NOW.replace(second=41, microsecond=7)
    entered = 0
    for line in kit.line:
        if isinstance(line, DoseLine):
            for situation in list_situations((line,), kit, None, late):
                for fact, value in situation.facts.items():
                    if value is not None:
                        text = write_fact(value)
                        read = read_fact(kit, fact, text, late)
                        assert not hasattr(read, "wrong"), read
                        assert read == (text, value)
                        entered += fact == line.earlier
    assert entered >= 1


def test_the_last_dose_of_a_course_keeps_its_number_of_doses_too() -> None:
    # 4 doses of 1 mg/kg at most, 9 mg/kg in all: after the first, 2 mg/kg, and two more, one is left.
    repeat = 'repeat = { dose = "1 mg/kg", interval = "6 h", most_in_all = "9 mg/kg", most_doses = 4 }\n\n[[line]]'
    fact = '[[fact]]\nkind = "doses"\nid = "before"\nlabel = "Given before"\nask = "What was given before?"\n'
    text = fact + DOSE.replace("[[line]]", repeat).replace('dose = "2 mg/kg"', 'dose = "2 mg/kg"\nearlier = "before"')
    proof = prove_small(text, deviation="20 %")
    assert proof.gaps == ()
    (line,) = proof.lines
    assert [say_situation(told) for told in line.situations] == [
        "first dose",
        "further dose after 2 mg/kg",
        "last dose of a course, after 4 mg/kg",
    ]
    full = "the course's total, 9 mg/kg, bites: no further dose once more than 4 mg/kg, or 4 doses, were given"
    assert say(proof, NoteKind.CEILING) == [full]
