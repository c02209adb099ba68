"""What never happens in a domain: bands and methods that serve no baby, cautions and approvals that can never fire."""

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.lines import Band, DepthLine, DepthMethod, DoseLine, Line, SizeBand, SizeLine, SizeMethod, SupplyLine
from prepkit.kit.ward import Ward
from prepkit.proof.findings import Never, Unused
from prepkit.proof.notes import Note
from prepkit.proof.walk import Track, Walk
from prepkit.quantities.amount import make_amount
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.depth import prepare_depth_method
from prepkit.rules.dose.draw_up import USUAL_DEVIATION
from prepkit.rules.findings import Finding, Kind
from prepkit.rules.rule import Outcome
from prepkit.rules.size import prepare_choices

_USUAL_DEVIATION = make_amount(USUAL_DEVIATION, "%")


class _Table(Struct, frozen=True):
    """The bands of one part of a line, and whether only the first that is met counts."""

    by: str
    bands: tuple[Band, ...]
    is_first: bool
    method: SizeMethod | None = None


def find_unused(line: Line, tracks: list[Track], walk: Walk) -> Iterator[Note]:
    """Everything about one line that never happens in the domain."""
    babies = list(walk.list_babies(line))
    found = [*_find_bands(line, babies, walk)]
    if isinstance(line, DepthLine):
        found += _find_depths(line, babies, walk)
    outcomes = [outcome for track in tracks for point in track.points for outcome in (point.outcome, point.last)]
    found += _find_cautions(line, outcomes, walk)
    yield from (Note(line.id, each) for each in found)


def find_unstocked(kit: Kit, ward: Ward | None, used: Iterable[str]) -> Iterator[Note]:
    """Products whose cautions can never fire: not in stock, or in stock and never the one that serves."""
    stocked, serving = {stock.product for stock in ward.stock} if ward else set(), {*used}
    medicines = {product.id: product.medicine for product in kit.product}
    served = {medicines[name] for name in serving & {*medicines}}
    for product in kit.product:
        if product.id not in stocked:
            yield Note(product.id, Unused(Never.PRODUCT_STOCKED, product.id))
        elif product.id not in serving:
            never = Never.PRODUCT_SERVES if product.medicine in served else Never.PRODUCT_UNORDERED
            yield Note(product.id, Unused(never, product.id))


def _find_bands(line: Line, babies: list[Baby], walk: Walk) -> Iterator[Unused]:
    for table in _list_tables(line):
        met, counted = set(), set()
        conditions = [prepare_condition(band) for band in table.bands]
        for baby in babies:
            fitting = _find_fitting(table, conditions, line, baby, walk)
            met |= {*fitting}
            counted |= {*(fitting[:1] if table.is_first else fitting)}
        if not met and len(table.bands) > 1:
            yield Unused(Never.TABLE_MET, table.by)
            continue
        for at, band in enumerate(table.bands):
            if at not in met:
                yield _make_band(Never.BAND_MET, band)
            elif at not in counted:
                yield _make_band(Never.BAND_FIRST, band)


def _list_tables(line: Line) -> Iterator[_Table]:
    if isinstance(line, SizeLine):
        yield from (_Table(method.by, method.band, is_first=False, method=method) for method in line.method)
    elif isinstance(line, DepthLine):
        yield from (_Table(method.by, method.band, is_first=True) for method in line.method if method.band)
    elif isinstance(line, SupplyLine):
        yield _Table("count", line.count, is_first=True)
        if line.size:
            yield _Table(line.size.by, line.size.band, is_first=True, method=line.size)
        if line.length:
            yield _Table(line.length.by, line.length.band, is_first=True)
    else:
        yield _Table("facts", getattr(line, "band", ()), is_first=True)


def _find_fitting(table: _Table, conditions: Sequence[Condition], line: Line, baby: Baby, walk: Walk) -> list[int]:
    fitting = [at for at, condition in enumerate(conditions) if condition.holds_for(baby)]
    if table.method is None or table.method.follows is None:
        return fitting
    context, choices = walk.make_context(line, baby), prepare_choices(table.method)
    return [at for at in fitting if choices[at].fits(context)]


def _make_band(what: Never, band: Band) -> Unused:
    return Unused(
        what, band=prepare_condition(band).where, when_size=band.when_size or "" if isinstance(band, SizeBand) else ""
    )


def _find_depths(line: DepthLine, babies: list[Baby], walk: Walk) -> Iterator[Unused]:
    """Methods that serve no baby, or that another is always taken before."""
    serving: set[int] = set()
    marking: set[int] = set()
    methods = [prepare_depth_method(line.id, method, line.step, walk.kit, walk.ward) for method in line.method]
    for baby in babies:
        context = walk.make_context(line, baby)
        found = [at for at, prepared in enumerate(methods) if prepared.find(context)]
        serving |= {*found}
        marking |= {next((at for at in found if line.method[at].measured), found[0])} if found else set()
    for at, method in enumerate(line.method):
        if at not in serving and not method.band:
            yield Unused(_find_unmeasured(line, method, walk), method.by)
        elif at in serving and at not in marking and (line.differ is None or method.low is not None):
            yield Unused(Never.METHOD_MARKS, method.by)


def _find_unmeasured(line: Line, method: DepthMethod, walk: Walk) -> Never:
    if not method.measured:
        return Never.METHOD_SERVES
    rows = [row for row in walk.ward.measured if row.line == line.id] if walk.ward else []
    return Never.METHOD_SERVES_OTHER_SIZES if rows else Never.METHOD_SERVES_UNMEASURED


def _find_cautions(line: Line, outcomes: list[Outcome], walk: Walk) -> Iterator[Unused]:
    """Cautions that a rule makes and that no baby of the domain calls for."""
    cautions = [each for outcome in outcomes for each in outcome.cautions if isinstance(each, Finding)]
    if isinstance(line, SizeLine):
        yield from _find_size_cautions(line, cautions, outcomes, walk)
    elif isinstance(line, DepthLine) and line.differ is not None:
        yield from _find_depth_cautions(line, cautions)
    elif isinstance(line, DoseLine):
        yield from _find_dose_cautions(line, cautions, outcomes, walk)


def _find_size_cautions(
    line: SizeLine, cautions: list[Finding], outcomes: list[Outcome], walk: Walk
) -> Iterator[Unused]:
    if line.choose == "one" and len(line.method) > 1 and Kind.SIZES_DIFFER not in {each.kind for each in cautions}:
        yield Unused(Never.METHODS_DIFFER)
    if line.label:
        grounds = [ground for outcome in outcomes for ground in outcome.standing if ground.kind is Kind.ON_APPROVAL]
        used = {ground["reference"] for ground in grounds}
        approvals = [row for row in walk.ward.approval if row.line == line.id] if walk.ward else []
        for approval in approvals:
            if approval.reference not in used:
                yield Unused(Never.APPROVAL_USED, approval.reference)
        if not approvals:
            yield Unused(Never.OFF_LABEL)


def _find_depth_cautions(line: DepthLine, cautions: list[Finding]) -> Iterator[Unused]:
    """A range is never held against another method; one that serves no baby was said already."""
    held = [method for method in line.method if method.per_kg is not None or method.band]
    differing = {each["by"] for each in cautions if each.kind is Kind.METHOD_DIFFERS}
    if len(line.method) > 1 and not differing:
        yield Unused(Never.METHODS_DIFFER)
    elif held:
        yield from (Unused(Never.METHOD_DIFFERS, method.by) for method in held[1:] if method.by not in differing)


def _find_dose_cautions(
    line: DoseLine, cautions: list[Finding], outcomes: list[Outcome], walk: Walk
) -> Iterator[Unused]:
    used = {outcome.product for outcome in outcomes}
    passed = {each["most"] for each in cautions if each.kind is Kind.OVER_LABEL_RANGE}
    for product in walk.kit.product:
        if product.id in used and product.dose_range is not None and product.dose_range.most not in passed:
            yield Unused(Never.OVER_RANGE, product.id, limit=product.dose_range.most)
    if line.earlier is not None and not any(outcome.over_course for outcome in outcomes):
        yield Unused(Never.OVER_COURSE)
    allows = walk.ward is not None and walk.ward.deviation > _USUAL_DEVIATION
    if allows and Kind.DEVIATION not in {each.kind for each in cautions}:
        yield Unused(Never.WIDE_DEVIATION, limit=_USUAL_DEVIATION)
