"""How the events of batches in hand change the state, and what a new list does to them."""

from datetime import date

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.batches.events import BatchInHand, InHand, PutBack
from prepkit.preparation.lines.marks import is_kept
from prepkit.preparation.state import Preparation, apply, without


def void_batches(state: Preparation) -> Preparation:
    """Drop what is in hand for lines that changed; as with ticks, it has to be given again."""
    kept = {
        line: tuple(each for each in held if is_kept(each.fingerprint, state.find_line(line)))
        for line, held in state.in_hand.items()
    }
    return replace(state, in_hand={line: held for line, held in kept.items() if held})


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
