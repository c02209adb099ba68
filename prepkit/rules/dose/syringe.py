"""Which syringe measures a volume, to which mark, and how far off that is."""

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert
from prepkit.rules.dose.scales import Spans, SyringeScale, count_parts, find_serving, read_scale, share_out
from prepkit.rules.findings import Finding, Kind, finding

HeldBy = Literal["", "most", "range", "course"]


class RoundingLimits(Struct, frozen=True):
    """How far up a volume may be rounded, in mL; neither is less than the volume. None where there is no such limit."""

    most: Amount | None = None
    """No mark above it is ever taken."""
    range: Amount | None = None
    """The most of the label's range for a first dose, else the stated dose, where the ward never goes over it."""
    left: Amount | None = None
    """What a course has left: a mark above it is taken only where the one below is further off than the ward allows,
    or less than the syringe measures."""


NO_LIMITS = RoundingLimits()


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
    is_sure: bool = True
    """Whether the syringe measures every volume near this one too, and does not just happen to have a mark there."""

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
    held_by: HeldBy
    """As of a `Measured`."""

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
    spans: Spans
    """Which one serves where a volume goes to the nearest mark ..."""
    spans_down: Spans
    """... and where it may go to the mark below."""
    parts: int
    """How many of the parts that the scales and the air are counted in a mL has."""
    air: int
    allowed: Fraction
    """In %."""

    def measure(self, exact: Amount, limits: RoundingLimits = NO_LIMITS) -> Measured | Unmeasurable:
        """Measure a volume with the syringe that serves it.

        Each serves one unbroken span of volumes: as a weight grows, a small one with coarse marks does not come back
        wherever a volume lies near one of its marks. Only where the most in one dose holds the mark down too far does
        another one take its place.

        Args:
            exact: the volume as computed, in mL, more than nothing.
            limits: how far up it may be rounded.

        """
        if not self.scales:
            return Unmeasurable(finding(Kind.NO_SYRINGE_STOCKED), Fraction(0))
        volume, is_down = exact.value * self.parts, limits.range is not None
        serving = find_serving(self.spans_down if is_down else self.spans, volume)
        found = self._try(serving, exact, limits)
        if isinstance(found, Measured):
            is_sure = volume >= (serving.sure_down if is_down else serving.sure_from)
            return found if is_sure else replace(found, is_sure=False)
        misses = [found]
        for scale in self.scales:
            other = self._try(scale, exact, limits)
            if isinstance(other, _Miss):
                misses.append(other)
            elif found.held_by == "most":
                return other
        return max(misses, key=lambda miss: miss.nearness).explain(exact)

    def measure_down(self, exact: Amount, most: Amount) -> Measured | None:
        """Measure at or under `most`, in mL, with the syringe that serves it; None past the deviation from exact."""
        scale, finer = find_serving(self.spans, most.value * self.parts), exact.value.denominator
        volume, parts = exact.value.numerator * self.parts, finer * self.parts
        marks = scale.marks * finer
        at_mark = int(most.value * parts) // marks * marks
        fits = scale.least * finer <= at_mark and at_mark + self.air * finer <= scale.holds * finer
        off = volume - at_mark
        if not fits or not 0 <= off * 100 <= self.allowed * volume:
            return None
        mark = Amount(Fraction(at_mark, parts), exact.unit)
        return Measured(scale, mark, Fraction(off * 100, volume), is_above=False, held_by="")

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
            return _Miss(scale, "too small", needed, holds, parts, held_by)
        smaller = min(volume, at_mark)
        if smaller < least:
            return _Miss(scale, "under its least", smaller, least, parts, held_by)
        off, allowed = abs(at_mark - volume) * 100, self.allowed
        if off * allowed.denominator > allowed.numerator * volume:
            counted = volume * allowed.denominator
            return _Miss(scale, "too far off", off * allowed.denominator, allowed.numerator * volume, counted, held_by)
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
    behind = count_parts(air, parts)
    scales = sorted((read_scale(one, parts, behind, share) for one in stock), key=lambda scale: scale.holds)
    spans = share_out(scales, lambda scale: scale.sure_from)
    spans_down = share_out(scales, lambda scale: scale.sure_down)
    return Syringes(tuple(scales), spans, spans_down, parts, behind, share)


def _is_past(mark: int, limit: Amount | None, parts: int) -> bool:
    if limit is None:
        return False
    most = convert(limit, "mL").value
    return mark * most.denominator > most.numerator * parts
