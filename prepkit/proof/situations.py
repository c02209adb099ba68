"""The facts that a line may meet beside weight and gestation: each option, each edge, a first and a further dose.

May import: `prepkit.kit`, `prepkit.quantities`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise, product
from typing import Any

from prepkit.kit.baby import FactValue, find_default, show_fact
from prepkit.kit.kit import AmountFact, ChoiceFact, Kit
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.spans import Span, Where
from prepkit.quantities.amount import Amount

_LONG_AGO = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Situation:
    """Facts that matter to one line."""

    words: str
    facts: Mapping[str, FactValue | None]


def list_situations(line: Line, kit: Kit, now: datetime, own: Line | None = None) -> tuple[Situation, ...]:
    """Every combination of the facts that this line depends on, the others standing at the kit's default.

    `own` is the kit's own line, where a ward file's stands in its place: what it depends on matters too.
    """
    lines = (line,) if own is None else (line, own)
    defaults = {fact.id: find_default(fact) for fact in kit.fact}
    names = sorted({name for each in lines for name in _find_facts(each)})
    choices = [[(name, value) for value in _list_values(name, lines, kit)] for name in names]
    situations = []
    for combination in product(*choices):
        words = ", ".join(f"{name.replace('_', ' ')} {show_fact(value)}" for name, value in combination)
        situations.append(Situation(words, {**defaults, **dict(combination)}))
    if isinstance(line, DoseLine) and line.earlier:
        situations = [*(_name(each, "first dose") for each in situations), *_list_repeats(line, kit, situations, now)]
    return tuple(situations)


def _list_repeats(line: DoseLine, kit: Kit, first: list[Situation], now: datetime) -> Iterator[Situation]:
    products = [product for product in kit.product if product.id in line.products]
    stated = [product.dose for product in products if product.dose] or ([line.dose] if line.dose else [])
    # Of a dose by bands the largest: it leaves the least of the course.
    given = next(iter(stated), max((band.dose for band in line.band), default=None))
    if line.earlier is None or given is None:
        return
    for each in first:
        facts = {**each.facts, line.earlier.given: given, line.earlier.at: now - _LONG_AGO}
        yield _name(Situation(each.words, facts), "further dose")


def _name(situation: Situation, words: str) -> Situation:
    return Situation(", ".join(part for part in (words, situation.words) if part), situation.facts)


def _find_facts(line: Line) -> set[str]:
    return {name for where in _walk(line, Where) for name in where.facts} | {
        band.copies for band in getattr(line, "band", ()) if getattr(band, "copies", None)
    }


def _list_values(name: str, lines: tuple[Line, ...], kit: Kit) -> list[FactValue]:
    fact = next(fact for fact in kit.fact if fact.id == name)
    if isinstance(fact, ChoiceFact):
        return list(fact.options)
    if not isinstance(fact, AmountFact):
        return []
    tests = [where.facts[name] for where in _walk(lines, Where) if name in where.facts]
    edges = [edge for test in tests if isinstance(test, Span) for edge in (test.low, test.high) if edge is not None]
    values = {amount.value: amount for amount in (fact.least, fact.most, *edges)}
    # Between two edges every value does the same; one in the middle stands for it.
    ordered = sorted(values)
    middles = [Amount((low + high) / 2, fact.least.unit) for low, high in pairwise(ordered)]
    return [*(values[value] for value in ordered), *middles]


def _walk(node: object, kind: type[Any]) -> Iterator[Any]:
    if isinstance(node, kind):
        yield node
    if isinstance(node, tuple):
        for child in node:
            yield from _walk(child, kind)
    for name in getattr(type(node), "model_fields", {}):
        yield from _walk(getattr(node, name), kind)
