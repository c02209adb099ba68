"""The reference of kits and ward files: what is committed is the code's, and leaves out nothing."""

import re
import runpy
from collections.abc import Callable, Iterator
from typing import TypeAlias, get_args

import pytest
import tomli

from prepkit.kit.fields import Spec, list_keys
from prepkit.kit.kit import Kit
from prepkit.kit.ward import Ward
from prepkit.paths import find_shipped
from prepkit.quantities.units import UNITS
from prepkit.rules.kinds import RULES

Write: TypeAlias = Callable[[], str]
DOCS = find_shipped("kits").parent / "docs"
TEXT = (DOCS / "rule-reference.md").read_text("utf-8")


@pytest.fixture
def write(monkeypatch: pytest.MonkeyPatch) -> Write:
    monkeypatch.syspath_prepend(str(DOCS))
    found: Write = runpy.run_path(str(DOCS / "make_reference.py"))["write_reference"]
    return found


def test_the_committed_reference_is_what_the_code_writes(write: Write) -> None:
    assert write() == TEXT, "run docs/make_reference.py"


def test_the_reference_is_the_same_at_every_writing(write: Write) -> None:
    assert write() == write()


def list_models(model: type[Spec] = Spec) -> Iterator[type[Spec]]:
    """Every table there is, by the classes themselves and not by the walk that the generator makes."""
    for child in model.__subclasses__():
        if child.__module__.startswith("prepkit."):
            yield child
            yield from list_models(child)


MODELS = {model.__name__: model for model in list_models() if "Span" not in model.__name__}


@pytest.mark.parametrize("model", MODELS.values(), ids=MODELS.keys())
def test_every_key_of_every_table_says_what_it_is_for(model: type[Spec]) -> None:
    assert model.__doc__
    for key in list_keys(model):
        description = get_args(key.type)[-1].description
        assert description, f"{model.__name__}.{key.name} needs a description"
        assert f"| `{key.name}` |" in TEXT
        assert description in TEXT


@pytest.mark.parametrize("kind", RULES)
def test_every_kind_of_line_has_its_keys_its_rule_and_an_example(kind: str) -> None:
    section = TEXT.split(f"\n## {kind.capitalize()} line\n")[1].split("\n## ")[0]
    assert f"Computed by `{RULES[kind].__name__}` in" in section
    assert f'kind = "{kind}"' in section


def test_every_unit_and_every_top_key_stands_in_the_reference() -> None:
    assert [unit for unit in UNITS if f"`{unit}`" not in TEXT] == []
    assert [key for key in (*Kit.__struct_fields__, *Ward.__struct_fields__) if f"| `{key}` |" not in TEXT] == []


def test_every_example_of_the_reference_stands_in_a_shipped_file() -> None:
    paths = (*find_shipped("kits").rglob("*.toml"), find_shipped("demo") / "ward.toml", *DOCS.glob("how-to-*.md"))
    # A table of a fragment is shown as it would stand in a kit.
    shipped = re.sub(r"\[fragment\.[^.\]]+\.", "[", " ".join(path.read_text("utf-8") for path in paths))
    examples = [part.partition("```")[0] for part in TEXT.split("```toml\n")[1:]]
    assert len(examples) > 15
    for example in examples:
        assert tomli.loads(example)
        for row in example.splitlines():
            assert row in shipped
