"""Checks of what a ward approved: dates, and approvals that say two things of one baby.

May import: `prepkit.kit`, `prepkit.quantities`.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

from prepkit.kit.finding import Finding
from prepkit.kit.spans import Span
from prepkit.kit.ward import Approval, Approved, Ward


def check_approvals(ward: Ward) -> Iterator[Finding]:
    """What is wrong with the approvals of a ward file."""
    tables: dict[str, Sequence[Approved]] = {"approval": ward.approval, "widening": ward.widening}
    for table, rows in tables.items():
        for at, row in enumerate(rows):
            if row.review_by <= row.approved_on:
                yield Finding((table, at, "review_by"), "the review date is not after the approval")
    for (_, one), (at, two) in combinations(enumerate(ward.approval), 2):
        if _disagree(one, two):
            wrong = f'approves size {two.size} where {one.reference} approves size {one.size} of "{one.line}"'
            hint = "two approvals for one baby at one time must give one size: part their weights, ages or dates"
            yield Finding(("approval", at, "size"), wrong, hint)


def _disagree(one: Approval, two: Approval) -> bool:
    """Whether some baby on some day would be given two sizes of one line."""
    return (
        one.line == two.line
        and one.size != two.size
        and one.approved_on <= two.review_by
        and two.approved_on <= one.review_by
        and _overlap(one.weight, two.weight)
        and _overlap(one.gestation, two.gestation)
    )


def _overlap(one: Span[Any], two: Span[Any]) -> bool:
    return _reaches(one, two) and _reaches(two, one)


def _reaches(one: Span[Any], two: Span[Any]) -> bool:
    """Whether one span begins before the other ends."""
    low, high = one.low, two.high
    if low is None or high is None or low < high:
        return True
    return not high < low and one.at_least is not None and two.at_most is not None
