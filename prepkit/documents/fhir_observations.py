"""FHIR Observations: the facts, the readings at the cot and afterwards, and what they come to.

Each weight is an observation of its own, and so is the gestation at birth: those of birth as of the birth, the weight
now as of the day on which it was taken. What nobody knows is an observation with the reason in the place of a value.
The age and today's gestation are in none: nobody observed them, they follow from the birth.

The small parts that every resource is made of (quantity, concept, reference) are here too.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime

from prepkit.documents.exact_json import JsonNumber, JsonValue
from prepkit.documents.record import PreparationRecord
from prepkit.kit.baby import Baby
from prepkit.kit.names import BIRTH_GESTATION, BIRTH_WEIGHT, WEIGHT_NOW
from prepkit.kit.procedure import NumberReading, PersonReading
from prepkit.preparation.bedside.afterwards import find_reading
from prepkit.preparation.bedside.record import AFTERWARDS
from prepkit.preparation.bedside.results import find_reached, find_recovered
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.amount import Amount, make_amount
from prepkit.quantities.text import read_amount, write_decimal
from prepkit.rules.findings import Finding
from prepkit.wording.say import say, say_all

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
        for name, label, mass in _list_masses(reached[1]):
            yield name, _make_observation(label, at, _show_value(mass))
        yield "reached", _make_observation("Dose given per body weight", at, _show_value(reached[0]), say(reached[1]))
    recovered = find_recovered(state, worked)
    if recovered is not None:
        share, words = _show_value(recovered.share), " ".join(say_all(recovered.working))
        yield "share", _make_observation("Share of the dose that was recovered", at, share, words)


def _list_masses(given: Finding) -> Iterator[tuple[str, str, Amount]]:
    """What was due, what the mark held and what was given: three observations, never one for another."""
    labels = {"due": "Dose due", "in_syringe": "Dose in the syringe", "mass": "Dose given"}
    for name, label in labels.items():
        mass = given[name]
        if isinstance(mass, Amount):
            yield f"dose {name}", label, mass


def _list_facts(record: PreparationRecord, worked: WorkedList) -> Iterator[NamedObservation]:
    """The facts that somebody gave; nobody observed what stands at a default."""
    if worked.baby is None:
        return
    baby = worked.baby
    birth = None if baby.is_birth_assumed else baby.born.at or baby.born.day
    as_of = {BIRTH_WEIGHT: birth, BIRTH_GESTATION: birth, WEIGHT_NOW: baby.weighed}
    values = {**_measure(baby), **baby.facts}
    for fact in record.facts:
        if fact.said is None or fact.id not in values:
            continue
        value, at = values[fact.id], as_of.get(fact.id) or datetime.fromisoformat(fact.said.at)
        measured = _show_value(value if isinstance(value, Amount) else fact.value)
        if value is None:
            measured = {"dataAbsentReason": name_concept(fact.value)}
        note = f"{fact.value} weeks+days" if fact.id == BIRTH_GESTATION and value is not None else ""
        yield f"fact {fact.id}", _make_observation(fact.label, at, measured, note)


def _measure(baby: Baby) -> Mapping[str, Amount | None]:
    """What was measured at birth and since; None for what nobody knows or measured."""
    size = baby.size
    now_g = size.weight_now_g if baby.weighed else None
    return {
        BIRTH_WEIGHT: make_amount(size.birth_weight_g, "g") if size.birth_weight_g else None,
        BIRTH_GESTATION: make_amount(size.birth_gestation.days, "d") if size.birth_gestation else None,
        WEIGHT_NOW: make_amount(now_g, "g") if now_g else None,
    }


def _list_readings(state: Preparation, worked: WorkedList) -> Iterator[NamedObservation]:
    procedure, cot = worked.laid.procedure, state.cot_record
    if procedure is None:
        return
    for (of, name), given in cot.readings.items():
        entry, reading = cot.find_entry(of), find_reading(procedure, name)
        counts = of == AFTERWARDS or of in cot.dues or (entry is not None and not entry.struck)
        # Who held the device is no observation of the baby: the procedure's note has it.
        if reading is None or isinstance(reading, PersonReading) or not counts:
            continue
        at = entry.at if entry else given.stamp.at
        value = read_amount(given.value) if isinstance(reading, NumberReading) else given.value
        note = cot.dues[of].name if of in cot.dues else ""
        yield f"reading {of} {name}", _make_observation(reading.label, at, _show_value(value), note)


def _show_value(value: Amount | str) -> dict[str, JsonValue]:
    return {"valueString": value} if isinstance(value, str) else {"valueQuantity": make_quantity(value)}


def _make_observation(
    label: str, at: date, measured: Mapping[str, JsonValue], note: str = ""
) -> Mapping[str, JsonValue]:
    """An observation as of a moment, or as of a day where its time is not known."""
    return {
        "resourceType": "Observation",
        "status": "final",
        "code": name_concept(label),
        "effectiveDateTime": at.isoformat(timespec="seconds") if isinstance(at, datetime) else at.isoformat(),
        **measured,
        **({"note": [{"text": note}]} if note else {}),
    }
