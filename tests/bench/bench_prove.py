"""A kit proved over every gram and day, three surfactants in stock: beside its doses alone, and beside plain pint.

The slow way would take hours: it is timed on lists of babies sampled from the whole domain and multiplied, and what it
finds is held against the proof on slices of the domain, worked out there for every gram, every day and every situation.
"""

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import product
from time import process_time

from msgspec.structs import replace

from prepkit.documents.proof_words import say_note
from prepkit.kit.axes import Axis
from prepkit.kit.baby import make_newborn
from prepkit.kit.kit import Domain, Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.read import read_ward
from prepkit.kit.spans import GestationSpan, WeightSpan
from prepkit.kit.ward import Ward
from prepkit.list.compute import prepare_lines
from prepkit.paths import find_shipped
from prepkit.proof.domain import find_domain
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import Proof
from prepkit.proof.prove import prove
from prepkit.proof.walk import Walk
from prepkit.quantities.amount import make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import write_decimal
from prepkit.rules.rule import RuleContext
from prepkit.wording.things import say_size
from tests.bench.bench_list import NOW, list_babies, load
from tests.bench.figure import Figure, alternate, make_bound
from tests.bench.plain import BLOCKED, Plain, find_differences
from tests.bench.plain_list import PlainList

KITS = ("surfactant-supraglottic", "surfactant-thin-catheter", "surfactant-brief-ventilation")
SAMPLED = 150
ROUNDS = 3
MOST_SECONDS, LEAST_TIMES = 10, 100
SLICES = ((1200, "28+0"), (1998, "31+6"), (2999, "37+6"), (4990, "41+5"))
GRAMS, DAYS = 6, 2


def measure() -> list[Figure]:
    """Prove each shipped kit, after the slices were seen to agree."""
    return [figure for kit in KITS for figure in _measure(kit)]


def _measure(name: str) -> Iterator[Figure]:
    kit, ward = load(name)[0].model, load_three_stocked()
    points = sum(check_slice(kit, ward, grams, day) for grams, day in SLICES)
    plain, sample = PlainList(kit, ward, NOW), list_babies(kit, SAMPLED)
    proof = prove(kit, ward, NOW)
    times = alternate(ROUNDS, {
        "prove": lambda: _time(lambda: prove(kit, ward, NOW)),
        "doses": lambda: _time(lambda: _work_out_doses(kit, ward)),
        "pint": lambda: _time(lambda: [plain.work_out(baby) for baby in sample]) / len(sample),
    })  # fmt: skip
    quick, doses, one = (min(times[each]) for each in ("prove", "doses", "pint"))
    babies = _count(kit, Axis.BIRTH_WEIGHT) * _count(kit, Axis.BIRTH_GESTATION)
    slow = one * babies
    own = "its doses alone, at every gram, nothing looked at"
    counted = f"processor time on one core; {babies:,} babies weighed once, {proof.lists:,} lines worked out"
    yield make_bound(f"prove {name}", quick, "s", own, doses, MOST_SECONDS, counted)
    note = (
        f"{one * 1000:.1f} ms a list over {SAMPLED} sampled babies, multiplied by {babies:,} babies and not run;"
        f" on slices of every gram, day and situation, {points:,} points, it finds the same"
    )
    yield Figure(f"prove {name} by plain pint, list by list", slow, "s", f"prove {name}", quick,
                 f">= {LEAST_TIMES}x", slow >= LEAST_TIMES * quick, note)  # fmt: skip


def load_three_stocked() -> Ward:
    """The demo ward with three surfactants in stock, each in the containers that the kits know."""
    text = (find_shipped("demo") / "ward.toml").read_text("utf-8")
    first = '[[stock]]\nproduct = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]\n'
    others = (("beractant", "4 mL", "8 mL"), ("calfactant", "3 mL", "6 mL"))
    more = "".join(f'\n[[stock]]\nproduct = "{name}"\nholds = ["{low}", "{high}"]\n' for name, low, high in others)
    ward, problems = read_ward(text.replace(first, first + more), "three in stock")
    if ward is None or first not in text:
        raise AssertionError(problems)
    return ward.model


def _count(kit: Kit, axis: Axis) -> int:
    run = find_domain(kit, axis)
    return run.last - run.first + 1


def _time(work: Callable[[], object]) -> float:
    begun = process_time()
    work()
    return process_time() - begun


def _work_out_doses(kit: Kit, ward: Ward) -> None:
    """Work out each dose once for each gram and situation that the walk has."""
    walk = Walk(kit, ward, NOW)
    lines, days = prepare_lines(walk.kit, ward), walk.find_domain(Axis.BIRTH_GESTATION).first
    for line in walk.kit.line:
        weight = walk.get_reads(line).weight
        if isinstance(line, DoseLine) and weight is not None:
            prepared, grams = lines[line.id], walk.find_domain(weight)
            for situation in walk.list_situations(line):
                for at in range(grams.first, grams.last + 1):
                    baby = make_newborn(at, days, situation.facts)
                    prepared.work_out(RuleContext(walk.kit, ward, baby, NOW, {}, layer=walk.layer))


# ------------------------------------------------------------------------------------------------------- the oracle


def check_slice(kit: Kit, ward: Ward, grams: int, day: str) -> int:
    """Hold the proof of a slice against plain pint at its every gram, day and situation; count the points."""
    first = Gestation(int(day[:2]) * 7 + int(day[3]))
    weight = WeightSpan(at_least=make_amount(grams, "g"), at_most=make_amount(grams + GRAMS - 1, "g"))
    days = GestationSpan(at_least=first, at_most=Gestation(first.days + DAYS - 1))
    domain = Domain(birth_weight=weight, weight_now=weight, birth_gestation=days, gestation_today=days)
    narrow = replace(kit, domain=domain)
    walk, plain, proof = Walk(narrow, ward, NOW), PlainList(narrow, ward, NOW), prove(narrow, ward, NOW)
    points = 0
    at_days = [pair for pair in product(range(first.days, first.days + DAYS), repeat=2) if pair[0] <= pair[1]]
    for line in narrow.line:
        rows = []
        for situation in walk.list_situations(line):
            for (birth_g, now_g), (at_birth, today) in product(_list_weights(grams), at_days):
                baby = make_newborn(birth_g, at_birth, situation.facts, now_g=now_g, days_today=today)
                found = plain.work_out(baby)
                only = replace(narrow, line=(line,))
                if find_differences(only, found, {line.id: walk.work_out(line, baby)}):
                    raise AssertionError(f"{line.id}, {say_size(baby.size)}, {situation.told}: the two ways differ")
                rows.append(found[line.id])
        _check_findings(proof, line, rows)
        points += len(rows)
    return points


def _list_weights(grams: int) -> Iterator[tuple[int, int]]:
    """Each gram at birth and now, alike and with the other end of the slice beside it."""
    for at in range(grams, grams + GRAMS):
        yield from {(at, at), (at, grams + GRAMS - 1), (grams, at)}


def _check_findings(proof: Proof, line: Line, rows: list[Plain]) -> None:
    """Hold the gaps and the largest rounding that the proof tells of a line against those of the slow way."""
    notes = [note for note in proof.notes if note.about == line.id]
    is_gap = any(note.kind in {NoteKind.BLOCKED, NoteKind.UNMEASURED} for note in notes)
    if is_gap != (BLOCKED in rows):
        raise AssertionError(f"{line.id}: the proof and plain pint differ on whether it is blocked")
    rounded = [abs(row.amount / row.exact - 1).magnitude for row in rows if row.due is not None and not row.blocked]
    if rounded:
        most = write_decimal(Fraction(max(rounded)) * 100, 2)
        said = [say_note(note) for note in notes if note.kind is NoteKind.ROUNDING]
        if not any(words.lstrip("+\N{MINUS SIGN}").startswith(f"{most} %") for words in said):
            raise AssertionError(f"{line.id}: plain pint rounds by {most} % at most, the proof says {said}")
