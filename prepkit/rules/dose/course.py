"""Which dose is due: the first of a course or a further one, and whether it may be given yet.

A further dose takes the product's repeat dose. A course counts as its label does, by the number of doses and by mg/kg,
of one product, at least an interval apart; what was given counts whole, whatever came back. A dose that was given to
the nearest mark counts as the one that was due: our own rounding of two doses never bars a third that the label allows.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from prepkit.kit.axes import OF_DOSE, Axis
from prepkit.kit.baby import Baby
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.fields import Basis
from prepkit.kit.kit import Kit, Product, Repeat
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, add, convert, divide, make_amount, multiply
from prepkit.quantities.text import choose_mass_unit
from prepkit.rules.condition import ANY_BABY, Condition, prepare_condition
from prepkit.rules.dose.bars import Course, find_past, find_wait
from prepkit.rules.dose.history import DoseCounter, DosesHad
from prepkit.rules.findings import Citation, Finding, Kind, cite, finding
from prepkit.rules.rule import Order, RuleContext

_GRAM = make_amount(1, "g")
_MG, _MG_PER_KG = (make_amount(1, unit).unit for unit in ("mg", "mg/kg"))


class DueDose(Struct, frozen=True):
    """The dose that is due."""

    axis: Axis
    """The weight that it is per kg of; the weight now in the place of a birth weight that is not known."""
    weight_g: int
    per_kg: Amount
    mass: Amount
    """Per kg times the weight, not above the most in one dose; in mg, or microgram under 1 mg."""
    most: Amount | None
    """The most in one dose, which rounding never passes; None where none is stated."""
    capped: Amount | None
    """The most in one dose, where it took the place of the dose per kg."""
    course: Course | None
    """The course that it goes on with; None for a first dose."""
    working: tuple[Finding, ...]
    cited: Citation
    """Of the amount per kg, as the line, its band or the product states it."""
    is_after_unknown: bool = False
    """Whether not everything is known of a dose before it: a senior says what is due."""

    @property
    def weight(self) -> Amount:
        """The weight, in g."""
        return make_amount(self.weight_g, "g")

    @property
    def mass_per_kg(self) -> Amount:
        """The dose that is due, per kg: the stated one, or what the most in one dose makes of it."""
        return self.per_kg if self.capped is None else divide(self.capped, self.weight, self.per_kg.unit)

    @property
    def is_repeat(self) -> bool:
        """Whether a dose was given before."""
        return self.course is not None


class _Stated(Struct, frozen=True):
    """An amount per kg, where it comes from, and for which babies where that is not all of them."""

    per_kg: Amount
    mg_per_g: Fraction
    """The same in mg for each gram of weight."""
    cited: Citation


class _Ceiling(Struct, frozen=True):
    """The most in one dose."""

    most: Amount
    """As it is stated."""
    mass: Amount
    """As it is shown."""
    mg: Fraction
    working: Finding


class Doses(Struct, frozen=True):
    """The doses of one product for one line: first ones by band, and the further one."""

    line: DoseLine
    product: Product
    firsts: tuple[tuple[Condition, _Stated], ...]
    repeat: _Stated | None
    ceiling: _Ceiling | None
    medicines: Mapping[str, str]
    """The substance of each product that the kit knows, by its id."""
    strengths: Mapping[str, Amount]
    """The strength of each of them as it comes."""
    deviation: Fraction
    """How far a mark may lie from the dose that was due, in % of it."""

    @property
    def most(self) -> Amount | None:
        """The most in one dose, which rounding never passes; None where none is stated."""
        return self.ceiling.most if self.ceiling else None

    def find_due(self, context: RuleContext, order: Order | None = None) -> DueDose | Finding:
        """Find the dose that is due, or the reason why none is.

        Args:
            context: the baby with the doses that it had before, and the moment.
            order: what was ordered of the product; by an order another product before it is no bar.

        """
        had = context.baby.facts.get(self.line.earlier) if self.line.earlier else None
        per_kg = order.per_kg if order else None
        if isinstance(had, EarlierDoses) and had.doses:
            found = self._find_repeat(context, had, order)
            is_known = isinstance(found, Finding) or all(dose.is_known for dose in had.doses)
            return found if is_known else replace(found, is_after_unknown=True)
        if order is not None and order.is_rest:
            return finding(Kind.NO_REST, product=self.product.name)
        for condition, stated in self.firsts:
            if condition.holds_for(context.baby):
                return self._make_due(_order(stated, per_kg), context.baby, condition)
        if self.firsts:
            return finding(Kind.NO_DOSE_BAND, size=context.baby.size)
        return finding(Kind.NO_DOSE_STATED, product=self.product.name)

    def _find_repeat(self, context: RuleContext, had: EarlierDoses, order: Order | None) -> DueDose | Finding:
        repeat, baby = self.product.repeat, context.baby
        if repeat is None or self.repeat is None:
            return finding(Kind.NO_REPEAT_STATED, doses=had, product=self.product.name)
        others = [dose for dose in had.doses if self._is_other(dose)]
        if others and order is None:
            return finding(Kind.OTHER_BEFORE, dose=others[-1], product=self.product.name)
        # What is not known in full is for a senior to weigh: it counts towards no limit of the course.
        own = [dose for dose in had.doses if dose.is_counted and not self._is_other(dose)]
        counted = self._make_counter(baby, repeat).count(own)
        course = Course(len(counted.given), counted.total_given, repeat.most_in_all, counted.total_counted)
        if order is not None and order.is_rest:
            return self._find_rest(context, had, counted, course)
        per_kg = order.per_kg if order else None
        # Before the interval: what is past the course is not given later either.
        if past := find_past(course, repeat, per_kg or repeat.dose, self.product):
            return past
        last = max((dose.at for dose in had.doses if dose.at is not None), default=None)
        interval = None if order is not None and order.past_interval else repeat.interval
        if last is not None and (wait := find_wait(interval, last, context.now)):
            return wait
        return self._make_due(_order(self.repeat, per_kg), baby, ANY_BABY, course)

    def _find_rest(
        self, context: RuleContext, had: EarlierDoses, counted: DosesHad, course: Course
    ) -> DueDose | Finding:
        """Find the rest of the last dose, given in part within the interval: with that part it counts as one dose."""
        repeat, last = self.product.repeat, had.doses[-1]
        is_now = (
            last.at is not None and repeat is not None and find_wait(repeat.interval, last.at, context.now) is not None
        )
        if repeat is None or not repeat.rest_at_once or counted.rest is None or self._is_other(last) or not is_now:
            return finding(Kind.NO_REST, product=self.product.name)
        rest = Amount(counted.rest, _MG_PER_KG)
        total = add(course.counted, rest)
        if repeat.most_in_all < total:
            return finding(Kind.PAST_COURSE, given=course.given, dose=rest, total=total, most=repeat.most_in_all)
        stated = _Stated(rest, _count_mg(rest), Citation("common practice"))
        before = Course(course.number - 1, course.given, course.most_in_all, course.counted)
        return self._make_due(stated, context.baby, ANY_BABY, before)

    def _make_counter(self, baby: Baby, repeat: Repeat) -> DoseCounter:
        """Make what counts this baby's doses of the substance."""
        axis, again = OF_DOSE[self.line.weight], convert(repeat.dose, _MG_PER_KG).value
        first = next((stated.per_kg for condition, stated in self.firsts if condition.holds_for(baby)), repeat.dose)
        weight = baby.get_weight_amount(axis) if baby.find_used(axis) is axis else None
        return DoseCounter(self.strengths, weight, convert(first, _MG_PER_KG).value, again, self.deviation)

    def _is_other(self, dose: EarlierDose) -> bool:
        """Say whether a dose was of another substance; of one of an unknown product nobody can say so."""
        return bool(dose.product) and self.medicines.get(dose.product) != self.product.medicine

    def _make_due(self, stated: _Stated, baby: Baby, condition: Condition, course: Course | None = None) -> DueDose:
        """Make the dose from its amount per kg; of a course begun before it is at most what that has left."""
        axis = OF_DOSE[self.line.weight]
        weight_g, used = baby.get_weight(axis), baby.find_used(axis)
        in_mg = Amount(stated.mg_per_g * weight_g, _MG)
        mass = choose_mass_unit(in_mg)
        working: tuple[Finding, ...] = (
            finding(
                Kind.DOSE_SUM,
                is_repeat=course is not None,
                where=condition.where,
                per_kg=stated.per_kg,
                axis=used,
                weight_g=weight_g,
                mass=mass,
                cited=stated.cited,
            ),
        )
        if course is not None:
            total = add(course.given, stated.per_kg)
            working = (finding(Kind.COURSE_SO_FAR, course=course, total=total, cited=stated.cited), *working)
        ceiling, capped = self.ceiling, None
        if ceiling is not None and ceiling.mg < in_mg.value:
            mass = capped = ceiling.mass
            working = (*working, ceiling.working)
        most = ceiling.most if ceiling else None
        return DueDose(used, weight_g, stated.per_kg, mass, most, capped, course, working, stated.cited)


def prepare_doses(line: DoseLine, product: Product, kit: Kit, deviation: Amount) -> Doses:
    """Prepare the doses of one product for one line, with the most in one dose.

    `deviation` is how far the ward lets a mark lie from what is due.
    """
    repeat = _state(product.repeat.dose, product.basis, product.source, kit) if product.repeat else None
    return Doses(
        line=line,
        product=product,
        firsts=tuple(_list_firsts(line, product, kit)),
        repeat=repeat,
        ceiling=_find_ceiling(line, product, kit),
        medicines={each.id: each.medicine for each in kit.product},
        strengths={each.id: each.strength for each in kit.product},
        deviation=convert(deviation, "%").value,
    )


def _order(stated: _Stated, per_kg: Amount | None) -> _Stated:
    """The stated dose, or the one that was ordered in its place."""
    return stated if per_kg is None else _Stated(per_kg, _count_mg(per_kg), stated.cited)


def _list_firsts(line: DoseLine, product: Product, kit: Kit) -> Iterator[tuple[Condition, _Stated]]:
    """List the first doses: the line's, those of its bands, or the product's own."""
    if line.dose is not None:
        yield ANY_BABY, _state(line.dose, line.basis, line.source, kit)
    elif line.band:
        for band in line.band:
            basis, source = (band.basis, band.source) if band.basis else (line.basis, line.source)
            yield prepare_condition(band), _state(band.dose, basis, source, kit)
    elif product.dose is not None:
        yield ANY_BABY, _state(product.dose, product.basis, product.source, kit)


def _state(per_kg: Amount, basis: Basis, source: tuple[str, ...], kit: Kit) -> _Stated:
    return _Stated(per_kg, _count_mg(per_kg), cite(kit, basis, source))


def _count_mg(per_kg: Amount) -> Fraction:
    """The mg of a dose per kg for each gram of weight."""
    return multiply(per_kg, _GRAM, _MG).value


def _find_ceiling(line: DoseLine, product: Product, kit: Kit) -> _Ceiling | None:
    """Find the smaller of the most in one dose that the line states and that the product does."""
    mosts = [(based.most, based) for based in (line, product) if based.most is not None]
    if not mosts:
        return None
    most, based = min(mosts, key=lambda each: convert(each[0], _MG).value)
    mass = choose_mass_unit(most)
    working = finding(Kind.CEILING, mass=mass, cited=cite(kit, based.basis, based.source))
    return _Ceiling(most, mass, convert(most, _MG).value, working)
