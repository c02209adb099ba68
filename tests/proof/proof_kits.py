"""Small kits and wards to prove, each made to show one finding or its absence. Figures are invented."""

from msgspec.structs import replace
from shipped import read_kit_text
from trays import DEMO_TEXT, NOW, WARD, make_kit, make_small_kit, make_small_ward, make_ward

from prepkit.documents.proof_words import say_note
from prepkit.kit.fields import read_table
from prepkit.kit.kit import Kit
from prepkit.kit.spans import GestationSpan, WeightSpan
from prepkit.kit.ward import SyringeStock
from prepkit.proof.findings import NoteKind
from prepkit.proof.notes import Proof
from prepkit.proof.prove import prove
from prepkit.quantities.amount import make_amount

KIT = make_kit(read_kit_text())
DOSE = """
[[product]]
id = "drug"
name = "Drug"
strength = "10 mg/mL"
container = "vial"
holds = ["10 mL"]
basis = "common practice"

[[line]]
kind = "dose"
weight = "birth"
id = "it"
group = "all"
name = "It"
route = "intravenous"
products = ["drug"]
dose = "2 mg/kg"
basis = "common practice"
"""
STOCK = '[[stock]]\nproduct = "drug"\nholds = ["10 mL"]\n'
PORACTANT = '[[stock]]\nproduct = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]\n'
OTHERS = (
    '\n[[stock]]\nproduct = "beractant"\nholds = ["4 mL", "8 mL"]\n'
    '\n[[stock]]\nproduct = "calfactant"\nholds = ["3 mL", "6 mL"]\n'
)
WEAK = (
    DOSE.partition("[[line]]")[0]
    .replace('"drug"', '"weak"')
    .replace("10 mg/mL", "1 mg/mL")
    .replace('name = "Drug"', 'name = "Drug, weak"\nsubstance = "drug"')
)
TWO_STRENGTHS = WEAK + DOSE.replace('products = ["drug"]', 'products = ["drug", "weak"]')
TWO_STOCKED = STOCK + STOCK.replace("drug", "weak")
HEAD = """
form = 1
name = "Invented ward"
edition = "1"
approver = "lead pharmacist"
review_by = 2030-01-01
deviation = "{}"
"""


def write_syringe(holds: str, marks: str, least: str, route: str = "intravenous") -> str:
    return f'[[syringe]]\nroute = "{route}"\nholds = "{holds} mL"\nmarks = "{marks} mL"\nleast = "{least} mL"\n'


FINE = write_syringe("50", "0.01", "0.01")


def write_line(kind: str, rest: str, name: str = "it") -> str:
    return f'[[line]]\nkind = "{kind}"\nid = "{name}"\ngroup = "all"\nname = "It"\nbasis = "common practice"\n{rest}'


def narrow(kit: Kit, grams: tuple[int, int], days: tuple[str, str] | None = None) -> Kit:
    """The same kit over a slice of its domain, the same of each weight and each gestation: a test takes seconds."""
    weight = read_table({"at_least": f"{grams[0]} g", "at_most": f"{grams[1]} g"}, WeightSpan)
    changes: dict[str, object] = {"birth_weight": weight, "weight_now": weight}
    if days is not None:
        gestation = read_table({"at_least": days[0], "at_most": days[1]}, GestationSpan)
        changes |= {"birth_gestation": gestation, "gestation_today": gestation}
    return replace(kit, domain=replace(kit.domain, **changes))


def prove_small(
    text: str,
    ward: str | None = "fine",
    *,
    grams: tuple[int, int] = (1000, 1100),
    days: tuple[str, str] = ("30+0", "31+0"),
    deviation: str = "5 %",
) -> Proof:
    """Prove a kit of nothing but these tables over a slice of weights and gestations, with a fine syringe in stock."""
    kit = make_small_kit(text)
    fine = STOCK + FINE if "[[product]]" in text else FINE
    beside = None
    if ward is not None:
        beside = make_small_ward(fine if ward == "fine" else ward, kit, head=HEAD.format(deviation))
    return prove(narrow(kit.model, grams, days), beside.model if beside else None, NOW)


def say(proof: Proof, kind: NoteKind, about: str = "it") -> list[str]:
    """The words of one kind of note on one line."""
    return [say_note(note) for note in proof.notes if note.kind is kind and note.about == about]


def prove_stock(stocked: str = PORACTANT, grams: tuple[int, int] = (1000, 5000), **changes: object) -> Proof:
    """Prove the surfactant alone, with this stock in the place of the demo ward's, and some of the ward's own keys."""
    text = DEMO_TEXT.replace(PORACTANT, stocked)
    assert (text != DEMO_TEXT) == (stocked != PORACTANT)
    ward = replace(make_ward(text).model, **changes)
    lines = tuple(line for line in KIT.model.line if line.id == "surfactant")
    return prove(narrow(replace(KIT.model, line=lines), grams, ("30+0", "30+1")), ward, NOW)


def make_syringe(holds: str, marks: str, least: str) -> SyringeStock:
    amounts = {"holds": holds, "marks": marks, "least": least}
    return SyringeStock(route="tracheal", **{name: make_amount(value, "mL") for name, value in amounts.items()})


def use_containers(how: str) -> dict[str, object]:
    return {"stock": tuple(replace(each, containers=how) for each in WARD.model.stock)}
