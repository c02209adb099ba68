"""Which dose is due: the first of a course or a further one, and whether it may be given yet.

A further dose takes the product's repeat dose, counts what was given, and is blocked before its interval or past its
total. May import: `prepkit.rules`.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from math import ceil

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, convert, multiply, subtract
from prepkit.quantities.show import choose_mass_unit, show_amount
from prepkit.rules.case import Case, cite_short, holds_for


@dataclass(frozen=True, slots=True)
class Due:
    """The dose that is due."""

    per_kg: Amount
    mass: Amount
    """Per kg times the weight, not above any ceiling; in mg, or microgram under 1 mg."""
    ceiling: Amount | None
    """The most that may be given now, in one dose and of what the course has left: rounding may not pass it."""
    is_repeat: bool
    working: tuple[str, ...]
    basis: str
    """Of the amount per kg, as the line, its band or the product states it."""
    source: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Stated:
    """An amount per kg, where it comes from, and for which babies where that is not all of them."""

    per_kg: Amount
    basis: str
    source: tuple[str, ...]
    name: str = "Dose"


def find_due(line: DoseLine, product: Product, case: Case) -> Due | str:
    """Find the dose that is due, or the reason why none is."""
    given = case.baby.facts.get(line.earlier.given) if line.earlier else None
    last = case.baby.facts.get(line.earlier.at) if line.earlier else None
    if isinstance(given, Amount) and given.value > 0:
        return _find_repeat(line, product, case, given, last if isinstance(last, datetime) else None)
    if isinstance(last, datetime):
        return "the time of an earlier dose is recorded, but not how much was given: give the amount first"
    stated = _find_stated(line, product, case)
    return stated if isinstance(stated, str) else _make_due(line, product, case, stated)


def _find_stated(line: DoseLine, product: Product, case: Case) -> _Stated | str:
    """Find the first dose: the line's, that of its band, or the product's own; or why there is none."""
    if line.dose is not None:
        return _Stated(line.dose, line.basis, line.source)
    if line.band:
        band = next((band for band in line.band if holds_for(band, case.baby)), None)
        if band is None:
            return f"none of its bands of doses holds {case.baby.words()}"
        basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
        ground = "" if band.words() == "any baby" else f" for {band.words()}"
        return _Stated(band.dose, basis, source, f"Dose{ground}")
    if product.dose is None:
        return f"no dose of {product.name} is stated"
    return _Stated(product.dose, product.basis, product.source)


def _find_repeat(line: DoseLine, product: Product, case: Case, given: Amount, last: datetime | None) -> Due | str:
    repeat = product.repeat
    if repeat is None:
        return f"{show_amount(given)} was given before and no repeat dose of {product.name} is stated"
    total = add(given, repeat.dose)
    # Before the interval: what is past the total is not given later either.
    if repeat.most_in_all < total:
        return (
            f"{show_amount(given)} given and {show_amount(repeat.dose)} more is {show_amount(total)}:"
            f" past {show_amount(repeat.most_in_all)} in all"
        )
    if last is None:
        return "an earlier dose is recorded, but not when: give its time first"
    if wait := _find_wait(repeat.interval, last, case.now):
        return wait
    stated = _Stated(repeat.dose, product.basis, product.source, "Repeat dose")
    due = _make_due(line, product, case, stated, left=subtract(repeat.most_in_all, given))
    course = f"with this dose {show_amount(total)} of {show_amount(repeat.most_in_all)} in all"
    tag = cite_short(case.kit, product.basis, product.source)
    return replace(due, working=(f"{show_amount(given)} was given before; {course}. {tag}", *due.working))


def _find_wait(interval: Amount, last: datetime, now: datetime) -> str:
    """Say from when the next dose may be given; empty where it may be given now. The sum is in UTC: clocks change."""
    due_at = last.astimezone(UTC) + timedelta(minutes=ceil(convert(interval, "min").value))
    if due_at <= now.astimezone(UTC):
        return ""
    here, before = due_at.astimezone(now.tzinfo), last.astimezone(now.tzinfo)
    after = f"{show_amount(interval)} after the last dose at {before:%H:%M on %d %b}"
    return f"may be given from {here:%H:%M on %d %b}: {after}"


def _make_due(line: DoseLine, product: Product, case: Case, stated: _Stated, left: Amount | None = None) -> Due:
    """Make the dose from its amount per kg; `left` is what a course begun before has left per kg."""
    mass = choose_mass_unit(multiply(stated.per_kg, case.baby.weight, "mg"))
    sum_of_it = f"{show_amount(stated.per_kg)} \N{MULTIPLICATION SIGN} {case.baby.weight_g} g = {show_amount(mass)}"
    working = [f"{stated.name}: {sum_of_it}. {cite_short(case.kit, stated.basis, stated.source)}"]
    mosts = [(based.most, based) for based in (line, product) if based.most is not None]
    ceilings = [most for most, _ in mosts]
    if ceilings and min(ceilings) < mass:
        most, based = min(mosts, key=lambda each: convert(each[0], "mg").value)
        mass = choose_mass_unit(most)
        tag = cite_short(case.kit, based.basis, based.source)
        working.append(f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}. {tag}")
    if left is not None:
        ceilings.append(multiply(left, case.baby.weight, "mg"))
    most_now = min(ceilings, default=None)
    return Due(stated.per_kg, mass, most_now, left is not None, tuple(working), stated.basis, stated.source)
