"""A ward's approvals: which one is in force today, and when its review is due."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TypeVar

from prepkit.kit.ward import Approved, Ward, Widening
from prepkit.rules.findings import Finding, Kind, finding

REVIEW_SOON = timedelta(days=60)

AnyApproved = TypeVar("AnyApproved", bound=Approved)


def explain_out_of_force(approved: Approved, today: date) -> Finding | None:
    """Explain why the approval is not in force today; None where it is. Its review day still belongs to it."""
    if approved.review_by < today:
        return finding(Kind.REVIEW_PAST, reference=approved.reference, by=approved.review_by)
    if today < approved.approved_on:
        return finding(Kind.APPROVAL_NOT_BEGUN, reference=approved.reference, on=approved.approved_on)
    return None


def choose_in_force(approvals: Sequence[AnyApproved], today: date) -> AnyApproved | None:
    """Choose the first that is in force; the first of all where none is, so that it can be said why."""
    first = next(iter(approvals), None)
    return next((one for one in approvals if not explain_out_of_force(one, today)), first)


def is_review_soon(approved: Approved, today: date) -> bool:
    """Say whether the review is due within 60 days."""
    return approved.review_by - today <= REVIEW_SOON


def caution_review(approved: Approved, today: date) -> tuple[Finding, ...]:
    """Caution that the review is due soon; nothing where it is not."""
    return (finding(Kind.REVIEW_DUE, by=approved.review_by),) if is_review_soon(approved, today) else ()


def find_widening(ward: Ward | None, what: str, kit: str, today: date) -> Widening | Finding:
    """Find the approval for going further than the kit, or the reason why there is none in force."""
    rows = [row for row in ward.widening if row.what == what and kit in row.kits] if ward else []
    chosen = choose_in_force(rows, today)
    if chosen is None:
        return finding(Kind.NO_APPROVAL)
    return explain_out_of_force(chosen, today) or chosen
