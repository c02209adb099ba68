"""A line is walked along the weight and the gestation that it goes by, and along nothing else. Figures are invented."""

import pytest
from proof_kits import DOSE, FINE, HEAD, STOCK, narrow, prove_small, say, write_line, write_syringe
from trays import NOW, make_small_kit, make_small_ward, write_widening

from prepkit.documents.proof_text import write_proof_text
from prepkit.documents.proof_words import say_situation
from prepkit.kit.axes import Axis
from prepkit.proof import draw_ups
from prepkit.proof.domain import Run
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import NotWalked, Proof
from prepkit.proof.prove import prove
from prepkit.rules.dose.candidates import Candidate, Miss
from prepkit.rules.dose.draw_up import DrawUp
from prepkit.rules.dose.rule import draw_in_wards_way


def write_settings(*bands: str) -> str:
    rows = ", ".join(f'{{ value = "{at} cmH2O", {band} }}' for at, band in enumerate(bands, 1))
    return write_line("setting", f"band = [{rows}]\n")


def write_criterion(where: str) -> str:
    return (
        f'[[criterion]]\nid = "rule"\ntext = "A rule"\nwhere = {{ {where} }}\notherwise = "not suitable"\n'
        'basis = "common practice"\n'
    )


def list_blocked(proof: Proof) -> list[str]:
    return [words.partition(": ")[0] for words in say(proof, NoteKind.BLOCKED)]


@pytest.mark.parametrize(
    ("band", "words"),
    [
        ('birth_weight = { below = "1050 g" }', "birth weight 1050–1100 g"),
        ('weight_now = { below = "1050 g" }', "weight now 1050–1100 g"),
        ('greater_weight = { below = "1050 g" }', "the greater of birth weight and weight now 1050–1100 g"),
    ],
)
def test_each_weight_is_one_axis_that_is_named(band: str, words: str) -> None:
    proof = prove_small(write_settings(band))
    assert list_blocked(proof) == [words]
    assert [run.axis for run in proof.domain] == [Axis(band.partition(" ")[0])]
    assert f"every gram of {words.partition(' 1050')[0]} 1000–1100 g, each line" in " ".join(
        write_proof_text(proof).split()
    )


@pytest.mark.parametrize(
    ("axis", "words"), [("birth_gestation", "gestation at birth"), ("gestation_today", "gestation today")]
)
def test_each_gestation_is_one_axis_and_a_line_without_a_weight_is_blocked_at_any(axis: str, words: str) -> None:
    proof = prove_small(write_settings(f'{axis} = {{ below = "30+3" }}'))
    assert list_blocked(proof) == ["any weight"]
    (said,) = say(proof, NoteKind.BLOCKED)
    assert said.endswith(f"({words} 30+3 to 31+0)")
    assert proof.domain == (Run(Axis(axis), 210, 217),)
    assert proof.lists == 2


def test_a_line_that_goes_by_nothing_is_worked_out_once() -> None:
    proof = prove_small(write_line("supply", "") + write_criterion('birth_weight = { at_least = "1050 g" }'))
    assert (proof.lists, proof.domain) == (1, ())


def test_the_age_is_walked_on_both_sides_of_its_edges_alone() -> None:
    proof = prove_small(write_settings('age = { below = "24 h" }', 'age = { at_least = "24 h", below = "72 h" }'))
    (line,) = proof.lines
    assert [*map(say_situation, line.situations)] == ["age 23 h 59 min", "age 24 h", "age 71 h 59 min", "age 72 h"]
    (words,) = say(proof, NoteKind.BLOCKED)
    assert words.endswith("(age 72 h)")
    whole = prove_small(write_settings('age = { below = "24 h" }', 'age = { at_least = "24 h" }'))
    assert (whole.gaps, whole.lists) == ((), 2)


def test_a_criterion_excuses_a_gap_only_by_what_the_line_is_walked_along() -> None:
    blocked = write_settings('birth_weight = { below = "1050 g" }')
    assert prove_small(blocked + write_criterion('birth_weight = { below = "1050 g" }')).gaps == ()
    assert prove_small(blocked + write_criterion('weight_now = { below = "1050 g" }')).gaps != ()
    assert prove_small(blocked + write_criterion('age = { below = "24 h" }')).gaps != ()
    # Whoever is not met by one of two conditions is ruled out, whatever the other says.
    both = 'birth_weight = { below = "1050 g" }, weight_now = { below = "1080 g" }'
    assert prove_small(blocked + write_criterion(both)).gaps == ()


@pytest.mark.parametrize(
    ("where", "words"),
    [
        ('weight_now = { at_least = "1020 g" }', "not suitable: weight now 1000–1019 g"),
        (
            'greater_weight = { below = "1090 g" }',
            "not suitable: the greater of birth weight and weight now 1090–1100 g",
        ),
        ('gestation_today = { above = "30+5" }', "not suitable: gestation today 30+0 to 30+5"),
        ('age = { below = "48 h" }', "not suitable: age not under 48 h"),
        (
            'birth_weight = { above = "1000 g" }, birth_gestation = { at_least = "30+1" }',
            "not suitable: birth weight 1000 g, or gestation at birth 30+0",
        ),
    ],
)
def test_a_criterion_is_said_where_it_cuts_in_along_each_axis(where: str, words: str) -> None:
    assert say(prove_small(write_criterion(where) + write_line("supply", "")), NoteKind.CRITERION, "rule") == [words]


def test_a_label_of_a_product_cuts_in_where_a_dose_goes_by_no_gestation_itself() -> None:
    barred = DOSE.replace("[[line]]", 'where = { gestation_today = { below = "30+3" } }\n\n[[line]]', 1)
    (words,) = say(prove_small(barred), NoteKind.BLOCKED)
    assert words.startswith("birth weight 1000–1100 g: ")
    assert words.endswith("(gestation today 30+3 to 31+0)")


# What follows goes by the weight now, and what it follows by another weight.
FOLLOWED = write_line(
    "size",
    """method = [{ by = "weight", band = [
    { size = ["1"], birth_weight = { below = "1020 g" } }, { size = ["2"], birth_weight = { at_least = "1020 g" } },
] }]
""",
    "first",
)
FOLLOWING = write_line(
    "size",
    """method = [{ by = "the first", follows = "first", band = [
    { when_size = "1", size = ["a"], weight_now = { below = "1050 g" } }, { when_size = "2", size = ["b"] },
] }]
""",
)


def test_a_second_weight_that_decides_is_walked_at_the_ends_of_its_runs() -> None:
    proof = prove_small(FOLLOWED + FOLLOWING)
    (line,) = (line for line in proof.lines if line.id == "it")
    assert [*map(say_situation, line.situations)] == [
        "birth weight the same",
        "birth weight 1000 g",
        "birth weight 1019 g",
        "birth weight 1020 g",
        "birth weight 1100 g",
    ]
    (words,) = say(proof, NoteKind.BLOCKED)
    assert words.startswith("weight now 1050–1100 g: ")
    assert words.endswith("(birth weight 1000 g or birth weight 1019 g)")
    assert NotWalked.BETWEEN_ENDS in proof.not_walked
    assert NotWalked.BETWEEN_ENDS not in prove_small(FOLLOWED).not_walked


def test_the_greater_beside_a_weight_is_never_less_than_it() -> None:
    by_greater = FOLLOWED.replace("birth_weight", "greater_weight").replace("1020 g", "1050 g")
    by_second = FOLLOWING.replace('{ when_size = "1", size = ["a"], weight_now = { below = "1050 g" } }, ', "")
    proof = prove_small(
        by_greater + by_second.replace('size = ["b"]', 'size = ["b"], weight_now = { above = "900 g" }')
    )
    # Of a baby of 1020 g now the greater may be any from 1020 g on, and is 1050 g or more where it was so at birth.
    words = dict(words.partition(": ")[::2] for words in say(proof, NoteKind.BLOCKED))
    greater = "the greater of birth weight and weight now"
    assert [*words] == ["weight now 1000–1049 g", "weight now 1000 g"]
    assert words["weight now 1000–1049 g"].endswith(f"({greater} the same or {greater} 1049 g)")
    assert words["weight now 1000 g"].endswith(f"({greater} 1000 g)")


LOCAL = DOSE.partition("[[line]]")[2].replace("[[line]]", "[[local.line]]")


def test_a_dose_that_the_ward_counts_by_the_other_weight_is_wider_where_that_weight_is_more() -> None:
    kit = make_small_kit(DOSE)
    own = f'[[local]]\nkits = ["small"]\n[[local.line]]{LOCAL.replace("birth", "now")}'

    def prove_ward(more: str = "") -> Proof:
        ward = make_small_ward(STOCK + FINE + own + more, kit, head=HEAD.format("5 %"))
        return prove(narrow(kit.model, (1000, 1010), ("30+0", "30+1")), ward.model, NOW)

    (gap,) = prove_ward().gaps
    assert gap.finding.kind is NoteKind.BLOCKED
    (words,) = say(prove_ward(), NoteKind.BLOCKED)
    assert words.startswith("weight now 1001–1010 g: ")
    assert words.endswith("(birth weight 1000 g)")
    assert prove_ward(write_widening("it")).gaps == ()


TRIAL = write_line("trial", 'of = ["it"]\nhow = ["Try it."]\n', "try")


def test_a_trial_waits_wherever_a_line_is_blocked_that_it_is_of() -> None:
    coarse = STOCK + write_syringe("5", "0.1", "0.21")
    proof = prove_small(DOSE + TRIAL, coarse)
    (unmeasured,) = say(proof, NoteKind.UNMEASURED)
    assert say(proof, NoteKind.BLOCKED, "try") == ["birth weight 1000–1100 g: waits for what is blocked: It"]
    assert unmeasured.startswith("birth weight 1000–1100 g: ")
    assert [note.about for note in proof.gaps] == ["it", "try"]
    again = TRIAL.replace('"try"', '"again"').replace('of = ["it"]', 'of = ["try"]')
    assert len(say(prove_small(DOSE + TRIAL + again, coarse), NoteKind.BLOCKED, "again")) == 1
    late = prove_small(write_settings('gestation_today = { below = "30+3" }') + TRIAL)
    assert [words.partition(" (")[2] for words in say(late, NoteKind.BLOCKED, "try")] == [
        "gestation today 30+3 to 31+0)"
    ]
    assert prove_small(DOSE + TRIAL).gaps == ()
    assert prove_small(DOSE + TRIAL).lists == prove_small(DOSE).lists


def test_a_trial_of_which_the_ward_tries_less_is_a_gap_until_it_is_approved() -> None:
    kit = make_small_kit(DOSE + TRIAL)
    less = TRIAL.replace('of = ["it"]\n', "").replace("[[line]]", "[[local.line]]")
    own = f'[[local]]\nkits = ["small"]\n{less}'

    def prove_ward(more: str = "") -> Proof:
        ward = make_small_ward(STOCK + FINE + own + more, kit, head=HEAD.format("5 %"))
        return prove(narrow(kit.model, (1000, 1010), ("30+0", "30+1")), ward.model, NOW)

    assert [note.about for note in prove_ward().gaps] == ["try"]
    assert prove_ward(write_widening("try")).gaps == ()


def test_what_does_not_decide_on_a_line_works_nothing_out_again() -> None:
    grams = 101
    assert prove_small(DOSE).lists == grams
    beside = write_criterion('birth_gestation = { at_least = "30+2" }') + write_settings('age = { below = "24 h" }')
    assert prove_small(DOSE + beside.replace('id = "it"', 'id = "set"')).lists == grams + 2


def test_a_draw_up_is_worked_out_once_for_its_dose_and_gram(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[Candidate] = []

    def count(candidate: Candidate) -> DrawUp | list[Miss]:
        drawn.append(candidate)
        return draw_in_wards_way(candidate)

    monkeypatch.setattr(draw_ups, "draw_in_wards_way", count)
    band = 'band = [{ dose = "2 mg/kg", birth_gestation = { below = "30+3" } }, '
    dose = 'dose = "2 mg/kg"\nbasis'
    same = prove_small(DOSE.replace(dose, band + '{ dose = "2 mg/kg" }]\nbasis'))
    assert (len(drawn), same.lists) == (101, 202)
    drawn.clear()
    prove_small(DOSE.replace(dose, band + '{ dose = "1.9 mg/kg" }]\nbasis'))
    assert len(drawn) == 202
