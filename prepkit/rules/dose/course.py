"""Which dose is due: the first of a course or a further one, and whether it may be given yet.

A further dose takes the product's repeat dose, counts what was given, and is blocked before its interval or past its
total.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from math import ceil

from msgspec import Struct

from prepkit.kit.baby import Baby
from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit, Product, Repeat
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, convert, make_amount, multiply, subtract
from prepkit.quantities.text import choose_mass_unit, show_amount
from prepkit.rules.condition import ANY_BABY, Condition, prepare_condition
from prepkit.rules.rule import RuleContext, cite, cite_short

_GRAM = make_amount(1, "g")
_MG = make_amount(1, "mg").unit


class Course(Struct, frozen=True):
    """A course that was begun before, per kg."""

    given: Amount
    most_in_all: Amount

    @property
    def left(self) -> Amount:
        """What may still be given; the dose that is due is not more, though the mark it is rounded to may be."""
        return subtract(self.most_in_all, self.given)


class DueDose(Struct, frozen=True):
    """The dose that is due."""

    per_kg: Amount
    shown_per_kg: str
    mass: Amount
    """Per kg times the weight, not above the most in one dose; in mg, or microgram under 1 mg."""
    most: Amount | None
    """The most in one dose, which rounding never passes; None where none is stated."""
    capped: Amount | None
    """The most in one dose, where it took the place of the dose per kg."""
    course: Course | None
    """The course that it goes on with; None for a first dose."""
    working: tuple[str, ...]
    basis: Basis
    """Of the amount per kg, as the line, its band or the product states it."""
    source: str
    """Its citation, with the basis."""

    @property
    def is_repeat(self) -> bool:
        """Whether a dose was given before."""
        return self.course is not None


class _Stated(Struct, frozen=True):
    """An amount per kg, where it comes from, and for which babies where that is not all of them."""

    per_kg: Amount
    shown: str
    mg_per_g: Fraction
    """The same in mg for each gram of weight."""
    before: str
    """The words of its sum before the weight ..."""
    tag: str
    """... and its source after it."""
    basis: Basis
    source: str


class _Ceiling(Struct, frozen=True):
    """The most in one dose."""

    most: Amount
    """As it is stated."""
    mass: Amount
    """As it is shown."""
    mg: Fraction
    working: str


class Doses(Struct, frozen=True):
    """The doses of one product for one line: first ones by band, and the further one."""

    line: DoseLine
    product: Product
    firsts: tuple[tuple[Condition, _Stated], ...]
    repeat: _Stated | None
    repeat_tag: str
    ceiling: _Ceiling | None

    @property
    def most(self) -> Amount | None:
        """The most in one dose, which rounding never passes; None where none is stated."""
        return self.ceiling.most if self.ceiling else None

    def find_due(self, context: RuleContext) -> DueDose | str:
        """Find the dose that is due, or the reason why none is."""
        earlier, facts = self.line.earlier, context.baby.facts
        given = facts.get(earlier.given) if earlier else None
        last = facts.get(earlier.at) if earlier else None
        if isinstance(given, Amount) and given.value > 0:
            return self._find_repeat(context, given, last if isinstance(last, datetime) else None)
        if isinstance(last, datetime):
            return "the time of an earlier dose is recorded, but not how much was given: give the amount first"
        for condition, stated in self.firsts:
            if condition.holds_for(context.baby):
                return self._make_due(stated, context.baby)
        if self.firsts:
            return f"none of its bands of doses holds {context.baby.words()}"
        return f"no dose of {self.product.name} is stated"

    def _find_repeat(self, context: RuleContext, given: Amount, last: datetime | None) -> DueDose | str:
        repeat = self.product.repeat
        if repeat is None or self.repeat is None:
            return f"{show_amount(given)} was given before and no repeat dose of {self.product.name} is stated"
        # Before the interval: what is past the total is not given later either.
        if past := _find_past(given, repeat, self.product):
            return past
        if last is None:
            return "an earlier dose is recorded, but not when: give its time first"
        if wait := _find_wait(repeat.interval, last, context.now):
            return wait
        total = add(given, repeat.dose)
        course = f"with this dose {show_amount(total)} of {show_amount(repeat.most_in_all)} in all"
        before = f"{show_amount(given)} was given before; {course}. {self.repeat_tag}"
        return self._make_due(self.repeat, context.baby, Course(given, repeat.most_in_all), before)

    def _make_due(self, stated: _Stated, baby: Baby, course: Course | None = None, before: str = "") -> DueDose:
        """Make the dose from its amount per kg; of a course begun before it is at most what that has left."""
        in_mg = Amount(stated.mg_per_g * baby.weight_g, _MG)
        mass = choose_mass_unit(in_mg)
        sum_of_it = f"{stated.before}{baby.weight_g} g = {show_amount(mass)}. {stated.tag}"
        working: tuple[str, ...] = (before, sum_of_it) if before else (sum_of_it,)
        ceiling, capped = self.ceiling, None
        if ceiling is not None and ceiling.mg < in_mg.value:
            mass = capped = ceiling.mass
            working = (*working, ceiling.working)
        most = ceiling.most if ceiling else None
        return DueDose(stated.per_kg, stated.shown, mass, most, capped, course, working, stated.basis, stated.source)


def prepare_doses(line: DoseLine, product: Product, kit: Kit) -> Doses:
    """Prepare the doses of one product for one line, with the most in one dose."""
    repeat = _state(product.repeat.dose, product.basis, product.source, kit, "Repeat dose") if product.repeat else None
    tag = cite_short(kit, product.basis, product.source)
    return Doses(line, product, tuple(_list_firsts(line, product, kit)), repeat, tag, _find_ceiling(line, product, kit))


def _list_firsts(line: DoseLine, product: Product, kit: Kit) -> Iterator[tuple[Condition, _Stated]]:
    """List the first doses: the line's, those of its bands, or the product's own."""
    if line.dose is not None:
        yield ANY_BABY, _state(line.dose, line.basis, line.source, kit)
    elif line.band:
        for band in line.band:
            condition = prepare_condition(band)
            basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
            ground = "" if condition.words == "any baby" else f" for {condition.words}"
            yield condition, _state(band.dose, basis, source, kit, f"Dose{ground}")
    elif product.dose is not None:
        yield ANY_BABY, _state(product.dose, product.basis, product.source, kit)


def _state(per_kg: Amount, basis: Basis, source: tuple[str, ...], kit: Kit, name: str = "Dose") -> _Stated:
    shown = show_amount(per_kg)
    before = f"{name}: {shown} \N{MULTIPLICATION SIGN} "
    mg_per_g = multiply(per_kg, _GRAM, _MG).value
    return _Stated(per_kg, shown, mg_per_g, before, cite_short(kit, basis, source), basis, cite(kit, basis, source))


def _find_ceiling(line: DoseLine, product: Product, kit: Kit) -> _Ceiling | None:
    """Find the smaller of the most in one dose that the line states and that the product does."""
    mosts = [(based.most, based) for based in (line, product) if based.most is not None]
    if not mosts:
        return None
    most, based = min(mosts, key=lambda each: convert(each[0], _MG).value)
    mass, tag = choose_mass_unit(most), cite_short(kit, based.basis, based.source)
    working = f"No single dose is more than {show_amount(mass)}: the dose is {show_amount(mass)}. {tag}"
    return _Ceiling(most, mass, convert(most, _MG).value, working)


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
