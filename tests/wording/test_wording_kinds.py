"""Each kind of finding has its words once, and is given the values that its words take."""

import ast
from collections.abc import Iterator
from inspect import signature
from pathlib import Path

import pytest

from prepkit.quantities.amount import make_amount
from prepkit.rules.findings import Kind, finding
from prepkit.wording.say import NESTED, STEPS, WORDS, say_all

SOURCE = Path(__file__).parents[2] / "prepkit"
TABLES = (WORDS, NESTED, STEPS)


@pytest.mark.parametrize("kind", Kind)
def test_each_kind_has_its_words_in_one_table(kind: Kind) -> None:
    assert sum(kind in table for table in TABLES) == 1


def list_made() -> Iterator[tuple[str, Kind, set[str], bool]]:
    """Where findings are made: place, kind, the names of the values, and whether more are given as a mapping."""
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "finding":
                (kind,) = node.args
                assert isinstance(kind, ast.Attribute)
                names = {each.arg for each in node.keywords if each.arg}
                is_open = any(each.arg is None for each in node.keywords)
                yield f"{path.name}:{node.lineno}", Kind[kind.attr], names, is_open


def test_each_finding_is_given_the_values_that_its_words_take() -> None:
    taken = {kind: signature(words).parameters for table in TABLES for kind, words in table.items()}
    for place, kind, names, is_open in list_made():
        needed = {name for name, each in taken[kind].items() if each.default is each.empty}
        assert names <= set(taken[kind]), place
        assert is_open or needed <= names, place


def test_each_kind_is_found_somewhere() -> None:
    assert {kind for _, kind, _, _ in list_made()} == {*Kind}


def test_sentences_kept_for_one_finding_never_answer_for_another() -> None:
    for grams in range(1, 200):
        assert say_all((finding(Kind.AMOUNT, amount=make_amount(grams, "g")),)) == (f"{grams} g",)
