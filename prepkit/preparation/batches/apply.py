"""How batch and expiry of what is in hand for a line change the state."""

from datetime import date

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.lines.events import InHand, PutBack
from prepkit.preparation.lines.marks import BatchInHand
from prepkit.preparation.state import Preparation, apply, without

BATCH_EVENTS = (InHand, PutBack)
"""Every kind that is taken in here."""


@apply.register
def _take_in_hand(payload: InHand, state: Preparation, stamp: Attribution) -> Preparation:
    line = state.find_line(payload.line)
    if line is None or line.blocked or line.fingerprint != payload.fingerprint:
        return state
    expiry = date.fromisoformat(payload.expiry)
    held = BatchInHand(stamp, line.fingerprint, payload.gtin, payload.batch, expiry, payload.serial, payload.scanned)
    return replace(state, in_hand={**state.in_hand, line.id: (*state.in_hand.get(line.id, ()), held)})


@apply.register
def _put_back(payload: PutBack, state: Preparation, _stamp: Attribution) -> Preparation:
    return replace(state, in_hand=without(state.in_hand, payload.line))
