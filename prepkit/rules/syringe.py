"""Which syringe measures a volume, to which mark, and how far off that is.

May import: `prepkit.kit`, `prepkit.quantities`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.show import round_half_up, show_amount, write_decimal

HeldBy = Literal["", "most", "course"]


@dataclass(frozen=True, slots=True)
class Limits:
    """How far up a volume may be rounded, in mL; neither is less than the volume. None where there is no such limit."""

    most: Amount | None = None
    """No mark above it is ever taken."""
    left: Amount | None = None
    """What a course has left: a mark above it is taken only where the one below is further off than the ward allows,
    or less than the syringe measures."""


NO_LIMITS = Limits()


@dataclass(frozen=True, slots=True)
class Measured:
    """A volume as a syringe measures it."""

    syringe: SyringeStock
    volume: Amount
    """At a mark, in mL."""
    deviation: Fraction
    """(volume - exact) / exact, with its sign."""
    held_by: HeldBy
    """What keeps it a mark below the nearest one, which would pass that; empty where it is the nearest one."""


@dataclass(frozen=True, slots=True)
class Unmeasurable:
    """No syringe measures the volume; the reason names the nearest miss."""

    reason: str
    nearness: Fraction
    """What there is of what is needed, from 0 to 1: the miss with the most of it is the nearest. Below 0 for a syringe
    that is too small, since a larger one decides."""


def measure(
    exact: Amount, air: Amount, stock: Sequence[SyringeStock], allowed: Amount, limits: Limits = NO_LIMITS
) -> Measured | Unmeasurable:
    """Choose the smallest syringe in stock that holds the volume plus the air and measures it well enough.

    Args:
        exact: the volume as computed, in mL, more than nothing.
        air: what stays behind it in the syringe, in mL; may be nothing.
        stock: the syringes of one route.
        allowed: how far rounding to a mark may move the volume, in %.
        limits: how far up it may be rounded.

    """
    if not stock:
        return Unmeasurable("no syringe for this route in stock", Fraction(0))
    misses = []
    for syringe in sorted(stock, key=lambda syringe: convert(syringe.holds, "mL").value):
        found = _try(syringe, exact, air, convert(allowed, "%").value, limits)
        if isinstance(found, Measured):
            return found
        misses.append(found)
    return max(misses, key=lambda miss: miss.nearness)


def _try(
    syringe: SyringeStock, exact: Amount, air: Amount, allowed: Fraction, limits: Limits
) -> Measured | Unmeasurable:
    holds, least = (convert(amount, "mL").value for amount in (syringe.holds, syringe.least))
    at_mark, held_by = _choose_mark(syringe, exact.value, allowed, limits)
    name = f"a {show_amount(syringe.holds)} syringe"
    needed = Amount(at_mark + air.value, exact.unit)
    if needed.value > holds:
        return Unmeasurable(f"{show_amount(needed)} does not fit {name}", holds / needed.value - 1)
    smaller = Amount(min(exact.value, at_mark), exact.unit)
    if smaller.value < least:
        reason = f"{show_amount(smaller, 4)} is under the {show_amount(syringe.least)} that {name} measures"
        return Unmeasurable(reason, smaller.value / least)
    deviation = (at_mark - exact.value) / exact.value
    percent = abs(deviation) * 100
    if percent > allowed:
        said = f"moves the dose by {write_decimal(percent, 1)} %"
        reason = f"rounding {show_amount(exact, 4)} to the marks of {name} {said}"
        return Unmeasurable(reason, allowed / percent)
    return Measured(syringe, Amount(at_mark, exact.unit), deviation, held_by)


def _choose_mark(syringe: SyringeStock, exact: Fraction, allowed: Fraction, limits: Limits) -> tuple[Fraction, HeldBy]:
    """Choose the nearest mark, half way the larger; or the one below it where the nearest passes a limit."""
    marks, least = convert(syringe.marks, "mL").value, convert(syringe.least, "mL").value
    nearest = round_half_up(exact, marks)
    below = nearest - marks
    if _is_past(nearest, limits.most):
        return below, "most"
    is_near_enough = (exact - below) * 100 <= allowed * exact and below >= least
    if _is_past(nearest, limits.left) and is_near_enough:
        return below, "course"
    return nearest, ""


def _is_past(mark: Fraction, limit: Amount | None) -> bool:
    return limit is not None and mark > convert(limit, "mL").value


@dataclass(frozen=True, slots=True)
class _ToleranceRow:
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


@dataclass(frozen=True, slots=True)
class Tolerance:
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
