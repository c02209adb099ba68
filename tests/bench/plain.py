"""What both ways of working a list out are compared by, and the two files in quantities of pint: for the slow way.

Quantities are those of pint's default registry, with fractions for numbers, since binary floats would disagree.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeAlias

import pint

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.lines import Line
from prepkit.kit.spans import Span, Where
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
    dose: Quantity = None
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
    """A baby, its weight as a quantity, and the lines before."""

    baby: Baby
    weight: Quantity
    found: dict[str, Plain]


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
        if where.weight is not None and not self.contains(where.weight, case.weight):
            return False
        if where.gestation is not None:
            days, span = case.baby.gestation.days, where.gestation
            if span.at_least is not None and days < span.at_least.days:
                return False
            if span.above is not None and days <= span.above.days:
                return False
            if span.at_most is not None and days > span.at_most.days:
                return False
            if span.below is not None and days >= span.below.days:
                return False
        return all(self._meets(test, case.baby.facts[name]) for name, test in where.facts.items())

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
            for name in ("dose", "exact", "amount", "low", "high", "discard")
        )
        and (plain.sizes, plain.syringe, plain.vials) == (row.sizes, row.syringe, opened)
        and row.how_many == plain.count
    )
