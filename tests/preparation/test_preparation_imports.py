"""What the layer may reach: it is folded before anything heavy is loaded, and it reads no clock."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import prepkit.preparation

FOLDER = Path(prepkit.preparation.__file__).parent
ROOTS = ("baby.decide", "check.decide", "codec", "decide", "evolve", "handover.decide", "lines.decide", "readiness")
"""What the home screen and the desk reach for; all that these load has to be light."""
BESIDE = ("prepkit.attribution", "prepkit.canonical", "prepkit.kit.names")
"""Shared with other layers; they have to be as light."""
ALLOWED = {
    "collections",
    "datetime",
    "enum",
    "functools",
    "hashlib",
    "json",
    "msgspec",
    "types",
    "typing",
    "unicodedata",
}


def find_imports(tree: ast.AST) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found.update(each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
    return found


def find_loaded(*stems: str) -> set[str]:
    """Find the modules of the layer that these load, themselves included, in the source."""
    found: set[str] = set()
    to_read = list(stems)
    while to_read:
        stem = to_read.pop()
        if stem not in found:
            found.add(stem)
            imports = find_imports(read_tree(stem))
            to_read += [each.removeprefix("prepkit.preparation.") for each in imports if is_ours(each)]
            to_read += [stem.rsplit(".", 1)[0]] if "." in stem else []  # a module brings its room
    return found


def is_ours(module: str) -> bool:
    return module.startswith("prepkit.preparation.")


def read_tree(stem: str) -> ast.AST:
    path = FOLDER.parents[1] / stem.replace(".", "/") if stem in BESIDE else FOLDER / stem.replace(".", "/")
    found = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    return ast.parse(found.read_text(encoding="utf-8"))


@pytest.mark.parametrize("stem", [*sorted(find_loaded(*ROOTS)), *BESIDE])
def test_a_module_the_home_screen_loads_reaches_the_layer_msgspec_and_a_few_of_the_standard_library(stem: str) -> None:
    tree = read_tree(stem)
    outside = {each for each in find_imports(tree) if not is_ours(each) and each not in BESIDE}
    assert {each.split(".")[0] for each in outside} <= ALLOWED
    names = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    assert not names & {"now", "utcnow", "today"}
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, float)]


def test_what_the_home_screen_loads_beside_msgspec_is_from_the_standard_library_and_light() -> None:
    names = ", ".join(f"prepkit.preparation.{stem}" for stem in ROOTS)
    code = f"import sys, msgspec; before = set(sys.modules); import {names}; print(*sorted(set(sys.modules) - before))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=FOLDER.parents[1]
    )
    loaded = set(done.stdout.split())
    ours = {each.removeprefix("prepkit.preparation.") for each in loaded if each.startswith("prepkit.preparation.")}
    assert ours == find_loaded(*ROOTS)
    tops = {each.split(".")[0] for each in loaded} - {"prepkit"}
    assert tops <= sys.stdlib_module_names
    assert not tops & {"asyncio", "decimal", "fractions", "random", "sqlite3", "tomllib", "urllib"}
