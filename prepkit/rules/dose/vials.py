"""Which containers to open for a volume: least discarded, then fewest opened."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import lcm

from msgspec import Struct

from prepkit.quantities.amount import Amount, convert
from prepkit.rules.rule import VialCount


class Containers(Struct, frozen=True):
    """The sizes of container in stock, from large to small, counted in a part of a mL that all are whole numbers of."""

    sizes: tuple[Amount, ...]
    parts: int
    """How many of these parts a mL has."""
    held: tuple[int, ...]

    def choose(self, volume: Amount) -> tuple[tuple[VialCount, ...], Amount]:
        """Choose the containers to open, large ones first: least discarded, then fewest opened; and what is discarded.

        Args:
            volume: what is drawn from them, in mL, more than nothing.

        """
        wanted, finer = volume.value.numerator * self.parts, volume.value.denominator
        left, _, best = min(_list_choices(wanted, [size * finer for size in self.held]))
        vials = tuple(VialCount(size, count) for size, count in zip(self.sizes, best, strict=True) if count)
        return vials, Amount(Fraction(left, self.parts * finer), volume.unit)

    def find_most(self, count: int) -> Amount:
        """The most that so many containers hold, in mL."""
        return Amount(Fraction(self.held[0] * count, self.parts), self.sizes[0].unit)


def prepare_containers(sizes: Sequence[Amount]) -> Containers:
    """Prepare what the containers hold, at least one size."""
    mls = sorted((convert(size, "mL") for size in sizes), reverse=True)
    parts = lcm(*(size.value.denominator for size in mls))
    return Containers(tuple(mls), parts, tuple(int(size.value * parts) for size in mls))


def choose_vials(volume: Amount, sizes: Sequence[Amount]) -> tuple[tuple[VialCount, ...], Amount]:
    """Choose containers for one volume alone, as `Containers.choose` does."""
    return prepare_containers(sizes).choose(volume)


def _list_choices(wanted: int, sizes: Sequence[int]) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """List every way to reach what is wanted, never with more of one size than would do alone.

    Each with what is left over and how many are opened, so that the least of them is the best.
    """
    first, *others = sizes
    most = max(-(-wanted // first), 0)
    if not others:
        yield most * first - wanted, most, (most,)
        return
    for count in range(most + 1):
        for left, opened, rest in _list_choices(wanted - first * count, others):
            yield left, opened + count, (count, *rest)
