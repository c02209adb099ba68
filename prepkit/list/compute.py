"""Making a list: kit + ward + baby + moment in, lines with working out; pure. May import: `prepkit.rules` and below."""

from collections.abc import Mapping
from datetime import datetime

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.layer import lay_over
from prepkit.kit.lines import AmountLine, DoseLine, Line, SizeLine
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.layered import apply_layer
from prepkit.list.layered_criteria import judge_criteria
from prepkit.list.lines import ListLine, TrayList
from prepkit.list.rules import apply_rule
from prepkit.rules.case import Case, Order, Outcome, cite
from prepkit.rules.criteria import find_verdict
from prepkit.rules.size import join_sizes


def compute_list(
    kit: Written[Kit],
    ward: Written[Ward] | None,
    baby: Baby,
    answers: Mapping[str, str],
    now: datetime,
    *,
    weight_confirmed: bool = False,
    orders: Mapping[str, Order] | None = None,
) -> TrayList:
    """Make the list for one baby at one moment.

    Args:
        kit: the kit as read.
        ward: the ward file as read; without it devices stand on their label and medicines are blocked.
        baby: its facts.
        answers: answers to the kit's questions so far, by criterion id.
        now: with its offset; decides approvals and what may be given again.
        weight_confirmed: whether an unlikely weight was entered again.
        orders: what was ordered for dose lines, by line id.

    """
    found: dict[str, Outcome] = {}
    layer = lay_over(kit.model, ward.model if ward else None)
    case = Case(layer.kit, ward.model if ward else None, baby, now, found, orders or {}, layer)
    for line in layer.kit.line:
        found[line.id] = compute_line(line, case)
    lines = [_finish(line, found[line.id], case) for line in layer.kit.line]
    judged = judge_criteria(case, answers, weight_confirmed=weight_confirmed)
    overdue = (*_find_overdue(kit.model, ward.model if ward else None, now), *judged.notices)
    return TrayList(kit, ward, layer.kit, baby, judged.reasons, find_verdict(judged.reasons), tuple(lines), overdue)


def _find_overdue(kit: Kit, ward: Ward | None, now: datetime) -> tuple[str, ...]:
    dates = {"The kit": kit.review_by} | ({"The ward file": ward.review_by} if ward else {})
    return tuple(
        f"{name} was due for review by {by:%d %b %Y}: its figures may be out of date."
        for name, by in dates.items()
        if by < now.date()
    )


def compute_line(line: Line, case: Case) -> Outcome:
    """Find what one line gives, with what the ward file changed of it judged; `case.found` holds what it follows."""
    return apply_layer(line, apply_rule(line, case), case)


def _finish(line: Line, outcome: Outcome, case: Case) -> ListLine:
    return ListLine(
        id=line.id,
        group=line.group,
        name=line.name,
        kind=line.kind,
        route=getattr(line, "route", None),
        essential=line.essential,
        aloud=line.aloud,
        blocked=outcome.blocked,
        dose=outcome.dose,
        exact=outcome.exact,
        amount=outcome.amount,
        low=outcome.low,
        high=outcome.high,
        size=join_sizes(outcome.sizes) if outcome.sizes else None,
        sizes=outcome.sizes,
        syringe=outcome.syringe,
        product=outcome.product,
        air=outcome.air,
        recipe=outcome.recipe,
        vials=outcome.vials,
        discard=outcome.discard,
        kits_own=outcome.kits_own,
        standing=outcome.standing,
        show=outcome.show,
        details=outcome.details,
        working=outcome.working,
        how=line.how,
        cautions=(*outcome.cautions, *line.cautions),
        basis=outcome.basis or line.basis,
        source=outcome.source or cite(case.kit, line.basis, line.source),
        check=is_checked_twice(line),
        prescribed=outcome.prescribed,
        choices=_list_choices(line, case),
    )


def is_checked_twice(line: Line) -> bool:
    """Whether a second person works it out again: the kit's word; by default every medicine and the device."""
    if line.check is not None:
        return line.check
    return isinstance(line, DoseLine | AmountLine) or (isinstance(line, SizeLine) and line.label)


def _list_choices(line: Line, case: Case) -> tuple[str, ...]:
    if not isinstance(line, SizeLine):
        return ()
    own = (*line.sizes, *(size for method in line.method for band in method.band for size in band.size))
    approved = (each.size for each in (case.ward.approval if case.ward else ()) if each.line == line.id)
    return tuple(dict.fromkeys((*own, *approved)))
