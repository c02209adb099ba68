"""The proof walks every baby: it agrees with lists made one by one, and finds the gaps that are put in."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from proof_kits import narrow
from shipped import KIT_IDS, read_kit_text

from prepkit.documents.proof_text import write_proof_text
from prepkit.documents.proof_words import say_note
from prepkit.kit.axes import Axis
from prepkit.kit.baby import make_newborn
from prepkit.kit.facts import find_default
from prepkit.kit.kit import Kit
from prepkit.kit.read import ParsedFile, read_kit, read_ward
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.paths import find_shipped
from prepkit.proof.domain import Run, split
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import Proof
from prepkit.proof.prove import prove
from prepkit.proof.walk import Walk
from prepkit.quantities.text import read_amount

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
KITS = KIT_IDS
WARD_TEXT = (find_shipped("demo") / "ward.toml").read_text("utf-8")


def load(kit: str, ward_text: str = WARD_TEXT) -> tuple[ParsedFile[Kit], ParsedFile[Ward]]:
    read, problems = read_kit(read_kit_text(kit), kit)
    assert read is not None, problems
    ward, problems = read_ward(ward_text, "ward")
    assert ward is not None, problems
    return read, ward


def prove_slice(kit: str, grams: tuple[int, int], ward_text: str = WARD_TEXT) -> Proof:
    read, ward = load(kit, ward_text)
    return prove(narrow(read.model, grams), ward.model, NOW)


def list_words(proof: Proof, kind: NoteKind) -> list[str]:
    return [f"{note.about}: {say_note(note)}" for note in proof.notes if note.kind is kind]


@pytest.mark.thorough
@pytest.mark.parametrize("kit", KITS)
def test_the_shipped_kits_prove_clean_with_the_demo_ward(kit: str) -> None:
    read, ward = load(kit)
    proof = prove(read.model, ward.model, NOW)
    assert proof.gaps == ()
    # At 1685 g a last 100 mg/kg is 2.106 mL: 2 mL is 5.04 % less, the nearest mark is 2.2 mL, 104.45 mg/kg.
    (words,) = list_words(proof, NoteKind.CAUTION)
    assert words.startswith("surfactant: the mark brings the course a little over its total at ")
    assert words.endswith("; the most, 404.45 mg/kg, at 1685 g (last dose of a course, after 300 mg/kg)")
    text = write_proof_text(proof)
    assert "No gap: every line can be prepared" in text
    assert max(len(row) for row in text.splitlines()) < 80
    assert text.replace("\n", "").isprintable()


def test_a_dose_by_bands_is_walked_and_its_gaps_are_found() -> None:
    read, ward = load("surfactant-supraglottic")
    bands = """band = [
  { weight_now = { below = "1300 g" }, dose = "10 microgram/kg" },
  { weight_now = { at_least = "1300 g", below = "1310 g" }, dose = "20 microgram/kg" },
]"""
    changed, problems = read_kit(read.text.replace('dose = "20 microgram/kg"', bands), "changed")
    assert changed is not None, problems
    proof = prove(narrow(changed.model, (1290, 1320)), ward.model, NOW)
    gaps = [f"{note.about}: {say_note(note)}" for note in proof.gaps if note.about == "atropine"]
    assert len(gaps) == 1
    assert gaps[0].startswith("atropine: weight now 1310\N{EN DASH}1320 g: none of its bands of doses holds 1310 g")
    # A band's edge is no ceiling, though the dose per kg is another one from there on.
    assert not [words for words in list_words(proof, NoteKind.CEILING) if words.startswith("atropine")]


@given(st.integers(-50, 50), st.integers(0, 60), st.sets(st.integers(-60, 120)))
def test_runs_hold_every_number_of_the_domain_once(first: int, length: int, cuts: set[int]) -> None:
    runs = split(Run(Axis.WEIGHT_NOW, first, first + length), cuts)
    assert [n for run in runs for n in range(run.first, run.last + 1)] == list(range(first, first + length + 1))


@settings(max_examples=60, deadline=None)
@given(
    grams=st.integers(1200, 5000),
    later=st.integers(-2, 2),
    days=st.integers(28 * 7, 42 * 7),
    since=st.integers(0, 13),
)
def test_what_the_walk_says_of_a_baby_is_what_its_list_says(grams: int, later: int, days: int, since: int) -> None:
    """The oracle: the list made for that baby alone, of two weights and two gestations, in a slice around them."""
    kit, ward = load("surfactant-supraglottic")
    walk = Walk(narrow(kit.model, (max(1200, grams - 2), min(5000, grams + 2))), ward.model, NOW)
    facts = {fact.id: find_default(fact) for fact in kit.model.fact}
    now_g = min(max(grams + later, 1200), 5000)
    baby = make_newborn(grams, days, facts, now_g=now_g, days_today=days + since)
    listed = {line.id: line.outcome for line in compute_list(kit, ward, baby, {}, NOW).lines}
    for line in kit.model.line:
        if line.kind == "trial":
            continue
        reads, seen = walk.get_reads(line), 0
        at_g, at_days = baby.measures.get(reads.weight), baby.measures.get(reads.gestation)
        for track in walk.list_tracks(line):
            if track.situation.facts != facts or not holds(track.days, at_days):
                continue
            point = next(point for point in track.points if holds(point.grams, at_g))
            expected = listed[line.id]
            assert bool(point.outcome.blocked) == bool(expected.blocked), line.id
            assert point.outcome.standing == expected.standing, line.id
            assert point.outcome.sizes == expected.sizes, line.id
            assert expected.show in (point.outcome.show, point.last.show), line.id
            seen += 1
        assert seen == 1 or line.id in {"t-piece-peep", "t-piece-fio2"}, line.id  # a fact taken over has no edge at 6


def holds(run: Run | None, number: int | None) -> bool:
    return run is None or (number is not None and run.first <= number <= run.last)


def test_without_an_approval_every_baby_under_the_label_is_a_gap() -> None:
    text = WARD_TEXT[: WARD_TEXT.index("[[approval]]")]
    gaps = prove_slice("surfactant-supraglottic", (1990, 2010), text).gaps
    device = [note for note in gaps if note.about == "airway-device"]
    assert [say_note(note).partition(":")[0] for note in device] == ["weight now 1990\N{EN DASH}1999 g"]


def test_a_syringe_taken_away_leaves_the_babies_that_no_other_measures() -> None:
    text = WARD_TEXT.replace('route = "intravenous"\nholds = "1 mL"', 'route = "intravenous"\nholds = "50 mL"').replace(
        'marks = "0.01 mL"\nleast = "0.1 mL"\n\n[[syringe]]\nroute = "intravenous"\nholds = "2.5 mL"',
        'marks = "1 mL"\nleast = "5 mL"\n\n[[syringe]]\nroute = "intravenous"\nholds = "2.5 mL"',
    )
    gaps = prove_slice("surfactant-supraglottic", (1240, 1260), text).gaps
    atropine = [say_note(note) for note in gaps if note.about == "atropine"]
    assert atropine, "0.496 mL is under what the 2.5 mL syringe measures"
    assert atropine[0].startswith("weight now 1240\N{EN DASH}1249 g")


def test_an_approval_cuts_in_where_the_label_ends() -> None:
    changes = list_words(prove_slice("surfactant-supraglottic", (1990, 2010)), NoteKind.CHANGE)
    assert (
        "airway-device: from weight now 1990 g approval HW-27 (invented), size 1; from 2000 g label, size 1" in changes
    )


def test_an_approval_past_its_review_date_is_a_gap() -> None:
    text = WARD_TEXT.replace("review_by = 2027-03-01", f"review_by = {date(2026, 11, 24)}")
    assert any(
        note.about == "airway-device" for note in prove_slice("surfactant-supraglottic", (1300, 1310), text).gaps
    )


def test_a_ceiling_is_found_where_it_bites() -> None:
    kit, ward = load("surfactant-supraglottic")
    capped = {"most": read_amount("60 microgram")}
    lines = tuple(replace(line, **capped) if line.id == "atropine" else line for line in kit.model.line)
    proof = prove(narrow(replace(kit.model, line=lines), (2990, 3010)), ward.model, NOW)
    assert list_words(proof, NoteKind.CEILING)[-1:] == [
        "atropine: the most in one dose, 60 microgram, bites at weight now 3001\N{EN DASH}3010 g"
    ]


def test_bands_that_no_baby_meets_and_products_not_in_stock_are_named() -> None:
    words = list_words(prove_slice("surfactant-supraglottic", (1200, 1210)), NoteKind.UNUSED)
    assert "gastric-tube: no baby of the domain meets the band: weight now under 1000 g" in words
    assert "calfactant: not in the ward's stock: its cautions can never fire" in words


WIDER = """
[[local]]
kits = ["surfactant-supraglottic"]

[[local.line]]
kind = "size"
id = "airway-device"
group = "airway"
name = "Supraglottic airway"
label = true
essential = true
basis = "local"

[[local.line.method]]
by = "weight on the ward's own list (invented)"

[[local.line.method.band]]
size = ["1"]
weight_now = { at_least = "1995 g", at_most = "5000 g" }

[[local.criterion]]
id = "weight-least"
text = "Weight now is at least 1100 g"
where = { weight_now = { at_least = "1100 g" } }
otherwise = "not suitable"
basis = "local"
"""
APPROVED = """
[[widening]]
what = "{what}"
kits = ["surfactant-supraglottic"]
reference = "HW-31 (invented)"
approver = "lead consultant"
approved_on = 2026-03-02
review_by = 2027-03-01
"""


def test_a_line_of_the_wards_own_is_a_gap_where_it_goes_further_than_the_kit_unapproved() -> None:
    text = WARD_TEXT[: WARD_TEXT.index("[[approval]]")] + WIDER
    device = prove_slice("surfactant-supraglottic", (1990, 2010), text).gaps
    said = [say_note(note) for note in device if note.about == "airway-device"]
    assert [words.partition(":")[0] for words in said] == ["weight now 1990\N{EN DASH}1999 g"]
    proof = prove_slice("surfactant-supraglottic", (1990, 2010), text + APPROVED.format(what="airway-device"))
    assert [say_note(note).partition(":")[0] for note in proof.gaps if note.about == "airway-device"] == [
        "weight now 1990\N{EN DASH}1994 g"
    ]
    (change,) = (words for words in list_words(proof, NoteKind.CHANGE) if words.startswith("airway-device"))
    assert "from weight now 1995 g widening HW-31 (invented), approved by lead consultant" in change
    assert change.endswith("; label, size 1; from 2000 g label, size 1")


@pytest.mark.parametrize(
    ("approved", "said"),
    [("", "weight-least: not suitable: weight now 1090\N{EN DASH}1199 g"), (APPROVED.format(what="weight-least"), "")],
)
def test_a_milder_criterion_cuts_where_it_counts(approved: str, said: str) -> None:
    kit, ward = load("surfactant-supraglottic", WARD_TEXT + WIDER + approved)
    words = list_words(prove(narrow(kit.model, (1090, 1210)), ward.model, NOW), NoteKind.CRITERION)
    mine = [row for row in words if row.startswith("weight-least")]
    assert mine == [row for row in (said, "weight-least: not suitable: weight now 1090\N{EN DASH}1099 g") if row]
