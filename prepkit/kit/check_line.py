"""Checks of one line beside the rest of its kit: what it follows, its sizes, depths and amounts, and its dose.

A dose is stated exactly once, and lies within what the product's own label allows.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from prepkit.kit.check_spans import check_axes, check_bands
from prepkit.kit.kit import AmountFact, ChoiceFact, DosesFact, Kit, Product
from prepkit.kit.lines import (
    AmountBand,
    AmountLine,
    DepthLine,
    DepthMethod,
    DoseLine,
    Line,
    SettingBand,
    SettingLine,
    SizeLine,
    SizeMethod,
    SupplyLine,
    TrialLine,
)
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.reads import find_axes
from prepkit.quantities.amount import Amount, DimensionMismatchError
from prepkit.quantities.text import UnreadableAmountError, read_amount, show_amount, show_range
from prepkit.quantities.units import Dimension

Path = tuple[str | int, ...]


def check_line(line: Line, kit: Kit, path: Path, *, is_local: bool = False) -> Iterator[Mistake]:
    """What is wrong with one line, seen beside the rest of its kit."""
    groups = [group.id for group in kit.group]
    if line.group not in groups:
        yield Mistake((*path, "group"), f'no group "{line.group}" is declared', suggest(line.group, groups))
    yield from check_axes(find_axes(line, kit), kit, path)
    yield from _check_claims(line, kit, (*path, "claims"))
    yield from check_parts(line.parts, path)
    yield from _check_kind(line, _Beside(kit, line, is_local), path)


def _check_claims(line: Line, kit: Kit, path: Path) -> Iterator[Mistake]:
    """What a tick says of a fact is one of the words that the fact may be."""
    choices = {fact.id: fact.options for fact in kit.fact if isinstance(fact, ChoiceFact)}
    for name, said in line.claims.items():
        if name not in choices:
            yield Mistake((*path, name), f'no fact "{name}" that is a choice is declared', suggest(name, choices))
        elif said not in choices[name]:
            yield Mistake((*path, name), f"must be one of the fact's options: {', '.join(choices[name])}")


def check_parts(parts: Sequence[str], path: Path) -> Iterator[Mistake]:
    """Parts that stand twice, in capitals or small letters; each is one thing to lay out."""
    seen: set[str] = set()
    for at, part in enumerate(parts):
        if part.casefold() in seen:
            wrong, hint = f'the part "{part}" stands twice', "two of a thing are one part, with the number in it"
            yield Mistake((*path, "parts", at), wrong, hint)
        seen.add(part.casefold())


class _Beside(Struct, frozen=True):
    """What a line is seen beside."""

    kit: Kit
    line: Line
    is_local: bool
    """Whether it is a ward's own line over a kit's products: then its dose may stand over theirs."""

    @property
    def before(self) -> tuple[str, ...]:
        """Ids of the lines that stand before it; of one whose id stands twice, before the first."""
        names = [line.id for line in self.kit.line]
        return tuple(names[: names.index(self.line.id)])


def _check_kind(line: Line, beside: _Beside, path: Path) -> Iterator[Mistake]:
    match line:
        case DoseLine():
            yield from check_dose(line, beside.kit, path, is_local=beside.is_local)
        case SizeLine():
            yield from _check_size(line, beside, path)
        case DepthLine():
            for at, method in enumerate(line.method):
                yield from _check_depth(method, beside, (*path, "method", at))
        case AmountLine() | SettingLine():
            yield from _check_amounts(line, beside.kit, path)
        case SupplyLine():
            yield from _check_supply(line, beside, path)
        case TrialLine():
            yield from _check_trial(line, beside, path)


def _check_trial(line: TrialLine, beside: _Beside, path: Path) -> Iterator[Mistake]:
    if not line.how:
        yield Mistake(path, "a trial needs how", 'write what is tried, a sentence each: how = ["..."]')
    yield from _check_before(line.of, beside, (*path, "of"))


def _check_size(line: SizeLine, beside: _Beside, path: Path) -> Iterator[Mistake]:
    if line.also_below and not line.sizes:
        yield Mistake(path, "also_below needs sizes, all of them from small to large")
    yield from _check_sizes(line.sizes, (*path, "sizes"))
    known = set(line.sizes)
    for at, method in enumerate(line.method):
        yield from _check_size_method(
            method, beside, (*path, "method", at), many=line.choose != "one", label=line.label
        )
        for row, band in enumerate(method.band):
            for size in band.size:
                if known and size not in known:
                    yield Mistake((*path, "method", at, "band", row, "size"), f'"{size}" is not one of sizes')


def _check_sizes(sizes: tuple[str, ...], path: Path) -> Iterator[Mistake]:
    """Sizes twice or out of order; the order of sizes that are not amounts ("size 00") is the kit's own."""
    if len(set(sizes)) < len(sizes):
        yield Mistake(path, "a size stands twice")
    try:
        amounts = [read_amount(size) for size in sizes]
        is_ordered = all(small <= large for small, large in pairwise(amounts))
    except (UnreadableAmountError, DimensionMismatchError):
        return
    if not is_ordered:
        yield Mistake(path, "sizes must be listed from small to large")


def _check_size_method(
    method: SizeMethod, beside: _Beside, path: Path, *, many: bool, label: bool = False
) -> Iterator[Mistake]:
    yield from check_bands(method.band, (*path, "band"), overlaps=many, gaps=label)
    for at, band in enumerate(method.band):
        if (band.when_size is None) != (method.follows is None):
            wrong = "when_size stands in the bands of a method that follows another line's size, and nowhere else"
            yield Mistake((*path, "band", at), wrong)
    yield from _check_follows(method.follows, beside, (*path, "follows"))


def _check_follows(name: str | None, beside: _Beside, path: Path) -> Iterator[Mistake]:
    if name is None:
        return
    followed = next((line for line in beside.kit.line if line.id == name), None)
    if not isinstance(followed, SizeLine):
        yield Mistake(path, f'"{name}" is not a line that has sizes')
    yield from _check_before((name,), beside, path)


def _check_before(names: Iterable[str], beside: _Beside, path: Path) -> Iterator[Mistake]:
    """Lines that this one follows: they must exist and stand before it."""
    before = beside.before
    for name in names:
        if name not in before:
            # A line further down has to be moved; any other name has to be mended.
            later = name in [line.id for line in beside.kit.line]
            hint = f'move line "{name}" up, before this one' if later else suggest(name, before)
            yield Mistake(path, f'no line "{name}" stands before this one', hint)


def _check_depth(method: DepthMethod, beside: _Beside, path: Path) -> Iterator[Mistake]:
    forms = [method.per_kg is not None, bool(method.band), method.low is not None, method.measured]
    if sum(forms) != 1:
        yield Mistake(path, "a depth is found in exactly one way: per_kg and plus, band, low and high, or measured")
    if (method.low is None) != (method.high is None):
        yield Mistake(path, "low and high stand together")
    if method.plus is not None and method.per_kg is None:
        yield Mistake((*path, "plus"), "plus stands beside per_kg only")
    if (method.weight is None) != (method.per_kg is None):
        yield Mistake(path, "per_kg and weight stand together", 'say of which weight: weight = "now"')
    if method.low and method.high and method.high < method.low:
        yield Mistake((*path, "low"), "low is more than high")
    if method.follows is not None and not method.measured:
        yield Mistake((*path, "follows"), "follows stands beside measured only")
    yield from _check_follows(method.follows, beside, (*path, "follows"))
    yield from check_bands(method.band, (*path, "band"))


def _check_amounts(line: AmountLine | SettingLine, kit: Kit, path: Path) -> Iterator[Mistake]:
    yield from check_bands(line.band, (*path, "band"))
    for at, band in enumerate(line.band):
        yield from _check_amount(band, line, kit, (*path, "band", at))


def _check_amount(band: AmountBand, line: AmountLine | SettingLine, kit: Kit, path: Path) -> Iterator[Mistake]:
    forms = [band.value is not None, band.low is not None]
    if isinstance(band, SettingBand):
        forms += [band.floor is not None, band.copies is not None, band.ward_sets is not None]
        ends = band.ward_sets
        if ends is not None and (ends.least.unit != ends.most.unit or not ends.least < ends.most):
            yield Mistake((*path, "ward_sets"), "least and most must be in one unit, the lower first")
        facts = {fact.id: fact for fact in kit.fact}
        if band.copies is not None and not isinstance(facts.get(band.copies), AmountFact):
            yield Mistake((*path, "copies"), f'no fact "{band.copies}" with a unit is declared')
    if sum(forms) != 1:
        yield Mistake(
            path,
            "a band gives exactly one of a value, a range (low and high), or of a setting floor, copies or ward_sets",
        )
    if (band.low is None) != (band.high is None):
        yield Mistake(path, "low and high stand together")
    elif band.low and band.high and (band.low.unit != band.high.unit or band.high < band.low):
        yield Mistake((*path, "high"), "low and high must be in one unit, the lower first")
    if isinstance(line, AmountLine):
        for key in ("value", "low", "high"):
            amount = getattr(band, key)
            if amount is not None and amount.dimension is not Dimension.VOLUME:
                yield Mistake((*path, key), f"is {amount.dimension}, where a volume is due")


def _check_supply(line: SupplyLine, beside: _Beside, path: Path) -> Iterator[Mistake]:
    yield from check_bands(line.count, (*path, "count"))
    if line.size:
        yield from _check_size_method(line.size, beside, (*path, "size"), many=False)
    if line.length:
        yield from _check_depth(line.length, beside, (*path, "length"))
        if line.step is None:
            yield Mistake(path, "a length needs step, the marks to which it is shown")


def check_dose(line: DoseLine, kit: Kit, path: Path, *, is_local: bool = False) -> Iterator[Mistake]:
    """What is wrong with a dose line, seen beside the rest of its kit; a ward's own may state another dose."""
    if line.dose is not None and line.band:
        yield Mistake((*path, "dose"), "the line states a dose and doses by bands", "keep one of dose and band")
    yield from check_bands(line.band, (*path, "band"))
    products = {product.id: product for product in kit.product}
    for at, name in enumerate(line.products):
        if name in products:
            yield from _check_stated(line, products[name], path, is_local=is_local)
        else:
            yield Mistake((*path, "products", at), f'no product "{name}" is declared', suggest(name, products))
    yield from _check_earlier(line, kit, path)


def _check_stated(line: DoseLine, product: Product, path: Path, *, is_local: bool = False) -> Iterator[Mistake]:
    """The dose is stated once, by the line, its bands or the product; and the product's label holds it."""
    stated = _list_stated(line)
    if not stated and product.dose is None:
        yield Mistake(path, f'neither the line nor the product "{product.id}" states a dose')
    if is_local:
        # Another dose than the kit's, or than the label's, counts with an approval only: the list says so.
        return
    if stated and product.dose is not None:
        yield Mistake(
            (*path, *stated[0][0]),
            f'both the line and the product "{product.id}" state a dose',
            "keep one: the product's own, or the line's dose or bands",
        )
    span = product.dose_range
    for at, dose in stated:
        if span and not span.least <= dose <= span.most:
            label = f'the {show_range(span.least, span.most)} of the label of "{product.id}"'
            yield Mistake((*path, *at), f"the dose of {show_amount(dose)} lies outside {label} (its dose_range)")


def _list_stated(line: DoseLine) -> Sequence[tuple[Path, Amount]]:
    """The doses that a line states, each with where it stands in the line."""
    own = [] if line.dose is None else [(("dose",), line.dose)]
    return [*own, *((("band", at, "dose"), band.dose) for at, band in enumerate(line.band))]


def check_own_product(product: Product, kit: Kit, path: Path) -> Iterator[Mistake]:
    """What is wrong with a ward's own product, seen beside the lines of a kit that it serves."""
    for line in kit.line:
        if not isinstance(line, DoseLine) or product.id not in line.products:
            continue
        place = f'line "{line.id}" of kit "{kit.id}"'
        for mistake in _check_stated(line, product, path):
            # The line is another file's: what can be mended here is the product.
            yield Mistake((*path, "dose") if product.dose else path, f"{mistake.wrong} ({place})", mistake.hint)


def _check_earlier(line: DoseLine, kit: Kit, path: Path) -> Iterator[Mistake]:
    if line.earlier is None:
        return
    facts = {fact.id: fact for fact in kit.fact}
    if not isinstance(facts.get(line.earlier), DosesFact):
        yield Mistake((*path, "earlier"), "must name a fact of the doses given before", 'of kind = "doses"')
