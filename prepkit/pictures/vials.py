"""The containers that are opened: what of each is used and what is discarded. May import: `prepkit.quantities`."""

from collections.abc import Sequence
from fractions import Fraction

from prepkit.pictures.drawing import FULL, HALF, Drawing, fit
from prepkit.quantities.show import write_decimal

_MOST_CELLS = 24
_LEAST_CELLS = 4


def draw_vials(sizes: Sequence[tuple[Fraction, int]], used: Fraction, width: int) -> Drawing:
    """Draw each container as a bar as long as it holds, filled as far as it is used.

    Args:
        sizes: what they hold in mL and how many of each, at least one.
        used: what is drawn from all of them in mL, no more than they hold.
        width: in columns, 30 to 80.
    """
    each = sorted((size for size, count in sizes for _ in range(count)), reverse=True)
    cells = min(_MOST_CELLS, fit(width) - len("[] 0.75 of 1.5 mL used"))
    longest = each[0]
    rows, left = [], used
    for size in each:
        taken = min(size, left)
        left -= taken
        rows.append(_draw_one(size, taken, max(round(cells * size / longest), _LEAST_CELLS)))
    discarded = sum(each, Fraction(0)) - used
    names = " + ".join(_name(size, each.count(size)) for size in dict.fromkeys(each))
    rest = f", {write_decimal(discarded)} mL discarded" if discarded else ", nothing discarded"
    return Drawing(tuple(rows), f"{names} opened: {write_decimal(used)} mL used{rest}.")


def _name(size: Fraction, count: int) -> str:
    many = f"{count} \N{MULTIPLICATION SIGN} " if count > 1 else ""
    return f"{many}{write_decimal(size)} mL"


def _draw_one(size: Fraction, taken: Fraction, cells: int) -> str:
    """Draw one container; partly used it is never drawn as full or as untouched."""
    filled = round(cells * taken / size)
    if 0 < taken < size:
        filled = min(max(filled, 1), cells - 1)
    said = "all" if taken == size else write_decimal(taken)
    return f"[{FULL * filled}{HALF * (cells - filled)}] {said} of {write_decimal(size)} mL used"
