"""Invented preparations for the tests of this layer.

The amounts are texts that are compared and shown, never figures: nothing here is a dose.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from prepkit.attribution import Attribution
from prepkit.preparation.codec import encode_payload, read_payload
from prepkit.preparation.decision import Decision
from prepkit.preparation.events import Event, Payload, Started
from prepkit.preparation.evolve import evolve, fold
from prepkit.preparation.lines.events import LineSnapshot, Listed, Ordered, WhyWithheld
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal

START = datetime(2025, 3, 4, 3, 0, tzinfo=UTC)

STARTED = Started(
    cot="Cot 3",
    kit="surfactant",
    kit_edition="1",
    kit_name="Surfactant",
    kit_text='[kit]\nid = "surfactant"\n',
    ward_text=None,
    ward_name=None,
    practice=False,
)


def line(
    id_: str, show: str = "", *, blocked: str = "", essential: bool = False, group: str = "g", asks: str = ""
) -> LineSnapshot:
    fingerprint = f"{id_}|{show}|{blocked}|{essential}"
    return LineSnapshot(id_, group, id_.capitalize(), show, fingerprint, blocked, essential, asks)


SURFACTANT = line("surfactant", "3.6 mL", essential=True, group="medicines")
MORE_SURFACTANT = line("surfactant", "3.8 mL", essential=True, group="medicines")
DEVICE = line("device", "size 1", group="airway")
BLOCKED_DEVICE = line("device", "", blocked="no size is approved for this weight", group="airway")
WAITING_DEVICE = line("device", "", blocked="the weight now is not known", group="airway", asks="weight_now")
TUBE = line("tube", group="airway")


def listed(*lines: LineSnapshot) -> Listed:
    return Listed("facts", lines, "", "")


def withheld(words: str = "The weight is not known.", why: WhyWithheld = "facts") -> Listed:
    return Listed("facts", (), words, why)


LIST = listed(SURFACTANT, DEVICE, TUBE)


class Record:
    """Events as they would be stored, one minute apart, and the state they give."""

    def __init__(self, first: Payload = STARTED) -> None:
        self.events: list[Event] = []
        self.state: Preparation = self._append(first, "AB", None)

    def add(self, payloads: Decision | Payload, who: str = "AB") -> Preparation:
        assert not isinstance(payloads, Refusal), payloads.reason
        for payload in payloads if isinstance(payloads, tuple) else (payloads,):
            self.state = self._append(payload, who, self.state)
        return self.state

    def _append(self, payload: Payload, who: str, state: Preparation | None) -> Preparation:
        seq = len(self.events) + 1
        event = Event(seq, Attribution(who, START + timedelta(minutes=seq), "desk 1"), payload)
        self.events.append(event)
        return evolve(state, event)


def record_with(*payloads: Payload) -> Record:
    record = Record()
    record.add(tuple(payloads))
    return record


def refused(decision: Decision) -> str:
    assert isinstance(decision, Refusal), decision
    return decision.reason


def replay(events: Sequence[Event]) -> Preparation:
    return fold([Event(each.seq, each.stamp, read_payload(each.seq, *encode_payload(each.payload))) for each in events])


def order_of(line: str, product: str, whole: str, prescriber: str) -> Ordered:
    """An order of whole containers, or of the measured dose where there are none."""
    return Ordered(
        line,
        product,
        "whole" if whole else "measured",
        whole,
        "",
        is_rest=False,
        after="none",
        past_interval="",
        prescriber=prescriber,
    )
