"""Which dose is due: the first of a course or a further one, and whether it may be given yet. May import: `prepkit.rules`.

A further dose takes the product's repeat dose, counts what was given, and is blocked before its interval or past its total.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from prepkit.kit.kit import Product
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, convert, multiply
from prepkit.quantities.show import choose_mass_unit, show_amount
from prepkit.rules.case import Case, cite_short


@dataclass(frozen=True, slots=True)
class Due:
    """The dose that is due."""

    per_kg: Amount
    mass: Amount
    """Per kg times the weight, not above any ceiling; in mg, or microgram under 1 mg."""
    ceiling: Amount | None
    """The most that may be given, where rounding could pass it."""
    is_repeat: bool
    working: tuple[str, ...]


def find_due(line: DoseLine, product: Product, case: Case) -> Due | str:
    """The dose that is due, or the reason why none is."""
    given = case.baby.facts.get(line.earlier.given) if line.earlier else None
    if line.earlier and isinstance(given, Amount) and given.value > 0:
        return _find_repeat(line, product, case, given)
    per_kg = line.dose or product.dose
    if per_kg is None:
        return f"no dose of {product.name} is stated"
    tag = cite_short(case.kit, line.basis, line.source) if line.dose else cite_short(case.kit, product.basis, product.source)
    return _make_due(line, product, case, per_kg, tag, is_repeat=False)


def _find_repeat(line: DoseLine, product: Product, case: Case, given: Amount) -> Due | str:
    repeat = product.repeat
    if repeat is None:
        return f"{show_amount(given)} was given before and no repeat dose of {product.name} is stated"
    last = case.baby.facts.get(line.earlier.at) if line.earlier else None
    if not isinstance(last, datetime):
        return "an earlier dose is recorded, but not when: give its time first"
    due_at = last + timedelta(minutes=int(convert(repeat.interval, "min").value))
    if case.now < due_at:
        return f"may be given from {due_at:%H:%M on %d %b}: {show_amount(repeat.interval)} after the last dose at {last:%H:%M on %d %b}"
    total = add(given, repeat.dose)
    if repeat.most_in_all < total:
        return (
            f"{show_amount(given)} given and {show_amount(repeat.dose)} more is {show_amount(total)}:"
            f" past {show_amount(repeat.most_in_all)} in all"
        )
    tag = cite_short(case.kit, product.basis, product.source)
    due = _make_due(line, product, case, repeat.dose, tag, is_repeat=True)
    count = f"{show_amount(given)} was given before; with this dose {show_amount(total)} of {show_amount(repeat.most_in_all)} in all. {tag}"
    return Due(due.per_kg, due.mass, due.ceiling, True, (count, *due.working))


def _make_due(line: DoseLine, product: Product, case: Case, per_kg: Amount, tag: str, *, is_repeat: bool) -> Due:
    mass = choose_mass_unit(multiply(per_kg, case.baby.weight, "mg"))
    which = "Repeat dose" if is_repeat else "Dose"
    working = [f"{which}: {show_amount(per_kg)} × {case.baby.weight_g} g = {show_amount(mass)}. {tag}"]
    ceilings = [most for most in (line.most, product.most) if most is not None]
    ceiling = min(ceilings) if ceilings else None
    if ceiling is not None and ceiling < mass:
        mass = choose_mass_unit(ceiling)
        working.append(f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}.")
    return Due(per_kg, mass, ceiling, is_repeat, tuple(working))
