"""Checks of a whole kit that no single field can make."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from msgspec.structs import replace

from prepkit.kit.check_line import check_line, check_parts
from prepkit.kit.check_procedure import check_procedure, check_reading, check_step
from prepkit.kit.check_spans import check_domain
from prepkit.kit.fields import EXCERPT, PUBLISHED, Spec
from prepkit.kit.kit import (
    AmountFact,
    ChoiceFact,
    Criterion,
    DosesFact,
    Fact,
    Fragment,
    Kit,
    MomentFact,
    Product,
    Repeat,
    Source,
)
from prepkit.kit.layer import find_followed
from prepkit.kit.lines import TrialLine
from prepkit.kit.person import PersonFact
from prepkit.kit.placing import PLACED
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.spans import Span, Where
from prepkit.quantities.amount import Amount, DimensionMismatchError, convert

Path = tuple[str | int, ...]
_PARTS = MappingProxyType({"passage": "a passage", "abstract": "its abstract", "account": "another document's account"})
# What every preparation has, and the names that the JSON list gives to it.
CORE_FACTS = (
    "cot",
    "birth_weight",
    "birth_weight_g",
    "weight_now",
    "weight_now_g",
    "greater_weight",
    "birth_gestation",
    "birth_gestation_days",
    "gestation_today",
    "gestation_today_days",
    "born",
    "age",
    "age_h",
    "sex",
)


def check_kit(kit: Kit) -> tuple[Mistake, ...]:
    """Everything wrong with a kit whose fields are each right."""
    return tuple(_check(kit))


def _check(kit: Kit) -> Iterator[Mistake]:
    for name, rows in (("fact", kit.fact), ("criterion", kit.criterion), ("product", kit.product),
                       ("group", kit.group), ("line", kit.line)):  # fmt: skip
        yield from check_ids((row.id for row in rows), name)
    yield from _check_names_apart(kit)
    yield from check_domain(kit.domain)
    for at, fact in enumerate(kit.fact):
        yield from check_fact(fact, ("fact", at))
    for at, criterion in enumerate(kit.criterion):
        yield from check_criterion(criterion, ("criterion", at))
    for at, product in enumerate(kit.product):
        yield from check_product(product, ("product", at))
    for at, line in enumerate(kit.line):
        yield from check_line(line, kit, ("line", at))
    yield from _check_goes_with(kit)
    yield from check_procedure(kit)
    yield from check_grounds(kit, (), kit)


def _check_goes_with(kit: Kit) -> Iterator[Mistake]:
    """What goes with a line goes with an optional one; nothing else follows a line that may be left out."""
    optional = {line.id for line in kit.line if line.optional}
    for table, rows in (("line", kit.line), ("criterion", kit.criterion)):
        for at, row in enumerate(rows):
            if row.goes_with is not None and row.goes_with not in optional:
                wrong = f'"{row.goes_with}" is no line that the kit calls optional'
                yield Mistake((table, at, "goes_with"), wrong, suggest(row.goes_with, optional))
    for at, line in enumerate(kit.line):
        if line.optional and line.essential:
            yield Mistake(("line", at, "optional"), "an essential line cannot be left out", "keep one of the two")
        hanging = [name for name in find_followed(line) if name in optional and name not in {line.id, line.goes_with}]
        if hanging and not isinstance(line, TrialLine):
            wrong = f'follows "{hanging[0]}", which a ward may leave out'
            yield Mistake(("line", at), wrong, f'write goes_with = "{hanging[0]}"')


def check_grounds(part: Spec, path: Path, kit: Kit) -> Iterator[Mistake]:
    """What is wrong with the bases, sources and conditions in a part of a kit, or in what is laid over it."""
    for at, node in _walk(part, path):
        if isinstance(node, Where):
            yield from _check_where(node, at, kit)
    yield from check_citations(part, path, kit.sources)


def check_citations(part: Spec, path: Path, sources: Mapping[str, Source]) -> Iterator[Mistake]:
    """Published figures name what they were read in, and say no more than was read of it."""
    for at, node in _walk(part, path):
        if hasattr(node, "basis"):
            yield from _check_cited(node, at, sources)


def check_fragment(fragment: Fragment, path: Path) -> Iterator[Mistake]:
    """What is wrong with a fragment whose fields are each right, whatever kit it stands in."""
    for name in PLACED:
        rows = getattr(fragment, name)
        yield from (replace(each, path=(*path, *each.path)) for each in check_ids((row.id for row in rows), name))
    for at, fact in enumerate(fragment.fact):
        yield from check_fact(fact, (*path, "fact", at))
    for at, criterion in enumerate(fragment.criterion):
        yield from check_criterion(criterion, (*path, "criterion", at))
    for at, product in enumerate(fragment.product):
        yield from check_product(product, (*path, "product", at))
    for at, reading in enumerate(fragment.reading):
        yield from check_reading(reading, (*path, "reading", at))
    for at, step in enumerate(fragment.step):
        yield from check_step(step, (*path, "step", at))


def check_ids(ids: Iterable[str], table: str) -> Iterator[Mistake]:
    """Ids used twice in one table."""
    seen: set[str] = set()
    for at, name in enumerate(ids):
        if name in seen:
            yield Mistake((table, at, "id"), f'id "{name}" stands twice', "each id may be used once in its table")
        seen.add(name)


def check_product(product: Product, path: Path) -> Iterator[Mistake]:
    """What is wrong within one product, whether a kit or a ward file declares it."""
    span = product.dose_range
    if span and span.most < span.least:
        yield Mistake((*path, "dose_range"), "the least dose is more than the most")
    if span and product.dose and not (span.least <= product.dose <= span.most):
        yield Mistake((*path, "dose"), "the dose lies outside dose_range")
    if product.repeat and product.repeat.most_in_all < product.repeat.dose:
        yield Mistake(
            (*path, "repeat"),
            "the repeat dose is more than most_in_all: it could never be given",
            "most_in_all is the most per kg over the whole course, the first dose included",
        )
    if product.repeat and product.repeat.most_doses and product.repeat.dose <= product.repeat.most_in_all:
        yield from _check_number(product, product.repeat, (*path, "repeat", "most_doses"))
    if product.where is not None:
        yield from check_no_facts(product.where, (*path, "where"))
    yield from check_parts(product.parts, path)
    yield from check_order(product.holds, (*path, "holds"))


def _check_number(product: Product, repeat: Repeat, path: Path) -> Iterator[Mistake]:
    """A number of doses that holds no repeat, or that the total holds no room for even where the first is the least."""
    number = repeat.most_doses or 1
    least = product.dose_range.least if product.dose_range else product.dose or repeat.dose
    total = convert(least, repeat.dose.unit).value + (number - 1) * repeat.dose.value
    if number == 1:
        yield Mistake(path, "one dose in all leaves no repeat", "count the first dose too, or take repeat out")
    elif total > convert(repeat.most_in_all, repeat.dose.unit).value:
        yield Mistake(path, f"{number} doses are more than most_in_all has room for", "one of the two is a slip")


def check_no_facts(where: Where, path: Path) -> Iterator[Mistake]:
    """Facts in a condition that goes by weights, gestations and the age alone: a label's, an approval's."""
    if where.facts:
        yield Mistake((*path, "facts"), "goes by weight, gestation and age alone", "take the facts out")


def check_order(holds: Sequence[Amount], path: Path) -> Iterator[Mistake]:
    """Containers out of order, or one of them twice."""
    if not all(small < large for small, large in pairwise(holds)):
        yield Mistake(path, "containers must be listed from small to large, each once")


def _check_names_apart(kit: Kit) -> Iterator[Mistake]:
    """`--set NAME=VALUE` and the pads reach facts and questions by one name."""
    taken = {*CORE_FACTS}
    for table, rows in (("fact", kit.fact), ("criterion", kit.criterion)):
        for at, row in enumerate(rows):
            if row.id in taken:
                yield Mistake((table, at, "id"), f'"{row.id}" is already the name of a fact', "choose another id")
        taken |= {row.id for row in rows}


def check_fact(fact: Fact, path: Path) -> Iterator[Mistake]:
    """What is wrong within one fact."""
    match fact:
        case AmountFact():
            ends = [amount for amount in (fact.least, fact.most, fact.default) if amount is not None]
            if len({amount.unit for amount in ends}) > 1:
                yield Mistake((*path, "most"), "least, most and default must be in one unit")
            elif not (fact.least <= (fact.default or fact.least) <= fact.most):
                yield Mistake((*path, "default"), "the default lies outside least and most")
        case ChoiceFact():
            if fact.default is not None and fact.default not in fact.options:
                yield Mistake((*path, "default"), f'the default "{fact.default}" is not one of the options')
            yield from _check_options(fact.options, path)
        case PersonFact():
            if fact.and_who is not None and fact.and_who not in fact.options:
                yield Mistake((*path, "and_who"), f'"{fact.and_who}" is not one of the options')
            yield from _check_options(fact.options, path)
        case MomentFact() | DosesFact():
            pass


def _check_options(options: tuple[str, ...], path: Path) -> Iterator[Mistake]:
    if len(set(options)) < len(options):
        yield Mistake((*path, "options"), "an option stands twice")


def check_criterion(criterion: Criterion, path: Path) -> Iterator[Mistake]:
    """What is wrong within one criterion."""
    if criterion.where is not None and not criterion.where.is_stated:
        yield Mistake((*path, "where"), "has no condition: every baby would meet it")


def _walk(node: Spec, path: Path) -> Iterator[tuple[Path, Any]]:
    """A part and every part within it that is made of fields, with its path."""
    yield path, node
    for name in node.__struct_fields__:
        value = getattr(node, name)
        if isinstance(value, tuple):
            for at, child in enumerate(value):
                if isinstance(child, Spec):
                    yield from _walk(child, (*path, name, at))
        elif isinstance(value, Spec):
            yield from _walk(value, (*path, name))


def _check_cited(based: Any, path: Path, sources: Mapping[str, Source]) -> Iterator[Mistake]:  # noqa: ANN401  (whatever states a basis)
    # A recipe names one source; where it is published nowhere, in the ward's own words.
    cited: Sequence[str] = (based.source,) if isinstance(based.source, str) else based.source
    if based.basis in PUBLISHED and not cited:
        wrong = "basis is published, but no source is named"
        yield Mistake((*path, "basis"), wrong, 'name one of the sources declared: source = ["..."]')
    for at, name in enumerate(cited):
        if name not in sources:
            place = (*path, "source") if cited is not based.source else (*path, "source", at)
            yield Mistake(place, f'no source "{name}" is declared', suggest(name, sources))
        elif based.basis == "published" and (read := sources[name].read) != "whole":
            wrong = f'basis is published, but of "{name}" only {_PARTS[read]} was read'
            yield Mistake((*path, "basis"), wrong, f'read the document, or write basis = "{EXCERPT}"')


def _check_where(where: Where, path: Path, kit: Kit) -> Iterator[Mistake]:
    facts = {fact.id: fact for fact in kit.fact}
    for name, test in where.facts.items():
        at = (*path, "facts", name)
        fact = facts.get(name)
        if fact is None:
            yield Mistake(at, f'no fact "{name}" is declared', suggest(name, facts))
        elif isinstance(fact, ChoiceFact) and test not in fact.options:
            yield Mistake(at, f"must be one of the fact's options: {', '.join(fact.options)}")
        elif isinstance(fact, AmountFact) and not _fits(test, fact):
            yield Mistake(at, f"must be a span in {fact.least.unit.text}, as the fact is")
        elif isinstance(fact, MomentFact | DosesFact | PersonFact):
            yield Mistake(at, "a condition cannot go by a moment, by doses or by a person")


def _fits(test: object, fact: AmountFact) -> bool:
    if not isinstance(test, Span):
        return False
    try:
        test.contains(fact.least)
    except DimensionMismatchError:
        return False
    return True
