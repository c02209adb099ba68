"""Words for a store that cannot be reached."""

from datetime import datetime


def say_lost(since: datetime) -> str:
    """What stands on every screen meanwhile."""
    return f"No connection to the store since {since:%H:%M}. Read on; ticks are not taken."


def say_asking() -> str:
    """The connection is back, and what was on its way may still arrive."""
    return "The connection is back. Whether the last touch was saved is said in a moment."


def say_settled(at: datetime, *, is_kept: bool) -> str:
    """What became of a touch that was being saved when the connection went."""
    touch = f"What was touched at {at:%H:%M:%S}, when the connection went,"
    return f"{touch} was saved." if is_kept else f"{touch} was not saved: do it again."


def say_unknown(at: datetime) -> str:
    """That nobody can say what became of a touch, because the record cannot be read."""
    return f"Whether what was touched at {at:%H:%M:%S} was saved cannot be told: its record cannot be read."
