"""Making a list: kit + ward + baby + moment in, lines with working out; pure. May import: `prepkit.rules` and below."""

from collections.abc import Mapping
from datetime import datetime

from prepkit.kit.baby import Baby
from prepkit.kit.kit import Kit
from prepkit.kit.read import Written
from prepkit.kit.ward import Ward
from prepkit.list.lines import TrayList
from prepkit.list.prepare import Prepared, prepare
from prepkit.rules.case import Case, Order, Outcome
from prepkit.rules.criteria import find_verdict


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
    """Make one list, as `compute_prepared` does, from a kit and a ward file that no other list is made from."""
    made = prepare(kit, ward)
    return compute_prepared(made, baby, answers, now, weight_confirmed=weight_confirmed, orders=orders)


def compute_prepared(
    prepared: Prepared,
    baby: Baby,
    answers: Mapping[str, str],
    now: datetime,
    *,
    weight_confirmed: bool = False,
    orders: Mapping[str, Order] | None = None,
) -> TrayList:
    """Make the list for one baby at one moment.

    Args:
        prepared: the kit and the ward file as read; without one devices stand on their label and medicines are blocked.
        baby: its facts.
        answers: answers to the kit's questions so far, by criterion id.
        now: with its offset; decides approvals and what may be given again.
        weight_confirmed: whether an unlikely weight was entered again.
        orders: what was ordered for dose lines, by line id.

    """
    kit, ward, layer = prepared.kit, prepared.ward, prepared.layer
    found: dict[str, Outcome] = {}
    case = Case(layer.kit, ward.model if ward else None, baby, now, found, orders or {}, layer)
    finished = []
    for each in prepared.lines:
        outcome = found[each.line.id] = each.work_out(case)
        finished.append(each.finish(outcome))
    judged = prepared.criteria.judge(case, answers, weight_confirmed=weight_confirmed)
    overdue = (*_find_overdue(kit.model, ward.model if ward else None, now), *judged.notices)
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


def _find_overdue(kit: Kit, ward: Ward | None, now: datetime) -> tuple[str, ...]:
    dates = {"The kit": kit.review_by} | ({"The ward file": ward.review_by} if ward else {})
    return tuple(
        f"{name} was due for review by {by:%d %b %Y}: its figures may be out of date."
        for name, by in dates.items()
        if by < now.date()
    )
