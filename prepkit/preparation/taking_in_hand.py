"""How a state takes in what is in the hand: batch and expiry of what is used for a line.

May import: this layer's events, marks, state and taking, msgspec and the standard library.
"""

from datetime import date

from msgspec.structs import replace

from prepkit.preparation.events import Stamp
from prepkit.preparation.line_events import InHand, PutBack
from prepkit.preparation.marks import Held
from prepkit.preparation.state import Preparation
from prepkit.preparation.taking import take_in, without

IN_HAND = (InHand, PutBack)
"""Every kind that is taken in here."""


@take_in.register
def _take_in_hand(payload: InHand, state: Preparation, stamp: Stamp) -> Preparation:
    line = state.find_line(payload.line)
    if line is None or line.blocked or line.fingerprint != payload.fingerprint:
        return state
    expiry = date.fromisoformat(payload.expiry)
    held = Held(stamp, line.fingerprint, payload.gtin, payload.batch, expiry, payload.serial, payload.scanned)
    return replace(state, in_hand={**state.in_hand, line.id: (*state.in_hand.get(line.id, ()), held)})


@take_in.register
def _put_back(payload: PutBack, state: Preparation, _stamp: Stamp) -> Preparation:
    return replace(state, in_hand=without(state.in_hand, payload.line))
