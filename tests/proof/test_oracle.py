"""The oracle: on slices of a domain the proof says what the lists made one by one, for every gram and day, say."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from proof_kits import narrow
from shipped import KIT_IDS, read_kit_text
from trays import DEMO_TEXT, NOW, make_kit, make_small_kit, make_small_ward, make_ward, word

from prepkit.documents.proof_words import say_note
from prepkit.kit.axes import WEIGHTS, Axis
from prepkit.kit.baby import Age, Baby, make_newborn
from prepkit.kit.kit import Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.compute import compute_list
from prepkit.proof.deciding import Reads
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import Proof
from prepkit.proof.prove import prove
from prepkit.proof.situations import Situation
from prepkit.proof.walk import Track, Walk
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


# A kit of every axis, where each two weights and each two gestations differ on some line. Figures are invented.
MIXED = """
[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "vial"
holds = ["10 mL"]
where = { greater_weight = { at_least = "1003 g" } }
basis = "common practice"

[[line]]
kind = "dose"
id = "greater"
name = "By the greater"
route = "intravenous"
weight = "greater"
products = ["drug"]
band = [
  { dose = "2 mg/kg", age = { below = "24 h" }, gestation_today = { below = "30+1" } },
  { dose = "1 mg/kg", age = { at_least = "24 h" } },
]

[[line]]
kind = "size"
id = "device"
name = "By birth and approved by another"
label = true
[[line.method]]
by = "birth weight"
band = [{ size = ["1"], birth_weight = { above = "1002 g" } }]

[[line]]
kind = "depth"
id = "depth"
name = "By weight now and gestation today"
step = "0.5 cm"
differ = "0.5 cm"
[[line.method]]
by = "weight now"
per_kg = "2 cm/kg"
weight = "now"
plus = "5.25 cm"
basis = "common practice"
[[line.method]]
by = "gestation today"
basis = "common practice"
band = [
  { depth = "7 cm", gestation_today = { below = "30+1" } },
  { depth = "8 cm", gestation_today = { at_least = "30+1" } },
]

[[line]]
kind = "supply"
id = "tube"
name = "By weight now and following one by birth weight"
step = "0.5 cm"
count = [{ count = 2, birth_gestation = { below = "30+1" } }, { count = 1, birth_gestation = { at_least = "30+1" } }]
[line.length]
by = "weight now"
per_kg = "3 cm/kg"
weight = "now"
basis = "common practice"
[line.size]
by = "the device"
follows = "device"
band = [{ when_size = "1", size = ["8 Fr"], weight_now = { at_least = "1001 g" } }]

[[line]]
kind = "setting"
id = "pressure"
name = "By age alone"
band = [{ value = "5 cmH2O", age = { below = "24 h" } }, { value = "6 cmH2O", age = { above = "24 h" } }]

[[line]]
kind = "trial"
id = "tried"
name = "Of them all"
of = ["greater", "device", "tube", "pressure"]
how = ["Try it."]
"""
MIXED_WARD = """
[[stock]]
product = "drug"
holds = ["10 mL"]
[[syringe]]
route = "intravenous"
holds = "1 mL"
marks = "0.01 mL"
least = "0.1 mL"
[[approval]]
line = "device"
size = "1"
where = { birth_weight = { at_least = "1001 g" }, birth_gestation = { at_least = "30+1" } }
reference = "A-1"
approver = "lead consultant"
approved_on = 2026-03-02
review_by = 2027-03-01
"""


def load(kit: str, ward: str) -> tuple[ParsedFile[Kit], ParsedFile[Ward]]:
    read = make_kit(read_kit_text(kit))
    capped = {"most": read_amount("45 microgram")}
    lines = tuple(replace(row, **capped) if row.id == "atropine" else row for row in read.model.line)
    supraglottic = make_kit(read_kit_text())
    model = replace(read.model, line=lines)
    return ParsedFile(model, read.name, read.text, read.sha256), make_ward(WARDS[ward], read, supraglottic)


class Slice:
    """Lists made one by one, each for one baby: a few weights and two days, at birth and now, each with each."""

    def __init__(self, kit: ParsedFile[Kit], ward: ParsedFile[Ward], grams: range, days: range) -> None:
        self.grams, self.days = grams, days
        self._make = lambda baby: compute_list(kit, ward, baby, {}, NOW)
        self._made: dict[object, tuple[Baby, dict[str, Outcome]]] = {}

    def list_along(self, line: Line, axis: Axis | None, situation: Situation) -> Iterator[list[tuple[Baby, Outcome]]]:
        """The line along its weight, for each weight beside it and each pair of days."""
        age = situation.told.age
        for other, at_birth, today in product(self.grams, self.days, self.days):
            if at_birth <= today:
                minutes = (today - at_birth) * 24 * 60 if age is None else age
                pairs = [self._pair(axis, grams, other) for grams in self.grams]
                key = (at_birth, today, minutes, tuple(situation.facts.items()))
                found = [self._find(pair, key, situation) for pair in pairs]
                yield [(baby, outcomes[line.id]) for baby, outcomes in found]

    def _pair(self, axis: Axis | None, grams: int, other: int) -> tuple[int, int]:
        """The weight at birth and now, one of them that of the axis."""
        if axis is Axis.GREATER_WEIGHT:
            return (grams, min(grams, other)) if other % 2 else (min(grams, other), grams)
        return (other, grams) if axis is Axis.WEIGHT_NOW else (grams, other)

    def _find(
        self, pair: tuple[int, int], key: tuple[int, int, int, object], situation: Situation
    ) -> tuple[Baby, dict[str, Outcome]]:
        if (pair, key) not in self._made:
            at_birth, today, minutes, _ = key
            age = Age(minutes, minutes)
            baby = make_newborn(pair[0], at_birth, situation.facts, age, now_g=pair[1], days_today=today)
            self._made[pair, key] = baby, {row.id: word(row.outcome) for row in self._make(baby).lines}
        return self._made[pair, key]


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
@settings(max_examples=4)
@given(
    kit=st.sampled_from(KITS),
    first=st.integers(1200, 4990),
    length=st.integers(0, 3),
    day=st.integers(28 * 7, 42 * 7 - 1),
    spot=st.sampled_from(["any", 2000, 2500, 3000]),
)
def test_the_proof_of_a_slice_says_what_its_lists_say(
    kit: str, ward: str, first: int, length: int, day: int, spot: int | str
) -> None:
    whole, beside = load(kit, ward)
    first = first if isinstance(spot, str) else spot - 2
    hold_to_lists(whole, beside, range(first, first + length + 1), range(day, day + 2))


@pytest.mark.parametrize("changed", ["", "weight", "gestation"])
def test_the_proof_of_a_kit_of_every_axis_says_what_its_lists_say(changed: str) -> None:
    text = {
        "": MIXED,
        "weight": MIXED.replace("weight_now", "greater_weight").replace('weight = "now"', 'weight = "greater"'),
        "gestation": MIXED.replace("gestation_today", "birth_gestation"),
    }[changed]
    kit = make_small_kit(text.replace("[[line]]", '[[line]]\ngroup = "all"\nbasis = "common practice"'))
    ward = make_small_ward(MIXED_WARD, kit)
    assert prove(kit.model, ward.model, NOW).gaps
    hold_to_lists(kit, ward, range(1000, 1005), range(30 * 7, 30 * 7 + 2))


def hold_to_lists(whole: ParsedFile[Kit], ward: ParsedFile[Ward], grams: range, days: range) -> None:
    model = narrow(whole.model, (grams[0], grams[-1]), (str(Gestation(days[0])), str(Gestation(days[-1]))))
    sliced = Slice(ParsedFile(model, whole.name, whole.text, whole.sha256), ward, grams, days)
    proof, walk = prove(model, ward.model, NOW), Walk(model, ward.model, NOW)
    for line in model.line:
        rows: list[Outcome] = []
        reads, tracks = walk.get_reads(line), list(walk.list_tracks(line))
        for situation in walk.list_situations(line):
            here = [track for track in tracks if track.situation == situation]
            for along in sliced.list_along(line, reads.weight, situation):
                check_steps(proof, line, [row for _, row in along])
                rows += [row for _, row in along]
                seen = [check_point(track, reads, baby, row) for baby, row in along for track in here]
                assert reads.beside or sum(seen) == len(along), line.id
        check_line(proof, line, rows)


def check_point(track: Track, reads: Reads, baby: Baby, row: Outcome) -> bool:
    """Whether the track is this baby's; if so, the two ways agree on whether it is blocked, and on its mark."""
    at = {**baby.measures, None: None}
    for each in track.situation.told.beside:
        same = at[reads.weight if each.axis in WEIGHTS else reads.gestation]
        if at[each.axis] != (same if each.value is None else each.value):
            return False
    days = at[reads.gestation]
    if track.days is not None and (days is None or not track.days.first <= days <= track.days.last):
        return False
    grams = at[reads.weight]
    points = [
        each for each in track.points if each.grams is None or each.grams.first <= (grams or 0) <= each.grams.last
    ]
    assert len(points) == 1
    ends = (points[0].outcome, points[0].last)
    assert {bool(end.blocked) for end in ends} == {bool(row.blocked)}
    assert row.amount in [end.amount for end in ends]
    assert row.sizes in [end.sizes for end in ends]
    return True


def check_line(proof: Proof, line: Line, rows: list[Outcome]) -> None:
    blocked = say(proof, line, NoteKind.BLOCKED, NoteKind.UNMEASURED)
    assert bool(blocked) == any(row.blocked for row in rows), line.id
    said = {row.blocked for row in rows if row.blocked}
    if line.kind == "trial":
        # The proof tells of each line that a trial waits for by itself; a list names them all.
        waits = "waits for what is blocked: "
        told = {words.partition(waits)[2].partition(" (")[0] for words in blocked}
        assert told == {name for reason in said for name in reason.removeprefix(waits).split(", ")}
    else:
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
