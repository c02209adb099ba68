"""What the documents for people name is there: files, folders, commands, functions, headings."""

import argparse
import re
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
_FUNCTION = re.compile(r"`(_?[a-zA-Z_]+)` of `(prepkit/[\w/]+\.py)`")


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


def test_what_the_developers_page_says_is_in_a_module_is_in_it() -> None:
    named = _FUNCTION.findall((ROOT / "DEVELOPERS.md").read_text("utf-8"))
    assert len(named) > 1
    for name, module in named:
        source = (ROOT / module).read_text("utf-8")
        assert re.search(rf"^(def {name}\(|class {name}\b|{name}\b.* = )", source, re.MULTILINE), f"{name} of {module}"


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
