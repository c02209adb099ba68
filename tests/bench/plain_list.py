"""The slow way: the amounts of a list written plainly with pint's default registry, as the oracle of the quick way.

Written on its own, from the reference of the kits and not from the rules: quantities of the default registry (with
fractions for numbers, since binary floats would disagree) that are made once from a loaded kit, compared and multiplied
for each baby. No words, no fingerprints, no ward lines laid over a kit: what it leaves out is to its favour.
"""

from collections.abc import Iterator

from prepkit.kit.baby import Baby
from prepkit.kit.lines import (
    AmountLine,
    DepthLine,
    DepthMethod,
    Line,
    SettingLine,
    SizeBand,
    SizeLine,
    SizeMethod,
    SupplyLine,
    TrialLine,
)
from prepkit.quantities.amount import Amount
from tests.bench.plain import BLOCKED, Case, Plain, Quantity, make
from tests.bench.plain_doses import HALF, PlainDoses


class PlainList(PlainDoses):
    """A kit and a ward file loaded: each amount in them is a quantity."""

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

    # --------------------------------------------------------------------------------------------- sizes and lengths

    def _list_bands(self, method: SizeMethod, case: Case) -> Iterator[SizeBand]:
        for band in method.band:
            if method.follows is not None and band.when_size not in self._list_laid_out(method.follows, case):
                continue
            if self.holds(band, case):
                yield band

    def _list_laid_out(self, name: str, case: Case) -> list[str]:
        """Every size of a line that lies there, the one below it too where the kit asks for it."""
        line = next(each for each in self.kit.line if each.id == name)
        sizes = list(case.found[name].sizes)
        smallest = min((line.sizes.index(size) for size in sizes), default=0) if line.also_below else 0
        return [*sizes, *line.sizes[max(smallest - 1, 0) : smallest]]

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
            mark = ((exact / step).to("").magnitude + HALF) // 1 * step
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
        return Plain(exact=make(value), amount=make(value)) if isinstance(value, Amount) else Plain()

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
