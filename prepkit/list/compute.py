"""Makes a list. A kit and a ward file are prepared once; the list is then computed for each baby and moment.

All that depends on the two files alone is worked out when they are prepared. What is prepared holds both files and is
never kept longer than they are, so nothing in it can come from an older one.
"""

from collections.abc import Collection, Iterator, Mapping
from datetime import datetime

from msgspec import Struct, field
from msgspec.structs import replace

from prepkit.kit.axes import Axis
from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.layer import Layer, find_followed, lay_over
from prepkit.kit.lines import AmountLine, DoseLine, Line, SizeLine
from prepkit.kit.read import ParsedFile
from prepkit.kit.reads import find_axes, list_axes
from prepkit.kit.ward import Ward
from prepkit.list.criteria import LayeredCriteria, prepare_layered_criteria
from prepkit.list.layered import apply_layer
from prepkit.list.lines import DeclaredLine, ListLine, TrayList, compute_line_fingerprint
from prepkit.rules.criteria import find_verdict
from prepkit.rules.findings import Finding, Kind, cite, finding
from prepkit.rules.kinds import prepare_rule, work_out_known
from prepkit.rules.rule import EnteredValue, Order, Outcome, Rule, RuleContext
from prepkit.rules.supply import TrialRule


class PreparedLine(Struct, frozen=True):
    """One line of a kit as the ward has it, ready for babies."""

    declared: DeclaredLine
    rule: Rule
    axes: frozenset[Axis]
    """What it goes by itself."""
    finished: Mapping[int, "FinishedLine"] = field(default_factory=dict)
    """The line that each of the rule's fixed outcomes makes, by the `id` of the outcome, which the rule keeps."""

    def work_out(self, context: RuleContext) -> Outcome:
        """Find what the line gives, the ward's changes judged; `context.found` has what it follows."""
        line = self.declared.line
        return apply_layer(line, work_out_known(line, self.axes, self.rule, context), context)

    def finish(self, outcome: Outcome) -> "FinishedLine":
        """Make the line of the list from what was found for it."""
        finished = self.finished.get(id(outcome))
        if finished is not None:
            return finished
        line = ListLine(self.declared, outcome)
        return FinishedLine(line, compute_line_fingerprint(line))


class FinishedLine(Struct, frozen=True):
    """A line of the list, with its fingerprint."""

    line: ListLine
    fingerprint: str


class PreparedKit(Struct, frozen=True):
    """A kit and a ward file, ready for babies."""

    kit: ParsedFile[Kit]
    ward: ParsedFile[Ward] | None
    layer: Layer
    lines: tuple[PreparedLine, ...]
    criteria: LayeredCriteria


def prepare_kit(kit: ParsedFile[Kit], ward: ParsedFile[Ward] | None) -> PreparedKit:
    """Prepare a kit with a ward file over it."""
    stocked = ward.model if ward else None
    layer = lay_over(kit.model, stocked)
    lines = prepare_lines(layer.kit, stocked)
    return PreparedKit(kit, ward, layer, tuple(lines.values()), prepare_layered_criteria(layer, stocked))


def prepare_lines(kit: Kit, ward: Ward | None) -> Mapping[str, PreparedLine]:
    """Prepare the lines of a kit that the ward file is laid over, by id, in the kit's order."""
    lines: dict[str, PreparedLine] = {}
    for line in kit.line:
        lines[line.id] = _prepare_line(line, kit, ward, lines)
    return lines


def _prepare_line(line: Line, kit: Kit, ward: Ward | None, before: Mapping[str, PreparedLine]) -> PreparedLine:
    """Prepare one line, after those that it may follow."""
    rule = prepare_rule(line, kit, ward)
    if isinstance(rule, TrialRule):
        rule = rule.prepare_for({name: made.rule.fixed for name, made in before.items()})
    cited, route = cite(kit, line.basis, line.source), getattr(line, "route", None)
    axes = find_axes(line, kit)
    reads = axes.union(
        list_axes(row for row in (ward.approval if ward else ()) if row.line == line.id),
        *(before[name].declared.reads for name in find_followed(line)),
    )
    declared = DeclaredLine(line, cited, route, is_checked_twice(line), _list_choices(line, ward), reads)
    made = PreparedLine(declared, rule, axes)
    return replace(made, finished={id(outcome): made.finish(outcome) for outcome in rule.fixed})


def is_checked_twice(line: Line) -> bool:
    """Whether a second person works it out again: the kit's word; by default every medicine and the device."""
    if line.check is not None:
        return line.check
    return isinstance(line, DoseLine | AmountLine) or (isinstance(line, SizeLine) and line.label)


def _list_choices(line: Line, ward: Ward | None) -> tuple[str, ...]:
    if not isinstance(line, SizeLine):
        return ()
    own = (*line.sizes, *(size for method in line.method for band in method.band for size in band.size))
    approved = (each.size for each in (ward.approval if ward else ()) if each.line == line.id)
    return tuple(dict.fromkeys((*own, *approved)))


def compute_list(
    kit: ParsedFile[Kit],
    ward: ParsedFile[Ward] | None,
    baby: Baby,
    answers: Mapping[str, str],
    now: datetime,
    *,
    confirmed: Collection[str] = (),
    orders: Mapping[str, Order] | None = None,
) -> TrayList:
    """Make one list, as `compute_prepared` does, from a kit and a ward file that no other list is made from."""
    made = prepare_kit(kit, ward)
    return compute_prepared(made, baby, answers, now, confirmed=confirmed, orders=orders)


def compute_prepared(
    prepared: PreparedKit,
    baby: Baby,
    answers: Mapping[str, str],
    now: datetime,
    *,
    confirmed: Collection[str] = (),
    orders: Mapping[str, Order] | None = None,
    entered: Mapping[str, EnteredValue] | None = None,
) -> TrayList:
    """Make the list for one baby at one moment.

    Args:
        prepared: the kit and the ward file as read; without one devices stand on their label and medicines are blocked.
        baby: its facts.
        answers: answers to the kit's questions so far, by criterion id.
        now: with its offset; decides approvals and what may be given again.
        confirmed: facts of the weights that were entered again, where one was unlikely.
        orders: what was ordered for dose lines, by line id.
        entered: what was entered with the ticks of lines that ask for it, by line id.

    """
    kit, ward, layer = prepared.kit, prepared.ward, prepared.layer
    found: dict[str, Outcome] = {}
    context = RuleContext(layer.kit, ward.model if ward else None, baby, now, found, orders or {}, entered or {}, layer)
    finished = []
    for each in prepared.lines:
        outcome = found[each.declared.line.id] = each.work_out(context)
        finished.append(each.finish(outcome))
    judged = prepared.criteria.judge(context, answers, confirmed)
    overdue = (*_list_overdue(kit.model, ward.model if ward else None, now), *judged.notices)
    return TrayList(
        kit=kit,
        ward=ward,
        laid=layer.kit,
        baby=baby,
        reasons=judged.reasons,
        verdict=find_verdict(judged.reasons),
        lines=tuple([each.line for each in finished]),
        fingerprints=tuple([each.fingerprint for each in finished]),
        overdue=overdue,
    )


def _list_overdue(kit: Kit, ward: Ward | None, now: datetime) -> Iterator[Finding]:
    if kit.review_by < now.date():
        yield finding(Kind.KIT_OVERDUE, by=kit.review_by)
    if ward is not None and ward.review_by < now.date():
        yield finding(Kind.WARD_OVERDUE, by=ward.review_by)
