"""Situations: a choice of what a line may depend on beside the weight and the gestation that it is walked along.

Each option and each edge of a fact, a first and a further dose, the age on both sides of its edges; and, of a line that
is judged by more than one weight or gestation, the others at the ends of their runs.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from functools import reduce
from itertools import pairwise, product
from math import ceil
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.axes import Axis
from prepkit.kit.earlier import MOST_DOSES, EarlierDose, EarlierDoses
from prepkit.kit.facts import FactValue, find_default
from prepkit.kit.kit import AmountFact, ChoiceFact, Fact, Kit, Product
from prepkit.kit.lines import DoseLine, Line
from prepkit.kit.spans import Span, Where
from prepkit.kit.ward import Ward
from prepkit.proof.domain import walk_nodes
from prepkit.quantities.amount import Amount, add, convert, subtract


class CourseStage(Struct, frozen=True):
    """Which dose of a course is looked at: the first, a further one after the usual first, or the last with room."""

    stage: Literal["first", "further", "last"]
    given: Amount | None = None
    """What was given before."""


class Beside(Struct, frozen=True):
    """A weight or a gestation beside the one that a line is walked along, where both decide."""

    axis: Axis
    value: int | None
    """In grams or days; None where it is the same as the one beside it."""


class Told(Struct, frozen=True):
    """What a situation is told by: what it chooses."""

    doses: tuple[CourseStage, ...] = ()
    facts: tuple[tuple[str, FactValue], ...] = ()
    age: int | None = None
    """In minutes; None where it does not matter."""
    beside: tuple[Beside, ...] = ()


class Situation(Struct, frozen=True):
    """What matters to one line beside its weight and its gestation."""

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
    names = sorted({name for line in lines for name in _find_chosen(line)} & {*facts})
    choices = [[(name, value) for value in list_values(facts[name], lines)] for name in names]
    situations = [Situation(Told(facts=chosen), {**defaults, **dict(chosen)}) for chosen in product(*choices)]
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


def find_last_given(line: DoseLine, found: Product) -> Amount | None:
    """The most that a course may hold before its last dose, by its total and by its number of doses.

    None where a product has no further dose.
    """
    repeat, first = found.repeat, _find_usual_first(line, found)
    if repeat is None or first is None:
        return None
    # The last of so many doses comes after the first and all repeats but itself; no more before it can be entered.
    before = MOST_DOSES if repeat.most_doses is None else repeat.most_doses - 1
    last = subtract(repeat.most_in_all, repeat.dose)
    return min(last, reduce(add, [repeat.dose] * (before - 1), first))


def find_earlier(line: DoseLine, found: Product, given: Amount, now: datetime) -> dict[str, FactValue | None]:
    """The fact of doses that come to so much per kg, an interval apart and the last one's just over."""
    if line.earlier is None or found.repeat is None:
        return {}
    waited = timedelta(minutes=ceil(convert(found.repeat.interval, "min").value))
    # A dose is entered to the minute.
    minute = now.astimezone(UTC).replace(second=0, microsecond=0)
    amounts = _part(given, _find_usual_first(line, found) or given, found.repeat.dose)
    doses = [
        EarlierDose(found.id, amount, minute - waited * back, found.name)
        for amount, back in zip(amounts, range(len(amounts), 0, -1), strict=True)
    ]
    return {line.earlier: EarlierDoses(tuple(doses))}


def _part(given: Amount, first: Amount, repeat: Amount) -> list[Amount]:
    """What a course comes to, as it was given: the first dose, repeats, and what is left over."""
    amounts = [min(given, first)]
    while (left := subtract(given, reduce(add, amounts))).value > 0:
        amounts.append(min(left, repeat))
    return amounts


def _find_usual_first(line: DoseLine, found: Product | None) -> Amount | None:
    """The first dose; of a dose by bands the largest, which leaves the least of the course."""
    return line.dose or max((band.dose for band in line.band), default=found.dose if found else None)


def list_values(fact: Fact, parts: object) -> list[FactValue]:
    """The values of a fact that stand for all: options, or the edges that these parts give it and one between each."""
    if isinstance(fact, ChoiceFact):
        return list(fact.options)
    if not isinstance(fact, AmountFact):
        return []
    tests = [where.facts[fact.id] for where in walk_nodes(parts, Where) if fact.id in where.facts]
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
    first = _find_usual_first(line, found)
    if found is None or first is None or found.repeat is None:
        return
    yield CourseStage("further", first), find_earlier(line, found, first, now)
    last = find_last_given(line, found)
    if last is not None and last != first and last.value > 0:
        yield CourseStage("last", last), find_earlier(line, found, last, now)


def _add(situation: Situation, stage: CourseStage, facts: Mapping[str, FactValue | None]) -> Situation:
    told = replace(situation.told, doses=(stage, *situation.told.doses))
    return Situation(told, {**situation.facts, **facts})


def add_ages(situations: Sequence[Situation], cuts: Iterable[int]) -> tuple[Situation, ...]:
    """Each situation at an age on both sides of every cut, in minutes; as they are where there is none."""
    ages = sorted({age for cut in cuts for age in (cut - 1, cut) if age >= 0})
    return tuple(Situation(replace(each.told, age=age), each.facts) for age in ages for each in situations) or tuple(
        situations
    )


def add_beside(situations: Sequence[Situation], ends: Mapping[Axis, Iterable[int]]) -> tuple[Situation, ...]:
    """Each situation with the other axes the same as those beside them, and at each of these ends."""
    choices = [[Beside(axis, value) for value in (None, *values)] for axis, values in ends.items()]
    return tuple(
        Situation(replace(each.told, beside=chosen), each.facts) for chosen in product(*choices) for each in situations
    )


def find_facts(line: Line) -> set[str]:
    """The facts that a line goes by: those of its conditions, those that it copies, those of an earlier dose."""
    earlier = {line.earlier} if isinstance(line, DoseLine) and line.earlier else set()
    return _find_chosen(line) | earlier


def _find_chosen(line: Line) -> set[str]:
    return {name for where in walk_nodes(line, Where) for name in where.facts} | {
        band.copies for band in getattr(line, "band", ()) if getattr(band, "copies", None)
    }
