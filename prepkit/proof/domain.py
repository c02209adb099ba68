"""A kit's domain, cut into what can differ: runs of grams and days between edges, and situations of the other facts.

A situation is a choice of the facts that a line may depend on beside weight and gestation: each option, each edge, a
first and a further dose.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import pairwise, product
from math import ceil, floor
from typing import Any, Literal

from msgspec import Struct

from prepkit.kit.facts import FactValue, find_default
from prepkit.kit.fields import list_inside
from prepkit.kit.kit import AmountFact, ChoiceFact, Fact, Kit, Product
from prepkit.kit.lines import DepthLine, DepthMethod, DoseLine, Line, SupplyLine
from prepkit.kit.spans import Span, Where
from prepkit.kit.ward import Ward
from prepkit.quantities.amount import Amount, convert, make_amount, multiply, subtract
from prepkit.quantities.gestation import Gestation


class Run(Struct, frozen=True):
    """Whole numbers from `first` to `last`, both belonging to it: grams, or days of gestation."""

    first: int
    last: int


class Cuts(Struct, frozen=True):
    """Where something may begin to be different."""

    grams: frozenset[int]
    days: frozenset[int]


def find_cuts(parts: Iterable[object]) -> Cuts:
    """The first gram or day on the further side of every edge of every span in these parts of a kit or a ward file."""
    grams: set[int] = set()
    days: set[int] = set()
    for span in (span for part in parts for span in _walk_spans(part)):
        for edge, is_own in ((span.at_least, True), (span.above, False), (span.at_most, False), (span.below, True)):
            if isinstance(edge, Gestation):
                days.add(edge.days + (not is_own))
            elif isinstance(edge, Amount) and edge.unit.text in {"g", "kg"}:
                value = convert(edge, "g").value
                grams.add(ceil(value) if is_own else floor(value) + 1)
    return Cuts(frozenset(grams), frozenset(days))


def find_formula_cuts(line: DepthLine | SupplyLine, domain: Run) -> frozenset[int]:
    """The first grams at which a length by formula has another mark, or comes too near or too far of another method.

    A length by formula is a + b x weight: it goes through each half mark, and through each length at which it differs
    from another method by as much as the line allows, at one weight.
    """
    step = line.step
    methods = line.method if isinstance(line, DepthLine) else (line.length,) if line.length else ()
    lengths = [_find_length(method) for method in methods]
    formulas = [each for each in lengths if each[0]]
    if step is None or not formulas:
        return frozenset()
    mark, cuts = convert(step, "cm").value, set()
    for rise, start in formulas:
        low, high = (floor((start + rise * grams) / mark) for grams in (domain.first, domain.last))
        cuts |= {floor((mark * (2 * at + 1) / 2 - start) / rise) for at in range(low - 1, high + 1)}
    if isinstance(line, DepthLine) and line.differ is not None:
        fixed = [convert(band.depth, "cm").value for method in methods for band in method.band]
        others = [*lengths, *((Fraction(0), depth) for depth in fixed)]
        cuts |= set(_find_crossings(formulas, others, convert(line.differ, "cm").value))
    return frozenset(grams + more for grams in cuts for more in (0, 1))


def _find_length(method: DepthMethod) -> tuple[Fraction, Fraction]:
    """What a formula adds for each gram, and what it starts from, in cm; nothing for another method."""
    if method.per_kg is None:
        return Fraction(0), Fraction(0)
    rise = multiply(method.per_kg, make_amount(1, "g"), "cm").value
    return rise, convert(method.plus, "cm").value if method.plus else Fraction(0)


def _find_crossings(
    formulas: Iterable[tuple[Fraction, Fraction]], others: Sequence[tuple[Fraction, Fraction]], differ: Fraction
) -> Iterator[int]:
    for rise, start in formulas:
        for other_rise, other_start in others:
            if rise != other_rise:
                apart = (other_start - start) / (rise - other_rise)
                reach = differ / abs(rise - other_rise)
                yield from (floor(apart - reach), floor(apart + reach))


def split(domain: Run, cuts: Iterable[int]) -> tuple[Run, ...]:
    """The runs of a domain between these cuts; together they are the whole domain, each number once."""
    starts = sorted({domain.first, *(cut for cut in cuts if domain.first < cut <= domain.last)})
    return tuple(Run(first, following - 1) for first, following in pairwise([*starts, domain.last + 1]))


def join(runs: Iterable[Run]) -> tuple[Run, ...]:
    """The fewest runs that hold the same numbers."""
    joined: list[Run] = []
    for run in sorted(runs, key=lambda run: (run.first, run.last)):
        if joined and run.first <= joined[-1].last + 1:
            joined[-1] = Run(joined[-1].first, max(run.last, joined[-1].last))
        else:
            joined.append(run)
    return tuple(joined)


def find_run(span: Span[Any]) -> Run:
    """The whole numbers in a span that has both edges: grams of body weight, or days of gestation.

    Raises:
        ValueError: where an edge is missing.
    """
    if span.low is None or span.high is None:
        raise ValueError("a domain has both edges")
    low, high = _number(span.low), _number(span.high)
    return Run(low + (span.above is not None), high - (span.below is not None))


def _number(edge: Amount | Gestation) -> int:
    return edge.days if isinstance(edge, Gestation) else int(convert(edge, "g").value)


def _walk_spans(node: object) -> Iterator[Span[Any]]:
    if isinstance(node, Span):
        yield node
        return
    for child in list_inside(node):
        yield from _walk_spans(child)


class CourseStage(Struct, frozen=True):
    """Which dose of a course is looked at: the first, a further one after the usual first, or the last with room."""

    stage: Literal["first", "further", "last"]
    given: Amount | None = None
    """What was given before."""


class Told(Struct, frozen=True):
    """What a situation is told by: the facts that it chooses."""

    doses: tuple[CourseStage, ...]
    facts: tuple[tuple[str, FactValue], ...]


class Situation(Struct, frozen=True):
    """Facts that matter to one line."""

    told: Told
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
    situations = [Situation(Told((), chosen), {**defaults, **dict(chosen)}) for chosen in product(*choices)]
    doses: dict[str, DoseLine] = {}
    for line in lines:
        if isinstance(line, DoseLine) and line.earlier:
            doses.setdefault(line.id, line)
    for line in doses.values():
        repeats = tuple(_list_repeats(line, kit, ward, now))
        situations = [_add(each, stage, more) for stage, more in repeats for each in situations] or situations
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
) -> Iterator[tuple[CourseStage, Mapping[str, FactValue | None]]]:
    """A first dose; a further one after the usual first; and the last that a course has room for."""
    yield CourseStage("first"), {}
    found = find_first_product(line, kit, ward)
    # Of a dose by bands the largest: it leaves the least of the course.
    first = line.dose or max((band.dose for band in line.band), default=found.dose if found else None)
    if found is None or first is None or found.repeat is None:
        return
    yield CourseStage("further", first), find_earlier(line, found, first, now)
    last = find_last_given(found)
    if last is not None and last != first and last.value > 0:
        yield CourseStage("last", last), find_earlier(line, found, last, now)


def _add(situation: Situation, stage: CourseStage, facts: Mapping[str, FactValue | None]) -> Situation:
    told = Told((stage, *situation.told.doses), situation.told.facts)
    return Situation(told, {**situation.facts, **facts})


def _find_facts(line: Line) -> set[str]:
    return {name for where in _walk(line, Where) for name in where.facts} | {
        band.copies for band in getattr(line, "band", ()) if getattr(band, "copies", None)
    }


def _walk(node: object, kind: type[Any]) -> Iterator[Any]:
    if isinstance(node, kind):
        yield node
    for child in list_inside(node):
        yield from _walk(child, kind)
