"""The scales of the syringes in stock, and the one unbroken span of volumes that each of them serves."""

from collections.abc import Callable, Sequence
from fractions import Fraction

from msgspec import Struct

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert
from prepkit.rules.dose.tolerance import Tolerance, find_iso_tolerance


class SyringeScale(Struct, frozen=True):
    """A syringe with its scale in whole numbers of a part of a mL."""

    syringe: SyringeStock
    holds: int
    marks: int
    least: int
    below: Fraction
    """It holds what is less than this, in parts, at the nearest mark and with the air behind it."""
    measures_from: Fraction
    """From this volume on, in parts, its nearest mark is one that it measures, however far off ..."""
    sure_from: Fraction
    """... from this one on that is no further off than the ward allows ..."""
    sure_down: Fraction
    """... and from this one on so is the mark below."""
    half: Fraction
    """Half its capacity, in mL."""
    from_half: Tolerance | None
    """What a standard lets it be out by from half its capacity on."""

    def find_tolerance(self, volume: Amount) -> Tolerance | None:
        """Find what a standard lets it be out by at a volume in mL, as `find_iso_tolerance` does."""
        if volume.value >= self.half:
            return self.from_half
        return find_iso_tolerance(self.syringe.holds, volume)


Spans = tuple[tuple[Fraction, SyringeScale], ...]
"""Up to which volume, in parts, each syringe serves, from small to large."""


def read_scale(syringe: SyringeStock, parts: int, air: int, share: Fraction) -> SyringeScale:
    """Read a syringe with the air behind a volume, in parts, and how far a mark may lie from exact, in %."""
    holds, marks, least = (count_parts(amount, parts) for amount in (syringe.holds, syringe.marks, syringe.least))
    half, from_half = Fraction(holds, 2 * parts), find_iso_tolerance(syringe.holds, syringe.holds)
    first, last = -(-least // marks) * marks, (holds - air) // marks * marks
    # Half a mark is the furthest that a volume lies from its nearest mark, and a mark from the one below.
    half_mark = Fraction(marks, 2)
    near = half_mark * 100 / share if share else Fraction(holds + 1)
    measures_from = max(Fraction(least), first - half_mark)
    sure_from, sure_down = max(measures_from, near), max(Fraction(first), 2 * near)
    from_to = (last + half_mark, measures_from, sure_from, sure_down)
    return SyringeScale(syringe, holds, marks, least, *from_to, half, from_half)


def share_out(scales: Sequence[SyringeScale], find_sure: Callable[[SyringeScale], Fraction]) -> Spans:
    """Give each syringe one span of volumes; none to one that a finer one would have to come back after.

    When one is full, the smallest larger one that surely measures what comes next follows. Where none does, the one
    with the finest marks serves until one surely measures.
    """
    spans: list[tuple[Fraction, SyringeScale]] = []
    rest, full = list(scales), Fraction(0)
    while rest:
        sure = [scale for scale in rest if find_sure(scale) <= full]
        following = min(sure, key=lambda scale: scale.below, default=None)
        until = None
        if following is None:
            soonest = min(rest, key=lambda scale: (find_sure(scale), scale.below))
            until = find_sure(soonest)
            # A larger one than the one that surely measures is still wanted after it.
            by_chance = [scale for scale in rest if scale.measures_from < until and scale.below <= soonest.below]
            following = min(by_chance, key=lambda scale: (scale.marks, scale.below), default=soonest)
            until = None if following is soonest else until
        full = following.below if until is None else min(following.below, until)
        spans.append((full, following))
        rest = [scale for scale in rest if scale is not following and scale.below > full]
    return tuple(spans)


def find_serving(spans: Spans, volume: Fraction) -> SyringeScale:
    """Find the one in whose span a volume lies, in parts; past them all, the last."""
    return next((scale for below, scale in spans if volume < below), spans[-1][1])


def count_parts(amount: Amount, parts: int) -> int:
    """Count the parts of a mL in an amount that is a whole number of them."""
    return int(convert(amount, "mL").value * parts)
