"""The record as an HL7 FHIR R4 Bundle: Patient, Procedure, MedicationAdministration, Device, Observation, Provenance.

Nothing is coded that the record does not know a code for: concepts are texts; the only code system is UCUM, for units
of measure. The baby is known by the cot label alone, so whoever imports the bundle has to say whose it is. Ids follow
from the preparation's id: the same record gives the same bundle.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from uuid import NAMESPACE_OID, uuid5

from prepkit.documents.exact_json import JsonValue, write_exact_json
from prepkit.documents.fhir_observations import list_observations, make_quantity, name_concept, point_to
from prepkit.documents.record import Pack, PreparationRecord, RecordLine
from prepkit.kit.names import BORN
from prepkit.list.lines import ListLine
from prepkit.preparation.bedside.afterwards import find_volume
from prepkit.preparation.bedside.record import TimelineEntry
from prepkit.preparation.listing import WorkedList
from prepkit.preparation.state import Preparation
from prepkit.quantities.amount import Amount, multiply
from prepkit.quantities.text import show_amount
from prepkit.wording.things import say_dilution

Resource = Mapping[str, JsonValue]

_BIRTH_TIME = "http://hl7.org/fhir/StructureDefinition/patient-birthTime"


def write_record_fhir(record: PreparationRecord, state: Preparation, worked: WorkedList, now: datetime) -> str:
    """The record as a Bundle of type collection, in JSON.

    Args:
        record: its finished words.
        state: the preparation.
        worked: its list, worked out as it was last stored.
        now: the bundle's own timestamp.
    """
    entries = tuple(_list_entries(record, state, worked))
    bundle: Resource = {
        "resourceType": "Bundle",
        **_tag(record),
        "identifier": {"system": "urn:ietf:rfc:3986", "value": _name(record, "bundle")},
        "type": "collection",
        "timestamp": now.isoformat(timespec="seconds"),
        "entry": [
            {"fullUrl": _name(record, name), "resource": {**resource, **_tag(record)}} for name, resource in entries
        ],
    }  # fmt: skip
    return write_exact_json(bundle)


def _name(record: PreparationRecord, part: str) -> str:
    return f"urn:uuid:{uuid5(uuid5(NAMESPACE_OID, record.prep), part)}"


def _tag(record: PreparationRecord) -> Resource:
    return {"meta": {"tag": [{"display": record.practice}]}} if record.practice else {}


def _list_entries(record: PreparationRecord, state: Preparation, worked: WorkedList) -> Iterator[tuple[str, Resource]]:
    patient, procedure = _name(record, "patient"), _name(record, "procedure")
    yield "patient", _make_patient(record, state)
    devices = [(f"device {line.id}", _make_device(line, patient)) for line in _list_devices(record, worked)]
    yield from devices
    yield "procedure", _make_procedure(record, state, patient, [_name(record, name) for name, _ in devices])
    given = _make_given(record, state, worked, patient, procedure)
    if given is not None:
        yield "given", given
    for name, seen in list_observations(record, state, worked):
        yield f"observation {name}", {**seen, "subject": point_to(patient), "partOf": [point_to(procedure)]}
    yield from _list_provenances(record, procedure)


def _make_patient(record: PreparationRecord, state: Preparation) -> Resource:
    gender = {"boy": "male", "girl": "female"}.get(state.facts.get("sex", ""), "unknown")
    return {
        "resourceType": "Patient",
        "identifier": [{"type": name_concept("cot label"), "value": record.cot}],
        "name": [{"text": f"{record.cot}: identity not known to this record"}],
        "gender": gender,
        **_say_birth(state.facts.get(BORN, "")),
    }


def _say_birth(born: str) -> Resource:
    """The day of birth, and its time in HL7's own extension where it is known; nothing where neither was given."""
    if not born:
        return {}
    day, has_time, _ = born.partition("T")
    time = {"url": _BIRTH_TIME, "valueDateTime": _moment(datetime.fromisoformat(born))}
    return {"birthDate": day, **({"_birthDate": {"extension": [time]}} if has_time else {})}


def _list_devices(record: PreparationRecord, worked: WorkedList) -> list[RecordLine]:
    """The devices that were ticked: things that come in sizes and that a second person has to check."""
    if worked.tray is None:
        return []
    sized = {line.id for line in worked.tray.lines if line.kind == "size" and line.declared.check}
    return [line for line in record.lines if line.id in sized and line.mark == "ticked"]


def _make_device(line: RecordLine, patient: str) -> Resource:
    pack = line.packs[0] if line.packs else None
    name = f"{line.name}, {line.show}" if line.show else line.name
    return {
        "resourceType": "Device",
        **(_identify(pack) if pack else {}),
        "deviceName": [{"name": name, "type": "user-friendly-name"}],
        "type": name_concept(name),
        "patient": point_to(patient),
        "note": [{"text": words} for words in (*line.details, line.source)],
    }


def _identify(pack: Pack) -> Resource:
    udi: Resource = {"udiCarrier": [{"deviceIdentifier": pack.gtin}]} if pack.gtin else {}
    serial: Resource = {"serialNumber": pack.serial} if pack.serial else {}
    return {**udi, "expirationDate": pack.expiry, "lotNumber": pack.batch, **serial}


def _make_procedure(record: PreparationRecord, state: Preparation, patient: str, devices: list[str]) -> Resource:
    entries = [each for each in state.cot_record.unstruck_entries if not each.left_out]
    status, why = _find_status(record, state)
    notes = (
        *((record.practice,) if record.practice else ()),
        *record.results,
        *(f"{each.name}: {each.words}" for each in record.follow_ups),
        *(_say_row(row.said.clock, row.words, row.notes) for row in record.timeline if not row.is_struck),
        *record.addenda,
    )
    complications = [name_concept(each) for each in state.cot_record.complications or ()]
    return {
        "resourceType": "Procedure",
        "identifier": [{"type": name_concept("preparation"), "value": record.prep}],
        "status": status,
        **({"statusReason": name_concept(why)} if why else {}),
        "code": name_concept(record.kit),
        "subject": point_to(patient),
        **({"performedPeriod": _span(entries)} if entries else {}),
        **({"outcome": name_concept(record.outcome)} if record.outcome else {}),
        **({"complication": complications} if complications else {}),
        **({"usedReference": [point_to(each) for each in devices]} if devices else {}),
        "note": [{"text": words} for words in notes if words],
    }


def _find_status(record: PreparationRecord, state: Preparation) -> tuple[str, str]:
    if state.stood_down is not None:
        return "not-done", state.stood_down.reason
    if record.is_closed:
        return "completed", ""
    return ("in-progress" if state.cot_record.entries else "preparation"), ""


def _say_row(clock: str, words: str, notes: tuple[str, ...]) -> str:
    return " · ".join((f"{clock} {words}", *notes))


def _span(entries: list[TimelineEntry]) -> Resource:
    return {"start": _moment(entries[0].at), "end": _moment(entries[-1].at)}


def _moment(at: datetime) -> str:
    return at.isoformat(timespec="seconds")


def _make_given(
    record: PreparationRecord, state: Preparation, worked: WorkedList, patient: str, procedure: str
) -> Resource | None:
    """What was really given, as the record's own reading has it; None while that is not known."""
    after = worked.laid.procedure.afterwards if worked.laid.procedure else None
    given = find_volume(state, after.given) if after else None
    line = next((line for line in worked.tray.lines if after and line.id == after.line), None) if worked.tray else None
    if after is None or given is None or line is None or line.outcome.recipe is None:
        return None
    paper = next((each for each in record.lines if each.id == line.id), None)
    packs = paper.packs if paper else ()
    return {
        "resourceType": "MedicationAdministration",
        **_name_medicine(line, packs),
        "partOf": [point_to(procedure)],
        "status": "completed" if given.value else "not-done",
        "subject": point_to(patient),
        "effectiveDateTime": _moment(_find_given_at(state, after.given)),
        "dosage": _make_dosage(line, given, line.outcome.recipe.strength),
        "note": [{"text": words} for words in (*record.results, *(pack.words() for pack in packs)) if words],
    }


def _name_medicine(line: ListLine, packs: tuple[Pack, ...]) -> Resource:
    name = say_dilution(line.outcome.recipe) if line.outcome.recipe else line.name
    if not packs:
        return {"medicationCodeableConcept": name_concept(name)}
    batch: Resource = {"lotNumber": packs[0].batch, "expirationDate": packs[0].expiry}
    medicine: Resource = {"resourceType": "Medication", "id": "medicine", "code": name_concept(name), "batch": batch}
    return {"contained": [medicine], "medicationReference": {"reference": "#medicine"}}


def _make_dosage(line: ListLine, given: Amount, strength: Amount) -> Resource:
    mass = multiply(given, strength, "mg")
    return {
        "text": f"{show_amount(given)} of {line.name}",
        **({"route": name_concept(f"{line.declared.route}, through the device")} if line.declared.route else {}),
        "dose": make_quantity(mass),
    }


def _find_given_at(state: Preparation, reading: str) -> datetime:
    """When the entry was made that the volume belongs to; else when the volume was read."""
    found = [(of, given) for (of, name), given in state.cot_record.readings.items() if name == reading]
    of, given = max(found, key=lambda each: each[1].stamp.at)
    entry = state.cot_record.find_entry(of)
    return entry.at if entry else given.stamp.at


def _list_provenances(record: PreparationRecord, procedure: str) -> Iterator[tuple[str, Resource]]:
    """Who did what, one for each milestone of the preparation."""
    for number, row in enumerate(record.timeline):
        if not row.is_milestone or row.is_struck:
            continue
        yield (
            f"provenance {number}",
            {
                "resourceType": "Provenance",
                "target": [point_to(procedure)],
                "occurredDateTime": row.said.at,
                "recorded": row.said.at,
                "activity": name_concept(row.words),
                "agent": [{"who": {"display": row.said.who}}],
                "entity": [
                    {"role": "source", "what": {"display": f"{each.name}, sha256 {each.sha256}"}}
                    for each in record.prints
                ],
            },
        )
