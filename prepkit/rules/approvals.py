"""A ward's approvals: which one is in force today, when its review is due, and on what grounds it stands."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TypeVar

from prepkit.kit.ward import Approved, Ward, Widening

REVIEW_SOON = timedelta(days=60)

Kind = TypeVar("Kind", bound=Approved)


def explain_out_of_force(approved: Approved, today: date) -> str:
    """Say why the approval is not in force today; empty where it is. Its review day still belongs to it."""
    if approved.review_by < today:
        return f"the ward's approval {approved.reference} was due for review by {approved.review_by:%d %b %Y}"
    if today < approved.approved_on:
        return f"the ward's approval {approved.reference} begins on {approved.approved_on:%d %b %Y}"
    return ""


def choose_in_force(approvals: Sequence[Kind], today: date) -> Kind | None:
    """Choose the first that is in force; the first of all where none is, so that it can be said why."""
    first = next(iter(approvals), None)
    return next((one for one in approvals if not explain_out_of_force(one, today)), first)


def is_review_soon(approved: Approved, today: date) -> bool:
    """Say whether the review is due within 60 days."""
    return approved.review_by - today <= REVIEW_SOON


def caution_review(approved: Approved, today: date) -> tuple[str, ...]:
    """Say that the review is due soon; nothing where it is not."""
    words = f"The approval is due for review by {approved.review_by:%d %b %Y}."
    return (words,) if is_review_soon(approved, today) else ()


def say_ground(approved: Approved) -> str:
    """Give the approval's reference, who gave it and when."""
    return f"{approved.reference}, approved by {approved.approver} on {approved.approved_on:%d %b %Y}"


def find_widening(ward: Ward | None, what: str, kit: str, today: date) -> Widening | str:
    """Find the approval for going further than the kit, or the reason why there is none in force."""
    rows = [row for row in ward.widening if row.what == what and kit in row.kits] if ward else []
    chosen = choose_in_force(rows, today)
    if chosen is None:
        return "no approval on file"
    return explain_out_of_force(chosen, today) or chosen
