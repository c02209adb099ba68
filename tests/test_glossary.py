"""The glossary names classes and TOML keys that exist, each once."""

import importlib
import re
from pathlib import Path

import pytest

from prepkit.kit.kit import Kit, Product
from prepkit.kit.lines import CommonLine
from prepkit.kit.spans import AxisSpans
from prepkit.kit.ward import Stock, Ward

GLOSSARY = Path(__file__).parent.parent / "docs" / "glossary.md"
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in GLOSSARY.read_text("utf-8").splitlines()
    if line.startswith("| ") and "`prepkit." in line
]


def test_the_table_was_found() -> None:
    assert len(ROWS) > 20


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_each_word_names_a_class_that_exists(row: list[str]) -> None:
    module, _, name = row[2].strip("`").rpartition(".")
    assert isinstance(getattr(importlib.import_module(module), name), type)


def test_each_word_and_each_class_stands_once() -> None:
    for column in (0, 2):
        cells = [row[column] for row in ROWS]
        assert len(set(cells)) == len(cells)


def test_each_toml_key_is_a_key_of_a_kit_or_a_ward_file() -> None:
    keys = {
        *Kit.__struct_fields__,
        *Ward.__struct_fields__,
        *CommonLine.__struct_fields__,
        *Product.__struct_fields__,
        *AxisSpans.__struct_fields__,
        *Stock.__struct_fields__,
        "band",
    }
    named = [key for row in ROWS for key in re.findall(r"^`([a-z_]+)`$", row[3])]
    assert named
    assert set(named) <= keys


def test_every_table_of_a_ward_file_is_in_the_glossary_or_explains_itself() -> None:
    words = " ".join(row[3] for row in ROWS)
    tables = {name for name in (*Kit.__struct_fields__, *Ward.__struct_fields__) if f"`{name}`" in words}
    assert {"line", "criterion", "fact", "product", "recipe", "stock", "approval", "sources"} <= tables
