"""What both ways of working a list out are compared by, and the two files in quantities of pint: for the slow way.

Quantities are those of pint's default registry, with fractions for numbers, since binary floats would disagree.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeAlias

import pint
from msgspec.structs import replace

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.lines import Line
from prepkit.kit.spans import AxisSpans, Span, Where
from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount
from prepkit.rules.rule import Outcome

Quantity: TypeAlias = Any
"""pint makes its quantities at run time: no checker knows their type."""
REGISTRY: Quantity = pint.UnitRegistry(non_int_type=Fraction)
_UNITS = {"%": "percent", "/min": "1/min", "Fr": "mm"}


@dataclass(frozen=True)
class Plain:
    """What a line comes to: blocked, or the amounts that the hand has to get right."""

    blocked: bool = False
    due: Quantity = None
    exact: Quantity = None
    amount: Quantity = None
    low: Quantity = None
    high: Quantity = None
    sizes: tuple[str, ...] = ()
    syringe: SyringeStock | None = None
    vials: tuple[tuple[Fraction, int], ...] = ()
    discard: Quantity = None
    count: int | None = None


@dataclass(frozen=True)
class Case:
    """A baby, and the lines before."""

    baby: Baby
    found: dict[str, Plain]

    def weigh(self, which: str) -> Quantity:
        """One of the weights, by a word of the kit's: birth, now, greater; None where it is not known."""
        size = self.baby.size
        now = size.weight_now_g
        birth = now if size.birth_weight_g is None else size.birth_weight_g
        grams = {"birth": birth, "now": now, "greater": None if birth is None or now is None else max(birth, now)}
        return None if grams[which] is None else REGISTRY.Quantity(Fraction(grams[which]), "g")

    def lacks(self, *parts: object, of: Sequence[str] = ("weigh", "gestation")) -> bool:
        """Whether these parts of a kit name a weight or a gestation that is not known; or one of these two alone."""
        said, size = repr(parts), self.baby.size
        unknown = [
            f"{key}={span}" for key, span, value in (
                ("birth_weight", "WeightSpan", self.weigh("birth")), ("weight", "'birth'", self.weigh("birth")),
                ("weight_now", "WeightSpan", self.weigh("now")), ("weight", "'now'", self.weigh("now")),
                ("greater_weight", "WeightSpan", self.weigh("greater")), ("weight", "'greater'", self.weigh("greater")),
                ("birth_gestation", "GestationSpan", size.birth_gestation),
                ("gestation_today", "GestationSpan", size.gestation_today),
            ) if value is None and any(each in key for each in of)
        ]  # fmt: skip
        return any(each in said for each in unknown)


BLOCKED = Plain(blocked=True)
Found: TypeAlias = Mapping[str, Outcome]


class Quantities:
    """The amounts of the two files, each made into a quantity once, and the spans that hold them."""

    def __init__(self) -> None:
        self.quantities: dict[int, Quantity] = {}
        self.kept: list[Amount] = []

    def q(self, amount: Amount) -> Quantity:
        """The quantity of an amount of the two files, made once."""
        if id(amount) not in self.quantities:
            self.kept.append(amount)
            self.quantities[id(amount)] = make(amount)
        return self.quantities[id(amount)]

    def holds(self, where: Where, case: Case) -> bool:
        size, age = case.baby.size, case.baby.age
        values = [
            (where.birth_weight, case.weigh("birth")),
            (where.weight_now, case.weigh("now")),
            (where.greater_weight, case.weigh("greater")),
            *((where.age, REGISTRY.Quantity(Fraction(minutes), "min")) for minutes in (age.least_min, age.most_min)),
        ]
        days = [(where.birth_gestation, size.birth_gestation), (where.gestation_today, size.gestation_today)]
        if any(span is not None and (value is None or not self.contains(span, value)) for span, value in values):
            return False
        if any(span is not None and (value is None or not span.contains(value)) for span, value in days):
            return False
        return all(self._meets(test, case.baby.facts[name]) for name, test in where.facts.items())

    def forget(self, where: Where, case: Case) -> Where:
        """The condition without what nobody can say whether it is met."""
        ages = [REGISTRY.Quantity(Fraction(each), "min") for each in (case.baby.age.least_min, case.baby.age.most_min)]
        is_open = where.age is not None and len({self.contains(where.age, each) for each in ages}) > 1
        unknown = [key for key in AxisSpans.__struct_fields__ if case.lacks(Where(**{key: getattr(where, key)}))]
        facts = {name: test for name, test in where.facts.items() if case.baby.facts[name] is not None}
        return replace(where, facts=facts, **dict.fromkeys([*unknown, *(["age"] if is_open else [])]))

    def _meets(self, test: Span[Any] | str, value: object) -> bool:
        if isinstance(test, str):
            return test == value
        return isinstance(value, Amount) and self.contains(test, make(value))

    def contains(self, span: Span[Any], value: Quantity) -> bool:
        return not (
            (span.at_least is not None and value < self.q(span.at_least))
            or (span.above is not None and value <= self.q(span.above))
            or (span.at_most is not None and value > self.q(span.at_most))
            or (span.below is not None and value >= self.q(span.below))
        )


def make(amount: Amount) -> Quantity:
    """An amount as a quantity of pint's default registry."""
    return REGISTRY.Quantity(amount.value, _UNITS.get(amount.unit.text, amount.unit.text))


def is_same(quantity: Quantity, amount: Amount | None) -> bool:
    """Whether the two ways came to the same, to the last digit."""
    if quantity is None or amount is None:
        return quantity is None and amount is None
    return bool(quantity.to(_UNITS.get(amount.unit.text, amount.unit.text)).magnitude == amount.value)


def find_differences(kit: Kit, plain: dict[str, Plain], found: Found) -> list[str]:
    """The lines of which the two ways differ; `found` has for each id what its rule found."""
    return [line.id for line in kit.line if not _agrees(line, plain[line.id], found[line.id])]


def _agrees(line: Line, plain: Plain, row: Outcome) -> bool:
    if plain.blocked or row.blocked:
        return plain.blocked == bool(row.blocked)
    if line.kind == "trial":
        return True
    opened = tuple((vial.size.value, vial.count) for vial in row.vials)
    return (
        all(
            is_same(getattr(plain, name), getattr(row, name))
            for name in ("due", "exact", "amount", "low", "high", "discard")
        )
        and (plain.sizes, plain.syringe, plain.vials) == (row.sizes, row.syringe, opened)
        and row.how_many == plain.count
    )
