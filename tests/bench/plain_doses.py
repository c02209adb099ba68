"""Doses the slow way: which is due, what measures it, what is opened; the ward's rounding and containers.

Written on its own, from the reference of ward files and not from the rules.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import product

from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import DoseLine
from prepkit.kit.ward import Recipe, Stock, SyringeStock, Ward
from prepkit.quantities.amount import Amount
from tests.bench.plain import BLOCKED, REGISTRY, Case, Plain, Quantities, Quantity, make

NONE = REGISTRY.Quantity(Fraction(0), "mL")
_NO_DOSE = REGISTRY.Quantity(Fraction(0), "mg/kg")
HALF = Fraction(1, 2)
_MOST_OPENED = 8
"""More containers than a dose of the wards here is ever opened from."""
_ENOUGH = Fraction(9, 10)


@dataclass(frozen=True, slots=True)
class Limits:
    """How far up a volume, or the mass in it, may be rounded; None where nothing says so."""

    tops: Sequence[Quantity]
    """Never past any of these."""
    over: Quantity | None
    """Nor past this, where the ward is never over."""
    left: Quantity | None
    """What a course has left: past it only where the mark below is too far off."""


class PlainDoses(Quantities):
    """What is stocked, with each amount a quantity."""

    def __init__(self, kit: Kit, ward: Ward | None, now: datetime) -> None:
        super().__init__()
        self.kit, self.ward, self.now = kit, ward, now
        self.products = {row.id: row for row in (*kit.product, *(ward.product if ward else ()))}
        self.recipes = {row.id: row for row in ward.recipe} if ward else {}

    def _find_dose(self, line: DoseLine, case: Case) -> Plain:
        if self.ward is None:
            return BLOCKED
        stocked = [stock for stock in self.ward.stock if stock.product in line.products]
        for stock in stocked:
            row, first = self.products[stock.product], self.products[stocked[0].product]
            if (row.substance or row.name).lower() != (first.substance or first.name).lower():
                continue
            per_kg, left = self._find_per_kg(line, row, case)
            if per_kg is None:
                return BLOCKED
            dose = (per_kg * case.weigh(line.weight)).to("mg")
            mosts = [self.q(most) for most in (line.most, row.most) if most is not None]
            dose = min([dose, *mosts])
            if row.where is not None and not self.holds(row.where, case):
                continue
            weight = case.weigh(line.weight)
            if stock.containers == "whole" and left is None and (whole := self._find_whole(line, stock, dose, weight)):
                return whole
            span = row.dose_range if left is None else None
            over = ((self.q(span.most) if span else per_kg) * weight).to("mg")
            limits = Limits(mosts, over if self.ward.round == "not over" else None, left)
            drawn = [self._draw(line, stock, row, self.recipes.get(use), dose, limits) for use in stock.use]
            measured = [each for each in drawn if each is not None]
            if measured:
                plain = next((plain for plain, is_sure in measured if is_sure), measured[0][0])
                is_fewest = stock.containers == "fewest" and plain.discard is not None
                return self._take_one_less(line, stock, row, plain) if is_fewest else plain
        return BLOCKED

    def _find_whole(self, line: DoseLine, stock: Stock, dose: Quantity, weight: Quantity) -> Plain | None:
        """The unopened containers nearest to the dose: within the label's range, and 90 to 110 % of the dose."""
        assert self.ward is not None
        row, span = self.products[stock.product], self.products[stock.product].dose_range
        if span is None or "undiluted" not in stock.use:
            return None
        sizes, held = [self.q(size) for size in stock.holds], set()
        for counts in product(range(_MOST_OPENED), repeat=len(sizes)):
            held.add(sum((size * count for size, count in zip(sizes, counts, strict=True)), NONE))
        strength, mosts = self.q(row.strength), [self.q(most) for most in (line.most, row.most) if most is not None]
        for volume in sorted(held, key=lambda each: (abs(each * strength - dose), each)):
            mass = (volume * strength).to("mg")
            is_in_range = self.q(span.least) <= (mass / weight).to("mg/kg") <= self.q(span.most)
            is_near = abs(mass - dose) <= dose * (1 - _ENOUGH)
            is_enough = row.least_volume is None or volume >= self.q(row.least_volume)
            syringe = self._hold(line, volume)
            if is_in_range and is_near and is_enough and syringe and all(mass <= most for most in mosts):
                vials, left = self._open(volume, sizes)
                return Plain(due=dose, exact=volume, amount=volume, syringe=syringe, vials=vials, discard=left)
        return None

    def _hold(self, line: DoseLine, volume: Quantity) -> SyringeStock | None:
        """The smallest syringe that holds it all and the air; else that of which two do."""
        assert self.ward is not None
        stock = sorted((row for row in self.ward.syringe if row.route == line.route), key=lambda row: self.q(row.holds))
        air = self._find_air(line)
        fitting = (row for count in (1, 2) for row in stock if volume + count * air <= count * self.q(row.holds))
        return next(fitting, None)

    def _take_one_less(self, line: DoseLine, stock: Stock, row: Product, plain: Plain) -> Plain:
        """The same dose from one container less, where what those hold lies within the ward's deviation."""
        assert self.ward is not None
        sizes, opened = [self.q(size) for size in stock.holds], sum(count for _, count in plain.vials)
        held = max(sizes) * (opened - 1)
        spans = self._share_out(line, [each for each in self.ward.syringe if each.route == line.route], is_down=False)
        serving = next((each for each, full in spans if held < full), spans[-1][0])
        mark = (held / self.q(serving.marks)).to("").magnitude // 1 * self.q(serving.marks)
        fits = self.q(serving.least) <= mark and mark + self._find_air(line) <= self.q(serving.holds)
        is_near = NONE <= plain.exact - mark <= plain.exact * self.q(self.ward.deviation)
        is_enough = row.least_volume is None or mark >= self.q(row.least_volume)
        if opened == 1 or not (fits and is_near and is_enough and mark < plain.amount):
            return plain
        vials, left = self._open(mark, sizes)
        is_fewer = sum(count for _, count in vials) < opened
        return replace(plain, amount=mark, syringe=serving, vials=vials, discard=left) if is_fewer else plain

    def _find_per_kg(self, line: DoseLine, row: Product, case: Case) -> tuple[Quantity, Quantity]:
        """The dose per kg that is due, and the mass that a course has left; None where nothing is due."""
        had = case.baby.facts.get(line.earlier) if line.earlier else None
        fitting = [band.dose for band in line.band if self.holds(band, case)]
        first = line.dose or (next(iter(fitting), None) if line.band else row.dose)
        if isinstance(had, EarlierDoses) and had.doses:
            return self._find_repeat(line, row, first, had.doses, case)
        return (self.q(first) if first else None), None

    def _find_repeat(
        self, line: DoseLine, row: Product, first: Amount | None, doses: Sequence[EarlierDose], case: Case
    ) -> tuple[Quantity, Quantity]:
        repeat = row.repeat
        if repeat is None:
            return None, None
        known = {each.id: (each.substance or each.name).lower() for each in self.kit.product}
        mine = (row.substance or row.name).lower()
        if any(dose.product and known.get(dose.product) != mine for dose in doses):
            return None, None
        own = [make(dose.amount) for dose in doses if dose.product and dose.amount]
        if repeat.most_doses is not None and len(own) >= repeat.most_doses:
            return None, None
        # A dose within the ward's deviation of the one that was due counts as that one.
        due = [self.q(first or repeat.dose), *(self.q(repeat.dose) for _ in own)]
        # Per kg of a birth weight that nobody knows cannot be said: it counts as the one that was due.
        is_by_another = line.weight == "birth" and case.baby.size.birth_weight_g is None
        given = _NO_DOSE
        for was_due, amount in zip(due, own, strict=False):
            mass = amount * self.q(row.strength) if amount.check("mL") else amount
            per_kg = (mass / case.weigh(line.weight)).to(was_due.units) if mass.check("mg") else mass
            per_kg = was_due if mass.check("mg") and is_by_another else per_kg
            assert self.ward is not None
            given += was_due if abs(per_kg - was_due) <= was_due * self.q(self.ward.deviation) else per_kg
        most = self.q(repeat.most_in_all)
        last = max((dose.at for dose in doses if dose.at is not None), default=self.now - timedelta(days=999))
        waited = timedelta(minutes=int(self.q(repeat.interval).to("min").magnitude))
        if given + self.q(repeat.dose) > most or last.astimezone(UTC) + waited > self.now.astimezone(UTC):
            return None, None
        return self.q(repeat.dose), ((most - given) * case.weigh(line.weight)).to("mg")

    def _draw(
        self,
        line: DoseLine,
        stock: Stock,
        row: Product,
        recipe: Recipe | None,
        dose: Quantity,
        masses: Limits,
    ) -> tuple[Plain, bool] | None:
        assert self.ward is not None
        strength = self.q(recipe.gives if recipe else row.strength)
        exact = (dose / strength).to("mL")
        tops = [(most / strength).to("mL") for most in masses.tops]
        if recipe is not None:
            made = self.q(recipe.take) + self.q(recipe.add)
            if exact > made:
                return None
            tops.append(made)
        over, left = (None if each is None else (each / strength).to("mL") for each in (masses.over, masses.left))
        measured = self._measure(line, exact, Limits(tops, over, left))
        if measured is None:
            return None
        syringe, mark, is_sure = measured
        if recipe is None and row.least_volume is not None and min(exact, mark) < self.q(row.least_volume):
            return None
        vials, over = self._open(self.q(recipe.take) if recipe else mark, [self.q(size) for size in stock.holds])
        plain = Plain(
            due=dose, exact=exact, amount=mark, syringe=syringe, vials=vials, discard=None if recipe else over
        )
        return plain, is_sure

    def _measure(self, line: DoseLine, exact: Quantity, limits: Limits) -> tuple[SyringeStock, Quantity, bool] | None:
        """The syringe in whose span the volume lies; another one where a limit holds its mark down too far."""
        assert self.ward is not None
        stock = [row for row in self.ward.syringe if row.route == line.route]
        if not stock:
            return None
        is_down = limits.over is not None
        spans = self._share_out(line, stock, is_down=is_down)
        serving = next((row for row, full in spans if exact < full), spans[-1][0])
        nearest = self._round(exact / self.q(serving.marks)) * self.q(serving.marks)
        others = [row for row in sorted(stock, key=lambda row: self.q(row.holds)) if row is not serving]
        is_held = any(nearest > top for top in limits.tops)
        for row in (serving, *(others if is_held else ())):
            mark = self._mark(line, row, exact, limits)
            if mark is not None:
                return row, mark, row is not serving or exact >= self._find_sure(row, is_down=is_down)
        return None

    def _mark(self, line: DoseLine, row: SyringeStock, exact: Quantity, limits: Limits) -> Quantity | None:
        assert self.ward is not None
        allowed, marks, least = self.q(self.ward.deviation), self.q(row.marks), self.q(row.least)
        mark = self._round(exact / marks) * marks
        below = mark - marks
        is_past_course = limits.left is not None and mark > limits.left
        is_near_enough = (exact - below) / exact <= allowed and below >= least
        is_past_range = limits.over is not None and mark > limits.over
        if any(mark > top for top in limits.tops) or is_past_range or (is_past_course and is_near_enough):
            mark = below
        fits = mark + self._find_air(line) <= self.q(row.holds) and min(mark, exact) >= least
        return mark if fits and abs(mark - exact) / exact <= allowed else None

    def _share_out(
        self, line: DoseLine, stock: Sequence[SyringeStock], *, is_down: bool
    ) -> list[tuple[SyringeStock, Quantity]]:
        """Each syringe with the volume under which it serves, in the order in which a growing weight meets them."""
        spans: list[tuple[SyringeStock, Quantity]] = []
        rest, full = list(stock), NONE
        fill = {id(row): self._find_full(line, row) for row in stock}
        sures = {id(row): self._find_sure(row, is_down=is_down) for row in stock}
        while rest:
            rest.sort(key=lambda row: fill[id(row)])
            sure = [row for row in rest if sures[id(row)] <= full]
            soonest = min(rest, key=lambda row: sures[id(row)])
            chosen, end = (sure or [soonest])[0], None
            if not sure:
                near = [
                    row
                    for row in rest
                    if self._find_least(row) < sures[id(soonest)] and fill[id(row)] <= fill[id(soonest)]
                ]
                chosen = min(near, key=lambda row: self.q(row.marks)) if near else soonest
                end = None if chosen is soonest else sures[id(soonest)]
            full = fill[id(chosen)] if end is None else min(fill[id(chosen)], end)
            spans.append((chosen, full))
            rest = [row for row in rest if row is not chosen and fill[id(row)] > full]
        return spans

    def _find_air(self, line: DoseLine) -> Quantity:
        assert self.ward is not None
        return self.q(self.ward.air) if line.air and self.ward.air is not None else NONE

    def _find_full(self, line: DoseLine, row: SyringeStock) -> Quantity:
        marks = self.q(row.marks)
        return ((self.q(row.holds) - self._find_air(line)) / marks).to("").magnitude // 1 * marks + marks * HALF

    def _find_least(self, row: SyringeStock) -> Quantity:
        marks, least = self.q(row.marks), self.q(row.least)
        first = -((-least / marks).to("").magnitude // 1) * marks
        return max(least, first - marks * HALF)

    def _find_sure(self, row: SyringeStock, *, is_down: bool) -> Quantity:
        """From where a mark is near enough: the nearest half a mark away at most, the one below a whole one."""
        assert self.ward is not None
        marks, allowed = self.q(row.marks), self.q(self.ward.deviation).to("")
        if is_down:
            return max(-((-self.q(row.least) / marks).to("").magnitude // 1) * marks, marks / allowed)
        return max(self._find_least(row), marks * HALF / allowed)

    @staticmethod
    def _round(share: Quantity) -> Fraction:
        return (share.to("").magnitude + HALF) // 1

    @staticmethod
    def _open(volume: Quantity, sizes: Sequence[Quantity]) -> tuple[tuple[tuple[Fraction, int], ...], Quantity]:
        """Every count of every size: the least left over, then the fewest."""
        ordered = sorted(sizes, reverse=True)
        most = [int(-((-volume / size).to("").magnitude // 1)) for size in ordered]
        choices = []
        for counts in product(*(range(each + 1) for each in most)):
            held = sum((size * count for size, count in zip(ordered, counts, strict=True)), NONE)
            if held >= volume:
                choices.append((held - volume, sum(counts), counts))
        left, _, best = min(choices)
        vials = zip(ordered, best, strict=True)
        return tuple((size.to("mL").magnitude, count) for size, count in vials if count), left
