"""What every command shares: its answer (events or a refusal), and the refusals once a preparation is over."""

from typing import TypeAlias

from prepkit.attribution import Attribution
from prepkit.preparation.events import Payload
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal

Decision: TypeAlias = tuple[Payload, ...] | Refusal
"""The events to append, all or none (empty: nothing had to be recorded); or why the command is refused."""


def refuse_if_over(state: Preparation) -> Refusal | None:
    """Refuse anything after the preparation was stood down or its record closed, saying by whom and when."""
    if state.cot_record.closed is not None:
        stamp = state.cot_record.closed
        return Refusal(f"The record was closed by {stamp.who} at {_say_when(stamp)}: write an addendum.")
    if state.stood_down is None:
        return None
    stamp, reason = state.stood_down.stamp, state.stood_down.reason
    did = f"{stamp.who} stood this preparation down at {_say_when(stamp)}"
    return Refusal(f'{did} ("{reason}"): nothing more can be recorded on it.')


def refuse_if_closed(state: Preparation) -> Refusal | None:
    """Refuse work on the list once the preparation is over, and while the team is at the cot."""
    if (over := refuse_if_over(state)) is not None:
        return over
    if state.cot_record.is_away:
        return Refusal("The team is at the cot: the list stands as it was read aloud. Come back from the cot first.")
    return None


def add_listed(listed: Listed | None) -> tuple[Listed, ...]:
    """Give the event of a list worked out with a command; none where there is no list to go with it."""
    return () if listed is None else (listed,)


def _say_when(stamp: Attribution) -> str:
    return f"{stamp.at:%H:%M} on {stamp.at:%Y-%m-%d}"
