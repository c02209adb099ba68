"""The FHIR bundle, held to R4B by fhir.resources: what it offers of R4 (4.3.0, the same for all that is used here)."""

import json
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fhir.resources.R4B.bundle import Bundle
from papers_scene import KIT, WARD, Json, Run, find_all

from prepkit.app.files import WorkstationFiles
from prepkit.app.reports import find_stored_preparations, make_record_export
from prepkit.app.workstation import Workstation
from prepkit.documents.exact_json import JsonNumber, write_exact_json
from prepkit.documents.record import Pack
from prepkit.documents.record_fhir import write_record_fhir
from prepkit.quantities.units import UNITS
from prepkit.store import SqliteStore


@pytest.fixture
def bundle(papers: Path) -> Json:
    return json.loads((papers / "cot-4.fhir.json").read_text("utf-8"))


def find_resources(bundle: Json, kind: str) -> list[Json]:
    return [each["resource"] for each in bundle["entry"] if each["resource"]["resourceType"] == kind]


@pytest.mark.parametrize("cot", ["Cot 4", "Cot 2", "Cot 9"])
def test_a_bundle_is_one_that_a_public_library_takes(run: Run, cot: str) -> None:
    text = run("record", cot, "--format", "fhir").out
    bundle = Bundle.model_validate_json(text)
    assert bundle.type == "collection"
    assert len(bundle.entry) > 5


def test_a_bundle_has_the_resources_that_were_asked_for(bundle: Json) -> None:
    kinds = {each["resource"]["resourceType"] for each in bundle["entry"]}
    assert kinds == {"Patient", "Device", "Procedure", "MedicationAdministration", "Observation", "Provenance"}


def test_a_spoilt_bundle_is_refused(bundle: Json) -> None:
    find_resources(bundle, "Observation")[0]["status"] = 3
    with pytest.raises(ValueError, match="status"):
        Bundle.model_validate(bundle)


def test_no_code_is_guessed_and_every_unit_is_ucum(bundle: Json) -> None:
    assert list(find_all(bundle, "coding")) == []
    codes = {unit.ucum for unit in UNITS.values()}
    quantities = [*find_all(bundle, "valueQuantity"), *find_all(bundle, "dose")]
    assert len(quantities) > 5
    for quantity in quantities:
        assert quantity["system"] == "http://unitsofmeasure.org"
        assert quantity["code"] in codes
    systems = set(find_all(bundle, "system"))
    assert systems == {"http://unitsofmeasure.org", "urn:ietf:rfc:3986"}


def test_what_was_given_is_the_volume_that_was_read_as_a_mass(bundle: Json) -> None:
    (given,) = find_resources(bundle, "MedicationAdministration")
    # By hand: 3.6 mL x 80 mg/mL = 288 mg.
    assert given["dosage"]["dose"] == {"value": 288, "unit": "mg", "system": "http://unitsofmeasure.org", "code": "mg"}
    assert given["dosage"]["text"] == "3.6 mL of Surfactant"
    assert given["medicationCodeableConcept"] == {"text": "Poractant alfa 80 mg/mL, undiluted"}
    assert given["status"] == "completed"


def test_who_held_the_device_is_in_the_procedures_note_and_no_observation_of_the_baby(bundle: Json) -> None:
    (procedure,) = find_resources(bundle, "Procedure")
    notes = [each["text"] for each in procedure["note"]]
    assert any("Holds the device TO" in words for words in notes)
    assert any(": no airway suction unless blocked" in words for words in notes)
    labels = {each["code"]["text"] for each in find_resources(bundle, "Observation")}
    assert "Attempts" in labels
    assert labels.isdisjoint({"Holds the device", "Gives the surfactant"})


def test_due_in_the_syringe_and_given_are_three_observations(bundle: Json) -> None:
    """By hand: 200 mg/kg x 1.45 kg = 290 mg; 3.6 mL x 80 mg/mL = 288 mg; 288 mg / 1.45 kg = 198.6 mg/kg."""
    doses = {
        each["code"]["text"]: (round(each["valueQuantity"]["value"], 1), each["valueQuantity"]["code"])
        for each in find_resources(bundle, "Observation")
        if each["code"]["text"].startswith("Dose ")
    }
    assert doses == {
        "Dose due": (290, "mg"),
        "Dose in the syringe": (288, "mg"),
        "Dose given": (288, "mg"),
        "Dose given per body weight": (198.6, "mg/kg"),
    }


def test_every_reference_leads_to_an_entry(bundle: Json) -> None:
    names = [each["fullUrl"] for each in bundle["entry"]]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"urn:uuid:[0-9a-f-]{36}", name) for name in names)
    assert set(find_all(bundle, "reference")) <= set(names)


def test_the_same_record_gives_the_same_names(run: Run, bundle: Json) -> None:
    again = json.loads(run("record", "Cot 4", "--format", "fhir").out)
    assert [each["fullUrl"] for each in again["entry"]] == [each["fullUrl"] for each in bundle["entry"]]
    assert again["entry"] == bundle["entry"]


def test_the_patient_is_known_by_the_cot_label_alone(bundle: Json) -> None:
    (patient,) = find_resources(bundle, "Patient")
    assert patient["identifier"] == [{"type": {"text": "cot label"}, "value": "Cot 4"}]
    assert patient["name"] == [{"text": "Cot 4: identity not known to this record"}]
    assert patient["gender"] == "female"


def measure(observation: Json) -> tuple[str, Json, str]:
    quantity = observation["valueQuantity"]
    return observation["effectiveDateTime"], quantity["value"], quantity["code"]


def test_each_weight_and_the_gestation_at_birth_are_observations_of_their_own_day(run: Run) -> None:
    bundle = json.loads(run("record", "Cot 2", "--format", "fhir").out)
    seen = {each["code"]["text"]: each for each in find_resources(bundle, "Observation")}
    assert measure(seen["Birth weight"]) == ("2026-11-23", 2140, "g")
    assert measure(seen["Weight now"]) == ("2026-11-25", 2080, "g")
    # 33 weeks and 4 days are 235 days.
    assert measure(seen["Gestation at birth"]) == ("2026-11-23", 235, "d")
    assert not {"Born", "Weight", "Gestation", "Gestation today", "Age"} & set(seen), "what follows is no observation"
    (patient,) = find_resources(bundle, "Patient")
    assert patient["birthDate"] == "2026-11-23"


def test_what_nobody_knows_is_an_observation_with_the_reason_and_a_time_of_birth_is_kept(
    run: Run, store: SqliteStore
) -> None:
    night = datetime(2026, 11, 27, 3, 0, tzinfo=UTC)
    opened = Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=lambda: night).start(KIT, "Cot 31")
    assert not isinstance(opened, str)
    given = {
        "birth_weight": "not known",
        "weight_now": "1310",
        "birth_gestation": "not known",
        "born": "2026-11-26 21:40",
    }
    assert [opened.baby.give_fact(fact, typed) for fact, typed in given.items()] == [""] * 4
    text = run("record", "Cot 31", "--format", "fhir").out
    Bundle.model_validate_json(text)
    bundle = json.loads(text)
    seen = {each["code"]["text"]: each for each in find_resources(bundle, "Observation")}
    for label in ("Birth weight", "Gestation at birth"):
        assert seen[label]["dataAbsentReason"] == {"text": "not known"}
        assert not [key for key in seen[label] if key.startswith("value")]
        assert seen[label]["effectiveDateTime"] == "2026-11-26T21:40:00+00:00"
    assert measure(seen["Weight now"]) == ("2026-11-27", 1310, "g")
    (patient,) = find_resources(bundle, "Patient")
    assert patient["birthDate"] == "2026-11-26"
    assert patient["_birthDate"]["extension"][0]["valueDateTime"] == "2026-11-26T21:40:00+00:00"


def test_a_weight_that_was_not_taken_is_none_and_a_birth_that_nobody_gave_dates_nothing(
    run: Run, store: SqliteStore
) -> None:
    night = datetime(2026, 11, 27, 3, 0, tzinfo=UTC)
    opened = Workstation(store, WorkstationFiles(WARD, None), who="RA", clock=lambda: night).start(KIT, "Cot 32")
    assert not isinstance(opened, str)
    given = {"birth_weight": "1450", "birth_gestation": "30+2", "weight_now": "not weighed since"}
    assert [opened.baby.give_fact(fact, typed) for fact, typed in given.items()] == [""] * 3
    bundle = json.loads(run("record", "Cot 32", "--format", "fhir").out)
    seen = {each["code"]["text"]: each for each in find_resources(bundle, "Observation")}
    assert seen["Weight now"]["dataAbsentReason"] == {"text": "not weighed since"}
    assert "valueQuantity" not in seen["Weight now"]
    assert measure(seen["Birth weight"]) == ("2026-11-27T03:00:00+00:00", 1450, "g")
    (patient,) = find_resources(bundle, "Patient")
    assert not {"birthDate", "_birthDate"} & set(patient)


def test_a_stood_down_preparation_was_not_done_and_practice_is_tagged_everywhere(run: Run) -> None:
    bundle = json.loads(run("record", "Cot 9", "--format", "fhir").out)
    (procedure,) = find_resources(bundle, "Procedure")
    assert (procedure["status"], procedure["statusReason"]) == ("not-done", {"text": "end of the practice"})
    tag = {"tag": [{"display": "PRACTICE: not a real baby"}]}
    assert bundle["meta"] == tag
    assert all(each["resource"]["meta"] == tag for each in bundle["entry"])


def test_batch_and_expiry_go_with_the_medicine_and_the_device(
    store: SqliteStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    (kept,) = find_stored_preparations(store, "Cot 4")
    now = kept.state.last.at
    packs = {
        "surfactant": (Pack("09506000134352", "B7", "2027-03-31", "", scanned=True),),
        "airway-device": (Pack("", "D1", "2028-01-31", "S9", scanned=False),),
    }
    monkeypatch.setattr("prepkit.documents.make_record.find_packs", lambda _state: packs)
    made = make_record_export(kept, now)
    assert not isinstance(made, str)
    text = write_record_fhir(made.record, kept.state, made.worked, now)
    Bundle.model_validate_json(text)
    bundle = json.loads(text)
    (device,) = find_resources(bundle, "Device")
    assert (device["lotNumber"], device["expirationDate"], device["serialNumber"]) == ("D1", "2028-01-31", "S9")
    (given,) = find_resources(bundle, "MedicationAdministration")
    assert given["contained"][0]["batch"] == {"lotNumber": "B7", "expirationDate": "2027-03-31"}


def test_a_number_is_written_digit_by_digit() -> None:
    assert write_exact_json({"a": [JsonNumber("0.1"), 2, True, None, "x\u00b5"], "b": {}}) == (
        '{\n  "a": [\n    0.1,\n    2,\n    true,\n    null,\n    "xµ"\n  ],\n  "b": {}\n}\n'
    )
    for digits in ("", "1e3", "NaN", "1,5", ".5"):
        with pytest.raises(ValueError, match="not a JSON number"):
            JsonNumber(digits)
