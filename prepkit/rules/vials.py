"""Which containers to open for a volume. May import: `prepkit.quantities`, `prepkit.rules.case`."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import ceil

from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.show import show_amount
from prepkit.rules.case import VialCount


def choose_vials(volume: Amount, sizes: Sequence[Amount]) -> tuple[tuple[VialCount, ...], Amount]:
    """Choose the containers to open, large ones first: least discarded, then fewest opened; and what is discarded.

    Args:
        volume: what is drawn from them, in mL, more than nothing.
        sizes: what they hold, at least one size.

    """
    mls = sorted((convert(size, "mL").value for size in sizes), reverse=True)
    best = min(_list_choices(volume.value, mls), key=lambda counts: (_total(counts, mls), sum(counts)))
    vials = tuple(VialCount(Amount(size, volume.unit), count) for size, count in zip(mls, best, strict=True) if count)
    return vials, Amount(_total(best, mls) - volume.value, volume.unit)


def _total(counts: tuple[int, ...], sizes: Sequence[Fraction]) -> Fraction:
    return sum((size * count for size, count in zip(sizes, counts, strict=True)), Fraction(0))


def _list_choices(volume: Fraction, sizes: Sequence[Fraction]) -> Iterator[tuple[int, ...]]:
    """List every way to reach the volume, never with more of one size than would do alone."""
    first, *others = sizes
    most = max(ceil(volume / first), 0)
    if not others:
        yield (most,)
        return
    for count in range(most + 1):
        for rest in _list_choices(volume - first * count, others):
            yield (count, *rest)


def show_vials(vials: Sequence[VialCount]) -> str:
    """Write the containers in words: "3 mL + 1.5 mL", or "2 x 3 mL" with the multiplication sign."""
    return " + ".join(_show_count(vial) for vial in vials)


def _show_count(vial: VialCount) -> str:
    many = f"{vial.count} \N{MULTIPLICATION SIGN} " if vial.count > 1 else ""
    return many + show_amount(vial.size)
