"""Checks of what a ward keeps: recipes that can be made, syringes, stock and product numbers."""

from collections.abc import Collection, Iterator, Mapping, Sequence

from prepkit.kit.check_kit import check_order
from prepkit.kit.kit import Product
from prepkit.kit.layer import compute_recipe_strength
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.ward import UNDILUTED, Recipe, Ward
from prepkit.quantities.amount import add, convert
from prepkit.quantities.text import show_amount
from prepkit.scan.fields import Unreadable, read_gtin


def check_kept(ward: Ward) -> Iterator[Mistake]:
    """What is wrong with the recipes, syringes, stock and product numbers of a ward file, seen alone."""
    for at, recipe in enumerate(ward.recipe):
        if recipe.id == UNDILUTED:
            yield Mistake(
                ("recipe", at, "id"), f'a recipe cannot be called "{UNDILUTED}"', "that word is the product as it is"
            )
        yield from _check_makeable(recipe, ward, at)
    yield from _check_syringes(ward)
    yield from _check_stock(ward)
    yield from _check_gtins(ward)


def _check_makeable(recipe: Recipe, ward: Ward, at: int) -> Iterator[Mistake]:
    """A recipe can be made from what the ward keeps: a syringe for all of it, the diluent, a needle."""
    path = ("recipe", at)
    made = show_amount(add(recipe.take, recipe.add))
    if ward.find_mixing(recipe) is None:
        hint = f'list the syringe that it is made in: [[mixing]] holds = "{made}", or a larger one'
        yield Mistake(path, f'"{recipe.id}" cannot be made: no mixing syringe holds {made}', hint)
    if ward.find_diluent(recipe) is None:
        hint = "list it as it is kept: [[diluent]] with its name and what its containers hold"
        yield Mistake((*path, "diluent"), f'"{recipe.id}" cannot be made: no "{recipe.diluent}" is kept', hint)
    if not ward.needle:
        yield Mistake(path, f'"{recipe.id}" cannot be made: no needle is kept', "list one: [[needle]] with its gauge")


def _check_syringes(ward: Ward) -> Iterator[Mistake]:
    seen = set()
    for at, syringe in enumerate(ward.syringe):
        if not syringe.marks < syringe.holds:
            yield Mistake(("syringe", at, "marks"), "the marks are as far apart as the syringe holds")
        elif (convert(syringe.holds, "mL").value / convert(syringe.marks, "mL").value).denominator != 1:
            wrong = f"{show_amount(syringe.holds)} is not a whole number of marks of {show_amount(syringe.marks)}"
            yield Mistake(("syringe", at, "marks"), wrong, "marks is the volume between two neighbouring marks")
        if not syringe.least < syringe.holds:
            yield Mistake(("syringe", at, "least"), "the least volume is as much as the syringe holds")
        key = (syringe.route, convert(syringe.holds, "mL").value)
        if key in seen:
            yield Mistake(("syringe", at, "holds"), f"a second {syringe.route} syringe of {show_amount(syringe.holds)}")
        seen.add(key)


def _check_stock(ward: Ward) -> Iterator[Mistake]:
    recipes = {recipe.id: recipe for recipe in ward.recipe}
    seen = set()
    for at, stock in enumerate(ward.stock):
        if stock.product in seen:
            yield Mistake(("stock", at, "product"), f'"{stock.product}" is in stock twice')
        seen.add(stock.product)
        yield from check_order(stock.holds, ("stock", at, "holds"))
        for row, name in enumerate(stock.use):
            if name != UNDILUTED and name not in recipes:
                wrong = f'no recipe "{name}" is declared'
                yield Mistake(("stock", at, "use", row), wrong, suggest(name, [*recipes, UNDILUTED]))
            elif name != UNDILUTED and recipes[name].product != stock.product:
                yield Mistake(("stock", at, "use", row), f'recipe "{name}" is made from "{recipes[name].product}"')


def _check_gtins(ward: Ward) -> Iterator[Mistake]:
    """Product numbers that cannot be right, or that would name two things at once."""
    owners: dict[str, tuple[str, int]] = {}
    rows = [("stock", at, row.gtin, f'the product "{row.product}"') for at, row in enumerate(ward.stock)]
    rows += [("device", at, row.gtin, f'the line "{row.line}"') for at, row in enumerate(ward.device)]
    names = {(table, at): name for table, at, _, name in rows}
    for table, at, gtins, _ in rows:
        for row, text in enumerate(gtins):
            gtin = read_gtin(text)
            if isinstance(gtin, Unreadable):
                yield Mistake((table, at, "gtin", row), gtin.reason, "copy it from the pack again")
            elif owners.setdefault(gtin, (table, at)) != (table, at):
                wrong = f"this GTIN is already that of {names[owners[gtin]]}"
                yield Mistake((table, at, "gtin", row), wrong, "a scan has to name one thing")


def check_kept_beside(ward: Ward, products: Mapping[str, Sequence[Product]]) -> Iterator[Mistake]:
    """What is wrong with stock and recipes beside the products that the kits and the ward declare."""
    for at, stock in enumerate(ward.stock):
        yield from _check_known(stock.product, ("stock", at, "product"), products)
    for at, recipe in enumerate(ward.recipe):
        yield from _check_known(recipe.product, ("recipe", at, "product"), products)
        # Every kit that knows the product has to agree: one kit's strength must not vouch for another's.
        for product in products.get(recipe.product, ()):
            yield from _check_recipe(recipe, product, at)


def _check_known(product: str, path: tuple[str | int, ...], products: Collection[str]) -> Iterator[Mistake]:
    if product not in products:
        yield Mistake(path, f'no kit knows the product "{product}"', suggest(product, products))


def _check_recipe(recipe: Recipe, product: Product, at: int) -> Iterator[Mistake]:
    total, made = add(recipe.take, recipe.add), compute_recipe_strength(recipe, product)
    if made != recipe.gives:
        sum_of_it = f"{show_amount(recipe.take)} of {show_amount(product.strength)} in {show_amount(total)}"
        wrong = f"{sum_of_it} gives {show_amount(made)}, not {show_amount(recipe.gives)}"
        yield Mistake(("recipe", at, "gives"), wrong, "correct take, add or gives")
