"""Days as choices: today and those before it, each one touch."""

from datetime import date, timedelta

MOST_DAYS = 7
"""As many as are offered; an older one is typed."""


def list_days(today: date, since: date | None = None) -> tuple[tuple[str, str], ...]:
    """Today first, then the days before it, none before `since`: (canonical text, words)."""
    days = (today - timedelta(days=ago) for ago in range(MOST_DAYS))
    return tuple((day.isoformat(), say_day(day, today)) for day in days if since is None or day >= since)


def say_day(day: date, today: date) -> str:
    """A day as it is said: "today, Sun 29 Nov", "yesterday, Sat 28 Nov", "Fri 27 Nov"."""
    near = {0: "today, ", 1: "yesterday, "}.get((today - day).days, "")
    return f"{near}{day:%a %d %b}"
