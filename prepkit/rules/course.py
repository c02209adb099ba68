"""Which dose is due: the first of a course or a further one, and whether it may be given yet.

A further dose takes the product's repeat dose, counts what was given, and is blocked before its interval or past its
total. May import: `prepkit.rules`.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from math import ceil

from prepkit.kit.kit import Product, Repeat
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, convert, multiply, subtract
from prepkit.quantities.show import choose_mass_unit, show_amount
from prepkit.rules.case import Case, cite_short, holds_for


@dataclass(frozen=True, slots=True)
class Course:
    """A course that was begun before, per kg."""

    given: Amount
    most_in_all: Amount

    @property
    def left(self) -> Amount:
        """What may still be given; the dose that is due is not more, though the mark it is rounded to may be."""
        return subtract(self.most_in_all, self.given)


@dataclass(frozen=True, slots=True)
class Due:
    """The dose that is due."""

    per_kg: Amount
    mass: Amount
    """Per kg times the weight, not above the most in one dose; in mg, or microgram under 1 mg."""
    most: Amount | None
    """The most in one dose, which rounding never passes; None where none is stated."""
    capped: Amount | None
    """The most in one dose, where it took the place of the dose per kg."""
    course: Course | None
    """The course that it goes on with; None for a first dose."""
    working: tuple[str, ...]
    basis: str
    """Of the amount per kg, as the line, its band or the product states it."""
    source: tuple[str, ...]

    @property
    def is_repeat(self) -> bool:
        """Whether a dose was given before."""
        return self.course is not None


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
    # Before the interval: what is past the total is not given later either.
    if past := _find_past(given, repeat, product):
        return past
    if last is None:
        return "an earlier dose is recorded, but not when: give its time first"
    if wait := _find_wait(repeat.interval, last, case.now):
        return wait
    stated = _Stated(repeat.dose, product.basis, product.source, "Repeat dose")
    due = _make_due(line, product, case, stated, Course(given, repeat.most_in_all))
    total = add(given, repeat.dose)
    course = f"with this dose {show_amount(total)} of {show_amount(repeat.most_in_all)} in all"
    tag = cite_short(case.kit, product.basis, product.source)
    return replace(due, working=(f"{show_amount(given)} was given before; {course}. {tag}", *due.working))


def _find_past(given: Amount, repeat: Repeat, product: Product) -> str:
    """Say that one more dose is past what a course may hold, or that the amount given is so already; else empty."""
    if repeat.most_in_all < given:
        most = f"more than the {show_amount(repeat.most_in_all)} of a whole course of {product.name}"
        return f"{show_amount(given)} is recorded as given before, {most}: look at the amount"
    total = add(given, repeat.dose)
    if repeat.most_in_all < total:
        return (
            f"{show_amount(given)} given and {show_amount(repeat.dose)} more is {show_amount(total)}:"
            f" past {show_amount(repeat.most_in_all)} in all"
        )
    return ""


def _find_wait(interval: Amount, last: datetime, now: datetime) -> str:
    """Say from when the next dose may be given, or that the last has not been yet; empty where it may be given now.

    The sums are in UTC, since clocks change; the times are told in the zone of `now`.
    """
    if last.astimezone(UTC) > now.astimezone(UTC):
        clock = f"which has not been yet by this clock ({now:%H:%M})"
        return f"the last dose is recorded at {_tell(last, now)}, {clock}: look at its time"
    due_at = last.astimezone(UTC) + timedelta(minutes=ceil(convert(interval, "min").value))
    if due_at <= now.astimezone(UTC):
        return ""
    return f"may be given from {_tell(due_at, now)}: {show_amount(interval)} after the last dose at {_tell(last, now)}"


def _tell(moment: datetime, now: datetime) -> str:
    """The moment on the clock of `now`; with its offset where that clock shows the time twice that night."""
    here = moment.astimezone(now.tzinfo)
    is_twice = here.replace(fold=1 - here.fold).utcoffset() != here.utcoffset()
    return f"{here:%H:%M}{here.isoformat()[-6:] if is_twice else ''} on {here:%d %b}"


def _make_due(line: DoseLine, product: Product, case: Case, stated: _Stated, course: Course | None = None) -> Due:
    """Make the dose from its amount per kg; of a course begun before it is at most what that has left."""
    mass = choose_mass_unit(multiply(stated.per_kg, case.baby.weight, "mg"))
    sum_of_it = f"{show_amount(stated.per_kg)} \N{MULTIPLICATION SIGN} {case.baby.weight_g} g = {show_amount(mass)}"
    working = [f"{stated.name}: {sum_of_it}. {cite_short(case.kit, stated.basis, stated.source)}"]
    mosts = [(based.most, based) for based in (line, product) if based.most is not None]
    most, based = min(mosts, key=lambda each: convert(each[0], "mg").value, default=(None, line))
    capped: Amount | None = None
    if most is not None and most < mass:
        mass = capped = choose_mass_unit(most)
        tag = cite_short(case.kit, based.basis, based.source)
        working.append(f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}. {tag}")
    return Due(stated.per_kg, mass, most, capped, course, tuple(working), stated.basis, stated.source)
