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
from prepkit.rules.case import Case, cite_short


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
    due = _make_due(line, product, case, repeat.dose, left=subtract(repeat.most_in_all, given))
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


def _make_due(line: DoseLine, product: Product, case: Case, per_kg: Amount, left: Amount | None = None) -> Due:
    """Make the dose from its amount per kg; `left` is what a course begun before has left per kg."""
    mass = choose_mass_unit(multiply(per_kg, case.baby.weight, "mg"))
    basis, source = (line.basis, line.source) if line.dose and left is None else (product.basis, product.source)
    which = "Dose" if left is None else "Repeat dose"
    sum_of_it = f"{show_amount(per_kg)} \N{MULTIPLICATION SIGN} {case.baby.weight_g} g = {show_amount(mass)}"
    working = [f"{which}: {sum_of_it}. {cite_short(case.kit, basis, source)}"]
    stated = [(based.most, based) for based in (line, product) if based.most is not None]
    ceilings = [most for most, _ in stated]
    if ceilings and min(ceilings) < mass:
        most, based = min(stated, key=lambda each: convert(each[0], "mg").value)
        mass = choose_mass_unit(most)
        tag = cite_short(case.kit, based.basis, based.source)
        working.append(f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}. {tag}")
    if left is not None:
        ceilings.append(multiply(left, case.baby.weight, "mg"))
    return Due(per_kg, mass, min(ceilings, default=None), left is not None, tuple(working))
