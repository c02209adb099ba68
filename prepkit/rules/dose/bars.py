"""A course that was begun before, and what bars one more dose of it: its number, its total, its interval."""

from datetime import UTC, datetime, timedelta
from math import ceil

from msgspec import Struct

from prepkit.kit.kit import Product, Repeat
from prepkit.quantities.amount import Amount, add, convert, subtract
from prepkit.rules.findings import Finding, Kind, finding


class Course(Struct, frozen=True):
    """A course that was begun before, per kg."""

    number: int
    """How many doses it has had."""
    given: Amount
    most_in_all: Amount
    counted: Amount
    """What was given as the label's total counts it: each dose as the one that was due, where it was a mark of it."""

    @property
    def left(self) -> Amount:
        """What may still be given; the dose that is due is not more, though the mark it is rounded to may be."""
        return subtract(self.most_in_all, self.counted)


def find_past(course: Course, repeat: Repeat, dose: Amount, product: Product) -> Finding | None:
    """Find that one more dose, per kg, is past what a course may hold, by number or per kg; else None."""
    if repeat.most_doses is not None and course.number >= repeat.most_doses:
        return finding(Kind.COURSE_IS_FULL, number=course.number, most=repeat.most_doses, product=product.name)
    if repeat.most_in_all < course.counted:
        return finding(Kind.MORE_THAN_COURSE, given=course.given, most=repeat.most_in_all, product=product.name)
    total = add(course.counted, dose)
    if repeat.most_in_all < total:
        return finding(Kind.PAST_COURSE, given=course.given, dose=dose, total=total, most=repeat.most_in_all)
    return None


def find_wait(interval: Amount | None, last: datetime, now: datetime) -> Finding | None:
    """Find from when the next dose may be given, or that the last has not been yet; None where it may be given now.

    The sums are in UTC, since clocks change. `interval` is None where a senior ordered it before that is over.
    """
    if last.astimezone(UTC) > now.astimezone(UTC):
        return finding(Kind.LAST_DOSE_AHEAD, last=last, now=now)
    if interval is None:
        return None
    due_at = last.astimezone(UTC) + timedelta(minutes=ceil(convert(interval, "min").value))
    if due_at <= now.astimezone(UTC):
        return None
    return finding(Kind.TOO_EARLY, due_at=due_at, last=last, interval=interval, now=now)
