"""Checks of doses: stated exactly once, and within what the product's own label allows. May import: `prepkit.kit`."""

from collections.abc import Iterator, Sequence

from prepkit.kit.check_bands import check_bands
from prepkit.kit.finding import Finding, suggest
from prepkit.kit.kit import AmountFact, Kit, MomentFact, Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount
from prepkit.quantities.show import show_amount, show_range
from prepkit.quantities.vocabulary import Dimension

Path = tuple[str | int, ...]


def check_dose(line: DoseLine, kit: Kit, path: Path, *, is_local: bool = False) -> Iterator[Finding]:
    """What is wrong with a dose line, seen beside the rest of its kit; a ward's own may state another dose."""
    if line.dose is not None and line.band:
        yield Finding((*path, "dose"), "the line states a dose and doses by bands", "keep one of dose and band")
    yield from check_bands(line.band, (*path, "band"))
    products = {product.id: product for product in kit.product}
    for at, name in enumerate(line.products):
        if name in products:
            yield from _check_stated(line, products[name], path, is_local=is_local)
        else:
            yield Finding((*path, "products", at), f'no product "{name}" is declared', suggest(name, products))
    yield from _check_earlier(line, kit, path)


def _check_stated(line: DoseLine, product: Product, path: Path, *, is_local: bool = False) -> Iterator[Finding]:
    """The dose is stated once, by the line, its bands or the product; and the product's label holds it."""
    stated = _list_stated(line)
    if not stated and product.dose is None:
        yield Finding(path, f'neither the line nor the product "{product.id}" states a dose')
    if is_local:
        # Another dose than the kit's, or than the label's, counts with an approval only: the list says so.
        return
    if stated and product.dose is not None:
        yield Finding(
            (*path, *stated[0][0]),
            f'both the line and the product "{product.id}" state a dose',
            "keep one: the product's own, or the line's dose or bands",
        )
    span = product.dose_range
    for at, dose in stated:
        if span and not span.least <= dose <= span.most:
            label = f'the {show_range(span.least, span.most)} of the label of "{product.id}"'
            yield Finding((*path, *at), f"the dose of {show_amount(dose)} lies outside {label} (its dose_range)")


def _list_stated(line: DoseLine) -> Sequence[tuple[Path, Amount]]:
    """The doses that a line states, each with where it stands in the line."""
    own = [] if line.dose is None else [(("dose",), line.dose)]
    return [*own, *((("band", at, "dose"), band.dose) for at, band in enumerate(line.band))]


def check_own_product(product: Product, kit: Kit, path: Path) -> Iterator[Finding]:
    """What is wrong with a ward's own product, seen beside the lines of a kit that it serves."""
    for line in kit.line:
        if not isinstance(line, DoseLine) or product.id not in line.products:
            continue
        place = f'line "{line.id}" of kit "{kit.id}"'
        for finding in _check_stated(line, product, path):
            # The line is another file's: what can be mended here is the product.
            yield Finding((*path, "dose") if product.dose else path, f"{finding.wrong} ({place})", finding.hint)


def _check_earlier(line: DoseLine, kit: Kit, path: Path) -> Iterator[Finding]:
    if line.earlier is None:
        return
    facts = {fact.id: fact for fact in kit.fact}
    given = facts.get(line.earlier.given)
    if not isinstance(given, AmountFact) or given.least.dimension is not Dimension.MASS_PER_WEIGHT:
        yield Finding((*path, "earlier", "given"), "must name a fact that is a dose per kg")
    if not isinstance(facts.get(line.earlier.at), MomentFact):
        yield Finding((*path, "earlier", "at"), "must name a fact that is a moment")
