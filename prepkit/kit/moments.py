"""Days and moments as people type them: read on the clock of who typed, and never ahead of it."""

import re
from datetime import UTC, date, datetime, timedelta, timezone

from prepkit.kit.problems import Problem, quote

TODAY = "today"

_LONGEST_AGO = timedelta(days=60)
"""Nothing that a kit asks of a newborn is older than this; an older moment is a slip of the day or the year."""

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CLOCK_TIME = re.compile(r"[0-9]{2}:[0-9]{2}")
_DAY_AND_TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T][0-9]{2}:[0-9]{2}(?:[+-][0-9]{2}:[0-9]{2})?")


def read_day(label: str, typed: str, now: datetime) -> date | Problem:
    """A day that is not ahead and not too long ago; "today" and "yesterday" are days too."""
    today = now.date()
    named = {TODAY: today, "yesterday": today - timedelta(days=1)}
    try:
        day = named[typed] if typed in named else _make_day(typed)
    except ValueError:
        return Problem("", 0, label, f"{quote(typed)} is not a day", 'write "today", or the day ("2026-11-25")')
    if day > today:
        return Problem("", 0, label, f"{day} has not been yet by this clock ({today})", "look at the day and the year")
    if today - day > _LONGEST_AGO:
        wrong = f"{day} is more than {_LONGEST_AGO.days} days ago"
        return Problem("", 0, label, wrong, "look at the day and the year")
    return day


def _make_day(typed: str) -> date:
    if not _DAY.fullmatch(typed):
        raise ValueError(typed)
    return date.fromisoformat(typed)


def read_moment(label: str, typed: str, now: datetime) -> datetime | Problem:
    """The moment that a clock time of today, or a day and a time, names; a problem where it is none, or not past."""
    shape = 'a clock time ("02:10"), or a day and a time ("2026-11-25 02:10")'
    try:
        written = _make_moment(typed, now)
        moment = written if written.tzinfo else _place(label, written, now)
    except (ValueError, OverflowError):
        return Problem("", 0, label, f"{quote(typed)} is not a time", f"write {shape}")
    if isinstance(moment, Problem):
        return moment
    if moment > now.astimezone(UTC):
        # Never taken for yesterday's: a clock that is two minutes slow would turn "just now" into a day ago.
        wrong = f"{moment:%d %b %H:%M} has not been yet by this clock ({now:%H:%M})"
        return Problem("", 0, label, wrong, "for another day, write the day and the time")
    if now.astimezone(UTC) - moment > _LONGEST_AGO:
        wrong = f"{moment:%d %b %Y %H:%M} is more than {_LONGEST_AGO.days} days ago"
        return Problem("", 0, label, wrong, "look at the day and the year")
    return moment


def _make_moment(typed: str, now: datetime) -> datetime:
    """The moment as written: without a zone where no offset was written."""
    if _DAY_AND_TIME.fullmatch(typed):
        moment = datetime.fromisoformat(typed)
        if abs(moment.year - now.year) > 1:
            raise ValueError(typed)
        return moment
    if not _CLOCK_TIME.fullmatch(typed):
        raise ValueError(typed)
    clock = datetime.strptime(typed, "%H:%M")  # noqa: DTZ007  (a clock time of the day that `now` gives)
    return now.replace(hour=clock.hour, minute=clock.minute, second=0, microsecond=0, tzinfo=None, fold=0)


def _place(label: str, wall: datetime, now: datetime) -> datetime | Problem:
    """The moment at which a clock on the wall showed this time; a problem where it did so twice, or never."""
    first, second = (_fix(wall.replace(tzinfo=now.tzinfo, fold=fold)) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first
    # Where the clocks go forward, the offset before the change gives the later moment.
    early, late = sorted((first, second))
    here = [_fix(moment.astimezone(now.tzinfo)) for moment in (early, late)]
    happened = "was twice, as the clocks went back" if first < second else "was never, as the clocks went forward"
    choices = " or ".join(f'"{moment:%Y-%m-%d %H:%M}{moment.isoformat()[-6:]}"' for moment in here)
    return Problem("", 0, label, f"{wall:%d %b %H:%M} {happened}", f"write which was meant: {choices}")


def _fix(moment: datetime) -> datetime:
    """The same moment with its offset alone."""
    return moment.replace(tzinfo=timezone(moment.utcoffset() or timedelta(0)), fold=0)
