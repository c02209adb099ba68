"""The slow way: the amounts of a list written plainly with pint's default registry, as the oracle of the quick way.

Written on its own, from the reference of the kits and not from the rules: quantities of the default registry (with
fractions for numbers, since binary floats would disagree) that are made once from a loaded kit, compared and multiplied
for each baby. No words, no fingerprints, no ward lines laid over a kit: what it leaves out is to its favour.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import product

from prepkit.kit.baby import Baby
from prepkit.kit.earlier import EarlierDose, EarlierDoses
from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import (
    AmountLine,
    DepthLine,
    DepthMethod,
    DoseLine,
    Line,
    SettingLine,
    SizeBand,
    SizeLine,
    SizeMethod,
    SupplyLine,
    TrialLine,
)
from prepkit.kit.ward import Recipe, Stock, SyringeStock, Ward
from prepkit.quantities.amount import Amount
from tests.bench.plain import BLOCKED, REGISTRY, Case, Plain, Quantities, Quantity, make

_NONE = REGISTRY.Quantity(Fraction(0), "mL")
_NO_DOSE = REGISTRY.Quantity(Fraction(0), "mg/kg")
_HALF = Fraction(1, 2)


class PlainList(Quantities):
    """A kit and a ward file loaded: each amount in them is a quantity."""

    def __init__(self, kit: Kit, ward: Ward | None, now: datetime) -> None:
        super().__init__()
        self.kit, self.ward, self.now = kit, ward, now
        self.products = {row.id: row for row in (*kit.product, *(ward.product if ward else ()))}
        self.recipes = {row.id: row for row in ward.recipe} if ward else {}

    def work_out(self, baby: Baby) -> dict[str, Plain]:
        """Every line's amounts."""
        case = Case(baby, {})
        for line in self.kit.line:
            case.found[line.id] = self._find(line, case)
        return case.found

    def _find(self, line: Line, case: Case) -> Plain:
        """One line: blocked where it names what is not known, but for methods beside each other.

        A weight that is not known is waited for. A dose names what its products are for, and not their advice.
        """
        products = [row.where for row in self.kit.product if row.id in getattr(line, "products", ())]
        if case.lacks(line, *products) and not self._is_enough(line, case):
            return BLOCKED
        found: Plain = getattr(self, f"_find_{line.kind}")(line, case)
        return found

    def _is_enough(self, line: Line, case: Case) -> bool:
        """Whether what is known is enough: for the band that comes first, or by one method without the other."""
        if line.kind in {"setting", "amount"}:
            first = next((band for band in line.band if self.holds(self.forget(band, case), case)), None)
            return first is None or self.holds(first, case)
        has_other = line.kind in {"size", "depth"} and len(line.method) > 1 and "label=True" not in repr(line)
        return has_other and not case.lacks(line, of=("weigh",))

    # --------------------------------------------------------------------------------------------------------- doses

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
            drawn = [self._draw(line, stock, row, self.recipes.get(use), dose, mosts, left) for use in stock.use]
            measured = [each for each in drawn if each is not None]
            if measured:
                return next((plain for plain, is_sure in measured if is_sure), measured[0][0])
        return BLOCKED

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
        given = _NO_DOSE
        for was_due, amount in zip(due, own, strict=False):
            mass = amount * self.q(row.strength) if amount.check("mL") else amount
            per_kg = (mass / case.weigh(line.weight)).to(was_due.units) if mass.check("mg") else mass
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
        mosts: Sequence[Quantity],
        left: Quantity,
    ) -> tuple[Plain, bool] | None:
        assert self.ward is not None
        strength = self.q(recipe.gives if recipe else row.strength)
        exact = (dose / strength).to("mL")
        limits = [(most / strength).to("mL") for most in mosts]
        if recipe is not None:
            made = self.q(recipe.take) + self.q(recipe.add)
            if exact > made:
                return None
            limits.append(made)
        course = (left / strength).to("mL") if left is not None else None
        measured = self._measure(line, exact, limits, course)
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

    def _measure(
        self, line: DoseLine, exact: Quantity, limits: Sequence[Quantity], course: Quantity
    ) -> tuple[SyringeStock, Quantity, bool] | None:
        """The syringe in whose span the volume lies; another one where a limit holds its mark down too far."""
        assert self.ward is not None
        stock = [row for row in self.ward.syringe if row.route == line.route]
        if not stock:
            return None
        spans = self._share_out(line, stock)
        serving = next((row for row, full in spans if exact < full), spans[-1][0])
        nearest = self._round(exact / self.q(serving.marks)) * self.q(serving.marks)
        others = [row for row in sorted(stock, key=lambda row: self.q(row.holds)) if row is not serving]
        is_held = any(nearest > limit for limit in limits)
        for row in (serving, *(others if is_held else ())):
            mark = self._mark(line, row, exact, limits, course)
            if mark is not None:
                return row, mark, row is not serving or exact >= self._find_sure(row)
        return None

    def _mark(
        self, line: DoseLine, row: SyringeStock, exact: Quantity, limits: Sequence[Quantity], course: Quantity
    ) -> Quantity | None:
        assert self.ward is not None
        allowed, marks, least = self.q(self.ward.deviation), self.q(row.marks), self.q(row.least)
        mark = self._round(exact / marks) * marks
        below = mark - marks
        is_past_course = course is not None and mark > course
        is_near_enough = (exact - below) / exact <= allowed and below >= least
        if any(mark > limit for limit in limits) or (is_past_course and is_near_enough):
            mark = below
        fits = mark + self._find_air(line) <= self.q(row.holds) and min(mark, exact) >= least
        return mark if fits and abs(mark - exact) / exact <= allowed else None

    def _share_out(self, line: DoseLine, stock: Sequence[SyringeStock]) -> list[tuple[SyringeStock, Quantity]]:
        """Each syringe with the volume under which it serves, in the order in which a growing weight meets them."""
        spans: list[tuple[SyringeStock, Quantity]] = []
        rest, full = list(stock), _NONE
        fill = {id(row): self._find_full(line, row) for row in stock}
        while rest:
            rest.sort(key=lambda row: fill[id(row)])
            sure = [row for row in rest if self._find_sure(row) <= full]
            soonest = min(rest, key=self._find_sure)
            chosen, end = (sure or [soonest])[0], None
            if not sure:
                near = [
                    row
                    for row in rest
                    if self._find_least(row) < self._find_sure(soonest) and fill[id(row)] <= fill[id(soonest)]
                ]
                chosen = min(near, key=lambda row: self.q(row.marks)) if near else soonest
                end = None if chosen is soonest else self._find_sure(soonest)
            full = fill[id(chosen)] if end is None else min(fill[id(chosen)], end)
            spans.append((chosen, full))
            rest = [row for row in rest if row is not chosen and fill[id(row)] > full]
        return spans

    def _find_air(self, line: DoseLine) -> Quantity:
        assert self.ward is not None
        return self.q(self.ward.air) if line.air and self.ward.air is not None else _NONE

    def _find_full(self, line: DoseLine, row: SyringeStock) -> Quantity:
        marks = self.q(row.marks)
        return ((self.q(row.holds) - self._find_air(line)) / marks).to("").magnitude // 1 * marks + marks * _HALF

    def _find_least(self, row: SyringeStock) -> Quantity:
        marks, least = self.q(row.marks), self.q(row.least)
        first = -((-least / marks).to("").magnitude // 1) * marks
        return max(least, first - marks * _HALF)

    def _find_sure(self, row: SyringeStock) -> Quantity:
        assert self.ward is not None
        return max(self._find_least(row), self.q(row.marks) * _HALF / self.q(self.ward.deviation).to(""))

    @staticmethod
    def _round(share: Quantity) -> Fraction:
        return (share.to("").magnitude + _HALF) // 1

    @staticmethod
    def _open(volume: Quantity, sizes: Sequence[Quantity]) -> tuple[tuple[tuple[Fraction, int], ...], Quantity]:
        """Every count of every size: the least left over, then the fewest."""
        ordered = sorted(sizes, reverse=True)
        most = [int(-((-volume / size).to("").magnitude // 1)) for size in ordered]
        choices = []
        for counts in product(*(range(each + 1) for each in most)):
            held = sum((size * count for size, count in zip(ordered, counts, strict=True)), _NONE)
            if held >= volume:
                choices.append((held - volume, sum(counts), counts))
        left, _, best = min(choices)
        vials = zip(ordered, best, strict=True)
        return tuple((size.to("mL").magnitude, count) for size, count in vials if count), left

    # --------------------------------------------------------------------------------------------- sizes and lengths

    def _list_bands(self, method: SizeMethod, case: Case) -> Iterator[SizeBand]:
        for band in method.band:
            if method.follows is not None and band.when_size not in case.found[method.follows].sizes:
                continue
            if self.holds(band, case):
                yield band

    def _find_size(self, line: SizeLine, case: Case) -> Plain:
        bands = [band for method in line.method for band in self._list_bands(method, case)]
        if bands:
            return Plain(sizes=tuple(dict.fromkeys(size for band in bands for size in band.size)))
        today = self.now.date()
        for row in self.ward.approval if self.ward and line.label else ():
            is_meant = row.line == line.id and row.approved_on <= today <= row.review_by
            if is_meant and self.holds(row.where, case):
                return Plain(sizes=(row.size,))
        return BLOCKED

    def _find_length(
        self, line: DepthLine | SupplyLine, method: DepthMethod, step: Quantity, case: Case
    ) -> Plain | None:
        if method.measured:
            sizes = case.found[method.follows].sizes if method.follows else None
            rows = [row for row in (self.ward.measured if self.ward else ()) if row.line == line.id]
            serving = [row for row in rows if sizes is None or (row.size,) == sizes]
            if not serving:
                return None
            exact = self.q(serving[0].length) - self.q(serving[0].clearance)
            mark = (exact / step).to("").magnitude // 1 * step
            return Plain(exact=exact, amount=mark) if mark.magnitude > 0 else BLOCKED
        if method.low is not None and method.high is not None:
            return Plain(low=self.q(method.low), high=self.q(method.high))
        if method.per_kg is not None:
            weight = case.weigh(method.weight)
            if weight is None:
                return None
            exact = (self.q(method.per_kg) * weight).to("cm")
            exact = exact + self.q(method.plus) if method.plus else exact
            mark = ((exact / step).to("").magnitude + _HALF) // 1 * step
            return Plain(exact=exact, amount=mark) if mark.magnitude > 0 else BLOCKED
        depth = next((self.q(band.depth) for band in method.band if self.holds(band, case)), None)
        return None if depth is None else Plain(exact=depth, amount=depth)

    def _find_depth(self, line: DepthLine, case: Case) -> Plain:
        step = self.q(line.step)
        depths = [(method, self._find_length(line, method, step, case)) for method in line.method]
        there = [(method, depth) for method, depth in depths if depth is not None]
        first = next((depth for method, depth in there if method.measured), there[0][1] if there else BLOCKED)
        return first if first is not None else BLOCKED

    def _find_supply(self, line: SupplyLine, case: Case) -> Plain:
        count = next((band.count for band in line.count if self.holds(band, case)), None)
        size = next(iter(self._list_bands(line.size, case)), None) if line.size else None
        length = self._find_length(line, line.length, self.q(line.step), case) if line.length else Plain()
        if (line.count and count is None) or (line.size and size is None) or length is None or length.blocked:
            return BLOCKED
        sizes = size.size if size else ()
        return Plain(
            exact=length.exact, amount=length.amount, low=length.low, high=length.high, sizes=sizes, count=count
        )

    # ------------------------------------------------------------------------------------------- settings and amounts

    def _find_setting(self, line: SettingLine | AmountLine, case: Case) -> Plain:
        band = next((band for band in line.band if self.holds(band, case)), None)
        if band is None:
            return BLOCKED
        if getattr(band, "ward_sets", None) is not None:
            own = [self.q(row.value) for row in (self.ward.setting if self.ward else ()) if row.line == line.id]
            return Plain(exact=own[0], amount=own[0]) if own else Plain()
        if band.value is not None:
            return Plain(exact=self.q(band.value), amount=self.q(band.value))
        if band.low is not None:
            return Plain(low=self.q(band.low), high=self.q(band.high))
        if getattr(band, "floor", None) is not None:
            return Plain(low=self.q(band.floor))
        value = case.baby.facts.get(band.copies)
        return Plain(exact=make(value), amount=make(value)) if isinstance(value, Amount) else BLOCKED

    def _find_amount(self, line: AmountLine, case: Case) -> Plain:
        band = self._find_setting(line, case)
        if band.blocked or self.ward is None:
            return band
        low, high = (band.amount, band.amount) if band.amount is not None else (band.low, band.high)
        stock = [row for row in self.ward.syringe if row.route == line.route]
        for row in sorted(stock, key=lambda row: self.q(row.holds)):
            on_marks = all((end / self.q(row.marks)).to("").magnitude.denominator == 1 for end in (low, high))
            if on_marks and self.q(row.least) <= low and high <= self.q(row.holds):
                return Plain(exact=band.exact, amount=band.amount, low=band.low, high=band.high, syringe=row)
        return BLOCKED

    def _find_trial(self, line: TrialLine, case: Case) -> Plain:
        return BLOCKED if any(case.found[name].blocked for name in line.of) else Plain()
