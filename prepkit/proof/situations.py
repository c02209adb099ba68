"""The facts that a line may meet beside weight and gestation: each option, each edge, a first and a further dose.

May import: `prepkit.kit`, `prepkit.quantities`.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise, product
from math import ceil
from typing import Any

from msgspec import Struct

from prepkit.kit.baby import FactValue, find_default, show_fact
from prepkit.kit.fields import list_inside
from prepkit.kit.kit import AmountFact, ChoiceFact, Fact, Kit, Product
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.spans import Span, Where
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount, convert, subtract
from prepkit.quantities.show import show_amount


class Situation(Struct, frozen=True):
    """Facts that matter to one line."""

    words: str
    facts: Mapping[str, FactValue | None]


def list_situations(lines: Sequence[Line], kit: Kit, ward: Ward | None, now: datetime) -> tuple[Situation, ...]:
    """Every combination of the facts that these lines depend on, the others standing at the kit's default.

    Args:
        lines: a line and those that it follows; of one that a ward file replaces the kit's own too, after it.
        kit: declares the facts; with the ward file laid over it.
        ward: its first stocked product says what was given before.
        now: an earlier dose was given one interval before it.
    """
    defaults = {fact.id: find_default(fact) for fact in kit.fact}
    facts = {fact.id: fact for fact in kit.fact}
    names = sorted({name for line in lines for name in _find_facts(line)} & {*facts})
    choices = [[(name, value) for value in list_values(facts[name], lines)] for name in names]
    situations = []
    for combination in product(*choices):
        words = ", ".join(f"{name.replace('_', ' ')} {show_fact(value)}" for name, value in combination)
        situations.append(Situation(words, {**defaults, **dict(combination)}))
    doses: dict[str, DoseLine] = {}
    for line in lines:
        if isinstance(line, DoseLine) and line.earlier:
            doses.setdefault(line.id, line)
    for line in doses.values():
        repeats = tuple(_list_repeats(line, kit, ward, now))
        situations = [_add(each, words, more) for words, more in repeats for each in situations] or situations
    return tuple(situations)


def find_first_product(line: DoseLine, kit: Kit, ward: Ward | None) -> Product | None:
    """The product whose rules a course goes by: the first that the ward stocks, without a ward the first named."""
    products = {each.id: each for each in kit.product}
    stocked = [stock.product for stock in ward.stock if stock.product in line.products] if ward else []
    return products.get(next(iter(stocked or line.products)))


def find_last_given(found: Product) -> Amount | None:
    """The most that a course may hold before its last dose; None where a product has no further dose."""
    return subtract(found.repeat.most_in_all, found.repeat.dose) if found.repeat else None


def find_earlier(line: DoseLine, found: Product, given: Amount, now: datetime) -> dict[str, FactValue | None]:
    """The facts of an earlier dose, its interval just over."""
    if line.earlier is None or found.repeat is None:
        return {}
    waited = timedelta(minutes=ceil(convert(found.repeat.interval, "min").value))
    return {line.earlier.given: given, line.earlier.at: now.astimezone(UTC) - waited}


def list_values(fact: Fact, parts: object) -> list[FactValue]:
    """The values of a fact that stand for all: options, or the edges that these parts give it and one between each."""
    if isinstance(fact, ChoiceFact):
        return list(fact.options)
    if not isinstance(fact, AmountFact):
        return []
    tests = [where.facts[fact.id] for where in _walk(parts, Where) if fact.id in where.facts]
    edges = [edge for test in tests if isinstance(test, Span) for edge in (test.low, test.high) if edge is not None]
    unit = fact.least.unit
    inside = {convert(edge, unit).value for edge in edges if fact.least <= edge <= fact.most}
    ordered = sorted({fact.least.value, fact.most.value, *inside})
    middles = [(low + high) / 2 for low, high in pairwise(ordered)]
    return [Amount(value, unit) for value in sorted({*ordered, *middles})]


def _list_repeats(
    line: DoseLine, kit: Kit, ward: Ward | None, now: datetime
) -> Iterator[tuple[str, Mapping[str, FactValue | None]]]:
    """A first dose; a further one after the usual first; and the last that a course has room for."""
    yield "first dose", {}
    found = find_first_product(line, kit, ward)
    # Of a dose by bands the largest: it leaves the least of the course.
    first = line.dose or max((band.dose for band in line.band), default=found.dose if found else None)
    if found is None or first is None or found.repeat is None:
        return
    yield f"further dose after {show_amount(first)}", find_earlier(line, found, first, now)
    last = find_last_given(found)
    if last is not None and last != first and last.value > 0:
        yield f"last dose of a course, after {show_amount(last)}", find_earlier(line, found, last, now)


def _add(situation: Situation, words: str, facts: Mapping[str, FactValue | None]) -> Situation:
    said = ", ".join(part for part in (words, situation.words) if part)
    return Situation(said, {**situation.facts, **facts})


def _find_facts(line: Line) -> set[str]:
    return {name for where in _walk(line, Where) for name in where.facts} | {
        band.copies for band in getattr(line, "band", ()) if getattr(band, "copies", None)
    }


def _walk(node: object, kind: type[Any]) -> Iterator[Any]:
    if isinstance(node, kind):
        yield node
    for child in list_inside(node):
        yield from _walk(child, kind)
