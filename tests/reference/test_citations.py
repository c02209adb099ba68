"""Every citation of the shipped kits and of the demo ward's recipe against a table of what was read of each document."""

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from trays import DEMO_TEXT, make_ward

from prepkit.app.kit_files import load_kit
from prepkit.kit.fields import EXCERPT, list_inside
from prepkit.kit.kit import Kit, Source
from prepkit.paths import find_shipped

KITS_FOLDER = find_shipped("kits")
TABLE = tomllib.loads(Path(__file__).with_name("citations.toml").read_text("utf-8"))
# What may be said to have been read of a document of each status, and the most that a figure of it may rest on.
READ = {"whole": {"whole"}, "R": {"passage", "abstract"}, "R2": {"account"}, "M": set()}
MOST = {"whole": "published", "R": EXCERPT, "R2": EXCERPT, "M": "from memory"}
STRENGTH = ("from memory", EXCERPT, "published")
MOST_FROM_MEMORY = 6


def load(path: Path) -> Kit:
    kit, problems = load_kit(path)
    assert kit is not None, problems
    return kit.model


KITS = [load(path) for path in sorted(KITS_FOLDER.glob("*.toml"))]
FILES = [*sorted(KITS_FOLDER.rglob("*.toml"))]
SOURCES: Mapping[str, Source] = {name: source for kit in KITS for name, source in kit.sources.items()}


def find_cited(node: object) -> Iterator[tuple[str, str]]:
    """The basis and the source of every figure in a table, whatever it stands in."""
    source = getattr(node, "source", ())
    for name in (source,) if isinstance(source, str) else source:
        yield getattr(node, "basis", None) or "", name
    for inside in list_inside(node):
        yield from find_cited(inside)


def find_texts(written: Any) -> Iterator[str]:  # noqa: ANN401  (what a TOML file holds)
    if isinstance(written, str):
        yield written
    for inside in written.values() if isinstance(written, dict) else written if isinstance(written, list) else ():
        yield from find_texts(inside)


RECIPES = make_ward(DEMO_TEXT).model.recipe
CITED = {each for node in (*KITS, *RECIPES) for each in find_cited(node)}
TEXTS = [text for path in FILES for text in find_texts(tomllib.loads(path.read_text("utf-8")))]


def test_three_kits_and_a_recipe_are_read() -> None:
    assert len(KITS) == 3
    assert [recipe.basis for recipe in RECIPES] == [EXCERPT]


def test_each_document_cited_has_a_row_and_each_row_is_cited() -> None:
    assert {name for _, name in CITED} == TABLE.keys()
    assert SOURCES.keys() == TABLE.keys()


@pytest.mark.parametrize("name", SOURCES)
def test_a_source_says_what_its_row_says_was_read_and_for_whom(name: str) -> None:
    source, row = SOURCES[name], TABLE[name]
    assert (source.title, source.year, source.written_for) == (row["document"], row.get("year"), row["whom"])
    assert source.read in READ[row["status"]]
    assert row["passage"]


@pytest.mark.parametrize(("basis", "name"), sorted(CITED))
def test_no_basis_claims_more_than_was_read(basis: str, name: str) -> None:
    if basis in STRENGTH:
        assert STRENGTH.index(basis) <= STRENGTH.index(MOST[TABLE[name]["status"]])


def test_a_document_named_in_a_sentence_is_one_of_the_sources() -> None:
    named = {pair for text in TEXTS for pair in re.findall(r"\b([A-Z]\w+) ((?:19|20)\d\d)\b", text)}
    assert len(named) >= 4
    plain = {unicodedata.normalize("NFD", name).encode("ascii", "ignore").decode().lower() for name, _ in named}
    assert plain & {"schmolzer", "ellett"} == {"schmolzer", "ellett"}
    for name, year in named:
        ascii_name = unicodedata.normalize("NFD", name).encode("ascii", "ignore").decode().lower()
        assert f"{ascii_name}-{year}" in TABLE


def test_at_most_six_figures_are_from_memory() -> None:
    from_memory = [text for text in TEXTS if "from memory" in text]
    assert 0 < len(from_memory) <= MOST_FROM_MEMORY


def test_nothing_is_plainly_published_until_its_document_was_read_whole() -> None:
    assert "published" not in {basis for basis, _ in CITED} or "whole" in {row["status"] for row in TABLE.values()}


def test_what_was_published_of_the_least_weight_stands_beside_the_wards_own_1200_g_and_is_not_its_ground() -> None:
    # Corrections, citations clause: Smee 2021 and Attridge 2013 took babies above 1200 g, so not 1200 g itself.
    kit = next(kit for kit in KITS if kit.id == "surfactant-supraglottic")
    criterion = next(row for row in kit.criterion if row.id == "weight-least")
    assert (criterion.basis, criterion.source) == ("common practice", ("smee-2021", "attridge-2013"))
    assert all("above 1200 g" in kit.sources[name].reference for name in criterion.source)
