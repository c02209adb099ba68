"""What can be read has no mistake, and what is refused has at least one: none is invented, none is let through."""

import copy
from datetime import UTC, date, datetime, time
from typing import Any

import pytest
import tomli
from hypothesis import given, settings
from hypothesis import strategies as st
from kit_files import KIT_TEXT, WARD_TEXT
from msgspec import ValidationError
from shipped import KIT_IDS, read_kit_text

from prepkit.kit.fields import Spec, list_keys, read_table
from prepkit.kit.kit import Kit
from prepkit.kit.mistakes import find_mistakes
from prepkit.kit.placing import assemble
from prepkit.kit.problems import Mistake, suggest
from prepkit.kit.read import read_kit
from prepkit.kit.ward import Ward
from prepkit.paths import find_shipped

TABLES: dict[type[Spec], list[dict[str, Any]]] = {
    Kit: [
        assemble(tomli.loads(KIT_TEXT)).tables,
        *(assemble(tomli.loads(read_kit_text(kit))).tables for kit in KIT_IDS),
    ],
    Ward: [tomli.loads(WARD_TEXT), tomli.loads((find_shipped("demo") / "ward.toml").read_text("utf-8"))],
}
# What a person or an editor may put in the place of a value, and what lies at the edge of what is allowed.
TEXTS = (
    "", " ", "x", " x", "x ", "x\n", "x\ny", "\u00a0x", "x\u2003", "x\u200by", "\u202ex", "x\u0085", "\ufeffx", "ü",
    "😀", "a-b", "a--b", "a_b", "a-b\n", "A-b", "a-1.5", "ä-b", "x" * 60, "x" * 61, "x y" * 200, "x y" * 201,
    "1.5 mg", "1.5 mL", "1.5 g", "1.5 kg", "1.5 mg/kg", "1.5 mg/mL", "1.5 cm", "1.5 h", "10 %", "0 %", "0 mL", "-1 mL",
    "1,5 mL", "1.5mL", "1.5  mL", "5 cmH2O", "2 cm/kg", "1.5 mL\n", "28+0", "28+7", "28+0\n", "281+0",
    "published", "local", "Published", "tracheal", "dose", "size", "trial", "amount", "choice", "moment", "yes", "no",
    "04000000000013", "12345678", "123456789", "\u0661\u0662345678", "12345678\n",
)  # fmt: skip
OTHERS = (
    0, 1, 2, 3, 4, 20, 21, -1, 1899, 1900, 2100, 2101, 2**63 - 1, 1.0, 1.5, float("nan"), True, False,
    date(2027, 1, 1), datetime(2027, 1, 1, tzinfo=UTC), datetime(2027, 1, 1), time(3, 0),  # noqa: DTZ001  (TOML has it)
    [], {}, [[]], [{}], {"": ""}, ["x"], ["x", "y"], ["x"] * 13, ["a"] * 5, [1], [""], [["x"]],
    {"at_least": "1 kg"}, {"below": "28+0"}, {"at_least": "2 kg", "below": "1 kg"},
    {"at_least": "1 kg", "above": "1 g"}, {"above": "1 g", "at_most": "1 g"}, {"at_least": "1 g", "at_most": "1 g"},
    {"at_least": "1 g", "below": "1 mg"},
    {"kind": "dose"}, {"kind": 1}, {"title": "x", "reference": "y"}, {"title": "x", "reference": "y", "year": 1899},
)  # fmt: skip
VALUES = st.sampled_from((*TEXTS, *OTHERS)) | st.text(max_size=6)
KEYS = ("kind", "facts", "weight", "band", "source", "basis", "year", "zz", "dose", "size", "lines", "")


def takes(written: object, table: type[Spec]) -> bool:
    """Whether msgspec takes it."""
    try:
        read_table(written, table)
    except ValidationError:
        return False
    return True


def list_places(node: object) -> list[tuple[Any, Any]]:
    """Every array and table inside, with each of its places."""
    if not isinstance(node, dict | list):
        return []
    places = list(node) if isinstance(node, dict) else list(range(len(node)))
    return [(node, at) for at in places] + [found for at in places for found in list_places(node[at])]


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
@settings(max_examples=250)
@given(drawn=st.data())
def test_what_is_spoilt_has_a_mistake_where_it_is_refused_and_only_there(
    table: type[Spec], drawn: st.DataObject
) -> None:
    written = copy.deepcopy(drawn.draw(st.sampled_from(TABLES[table])))
    written.pop("$schema", None)
    for _ in range(drawn.draw(st.integers(1, 2))):
        inside, at = drawn.draw(st.sampled_from(list_places(written)))
        change = drawn.draw(st.sampled_from(["put", "put", "put", "take away", "add", "twice"]))
        if change == "put":
            inside[at] = copy.deepcopy(drawn.draw(VALUES))
        elif change == "take away":
            del inside[at]
        elif isinstance(inside, dict):
            inside[drawn.draw(st.sampled_from(KEYS))] = copy.deepcopy(drawn.draw(VALUES))
        else:
            inside.append(copy.deepcopy(inside[at]) if change == "twice" else copy.deepcopy(drawn.draw(VALUES)))
    mistakes = list(find_mistakes(written, table))
    assert takes(written, table) == (not mistakes), mistakes


def test_what_nothing_inside_explains_is_refused_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("prepkit.kit.mistakes._look_inside", lambda *_: ())
    kit, problems = read_kit(KIT_TEXT.replace('kind = "dose"', 'kind = "dosis"', 1), "x.toml")
    assert kit is None
    whole, _ = read_kit(KIT_TEXT, "x.toml")
    assert whole is not None
    at = [line.kind for line in whole.model.line].index("dose")
    assert [problem.wrong for problem in problems] == [f" Invalid value 'dosis' - at `$.line[{at}].kind`"]


def test_every_mistake_is_told_at_once_and_each_part_is_read_by_itself() -> None:
    written = copy.deepcopy(TABLES[Ward][0])
    written["stock"][0] |= {"holds": ["1 mL", "2", "3 mL", "4 mL", "5 mg"], "hold": 1}
    written["people"] = 3
    paths = [(mistake.path, mistake.wrong.partition(" (")[0]) for mistake in find_mistakes(written, Ward)]
    assert paths == [
        (("stock", 0, "hold"), 'unknown key "hold"'),
        (("stock", 0, "holds"), "holds must have at most 4 entries"),
        (("stock", 0, "holds", 1), 'entry 2 of holds "2" has no unit'),
        (("stock", 0, "holds", 4), 'entry 5 of holds "5 mg" is a mass, where a volume is due'),
        (("people",), "people must be a table"),
    ]


def test_a_table_without_kinds_has_no_key_of_that_name() -> None:
    written = copy.deepcopy(TABLES[Kit][0])
    written.pop("$schema", None)
    written["group"][0]["kind"] = "Group"
    assert [*find_mistakes(written, Kit)] == [Mistake(("group", 0, "kind"), 'unknown key "kind"', 'did you mean "id"?')]


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
def test_what_is_shipped_has_no_mistake(table: type[Spec]) -> None:
    for written in TABLES[table]:
        right = {key: value for key, value in written.items() if key != "$schema"}
        assert takes(right, table)
        assert [*find_mistakes(right, table)] == []


def test_each_table_lists_all_its_keys() -> None:
    waiting, seen = [Spec], set()
    while waiting:
        table = waiting.pop()
        waiting += table.__subclasses__()
        if table is Spec or not table.__module__.startswith("prepkit."):
            continue
        keys = [key.name for key in list_keys(table) if key.name != "kind"]
        assert sorted(keys) == sorted(table.__struct_fields__)
        seen.add(table.__name__)
    assert {"Kit", "Ward", "DoseLine", "Span", "People"} <= seen


@pytest.mark.parametrize("got", ["zzz", "[2K"])
def test_no_name_of_a_file_reaches_a_terminal_as_an_order_of_its_hint(got: str) -> None:
    assert suggest(got, ["\x1b[2J", "\x00"]).isprintable()
