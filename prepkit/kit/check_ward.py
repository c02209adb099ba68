"""Checks of a ward file, alone and beside the kits it serves; what it keeps is checked in `check_kept`."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

from prepkit.kit.axes import GESTATIONS, WEIGHTS
from prepkit.kit.check_kept import check_kept, check_kept_beside
from prepkit.kit.check_kit import check_ids, check_no_facts, check_product
from prepkit.kit.check_line import check_own_product
from prepkit.kit.check_local import check_local, check_local_beside
from prepkit.kit.check_spans import check_axes
from prepkit.kit.kit import Kit, Product
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import DepthLine, SizeLine, SupplyLine
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.procedure import WardAfterwards
from prepkit.kit.reads import find_axes, list_axes
from prepkit.kit.spans import Span, Where
from prepkit.kit.ward import LONGEST_IDLE, Approval, Approved, MeasuredLength, People, Ward
from prepkit.quantities.amount import convert, make_amount
from prepkit.quantities.text import show_amount

Path = tuple[str | int, ...]

_INVENTED = "invented"
MOST_DEVIATION = make_amount(20, "%")
"""Our own bound, a guard against a slip of the pen; not a clinical figure."""


def check_ward(ward: Ward) -> tuple[Mistake, ...]:
    """Everything wrong with a ward file whose fields are each right."""
    return tuple(_check(ward))


def _check(ward: Ward) -> Iterator[Mistake]:
    yield from check_ids((recipe.id for recipe in ward.recipe), "recipe")
    yield from check_ids((product.id for product in ward.product), "product")
    for at, product in enumerate(ward.product):
        yield from check_product(product, ("product", at))
    yield from check_kept(ward)
    yield from check_approvals(ward)
    yield from _check_people(ward.people)
    if ward.afterwards is not None:
        yield from _check_afterwards(ward.afterwards)
    yield from check_local(ward)
    yield from _check_measured(ward)
    for at, kit in enumerate(ward.kits_first):
        if kit in ward.kits_first[:at]:
            yield Mistake(("kits_first", at), f'the kit "{kit}" stands twice', "keep its first place")
    if ward.deviation > MOST_DEVIATION:
        wrong = f"is more than {show_amount(MOST_DEVIATION)}, past which it is taken for a slip of the pen"
        yield Mistake(("deviation",), f"deviation {wrong} (got {show_amount(ward.deviation)})")


def _check_people(people: People) -> Iterator[Mistake]:
    idle = people.lock_after
    if people.pins and idle is None:
        hint = 'state the idle time, such as lock_after = "5 min"'
        yield Mistake(("people", "pins"), "PINs are asked for, but no screen ever locks", hint)
    if idle is not None and idle > LONGEST_IDLE:
        wrong = f"{show_amount(idle)} is too long for a screen to stay open"
        yield Mistake(("people", "lock_after"), wrong, f"at most {show_amount(LONGEST_IDLE)}")


def _check_afterwards(afterwards: WardAfterwards) -> Iterator[Mistake]:
    minutes = [convert(each, "min").value for each in afterwards.follow_up]
    for at, time in enumerate(afterwards.follow_up):
        if minutes[at] in minutes[:at]:
            yield Mistake(("afterwards", "follow_up", at), f"{show_amount(time)} stands twice", "name each time once")
    if (afterwards.recovered_over is None) is bool(afterwards.then):
        hint = "state the share, and what is done where more was recovered"
        yield Mistake(("afterwards",), "recovered_over and then go together", hint)


def _check_measured(ward: Ward) -> Iterator[Mistake]:
    seen = set()
    for at, measured in enumerate(ward.measured):
        if not measured.clearance < measured.length:
            yield Mistake(("measured", at, "clearance"), "the clearance is as long as the device")
        if (measured.line, measured.size) in seen:
            size = f" of size {measured.size}" if measured.size else ""
            wrong = f'a second length{size} for "{measured.line}"'
            yield Mistake(("measured", at, "line"), wrong, "keep that of the device in use")
        seen.add((measured.line, measured.size))


def check_ward_for(ward: Ward, kits: Sequence[Kit]) -> tuple[Mistake, ...]:
    """What is wrong with a ward file seen beside the kits it serves: names that none of them declares."""
    return tuple(_check_beside(ward, kits))


def _check_beside(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    products: dict[str, list[Product]] = {}
    for product in (*(product for kit in kits for product in kit.product), *ward.product):
        products.setdefault(product.id, []).append(product)
    products |= {product.id: [product] for product in ward.product}
    ids = dict.fromkeys(kit.id for kit in kits)
    for at, kit_id in enumerate(ward.kits_first):
        if kit_id not in ids:
            wrong = f'no kit "{kit_id}" that can be used is on this machine'
            yield Mistake(("kits_first", at), wrong, suggest(kit_id, ids))
    yield from check_kept_beside(ward, products)
    for at, product in enumerate(ward.product):
        for kit in kits:
            yield from check_own_product(product, kit, ("product", at))
    own = (line for local in ward.local for line in local.line)
    lines = dict.fromkeys(line.id for line in (*(line for kit in kits for line in kit.line), *own))
    named = {
        "approval": [row.line for row in ward.approval],
        "measured": [row.line for row in ward.measured],
        "device": [row.line for row in ward.device],
    }
    for table, rows in named.items():
        for at, line in enumerate(rows):
            if line not in lines:
                yield Mistake((table, at, "line"), f'no kit has a line "{line}"', suggest(line, lines))
    yield from check_local_beside(ward, kits)
    yield from _check_axes_beside(ward, [lay_over(kit, ward).kit for kit in kits])
    for at, measured in enumerate(ward.measured):
        yield from _check_measured_size(measured, ward, kits, at)


def _check_axes_beside(ward: Ward, kits: Sequence[Kit]) -> Iterator[Mistake]:
    """A line goes by one weight and one gestation, its approvals and the ward's own products included."""
    for kit, line in [(each, line) for each in kits for line in each.line]:
        axes = find_axes(line, kit)
        approvals = [(("approval", at, "where"), row) for at, row in enumerate(ward.approval) if row.line == line.id]
        drawn = getattr(line, "products", ())
        products = [(("product", at, "where"), row) for at, row in enumerate(ward.product) if row.id in drawn]
        for path, row in (*approvals, *(each for each in products if each[1].where)):
            for mistake in check_axes(axes | list_axes([row]), kit, path):
                said = f'line "{line.id}" of kit "{kit.id}" {mistake.wrong}'
                yield Mistake(path, said, "say here which one that line goes by")


def _check_measured_size(measured: MeasuredLength, ward: Ward, kits: Sequence[Kit], at: int) -> Iterator[Mistake]:
    """A length counts for one size of the device, in the words of the line that chooses the size."""
    sizes = _list_sizes(measured.line, ward, kits)
    if not sizes or measured.size in sizes:
        return
    if measured.size is None:
        wrong = 'key "size" is missing: the kit goes by the size of the device'
        yield Mistake(("measured", at), wrong, f"one of: {', '.join(sizes)}")
    else:
        wrong = f'"{measured.size}" is not a size that a kit gives'
        yield Mistake(("measured", at, "size"), wrong, suggest(measured.size, sizes))


def _list_sizes(line: str, ward: Ward, kits: Sequence[Kit]) -> tuple[str, ...]:
    """Every size that the lines followed by this one can give; nothing where it follows none."""
    sizes: dict[str, None] = {}
    for kit in kits:
        rows = {row.id: row for row in lay_over(kit, ward).kit.line}
        own = rows.get(line)
        methods = own.method if isinstance(own, DepthLine) else ()
        methods = (own.length,) if isinstance(own, SupplyLine) and own.length else methods
        for name in (method.follows for method in methods if method.follows):
            followed = rows.get(name)
            if isinstance(followed, SizeLine):
                sizes |= {size: None for method in followed.method for band in method.band for size in band.size}
            sizes |= {approval.size: None for approval in ward.approval if approval.line == name}
    return tuple(sizes)


def check_approvals(ward: Ward) -> Iterator[Mistake]:
    """What is wrong with the approvals of a ward file."""
    tables: dict[str, Sequence[Approved]] = {"approval": ward.approval, "widening": ward.widening}
    for table, rows in tables.items():
        for at, row in enumerate(rows):
            if row.review_by <= row.approved_on:
                yield Mistake((table, at, "review_by"), "the review date is not after the approval")
            # A file that began as a copy of the demo ward's must not keep a paper that nobody ever signed.
            if _INVENTED in row.reference.casefold() and _INVENTED not in ward.name.casefold():
                wrong = f"{row.reference} is no paper of this ward's: it was invented for a demonstration"
                yield Mistake((table, at, "reference"), wrong, "name the ward's own approval, or take this one out")
    for at, approval in enumerate(ward.approval):
        yield from _check_approved(approval.where, ("approval", at, "where"))
    for (_, one), (at, two) in combinations(enumerate(ward.approval), 2):
        if _disagree(one, two):
            wrong = f'approves size {two.size} where {one.reference} approves size {one.size} of "{one.line}"'
            hint = "two approvals for one baby at one time must give one size: part their weights, ages or dates"
            yield Mistake(("approval", at, "size"), wrong, hint)


def _check_approved(where: Where, path: Path) -> Iterator[Mistake]:
    """An approval says for which weights and for which gestations it is."""
    yield from check_no_facts(where, path)
    named = [axis for axis, _ in where.list_spans()]
    for which, word in ((WEIGHTS, "weight"), (GESTATIONS, "gestation")):
        if not any(axis in named for axis in which):
            yield Mistake(path, f"has no {word}", f"write {', '.join(which[:-1])} or {which[-1]}")


def _disagree(one: Approval, two: Approval) -> bool:
    """Whether some baby on some day would be given two sizes of one line."""
    return (
        one.line == two.line
        and one.size != two.size
        and one.approved_on <= two.review_by
        and two.approved_on <= one.review_by
        and _share_a_baby(one.where, two.where)
    )


def _share_a_baby(one: Where, two: Where) -> bool:
    """Whether a baby may meet both: spans that mean different things keep none apart."""
    theirs = dict(two.list_spans())
    return all(_overlap(span, theirs[axis]) for axis, span in one.list_spans() if axis in theirs)


def _overlap(one: Span[Any], two: Span[Any]) -> bool:
    return _reaches(one, two) and _reaches(two, one)


def _reaches(one: Span[Any], two: Span[Any]) -> bool:
    """Whether one span begins before the other ends."""
    low, high = one.low, two.high
    if low is None or high is None or low < high:
        return True
    return not high < low and one.at_least is not None and two.at_most is not None
