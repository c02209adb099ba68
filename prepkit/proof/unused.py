"""What never happens in a domain: bands and methods that serve no baby, cautions and approvals that can never fire."""

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.lines import Band, DepthLine, DepthMethod, DoseLine, Line, SizeBand, SizeLine, SizeMethod, SupplyLine
from prepkit.kit.ward import Ward
from prepkit.proof.notes import Note, NoteKind
from prepkit.proof.walk import Track, Walk
from prepkit.quantities.amount import make_amount
from prepkit.quantities.text import show_amount
from prepkit.rules.condition import Condition, prepare_condition
from prepkit.rules.depth import prepare_depth_method
from prepkit.rules.rule import Outcome
from prepkit.rules.size import prepare_choices

# The share above which a rounding is cautioned about, as `prepkit.rules.dose.draw_up` has it.
_USUAL_DEVIATION = make_amount(5, "%")


class _Table(Struct, frozen=True):
    """The bands of one part of a line, and whether only the first that is met counts."""

    by: str
    bands: tuple[Band, ...]
    is_first: bool
    method: SizeMethod | None = None


def find_unused(line: Line, tracks: list[Track], walk: Walk) -> Iterator[Note]:
    """Everything about one line that never happens in the domain."""
    babies = list(walk.list_babies(line))
    words = [*_find_bands(line, babies, walk)]
    if isinstance(line, DepthLine):
        words += _find_depths(line, babies, walk)
    outcomes = [outcome for track in tracks for point in track.points for outcome in (point.outcome, point.last)]
    words += _find_cautions(line, outcomes, walk)
    yield from (Note(line.id, NoteKind.UNUSED, each) for each in words)


def find_unstocked(kit: Kit, ward: Ward | None, used: Iterable[str]) -> Iterator[Note]:
    """Products whose cautions can never fire: not in stock, or in stock and never the one that serves."""
    stocked, serving = {stock.product for stock in ward.stock} if ward else set(), {*used}
    for product in kit.product:
        if product.id not in stocked:
            yield Note(product.id, NoteKind.UNUSED, "not in the ward's stock: its cautions can never fire")
        elif product.id not in serving:
            yield Note(product.id, NoteKind.UNUSED, "in stock, but never what serves: its cautions can never fire")


def _find_bands(line: Line, babies: list[Baby], walk: Walk) -> Iterator[str]:
    for table in _list_tables(line):
        met, counted = set(), set()
        conditions = [prepare_condition(band) for band in table.bands]
        for baby in babies:
            fitting = _find_fitting(table, conditions, line, baby, walk)
            met |= {*fitting}
            counted |= {*(fitting[:1] if table.is_first else fitting)}
        if not met and len(table.bands) > 1:
            yield f"no baby of the domain meets a band of the table by {table.by}"
            continue
        for at, band in enumerate(table.bands):
            if at not in met:
                yield f"no baby of the domain meets the band: {_say_band(band)}"
            elif at not in counted:
                yield f"an earlier band always comes first: {_say_band(band)}"


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


def _say_band(band: Band) -> str:
    if isinstance(band, SizeBand) and band.when_size is not None:
        return band.when_size if band.words() == "any baby" else f"{band.when_size}, {band.words()}"
    return band.words()


def _find_depths(line: DepthLine, babies: list[Baby], walk: Walk) -> Iterator[str]:
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
            yield f"the method by {method.by} serves no baby{_say_unmeasured(line, method, walk)}"
        elif at in serving and at not in marking and (line.differ is None or method.low is not None):
            yield f"the method by {method.by} is never the mark: another always comes before it"


def _say_unmeasured(line: Line, method: DepthMethod, walk: Walk) -> str:
    rows = [row for row in walk.ward.measured if row.line == line.id] if walk.ward else []
    if not method.measured:
        return ""
    return ": the ward measured other sizes" if rows else ": the ward has measured none"


def _find_cautions(line: Line, outcomes: list[Outcome], walk: Walk) -> Iterator[str]:
    """Cautions that a rule makes and that no baby of the domain calls for."""
    said = {caution for outcome in outcomes for caution in outcome.cautions}
    if isinstance(line, SizeLine):
        yield from _find_size_cautions(line, said, outcomes, walk)
    elif isinstance(line, DepthLine) and line.differ is not None:
        yield from _find_depth_cautions(line, said)
    elif isinstance(line, DoseLine):
        yield from _find_dose_cautions(line, said, outcomes, walk)


def _find_size_cautions(line: SizeLine, said: set[str], outcomes: list[Outcome], walk: Walk) -> Iterator[str]:
    if (
        line.choose == "one"
        and len(line.method) > 1
        and not any(each.startswith("The methods differ") for each in said)
    ):
        yield "the caution that its methods differ can never fire"
    if line.label:
        standing = {outcome.standing for outcome in outcomes}
        approvals = [row for row in walk.ward.approval if row.line == line.id] if walk.ward else []
        for approval in approvals:
            ground = f"approval {approval.reference}"
            if not any(words == ground or words.endswith(f"; {ground}") for words in standing):
                yield f"the approval {approval.reference} is never used, and its caution can never fire"
        if not approvals:
            yield "no approval is on file: the caution that it is used outside its label can never fire"


def _find_depth_cautions(line: DepthLine, said: set[str]) -> Iterator[str]:
    """A range is never held against another method; one that serves no baby was said already."""
    held = [method for method in line.method if method.per_kg is not None or method.band]
    if len(line.method) > 1 and not any("the methods differ" in each for each in said):
        yield "the caution that its methods differ can never fire"
    elif held:
        for method in held[1:]:
            if not any(each.startswith(f"By {method.by} it is") for each in said):
                yield f"the caution that {method.by} differs can never fire"


def _find_dose_cautions(line: DoseLine, said: set[str], outcomes: list[Outcome], walk: Walk) -> Iterator[str]:
    used = {outcome.product for outcome in outcomes}
    for product in walk.kit.product:
        if product.id in used and product.dose_range is not None:
            over = f"a little over the {show_amount(product.dose_range.most)} of the label's range"
            if not any(over in each for each in said):
                most = show_amount(product.dose_range.most)
                yield f"the caution that the mark passes the {most} of the label's range can never fire ({product.id})"
    if line.earlier is not None and not any(outcome.over_course for outcome in outcomes):
        yield "the caution that the mark brings a course over its total can never fire"
    allows = walk.ward is not None and walk.ward.deviation > _USUAL_DEVIATION
    if allows and not any("% from exact" in each for each in said):
        yield f"the caution that the mark is over {show_amount(_USUAL_DEVIATION)} from exact can never fire"
