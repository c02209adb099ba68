"""Each decision has its page, each page its reasons and what holds it, and an example on one is what Python gives."""

import doctest
from pathlib import Path

import pytest

from prepkit.paths import find_shipped

FOLDER = find_shipped("kits").parent / "docs" / "decisions"
INDEX = FOLDER / "README.md"
PAGES = sorted(set(FOLDER.glob("*.md")) - {INDEX})


def test_the_index_names_each_page() -> None:
    text = INDEX.read_text("utf-8")
    assert PAGES
    assert [page.name for page in PAGES if f"]({page.name})" not in text] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_decision_says_why_what_it_costs_and_what_holds_it(page: Path) -> None:
    text = page.read_text("utf-8")
    parts = ("\n**Decision.** ", "\n## Why\n", "\n## What it costs\n", "\n## What holds it\n")
    places = [text.find(part) for part in parts]
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_an_example_on_a_page_is_what_python_gives(page: Path) -> None:
    assert doctest.testfile(str(page), module_relative=False).failed == 0
