"""What the documents for people name is there: files, folders, commands, functions, headings."""

import argparse
import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from prepkit.cli.main import _make_parser
from prepkit.paths import find_shipped

ROOT = find_shipped("kits").parent
DOCUMENTS = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
_PATH = re.compile(r"`((?:prepkit|tests|docs|kits|demo|\.ci)/[\w./*-]*)`")
# These lie in a person's own folders, under the program's name.
_IN_A_HOME = {"prepkit/kits", "prepkit/ward.toml", "prepkit/preparations.sqlite"}
_LINK = re.compile(r"\]\(([^)#\s]*)(?:#([\w-]+))?\)")
_COMMAND = re.compile(r"prepkit ([a-z][a-z-]+)\b")
_FUNCTION = re.compile(r"`([\w.]+)` (?:of|in) `(prepkit/[\w/]+\.py)`")
_STEP = re.compile(r"^\| (\d+) \| .+ \| `([\w.]+)` \| `(prepkit/[\w/]+\.py)` \|$", re.MULTILINE)


def list_headings(path: Path) -> set[str]:
    """The anchors of a document's headings, as they are made on the page."""
    heads = re.findall(r"^#+ (.+)$", path.read_text("utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_file_that_a_document_names_is_there(path: Path) -> None:
    for named in set(_PATH.findall(path.read_text("utf-8"))) - _IN_A_HOME:
        assert list(ROOT.glob(named)), f"{path.name} names {named}"


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_of_a_document_leads_somewhere(path: Path) -> None:
    for target, heading in _LINK.findall(path.read_text("utf-8")):
        if target.startswith("http"):
            continue
        leads_to = path.parent / target if target else path
        assert leads_to.exists(), f"{path.name} links to {target}"
        assert not heading or heading in list_headings(leads_to), f"{path.name} links to #{heading}"


def test_the_developers_page_names_files_enough_for_this_to_mean_something() -> None:
    assert len(set(_PATH.findall((ROOT / "DEVELOPERS.md").read_text("utf-8")))) > 40


def list_defined(module: str) -> set[str]:
    """The functions, classes and constants of a module, and of each class its own, with and without its name."""
    return set(_list_names(ast.parse((ROOT / module).read_text("utf-8"))))


def _list_names(tree: ast.Module | ast.ClassDef) -> Iterator[str]:
    for node in tree.body:
        match node:
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name):
                yield name
            case ast.ClassDef(name=name):
                yield name
                yield from (each for own in _list_names(node) for each in (own, f"{name}.{own}"))
            case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
                yield name


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_what_a_document_says_is_in_a_module_is_in_it(path: Path) -> None:
    for name, module in _FUNCTION.findall(path.read_text("utf-8")):
        assert name in list_defined(module), f"{path.name} names {name} of {module}"


def test_the_developers_page_names_functions_enough_for_this_to_mean_something() -> None:
    assert len(_FUNCTION.findall((ROOT / "DEVELOPERS.md").read_text("utf-8"))) > 1


def test_each_step_of_the_architecture_page_is_a_function_that_is_there() -> None:
    steps = _STEP.findall((ROOT / "docs" / "architecture.md").read_text("utf-8"))
    assert [int(number) for number, _, _ in steps].count(1) > 1
    assert len(steps) > 20
    assert [(name, module) for _, name, module in steps if name not in list_defined(module)] == []


def test_every_rule_has_its_tests_where_the_developers_page_says() -> None:
    rules = ROOT / "prepkit" / "rules"
    modules = {
        path.relative_to(rules).parts[0].removesuffix(".py")
        for path in rules.rglob("*.py")
        if "def work_out" in path.read_text("utf-8")
    }
    tested = {path.stem.removeprefix("test_") for path in (ROOT / "tests" / "rules").glob("test_*.py")}
    assert {"depth", "dose", "size", "setting", "supply"} <= modules & tested


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "docs/how-to-write-a-kit.md"])
def test_every_command_that_a_document_names_exists(name: str) -> None:
    groups = [each for each in _make_parser()._actions if isinstance(each, argparse._SubParsersAction)]
    commands = set(groups[0].choices)
    text = (ROOT / name).read_text("utf-8")
    named = {word for code in re.findall(r"`([^`\n]+)`|^\$? ?(prepkit .+)$", text, re.MULTILINE) for word in code}
    found = {command for code in named for command in _COMMAND.findall(code) if code.startswith("prepkit ")}
    assert found
    assert found <= commands
