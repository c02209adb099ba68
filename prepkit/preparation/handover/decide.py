"""Commands of a handover: leave the preparation to the next person, take it over."""

from prepkit.preparation.decision import Decision, refuse_if_closed
from prepkit.preparation.handover.events import HandedOver, TakenOver
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import LEAST_IN_A_REASON, Refusal, check_text


def decide_hand_over(state: Preparation, note: str) -> Decision:
    """Leave the preparation to the next person, with one line for them."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    text = check_text(note, "note", least=LEAST_IN_A_REASON)
    return text if isinstance(text, Refusal) else (HandedOver(text),)


def decide_take_over(state: Preparation, fingerprint: str, seen: str) -> Decision:
    """Take the preparation over, or back; `fingerprint` and `seen` are of the list now and of the list as shown."""
    if (closed := refuse_if_closed(state)) is not None:
        return closed
    if state.handover is None:
        return Refusal("It was not handed over, or somebody has taken it already: look again.")
    if fingerprint != seen:
        return Refusal("It changed while you read: look again, then take it.")
    return (TakenOver(fingerprint),)
