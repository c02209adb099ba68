"""The JSON Schemas: as committed they are what the code writes, and what prepkit reads and writes is held to them."""

import json
import runpy
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

import pytest
import tomli
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]

from prepkit.app.kit_files import load_kit, load_ward
from prepkit.documents.list_json import write_list_json
from prepkit.documents.schemas import write_kit_schema, write_list_schema, write_ward_schema
from prepkit.kit.baby import make_baby
from prepkit.list.compute import compute_list
from prepkit.list.lines import TrayList
from prepkit.paths import find_shipped
from prepkit.quantities.units import UNITS

Json: TypeAlias = Any
DOCS = find_shipped("kits").parent / "docs"
KIT_PATH = find_shipped("kits") / "surfactant-supraglottic.toml"
WARD_PATH = find_shipped("demo") / "ward.toml"
NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
SCHEMAS = runpy.run_path(str(DOCS / "make_schemas.py"))["SCHEMAS"]


Read = TypeVar("Read")


def take(read: tuple[Read | None, object]) -> Read:
    assert read[0] is not None, read[1]
    return read[0]


KIT = take(load_kit(KIT_PATH))
FRAGMENTS = sorted((KIT_PATH.parent / "fragments").glob("*.toml"))
WARD = take(load_ward(WARD_PATH))


@pytest.mark.parametrize("name", ["kit.schema.json", "list.schema.json", "record.schema.json", "ward.schema.json"])
def test_a_committed_schema_is_what_the_code_writes(name: str) -> None:
    assert (DOCS / name).read_text("utf-8") == SCHEMAS[name](), "run docs/make_schemas.py"


@pytest.mark.parametrize("write", [write_kit_schema, write_list_schema, write_ward_schema])
def test_a_schema_is_a_schema(write: Callable[[], str]) -> None:
    Draft202012Validator.check_schema(json.loads(write()))


def list_errors(schema: str, value: Json) -> list[str]:
    found = Draft202012Validator(json.loads(schema)).iter_errors(value)
    return [f"{'/'.join(map(str, error.absolute_path))}: {error.message[:200]}" for error in found]


def read_toml(path: Path) -> Json:
    """As an editor's checker sees it: dates are texts."""
    return json.loads(json.dumps(tomli.loads(path.read_text("utf-8")), default=date.isoformat))


def test_the_shipped_kit_is_held_to_the_schema_of_kits() -> None:
    assert list_errors(write_kit_schema(), read_toml(KIT_PATH)) == []


@pytest.mark.parametrize("path", FRAGMENTS, ids=lambda path: path.stem)
def test_a_shipped_fragment_is_held_to_the_schema_of_kits(path: Path) -> None:
    assert list_errors(write_kit_schema(), read_toml(path)) == []


def test_what_is_stored_of_a_kit_is_held_to_the_schema_of_kits() -> None:
    assert list_errors(write_kit_schema(), json.loads(json.dumps(tomli.loads(KIT.text), default=date.isoformat))) == []


def test_the_demo_ward_is_held_to_the_schema_of_ward_files() -> None:
    assert list_errors(write_ward_schema(), read_toml(WARD_PATH)) == []


@pytest.mark.parametrize("path", [KIT_PATH, WARD_PATH, *FRAGMENTS], ids=lambda path: path.name)
def test_a_shipped_file_names_its_schema_for_editors(path: Path) -> None:
    line = path.read_text("utf-8").partition("\n")[0]
    assert line.startswith("#:schema ")
    assert (path.parent / line.removeprefix("#:schema ")).resolve().is_file()


def test_the_schema_of_kits_explains_what_a_key_is_for() -> None:
    properties = json.loads(write_kit_schema())["$defs"]["DoseLine"]["properties"]
    assert "the most in one dose" in properties["most"]["description"]


# What a schema can see; each has to be refused by it, as the reader refuses it.
SEEN = {
    "an unknown key": lambda kit: kit["line"][1].update(colour="red"),
    "a key missing": lambda kit: kit["line"][1].pop("basis"),
    "a row that places one and says more": lambda kit: kit["line"][0].update(name="Clean drape"),
    "a row that places one by no id": lambda kit: kit["line"][0].pop("id"),
    "an unknown key of a fragment": lambda kit: kit.update(fragment={"tray": {"lines": []}}),
    "an unknown kind": lambda kit: kit["line"][1].update(kind="suply"),
    "a bare number": lambda kit: kit["product"][3].update(strength=80),
    "a decimal comma": lambda kit: kit["product"][3].update(strength="80,5 mg/mL"),
    "a wrong dimension": lambda kit: kit["product"][3].update(strength="80 mg"),
    "no space": lambda kit: kit["product"][3].update(strength="80mg/mL"),
    "a basis that does not exist": lambda kit: kit["line"][1].update(basis="hearsay"),
    "an id in capitals": lambda kit: kit["line"][1].update(id="Drape"),
    "a gestation with a point": lambda kit: kit["domain"].update(birth_gestation={"at_least": "28.0"}),
    "a space at the end of a text": lambda kit: kit.update(name="Surfactant "),
    "an escape sequence": lambda kit: kit.update(name="Surf\x1b[2Jactant"),
    "a text as a condition's amount": lambda kit: kit["criterion"][0].update(where={"facts": {"fio2": {"above": 30}}}),
}


@pytest.mark.parametrize("spoil", SEEN.values(), ids=SEEN.keys())
def test_what_a_schema_can_see_it_refuses(spoil: Callable[[Json], object]) -> None:
    kit = read_toml(KIT_PATH)
    spoil(kit)
    assert list_errors(write_kit_schema(), kit)


BABIES = [
    {"birth_weight": str(weight), "birth_gestation": gestation, **more}
    for weight in (300, 1000, 1199, 1200, 1450, 2001, 5000, 6000)
    for gestation in ("22+0", "28+0", "30+2", "44+6")
    for more in (
        {},
        {"cpap": "7.5", "fio2": "40", "gastric_tube": "yes", "line_patent": "yes", "nil_by_mouth": "no", "sex": "girl"},
    )
]
BABIES += [
    {"birth_weight": "1450", "birth_gestation": "30+2", "born": "2026-11-23", "earlier_surfactant": given}
    for given in (
        "none",
        "poractant-alfa, 200 mg/kg, 2026-11-24 02:00",
        "poractant-alfa, 290 mg, 2026-11-25 02:00; poractant-alfa, 1.8 mL, not known",
        "beractant, 100 mg/kg, 2026-11-24 02:00",
        "not known, not known, not known",
    )
]


@cache
def list_trays() -> tuple[TrayList, ...]:
    answers = {"malformation": "no", "other-cause": "unsure"}
    babies = [take(make_baby(KIT.model, given, NOW)) for given in BABIES]
    return tuple(compute_list(KIT, ward, baby, answers, NOW) for baby in babies for ward in (WARD, None))


def test_every_list_is_held_to_its_schema_and_every_amount_has_a_ucum_code() -> None:
    validator = Draft202012Validator(json.loads(write_list_schema()))
    codes = {unit.ucum for unit in UNITS.values()}
    verdicts = set()
    for tray in list_trays():
        shape = json.loads(write_list_json(tray))
        errors = [f"{list(error.absolute_path)}: {error.message[:200]}" for error in validator.iter_errors(shape)]
        assert errors == [], tray.baby
        assert {amount["unit"] for amount in find_amounts(shape)} <= codes
        verdicts.add(shape["verdict"])
    assert len(verdicts) > 1


def find_amounts(value: Json) -> Iterator[dict[str, str]]:
    if isinstance(value, dict) and set(value) == {"value", "unit"}:
        yield value
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for part in inside:
        yield from find_amounts(part)


def test_no_number_of_a_list_is_a_binary_float() -> None:
    for tray in list_trays():
        json.loads(write_list_json(tray), parse_float=pytest.fail)


def test_a_list_has_every_line_of_its_kit_once_and_in_order() -> None:
    for tray in list_trays():
        shape: Json = json.loads(write_list_json(tray))
        assert [line["id"] for line in shape["lines"]] == [line.id for line in KIT.model.line]
        assert all(line["working"] and line["basis"] and line["source"] for line in shape["lines"])


@pytest.mark.parametrize("key", ["blocked", "show", "working", "source", "basis"])
def test_a_list_without_one_of_its_keys_is_not_held_to_be_one(key: str) -> None:
    shape = json.loads(write_list_json(list_trays()[0]))
    del shape["lines"][0][key]
    assert list_errors(write_list_schema(), shape)
