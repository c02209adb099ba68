"""The oracle: on slices of a domain the proof says what the lists made one by one, for every gram and day, say."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from proof_kits import narrow
from shipped import KIT_IDS, read_kit_text
from trays import DEMO_TEXT, NOW, make_kit, make_ward, word

from prepkit.documents.proof_text import say_note
from prepkit.kit.baby import make_newborn
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.proof.domain import Situation
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import Proof
from prepkit.proof.prove import prove
from prepkit.proof.walk import Walk
from prepkit.quantities.amount import convert
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import read_amount, show_amount
from prepkit.rules.rule import Outcome

# Bare of approvals, coarse for small doses, with a least dose label and a cap: every finding has a place to appear.
ROUGH = (
    DEMO_TEXT[: DEMO_TEXT.index("[[approval]]")].replace('"0.2 mL"', '"0.5 mL"').replace('use = ["atropine-50"]\n', "")
)
WARDS = {"demo": DEMO_TEXT, "rough": ROUGH}
KITS = KIT_IDS


def load(kit: str, ward: str) -> tuple[ParsedFile[Kit], ParsedFile[Ward]]:
    read = make_kit(read_kit_text(kit))
    capped = {"most": read_amount("45 microgram")}
    lines = tuple(replace(row, **capped) if row.id == "atropine" else row for row in read.model.line)
    supraglottic = make_kit(read_kit_text())
    model = replace(read.model, line=lines)
    return ParsedFile(model, read.name, read.text, read.sha256), make_ward(WARDS[ward], read, supraglottic)


def list_slice(
    kit: ParsedFile[Kit], ward: ParsedFile[Ward], line: Line, situation: Situation
) -> Iterator[list[Outcome]]:
    """For each day the line along all weights, each taken from a whole list made for that one baby."""
    walk = Walk(kit.model, ward.model, NOW)
    for days in range(walk.days.first, walk.days.last + 1):
        along = []
        for grams in range(walk.grams.first, walk.grams.last + 1):
            baby = make_newborn(grams, days, situation.facts)
            tray = compute_list(kit, ward, baby, {}, NOW)
            along.append(next(word(row.outcome) for row in tray.lines if row.id == line.id))
        yield along


def say(proof: Proof, line: Line, *kinds: NoteKind) -> list[str]:
    return [say_note(note) for note in proof.notes if note.about == line.id and note.kind in kinds]


def deviate(row: Outcome) -> Fraction:
    assert row.amount is not None
    assert row.exact is not None
    return abs(row.amount.value - row.exact.value) / row.exact.value


def is_step(one: Outcome, two: Outcome) -> bool:
    if one.amount is None or two.amount is None or one.syringe is None or two.syringe is None:
        return False
    mark = max(convert(row.syringe.marks, "mL").value for row in (one, two) if row.syringe)
    return abs(convert(one.amount, "mL").value - convert(two.amount, "mL").value) > mark


@pytest.mark.parametrize("ward", WARDS)
@settings(max_examples=6)
@given(
    kit=st.sampled_from(KITS),
    first=st.integers(1200, 4990),
    length=st.integers(0, 5),
    day=st.integers(28 * 7, 42 * 7 - 1),
    spot=st.sampled_from(["any", 2000, 2500, 3000]),
)
def test_the_proof_of_a_slice_says_what_its_lists_say(
    kit: str, ward: str, first: int, length: int, day: int, spot: int | str
) -> None:
    whole, beside = load(kit, ward)
    first = first if isinstance(spot, str) else spot - 2
    model = narrow(whole.model, (first, first + length), (str(Gestation(day)), str(Gestation(day + 1))))
    sliced = ParsedFile(model, whole.name, whole.text, whole.sha256)
    proof = prove(model, beside.model, NOW)
    walk = Walk(model, beside.model, NOW)
    for line in model.line:
        rows: list[Outcome] = []
        for situation in walk.list_situations(line):
            for along in list_slice(sliced, beside, line, situation):
                check_steps(proof, line, along)
                rows += along
        check_line(proof, line, rows)


def check_line(proof: Proof, line: Line, rows: list[Outcome]) -> None:
    blocked = say(proof, line, NoteKind.BLOCKED, NoteKind.UNMEASURED)
    assert bool(blocked) == any(row.blocked for row in rows), line.id
    said = {row.blocked for row in rows if row.blocked}
    assert all(any(reason in words for reason in said) for words in blocked)
    assert any(note.about == line.id for note in proof.gaps) == any(row.blocked for row in rows)
    for row in rows:
        # A trial stands on the values of the lines that it is of, whose changes are told there.
        if row.standing.startswith("approval") and line.kind != "trial":
            assert any(row.standing in words for words in say(proof, line, NoteKind.CHANGE)), line.id
    if isinstance(line, DoseLine):
        check_dose(proof, line, rows)
    differing = any("methods differ" in caution for row in rows for caution in row.cautions)
    if any("its methods differ can never fire" in words for words in say(proof, line, NoteKind.UNUSED)):
        assert not differing, line.id
    elif line.kind == "depth" and getattr(line, "differ", None) is not None:
        assert differing, line.id


def check_dose(proof: Proof, line: DoseLine, rows: list[Outcome]) -> None:
    measured = [deviate(row) for row in rows if row.amount is not None]
    roundings = say(proof, line, NoteKind.ROUNDING)
    assert bool(roundings) == bool(measured)
    if measured:
        percents = [Fraction(words.split(" %")[0].lstrip("+\N{MINUS SIGN}")) for words in roundings]
        assert abs(max(percents) - max(measured) * 100) <= Fraction(1, 100)
    capped = [row for row in rows if any("No single dose is more than" in words for words in row.working)]
    bites = [words for words in say(proof, line, NoteKind.CEILING) if "the most in one dose" in words]
    assert bool(bites) == bool(capped)
    if line.most is not None:
        assert all(show_amount(line.most) in words for words in bites)


def check_steps(proof: Proof, line: Line, along: list[Outcome]) -> None:
    steps = [(one, two) for one, two in pairwise(along) if is_step(one, two)] if isinstance(line, DoseLine) else []
    words = say(proof, line, NoteKind.STEP)
    for _, two in steps:
        assert two.amount is not None
        assert words
        assert any(show_amount(two.amount) in each or "at every gram" in each for each in words)
