"""Checks each dose that is walked, and what can be ordered at the edges, by plain sums of the proof's own.

The rules count in whole numbers of a syringe's marks, with much worked out beforehand. Here the finished line alone is
asked, with the figures of the kit and the ward file and no function of a rule: what breaks a rule breaks no check.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct

from prepkit.kit.axes import OF_DOSE
from prepkit.kit.earlier import EarlierDoses
from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import UNDILUTED, Stock, Ward
from prepkit.proof.domain import Run
from prepkit.proof.findings import Wrong, WrongDose
from prepkit.proof.notes import TrackFinding
from prepkit.proof.walk import Point, Track, Walk, join_grams
from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.rules.dose.draw_up import LEAST_SHARE
from prepkit.rules.dose.rule import write_order
from prepkit.rules.rule import Order, Outcome

_NO_DOSES = EarlierDoses()
_MG, _MG_PER_KG = (make_amount(1, unit).unit for unit in ("mg", "mg/kg"))


class _Stated(Struct, frozen=True):
    """What the kit and the ward file state of one product at one strength; in mg, mL, and mg for each gram."""

    product: Product
    stock: Stock
    strength: Fraction
    most: Fraction | None
    """The most in one dose."""
    made: Fraction | None
    """What its recipe makes in all, in mg; None for the product as it is."""
    first: tuple[Fraction, ...]
    """What may be due first; of a dose by bands, any of them."""
    again: tuple[Fraction, ...]
    """What is due of a further dose; empty where there is none."""
    course: Fraction
    """What a course may come to."""
    span: tuple[Fraction, Fraction] | None
    """The label's range of a first dose."""


class _Drawn(Struct, frozen=True):
    """What a line says of itself, in mg, mL and g; with the doses given before, and what was ordered."""

    found: Outcome
    stated: _Stated
    had: EarlierDoses
    order: Order | None
    grams: Fraction
    due: Fraction
    mass: Fraction
    volume: Fraction
    marks: Fraction

    @property
    def way(self) -> str:
        """How containers decide: as ordered, else as the ward's stock says."""
        return self.stated.stock.containers if self.order is None else self.order.containers


class DoseCheck:
    """The properties that every dose of one line has in one ward."""

    def __init__(self, line: DoseLine, kit: Kit, ward: Ward) -> None:
        self._line, self._ward = line, ward
        self._products = {each.id: each for each in kit.product}
        self._stock = {row.product: row for row in ward.stock if row.product in line.products}
        self._recipes = {each.id: each for each in ward.recipe}
        self._deviation = convert(ward.deviation, "%").value / 100
        self._kept: dict[tuple[str, str], _Stated | None] = {}

    def find_wrong(
        self, found: Outcome, grams: Run | None, had: EarlierDoses, order: Order | None = None
    ) -> Wrong | None:
        """Find the first property that a dose lacks; None where it has them all, and where it is blocked.

        Args:
            found: the line's outcome.
            grams: the weight that the line was walked at.
            had: the doses given before, each per kg.
            order: what was ordered; None where nothing was.

        """
        if found.blocked:
            return None
        key = (found.product, found.recipe.id if found.recipe else "")
        if key not in self._kept:
            self._kept[key] = self._state(*key)
        stated = self._kept[key]
        if stated is None or self._is_other(found, stated.product, order):
            return Wrong.MEDICINE
        drawn = _read(found, stated, had, order)
        if drawn is None or not _is_product(drawn.mass, drawn.volume, stated.strength):
            return Wrong.MASS
        if stated.most is not None and max(drawn.mass, drawn.due) > stated.most:
            return Wrong.MOST
        if not _is_due(drawn) or self._is_misweighed(found, grams):
            return Wrong.DUE
        return _find_wrong_whole(drawn) if found.is_whole else self._find_wrong_mark(drawn)

    def _state(self, name: str, use: str) -> _Stated | None:
        """Gather what is stated; None of what the ward does not keep for this line."""
        product, stock, recipe = self._products.get(name), self._stock.get(name), self._recipes.get(use)
        if product is None or stock is None or use not in stock.use or (recipe is None and use != UNDILUTED):
            return None
        strength, made = convert(product.strength, "mg/mL").value, None
        if recipe is not None:
            take, more = recipe.take.value, recipe.add.value
            strength, made = strength * take / (take + more), strength * take
        mosts = [_count_mg(each.most) for each in (self._line, product) if each.most is not None]
        # One of the three alone is stated.
        firsts = (self._line.dose, *(band.dose for band in self._line.band), product.dose)
        repeat, span = product.repeat, product.dose_range
        return _Stated(
            product,
            stock,
            strength,
            min(mosts, default=None),
            made,
            tuple(_count_per_g(each) for each in firsts if each is not None),
            (_count_per_g(repeat.dose),) if repeat else (),
            _count_per_g(repeat.most_in_all) if repeat else Fraction(0),
            (_count_per_g(span.least), _count_per_g(span.most)) if span else None,
        )

    def _is_other(self, found: Outcome, product: Product, order: Order | None) -> bool:
        """Whether it is not what was ordered; without an order, another substance, or one that stands in unsaid."""
        if order is not None:
            return product.id != order.product
        first = self._products[next(iter(self._stock))]
        return product.medicine != first.medicine or found.stands_in != ("" if product is first else first.id)

    def _is_misweighed(self, found: Outcome, grams: Run | None) -> bool:
        """Whether it goes by another weight than the line does, or by another number of grams than it was walked at."""
        axis = OF_DOSE[self._line.weight]
        if found.axis is not axis:
            return True
        return (
            grams is not None and grams.axis is axis and found.weight is not None and found.weight.value != grams.first
        )

    def _find_wrong_mark(self, drawn: _Drawn) -> Wrong | None:
        """A volume measured off: at a mark, within the ward's deviation, and rounded in the ward's way."""
        stated, due, mass, marks = drawn.stated, drawn.due, drawn.mass, drawn.marks
        if drawn.volume.numerator * marks.denominator % (drawn.volume.denominator * marks.numerator):
            return Wrong.MARK
        over = self._find_over(drawn)
        if over is not None and mass > over:
            return Wrong.OVER
        off, mark = abs(mass - due), marks * stated.strength
        if off > due * self._deviation:
            return Wrong.DEVIATION
        if off + off <= mark:
            return None
        # Another mark is nearer: the next one up, if that is more than may be given, or takes one container more.
        limits = (stated.most, stated.made, over, self._find_left(drawn))
        is_next = mass < due < mass + mark and any(limit is not None and mass + mark > limit for limit in limits)
        return None if is_next or _is_fewer(drawn) else Wrong.NEAREST

    def _find_over(self, drawn: _Drawn) -> Fraction | None:
        """The mass that a ward that is never over never passes; None where it goes to the nearest mark."""
        if self._ward.round != "not over":
            return None
        span = None if drawn.had.doses else drawn.stated.span
        return drawn.due if span is None else span[1] * drawn.grams

    def _find_left(self, drawn: _Drawn) -> Fraction | None:
        """The mass that the label's total leaves of a course; None of a first dose."""
        if not drawn.had.doses:
            return None
        mine = drawn.stated.product.medicine
        own = [each.amount for each in drawn.had.doses if self._products[each.product].medicine == mine]
        given = sum((_count_per_g(each) for each in own if each is not None), Fraction(0))
        return (drawn.stated.course - given) * drawn.grams


def _read(found: Outcome, stated: _Stated, had: EarlierDoses, order: Order | None) -> _Drawn | None:
    """Read the numbers of a dose that can be drawn up; None where one of them is missing."""
    if not (found.weight and found.due and found.in_syringe and found.amount and found.syringe):
        return None
    masses = (_count_mg(found.due), _count_mg(found.in_syringe))
    return _Drawn(found, stated, had, order, found.weight.value, *masses, found.amount.value, found.syringe.marks.value)


def _is_product(product: Fraction, one: Fraction, other: Fraction) -> bool:
    """Whether one number times another is the third; by cross multiplication, as it is asked of every gram."""
    top, bottom = one.numerator * other.numerator, one.denominator * other.denominator
    return product.numerator * bottom == top * product.denominator


def _is_due(drawn: _Drawn) -> bool:
    """Whether the ordered or a stated dose per kg is due; or the most in one dose, where that is less."""
    stated, order, most = drawn.stated, drawn.order, drawn.stated.most
    doses = stated.again if drawn.had.doses else stated.first
    if order is not None and order.per_kg is not None:
        doses = (_count_per_g(order.per_kg),)
    if most is not None and drawn.due == most:
        return any(dose * drawn.grams >= most for dose in doses)
    return any(_is_product(drawn.due, dose, drawn.grams) for dose in doses)


def _find_wrong_whole(drawn: _Drawn) -> Wrong | None:
    """Whole containers: asked for, all that they hold, within the label's range of a first dose, near what is due."""
    held = sum((vial.size.value * vial.count for vial in drawn.found.vials), Fraction(0))
    if drawn.way != "whole" or held != drawn.volume:
        return Wrong.CONTAINERS
    span = drawn.stated.span
    if span is None or drawn.had.doses or not span[0] * drawn.grams <= drawn.mass <= span[1] * drawn.grams:
        return Wrong.OVER
    is_far = abs(drawn.mass - drawn.due) * 100 > drawn.due * (100 - LEAST_SHARE)
    return Wrong.DEVIATION if is_far and drawn.order is None else None


def _is_fewer(drawn: _Drawn) -> bool:
    """Whether one container less was asked for, and the next mark up does not fit into as many."""
    opened = sum(vial.count for vial in drawn.found.vials)
    held = max(size.value for size in drawn.stated.stock.holds) * opened
    return drawn.way == "fewest" and drawn.mass < drawn.due and drawn.volume + drawn.marks > held


def _count_mg(mass: Amount) -> Fraction:
    return convert(mass, _MG).value


def _count_per_g(dose: Amount) -> Fraction:
    return convert(dose, _MG_PER_KG).value / 1000


def find_wrong_doses(line: DoseLine, track: Track, walk: Walk) -> Iterator[TrackFinding]:
    """Every property that some dose of a track lacks, with where; and of what can be ordered at the track's edges."""
    if walk.ward is None:
        return
    check, had = DoseCheck(line, walk.kit, walk.ward), _NO_DOSES
    given = track.situation.facts.get(line.earlier) if line.earlier else None
    if isinstance(given, EarlierDoses):
        had = given
    wrong: dict[tuple[Wrong, str], list[tuple[Point, Outcome]]] = {}
    for point in track.points:
        what = check.find_wrong(point.outcome, point.grams, had)
        if what is not None:
            wrong.setdefault((what, ""), []).append((point, point.outcome))
    for point in _list_edges(track):
        for order, found in walk.list_ordered(line, track, point):
            what = check.find_wrong(found, point.grams, had, order)
            if what is not None:
                wrong.setdefault((what, write_order(order)), []).append((point, found))
    for (what, ordered), rows in wrong.items():
        found = rows[0][1]
        runs = join_grams(point for point, _ in rows)
        finding = WrongDose(what, ordered, runs, found.product, found.amount, found.in_syringe, found.due)
        yield TrackFinding(finding, track.situation.told, track.days, is_gap=True)


def _list_edges(track: Track) -> Iterator[Point]:
    """The first and the last point, and those on both sides of every change of what it is drawn up from and in."""
    yield track.points[0]
    for one, two in pairwise(track.points):
        if _find_means(one.outcome) != _find_means(two.outcome):
            yield from (one, two)
    yield track.points[-1]


def _find_means(found: Outcome) -> tuple[object, ...]:
    return found.product, found.recipe.id if found.recipe else "", found.syringe, found.is_whole, bool(found.blocked)
