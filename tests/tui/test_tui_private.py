"""The private names of the terminal library that prepkit uses still exist, and are used in one module alone."""

import ast
import inspect
import sys
import textwrap
import tomllib
from functools import cache
from importlib.metadata import version
from pathlib import Path
from types import ModuleType

import pytest
from textual.app import App
from textual.message_pump import MessagePump
from textual.widget import Widget

import prepkit.tui.screens.base
import prepkit.tui.widgets.button
from prepkit.paths import find_shipped
from prepkit.tui import private
from prepkit.tui.routes import ROUTES, load_screen

ROOT = find_shipped("kits").parent
HERE = Path(inspect.getfile(private))


def list_private(path: Path) -> set[str]:
    """Private names that are asked of something other than `self`, or imported from a private module."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Attribute) and node.attr.startswith("_") and not node.attr.startswith("__"):
            is_own = isinstance(node.value, ast.Name) and node.value.id in {"self", "cls"}
            found |= set() if is_own else {node.attr}
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(("textual", "rich")):
            names = [*node.module.split("."), *(each.name for each in node.names)]
            found |= {name for name in names if name.startswith("_")}
    return found


@cache
def list_set_in(module: ModuleType) -> set[str]:
    """Private names that a module sets on `self`."""
    attributes = [node for node in ast.walk(ast.parse(inspect.getsource(module))) if isinstance(node, ast.Attribute)]
    return {node.attr for node in attributes if isinstance(node.ctx, ast.Store) and ast.unparse(node.value) == "self"}


def list_of_the_library(kind: type) -> set[str]:
    """Private names that the library gives a class or sets on its instances."""
    bases = [base for base in kind.__mro__ if base.__module__.startswith("textual")]
    return {name for base in bases for name in {*vars(base), *list_set_in(sys.modules[base.__module__])}}


def list_own(kind: type) -> set[str]:
    """Private names that prepkit's own part of a class defines or sets."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(kind)))
    defined = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)}
    stored = {
        node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store)
    }
    return {name for name in defined | stored if name.startswith("_") and not name.startswith("__")}


def test_a_widget_says_that_it_is_being_removed() -> None:
    assert Widget()._pruning is False
    assert private.is_being_removed(Widget()) is False


def test_an_app_says_that_it_is_leaving_and_what_stopped_it() -> None:
    app = private.QuietApp()
    assert (app._exit, app._exception) == (False, None)
    assert (app.is_leaving, app.fault) == (False, None)
    app.exit()
    assert app.is_leaving


@pytest.mark.parametrize("name", ["_fatal_error", "_close_messages_no_wait"])
def test_the_library_closes_after_a_fault_as_it_did(name: str) -> None:
    assert callable(getattr(App, name))
    assert "self._close_messages_no_wait()" in inspect.getsource(App._fatal_error)
    assert "self._fatal_error()" in inspect.getsource(App._handle_exception)


def test_no_other_module_asks_for_a_private_name() -> None:
    for path in (ROOT / "prepkit").rglob("*.py"):
        if path != HERE and {"tui", "serve"} & set(path.relative_to(ROOT).parts):
            assert list_private(path) == set(), path
    assert list_private(HERE) == {"_pruning"}


def test_no_name_of_ours_takes_the_place_of_one_of_the_library() -> None:
    kinds, below = set(), [MessagePump]
    assert {load_screen(route) for route in ROUTES}
    while below:
        kind = below.pop()
        below += kind.__subclasses__()
        kinds |= {kind} if kind.__module__.startswith("prepkit.") and kind is not private.QuietApp else set()
    assert {prepkit.tui.screens.base.WorkstationScreen, prepkit.tui.widgets.button.Button} <= kinds
    for kind in kinds:
        assert list_own(kind) & list_of_the_library(kind) == set(), kind


def test_the_library_is_bounded_from_above_and_installed_within() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert "textual>=8.2,<9" in project["dependencies"]
    assert version("textual").startswith("8.")
