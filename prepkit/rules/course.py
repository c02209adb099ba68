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
from prepkit.rules.case import Case, cite_short


@dataclass(frozen=True, slots=True)
class Due:
    """The dose that is due."""

    per_kg: Amount
    mass: Amount
    """Per kg times the weight, not above any ceiling; in mg, or microgram under 1 mg."""
    ceiling: Amount | None
    """The most that may be given now, in one dose and of what the course has left: rounding may not pass it."""
    capped: Amount | None
    """The most in one dose, where it took the place of the dose per kg."""
    is_repeat: bool
    working: tuple[str, ...]


def find_due(line: DoseLine, product: Product, case: Case) -> Due | str:
    """Find the dose that is due, or the reason why none is."""
    given = case.baby.facts.get(line.earlier.given) if line.earlier else None
    last = case.baby.facts.get(line.earlier.at) if line.earlier else None
    if isinstance(given, Amount) and given.value > 0:
        return _find_repeat(line, product, case, given, last if isinstance(last, datetime) else None)
    if isinstance(last, datetime):
        return "the time of an earlier dose is recorded, but not how much was given: give the amount first"
    per_kg = line.dose or product.dose
    if per_kg is None:
        return f"no dose of {product.name} is stated"
    return _make_due(line, product, case, per_kg)


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
    due = _make_due(line, product, case, repeat.dose, left=subtract(repeat.most_in_all, given))
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


def _make_due(line: DoseLine, product: Product, case: Case, per_kg: Amount, left: Amount | None = None) -> Due:
    """Make the dose from its amount per kg; `left` is what a course begun before has left per kg."""
    mass = choose_mass_unit(multiply(per_kg, case.baby.weight, "mg"))
    basis, source = (line.basis, line.source) if line.dose and left is None else (product.basis, product.source)
    which = "Dose" if left is None else "Repeat dose"
    sum_of_it = f"{show_amount(per_kg)} \N{MULTIPLICATION SIGN} {case.baby.weight_g} g = {show_amount(mass)}"
    working = [f"{which}: {sum_of_it}. {cite_short(case.kit, basis, source)}"]
    stated = [(based.most, based) for based in (line, product) if based.most is not None]
    ceilings = [most for most, _ in stated]
    capped: Amount | None = None
    if ceilings and min(ceilings) < mass:
        most, based = min(stated, key=lambda each: convert(each[0], "mg").value)
        mass = capped = choose_mass_unit(most)
        tag = cite_short(case.kit, based.basis, based.source)
        working.append(f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}. {tag}")
    if left is not None:
        ceilings.append(multiply(left, case.baby.weight, "mg"))
    return Due(per_kg, mass, min(ceilings, default=None), capped, left is not None, tuple(working))
