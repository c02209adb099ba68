"""What the schemas of list and record take and refuse: all JSON that the kept store prints, each place of it spoilt.

A place is spoilt once, in the shortest JSON that has it: its key dropped, a key added, its value of another type, its
decimal written otherwise. What a kit's own facts hold (beside a baby's weights, gestations, birth and sex) is open.
"""

import copy
import json
import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple, TypeAlias

import pytest
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]
from make_kept import STORE, list_papers, print_paper

from prepkit.documents.list_json import BabyJson
from prepkit.documents.schemas import write_list_schema, write_record_schema

Json: TypeAlias = Any
Place: TypeAlias = tuple[str | int, ...]
SCHEMAS = {"list": write_list_schema, "record": write_record_schema}
CORE = {*BabyJson.__annotations__}
WRONG = (1.5, {"zz": 1}, [{"zz": 1}], True)
BAD_DECIMALS = ("", "1.50", "1.", ".5", "01", "1e3", "1,5", " 1", "+1", "--1", "NaN", "1/3")
GOOD_DECIMALS = ("0", "-0.5", "12.25", "1000")


class Spoilt(NamedTuple):
    """A JSON with one place spoilt, and whether it is one still."""

    what: str
    value: Json
    is_taken: bool


@cache
def print_all(kind: str) -> tuple[Json, ...]:
    """Every list or record that is printed as JSON."""
    with TemporaryDirectory() as folder:
        store = Path(shutil.copyfile(STORE, Path(folder) / "preparations.sqlite"))
        papers = [paper for paper in list_papers() if paper[0] == kind and paper[-1] == "json"]
        return tuple(json.loads(print_paper(paper, store)) for paper in papers)


def list_places(value: Json, place: Place = ()) -> Iterator[Place]:
    yield place
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield from list_places(value[key], (*place, key))


def find(value: Json, place: Place) -> Json:
    for key in place:
        value = value[key]
    return value


def is_open(place: Place) -> bool:
    """Whether it is one of the kit's own facts, or inside one."""
    at = place.index("baby") + 1 if "baby" in place else len(place)
    return at < len(place) and place[at] not in CORE


@cache
def find_shortest(kind: str) -> dict[Place, tuple[Json, Place]]:
    """Each place there is, the numbers in it left out, in the shortest JSON that has it. A record has no list here."""
    found: dict[Place, tuple[Json, Place]] = {}
    values = [value | {"list": None} if "list" in value else value for value in print_all(kind)]
    for value in sorted(values, key=lambda value: len(json.dumps(value))):
        for place in list_places(value):
            found.setdefault(tuple("*" if isinstance(key, int) else key for key in place), (value, place))
    return found


def spoil(value: Json, place: Place) -> Iterator[Spoilt]:
    found, name = find(value, place), ".".join(map(str, place))
    if isinstance(found, dict):
        yield Spoilt(f"{name}: a key more", put(value, (*place, "zz"), 1), is_open(place) or place[-1:] == ("baby",))
    if place and isinstance(place[-1], str):
        spoilt = copy.deepcopy(value)
        del find(spoilt, place[:-1])[place[-1]]
        yield Spoilt(f"{name}: dropped", spoilt, is_open(place))
    for wrong in WRONG if place else ():
        is_right = is_open(place) or (isinstance(wrong, bool) and isinstance(found, bool))
        yield Spoilt(f"{name}: {wrong!r}", put(value, place, wrong), is_right)
    if isinstance(found, dict) and set(found) == {"value", "unit"}:
        for decimal in (*BAD_DECIMALS, *GOOD_DECIMALS):
            is_right = is_open(place) or decimal in GOOD_DECIMALS
            yield Spoilt(f"{name}: {decimal!r}", put(value, (*place, "value"), decimal), is_right)


def put(value: Json, place: Place, new: Json) -> Json:
    changed = copy.deepcopy(value)
    find(changed, place[:-1])[place[-1]] = new
    return changed


@pytest.mark.parametrize("kind", SCHEMAS)
def test_every_json_that_is_printed_is_held_to_its_schema(kind: str) -> None:
    validator = Draft202012Validator(json.loads(SCHEMAS[kind]()))
    assert print_all(kind)
    for value in print_all(kind):
        assert [error.message for error in validator.iter_errors(value)] == []


@pytest.mark.parametrize("kind", SCHEMAS)
def test_what_is_spoilt_is_refused_but_for_a_kits_own_facts(kind: str) -> None:
    validator = Draft202012Validator(json.loads(SCHEMAS[kind]()))
    places = find_shortest(kind)
    assert len(places) > 50
    spoilt = [each for value, place in places.values() for each in spoil(value, place)]
    assert [each.what for each in spoilt if validator.is_valid(each.value) != each.is_taken] == []


def test_a_record_holds_its_list_as_it_is_printed_alone_or_none() -> None:
    validator = Draft202012Validator(json.loads(write_record_schema()))
    record, tray = print_all("record")[0], print_all("list")[0]
    assert validator.is_valid(record | {"list": tray})
    assert not validator.is_valid(record | {"list": tray | {"zz": 1}})
    assert not validator.is_valid({"record": record["record"]})
