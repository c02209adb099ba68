"""How the events of a handover change the state."""

from msgspec.structs import replace

from prepkit.attribution import Attribution
from prepkit.preparation.handover.events import HandedOver, Handover, TakenOver
from prepkit.preparation.state import Preparation, apply


@apply.register
def _hand_over(payload: HandedOver, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, handover=Handover(payload.note, stamp))


@apply.register
def _take_over(_payload: TakenOver, state: Preparation, stamp: Attribution) -> Preparation:
    return replace(state, handover=None, taken_over_by=stamp.who)
