"""What a rule is given, and what it gives back. May import: `prepkit.kit`, `prepkit.quantities`."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.spans import Where
from prepkit.kit.ward import SyringeStock, Ward
from prepkit.quantities.amount import Amount


@dataclass(frozen=True, slots=True)
class VialCount:
    """So many containers of one size."""

    size: Amount
    count: int


@dataclass(frozen=True, slots=True)
class Dilution:
    """A strength to draw up from, and how it is made."""

    id: str
    strength: Amount
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a rule found for one line. Amounts are exact; `amount` is what the hand measures or sets."""

    blocked: str = ""
    dose: Amount | None = None
    exact: Amount | None = None
    amount: Amount | None = None
    low: Amount | None = None
    high: Amount | None = None
    sizes: tuple[str, ...] = ()
    syringe: SyringeStock | None = None
    recipe: Dilution | None = None
    vials: tuple[VialCount, ...] = ()
    discard: Amount | None = None
    standing: str = ""
    """On what ground it stands where that can change while the value stays: "label", an approval's reference."""
    show: str = ""
    details: tuple[str, ...] = ()
    working: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    basis: str | None = None
    """Where it differs from the line's own."""
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Case:
    """A kit, a ward, a baby and a moment: everything that a list is made from."""

    kit: Kit
    ward: Ward | None
    baby: Baby
    now: datetime
    found: Mapping[str, Outcome]
    """What was found for the lines before this one, by line id, for lines that follow another."""


def holds_for(where: Where, baby: Baby) -> bool:
    """Whether every condition is met by this baby."""
    if where.weight is not None and not where.weight.contains(baby.weight):
        return False
    if where.gestation is not None and not where.gestation.contains(baby.gestation):
        return False
    return all(_meets(test, baby.facts[fact]) for fact, test in where.facts.items())


def _meets(test: object, value: object) -> bool:
    if isinstance(test, str):
        return test == value
    return isinstance(value, Amount) and test.contains(value)  # type: ignore[attr-defined]


def cite(kit: Kit, basis: str, source: tuple[str, ...]) -> str:
    """The basis and the citation in one phrase: "published: Canadian Paediatric Society (2011), doi ..."."""
    if source:
        return f"{basis}: " + "; ".join(kit.sources[name].words() for name in source)
    return {"from memory": "from memory, not read: check it", "common practice": "common practice, no source to cite"}.get(basis, basis)


def cite_short(kit: Kit, basis: str, source: tuple[str, ...]) -> str:
    """The basis and the titles, to stand behind a sentence of the working."""
    if source:
        return f"[{basis}: " + "; ".join(f"{kit.sources[name].title} {kit.sources[name].year or ''}".strip() for name in source) + "]"
    return f"[{basis}]"
