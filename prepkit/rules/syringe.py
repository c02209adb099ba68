"""Which syringe measures a volume, to which mark, and how far off that is. May import: `prepkit.kit`, `prepkit.quantities`."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert
from prepkit.quantities.show import round_half_up, show_amount, write_decimal


@dataclass(frozen=True, slots=True)
class Measured:
    """A volume as a syringe measures it."""

    syringe: SyringeStock
    volume: Amount
    """At a mark, in mL."""
    deviation: Fraction
    """(volume - exact) / exact, with its sign."""


@dataclass(frozen=True, slots=True)
class Unmeasurable:
    """No syringe measures the volume; the reason names the nearest miss."""

    reason: str
    too_small: bool = False
    """Whether the syringe was merely too small, so that a larger one may serve."""


def measure(exact: Amount, air: Amount, stock: Sequence[SyringeStock], allowed: Amount, ceiling: Amount | None) -> Measured | Unmeasurable:
    """The smallest syringe in stock that holds the volume plus the air and measures it well enough.

    Args:
        exact: the volume as computed, in mL, more than nothing.
        air: what stays behind it in the syringe, in mL; may be nothing.
        stock: the syringes of one route.
        allowed: how far rounding to a mark may move the volume, in %.
        ceiling: a volume that the rounding may not pass, in mL.
    """
    if not stock:
        return Unmeasurable("no syringe for this route in stock")
    misses = []
    for syringe in sorted(stock, key=lambda syringe: convert(syringe.holds, "mL").value):
        found = _try(syringe, exact, air, convert(allowed, "%").value, ceiling)
        if isinstance(found, Measured):
            return found
        misses.append(found)
    return next((miss for miss in misses if not miss.too_small), misses[-1])


def _try(syringe: SyringeStock, exact: Amount, air: Amount, allowed: Fraction, ceiling: Amount | None) -> Measured | Unmeasurable:
    marks, holds, least = (convert(amount, "mL").value for amount in (syringe.marks, syringe.holds, syringe.least))
    at_mark = round_half_up(exact.value, marks)
    if ceiling is not None and at_mark > ceiling.value:
        at_mark -= marks
    name = f"a {show_amount(syringe.holds)} syringe"
    if at_mark + air.value > holds:
        return Unmeasurable(f"{show_amount(Amount(at_mark + air.value, exact.unit))} does not fit {name}", too_small=True)
    if exact.value < least:
        return Unmeasurable(f"{show_amount(exact, 4)} is under the {show_amount(syringe.least)} that {name} measures")
    deviation = (at_mark - exact.value) / exact.value
    if abs(deviation) * 100 > allowed:
        said = write_decimal(abs(deviation) * 100, 1)
        return Unmeasurable(f"rounding {show_amount(exact, 4)} to the marks of {name} moves the dose by {said} %")
    return Measured(syringe, Amount(at_mark, exact.unit), deviation)


def compute_iso_tolerance(holds: Amount, volume: Amount) -> Fraction:
    """The error that ISO 7886-1:2017 permits a hypodermic syringe at a volume, in % of that volume.

    Below half the nominal capacity C: 1.5 % of C plus 2 % of the volume under 5 mL, plus 1 % from 5 mL on; from half of
    it on: 5 % under 5 mL, 4 % from there. The rows under 2 mL and the lower half of 10-20 mL were read; the others are from
    memory (clinical reference, section 12).

    Args:
        holds: the nominal capacity.
        volume: what is measured; more than nothing.
    """
    capacity, measured = convert(holds, "mL").value, convert(volume, "mL").value
    small = capacity < 5  # noqa: PLR2004  (the standard's own row)
    if measured * 2 >= capacity:
        return Fraction(5 if small else 4)
    return (Fraction(3, 200) * capacity + Fraction(2 if small else 1, 100) * measured) / measured * 100
