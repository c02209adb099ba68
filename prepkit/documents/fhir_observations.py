"""FHIR Observations: the facts, the readings at the cot and afterwards, and what they come to.

The small parts that every resource is made of (quantity, concept, reference) are here too.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime

from prepkit.documents.exact_json import JsonNumber, JsonValue
from prepkit.documents.record import PreparationRecord
from prepkit.kit.procedure import NumberReading
from prepkit.preparation.bedside.afterwards import find_aspirate, find_reached, find_reading
from prepkit.preparation.bedside.record import AFTERWARDS
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.gestation import Gestation
from prepkit.quantities.text import read_amount, write_decimal
from prepkit.wording.say import say

UCUM = "http://unitsofmeasure.org"


def make_quantity(amount: Amount) -> dict[str, JsonValue]:
    """An amount with the unit that a person reads and its UCUM code."""
    return {
        "value": JsonNumber(write_decimal(amount.value)),
        "unit": amount.unit.text,
        "system": UCUM,
        "code": amount.unit.ucum,
    }


def name_concept(text: str) -> dict[str, JsonValue]:
    """A concept in words: no code is guessed."""
    return {"text": text}


def point_to(name: str) -> dict[str, JsonValue]:
    """A reference to another entry of the bundle."""
    return {"reference": name}


NamedObservation = tuple[str, Mapping[str, JsonValue]]


def list_observations(record: PreparationRecord, state: Preparation, worked: WorkedList) -> Iterator[NamedObservation]:
    """Every observation with a name of its own; the caller adds whose it is and what it is part of."""
    yield from _list_facts(record, worked)
    yield from _list_readings(state, worked)
    at = state.last.at
    reached = find_reached(state, worked)
    if reached is not None:
        yield "reached", _make_observation("Dose given per body weight", at, reached[0], say(reached[1]))
    aspirate = find_aspirate(state, worked.kit.model)
    if aspirate is not None:
        yield (
            "share",
            _make_observation("Share of the dose that was aspirated", at, aspirate.share, say(aspirate.working)),
        )


def _list_facts(record: PreparationRecord, worked: WorkedList) -> Iterator[NamedObservation]:
    """The facts that somebody gave; nobody observed what stands at a default."""
    if worked.baby is None:
        return
    values = {"weight": worked.baby.weight, "gestation": worked.baby.gestation, "sex": None, **worked.baby.facts}
    for fact in record.facts:
        value = values.get(fact.id)
        if fact.said is None or value is None:
            continue
        at = datetime.fromisoformat(fact.said.at)
        if isinstance(value, Gestation):
            yield (
                f"fact {fact.id}",
                _make_observation(fact.label, at, make_amount(value.days, "d"), f"{value} weeks+days"),
            )
        elif isinstance(value, Amount):
            yield f"fact {fact.id}", _make_observation(fact.label, at, value)
        else:
            yield f"fact {fact.id}", _make_observation(fact.label, at, fact.value)


def _list_readings(state: Preparation, worked: WorkedList) -> Iterator[NamedObservation]:
    procedure, cot = worked.kit.model.procedure, state.cot_record
    if procedure is None:
        return
    for (of, name), given in cot.readings.items():
        entry, reading = cot.find_entry(of), find_reading(procedure, name)
        counts = of == AFTERWARDS or of in cot.dues or (entry is not None and not entry.struck)
        if reading is None or not counts:
            continue
        at = entry.at if entry else given.stamp.at
        value = read_amount(given.value) if isinstance(reading, NumberReading) else given.value
        note = cot.dues[of].name if of in cot.dues else ""
        yield f"reading {of} {name}", _make_observation(reading.label, at, value, note)


def _make_observation(label: str, at: datetime, value: Amount | str, note: str = "") -> Mapping[str, JsonValue]:
    measured: Mapping[str, JsonValue] = (
        {"valueString": value} if isinstance(value, str) else {"valueQuantity": make_quantity(value)}
    )
    return {
        "resourceType": "Observation",
        "status": "final",
        "code": name_concept(label),
        "effectiveDateTime": at.isoformat(timespec="seconds"),
        **measured,
        **({"note": [{"text": note}]} if note else {}),
    }
