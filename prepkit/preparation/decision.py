"""What every command shares: how it answers, and that nothing follows the end of a preparation.

May import: this layer's events, state and text, and the standard library.
"""

from typing import TypeAlias

from prepkit.preparation.events import Payload
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal

Decision: TypeAlias = tuple[Payload, ...] | Refusal
"""The events to append, all or none (empty: nothing had to be recorded); or why the command is refused."""


def find_closed(state: Preparation) -> Refusal | None:
    """Find why nothing more may be recorded: who stood the preparation down, when and why. None while it goes on."""
    if state.stood_down is None:
        return None
    stamp, reason = state.stood_down.stamp, state.stood_down.reason
    when = f"{stamp.at:%H:%M} on {stamp.at:%Y-%m-%d}"
    return Refusal(
        f'{stamp.who} stood this preparation down at {when} ("{reason}"): nothing more can be recorded on it.'
    )
