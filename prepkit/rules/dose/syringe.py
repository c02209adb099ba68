"""Which syringe measures a volume, to which mark, and how far off that is."""

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Literal

from msgspec import Struct

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert
from prepkit.rules.findings import Finding, Kind, finding

HeldBy = Literal["", "most", "range", "course"]


class RoundingLimits(Struct, frozen=True):
    """How far up a volume may be rounded, in mL; neither is less than the volume. None where there is no such limit."""

    most: Amount | None = None
    """No mark above it is ever taken."""
    range: Amount | None = None
    """The most of the label's range for a first dose, where the ward never goes over it: as `most`."""
    left: Amount | None = None
    """What a course has left: a mark above it is taken only where the one below is further off than the ward allows,
    or less than the syringe measures."""


NO_LIMITS = RoundingLimits()


class SyringeScale(Struct, frozen=True):
    """A syringe with its scale in whole numbers of a part of a mL."""

    syringe: SyringeStock
    holds: int
    marks: int
    least: int
    sure_from: Fraction
    """From this volume on, in parts, no mark is further off than the ward allows, and all of it is measured."""
    half: Fraction
    """Half its capacity, in mL."""
    from_half: "Tolerance | None"
    """What a standard lets it be out by from half its capacity on."""

    def find_tolerance(self, volume: Amount) -> "Tolerance | None":
        """Find what a standard lets it be out by at a volume in mL, as `find_iso_tolerance` does."""
        if volume.value >= self.half:
            return self.from_half
        return find_iso_tolerance(self.syringe.holds, volume)


class Measured(Struct, frozen=True):
    """A volume as a syringe measures it."""

    scale: SyringeScale
    volume: Amount
    """At a mark, in mL."""
    percent: Fraction
    """How far that is from exact, in % of the exact volume; without its sign."""
    is_above: bool
    """Whether it is more than the exact volume."""
    held_by: HeldBy
    """What keeps it a mark below the nearest one, which would pass that; empty where it is the nearest one."""
    count: int = 1
    """How many such syringes it takes."""

    @property
    def syringe(self) -> SyringeStock:
        """The syringe that measures it."""
        return self.scale.syringe


class Unmeasurable(Struct, frozen=True):
    """No syringe measures the volume; the reason names the nearest miss."""

    reason: Finding
    nearness: Fraction
    """What there is of what is needed, from 0 to 1: the miss with the most of it is the nearest. Below 0 for a syringe
    that is too small, since a larger one decides."""


class _Miss(Struct, frozen=True):
    """Why one syringe does not measure the volume, in numbers: most syringes that miss are never spoken of."""

    scale: SyringeScale
    wrong: Literal["too small", "under its least", "too far off"]
    value: int
    """What it would have to hold or to measure; or how far it would move the dose."""
    allowed: int
    """What it does hold, measure or may be moved by."""
    parts: int
    """How many of what both are counted in a mL has; or a %."""

    @property
    def nearness(self) -> Fraction:
        """As of an `Unmeasurable`."""
        match self.wrong:
            case "too small":
                return Fraction(self.allowed, self.value) - 1
            case "under its least":
                return Fraction(self.value, self.allowed)
            case "too far off":
                return Fraction(self.allowed, self.value)

    def explain(self, exact: Amount) -> Unmeasurable:
        """Say it."""
        syringe, value = self.scale.syringe, Fraction(self.value, self.parts)
        match self.wrong:
            case "too small":
                reason = finding(Kind.SYRINGE_TOO_SMALL, volume=Amount(value, exact.unit), holds=syringe.holds)
            case "under its least":
                reason = finding(
                    Kind.UNDER_SYRINGE_LEAST, volume=Amount(value, exact.unit), least=syringe.least, holds=syringe.holds
                )
            case "too far off":
                reason = finding(Kind.ROUNDS_TOO_FAR, exact=exact, holds=syringe.holds, percent=value)
        return Unmeasurable(reason, self.nearness)


class Syringes(Struct, frozen=True):
    """The syringes of one route, from small to large, with the air that lies behind a volume and the tolerance."""

    scales: tuple[SyringeScale, ...]
    parts: int
    """How many of the parts that the scales and the air are counted in a mL has."""
    air: int
    allowed: Fraction
    """In %."""

    def measure(self, exact: Amount, limits: RoundingLimits = NO_LIMITS) -> Measured | Unmeasurable:
        """Choose the smallest one that measures any volume of this size; where none does, the smallest that happens to.

        So each serves one unbroken span of volumes: as a weight grows, a small one with coarse marks does not come back
        wherever a volume lies near one of its marks.

        Args:
            exact: the volume as computed, in mL, more than nothing.
            limits: how far up it may be rounded.

        """
        if not self.scales:
            return Unmeasurable(finding(Kind.NO_SYRINGE_STOCKED), Fraction(0))
        volume, misses = exact.value * self.parts, []
        for scale in sorted(self.scales, key=lambda scale: volume < scale.sure_from):
            found = self._try(scale, exact, limits)
            if isinstance(found, Measured):
                return found
            misses.append(found)
        return max(misses, key=lambda miss: miss.nearness).explain(exact)

    def measure_down(self, exact: Amount, most: Amount) -> Measured | None:
        """Choose the smallest one with a mark at or under `most` that is within the deviation of the exact volume."""
        finer = exact.value.denominator
        volume, parts = exact.value.numerator * self.parts, finer * self.parts
        for scale in self.scales:
            marks = scale.marks * finer
            at_mark = int(most.value * parts) // marks * marks
            fits = scale.least * finer <= at_mark and at_mark + self.air * finer <= scale.holds * finer
            off = volume - at_mark
            if fits and 0 <= off * 100 <= self.allowed * volume:
                mark = Amount(Fraction(at_mark, parts), exact.unit)
                return Measured(scale, mark, Fraction(off * 100, volume), is_above=False, held_by="")
        return None

    def hold(self, volume: Amount) -> Measured | Unmeasurable:
        """Choose what holds all of a volume in mL plus the air: the smallest one, else the smallest two; at no mark."""
        if not self.scales:
            return Unmeasurable(finding(Kind.NO_SYRINGE_STOCKED), Fraction(0))
        parts = volume.value * self.parts
        for count in (1, 2):
            for scale in self.scales:
                if parts + count * self.air <= count * scale.holds:
                    return Measured(scale, volume, Fraction(0), is_above=False, held_by="", count=count)
        holds = self.scales[-1].syringe.holds
        return Unmeasurable(finding(Kind.SYRINGE_TOO_SMALL, volume=volume, holds=holds), Fraction(0))

    def _try(self, scale: SyringeScale, exact: Amount, limits: RoundingLimits) -> Measured | _Miss:
        # In whole numbers of a finer part of a mL, of which the volume, the scale and the air are so many each.
        finer = exact.value.denominator
        volume, parts = exact.value.numerator * self.parts, finer * self.parts
        at_mark, held_by = self._choose_mark(scale, volume, finer, limits)
        needed, holds, least = at_mark + self.air * finer, scale.holds * finer, scale.least * finer
        if needed > holds:
            return _Miss(scale, "too small", needed, holds, parts)
        smaller = min(volume, at_mark)
        if smaller < least:
            return _Miss(scale, "under its least", smaller, least, parts)
        off, allowed = abs(at_mark - volume) * 100, self.allowed
        if off * allowed.denominator > allowed.numerator * volume:
            counted = volume * allowed.denominator
            return _Miss(scale, "too far off", off * allowed.denominator, allowed.numerator * volume, counted)
        mark = Amount(Fraction(at_mark, parts), exact.unit)
        return Measured(scale, mark, Fraction(off, volume), at_mark > volume, held_by)

    def _choose_mark(self, scale: SyringeScale, volume: int, finer: int, limits: RoundingLimits) -> tuple[int, HeldBy]:
        """Choose the nearest mark, half way the larger; or the one below it where the nearest passes a limit."""
        marks, parts = scale.marks * finer, finer * self.parts
        nearest = (2 * volume + marks) // (2 * marks) * marks
        below = nearest - marks
        if _is_past(nearest, limits.most, parts):
            return below, "most"
        if _is_past(nearest, limits.range, parts):
            return below, "range"
        if _is_past(nearest, limits.left, parts):
            is_near_enough = (volume - below) * 100 <= self.allowed * volume and below >= scale.least * finer
            return (below, "course") if is_near_enough else (nearest, "")
        return nearest, ""


def prepare_syringes(stock: Sequence[SyringeStock], air: Amount, allowed: Amount) -> Syringes:
    """Prepare the syringes of one route.

    Args:
        stock: the syringes, in any order.
        air: what stays behind a volume in the syringe, in mL; may be nothing.
        allowed: how far rounding to a mark may move a volume, in %.

    """
    amounts = [air, *(amount for one in stock for amount in (one.holds, one.marks, one.least))]
    parts = lcm(*(convert(amount, "mL").value.denominator for amount in amounts))
    share = convert(allowed, "%").value
    scales = sorted((_read_scale(one, parts, share) for one in stock), key=lambda scale: scale.holds)
    return Syringes(tuple(scales), parts, _count(air, parts), share)


def _read_scale(syringe: SyringeStock, parts: int, share: Fraction) -> SyringeScale:
    holds, marks, least = (_count(amount, parts) for amount in (syringe.holds, syringe.marks, syringe.least))
    half, from_half = Fraction(holds, 2 * parts), find_iso_tolerance(syringe.holds, syringe.holds)
    # Half a mark is the furthest that a volume lies from its nearest one.
    sure_from = max(Fraction(least), Fraction(marks * 50) / share if share else Fraction(holds + 1))
    return SyringeScale(syringe, holds, marks, least, sure_from, half, from_half)


def _count(amount: Amount, parts: int) -> int:
    """Count the parts of a mL in an amount that is a whole number of them."""
    return int(convert(amount, "mL").value * parts)


def _is_past(mark: int, limit: Amount | None, parts: int) -> bool:
    if limit is None:
        return False
    most = convert(limit, "mL").value
    return mark * most.denominator > most.numerator * parts


class _ToleranceRow(Struct, frozen=True):
    """One row of the standard's table, for capacities under `below` mL."""

    below: int
    fixed: Fraction
    """Below half the capacity: this share of the capacity ..."""
    share: Fraction
    """... plus this share of the volume."""
    upper: Fraction
    """From half the capacity on: this share of the volume."""
    lower_basis: str
    upper_basis: str


# ISO 7886-1:2017, as in the clinical reference, section 12: "published" was read, the rest is from memory.
_TOLERANCES = (
    _ToleranceRow(2, Fraction(3, 200), Fraction(2, 100), Fraction(5, 100), "published", "published"),
    _ToleranceRow(5, Fraction(3, 200), Fraction(2, 100), Fraction(5, 100), "from memory", "from memory"),
    _ToleranceRow(10, Fraction(3, 200), Fraction(1, 100), Fraction(4, 100), "from memory", "from memory"),
    _ToleranceRow(20, Fraction(3, 200), Fraction(1, 100), Fraction(4, 100), "published", "from memory"),
)


class Tolerance(Struct, frozen=True):
    """What a standard lets a syringe be out by."""

    percent: Fraction
    """In % of the volume measured."""
    basis: str


def find_iso_tolerance(holds: Amount, volume: Amount) -> Tolerance | None:
    """Find the error that ISO 7886-1:2017 permits a hypodermic syringe at a volume; None from 20 mL up: no row known.

    Args:
        holds: the nominal capacity.
        volume: what is measured; more than nothing.

    """
    capacity, measured = convert(holds, "mL").value, convert(volume, "mL").value
    row = next((row for row in _TOLERANCES if capacity < row.below), None)
    if row is None:
        return None
    if measured * 2 >= capacity:
        return Tolerance(row.upper * 100, row.upper_basis)
    return Tolerance((row.fixed * capacity + row.share * measured) / measured * 100, row.lower_basis)
