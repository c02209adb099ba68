"""How modules import each other: in no circle, the application layer in one direction, seldom inside functions."""

import ast
from pathlib import Path

import grimp
import pytest

import prepkit

PACKAGE = Path(prepkit.__file__).parent
MOST_IN_FUNCTIONS = 24
"""Each has its reason beside it: a measured start, or a library that may not be installed."""
FACADE = {"prepkit.app.workstation", "prepkit.app.open_preparation"}


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    return grimp.build_graph("prepkit", exclude_type_checking_imports=False)


def test_no_module_is_imported_in_a_circle(graph: grimp.ImportGraph) -> None:
    found = [
        (module, imported)
        for module in sorted(graph.modules)
        for imported in sorted(graph.find_modules_directly_imported_by(module))
        if graph.chain_exists(imported, module)
    ]
    assert found == []


def test_services_take_a_session_and_know_no_facade(graph: grimp.ImportGraph) -> None:
    below = {"prepkit.app.session", "prepkit.app.identity", *graph.find_descendants("prepkit.app.services")}
    assert not any(graph.find_modules_directly_imported_by(module) & FACADE for module in below)
    services = graph.find_descendants("prepkit.app.services")
    assert not any(graph.find_modules_directly_imported_by(module) & services for module in services)
    assert not graph.find_modules_directly_imported_by("prepkit.app.session") & services
    assert not graph.chain_exists("prepkit.app.identity", "prepkit.app.session")


def find_imports_in_functions(path: Path) -> list[str]:
    functions = [
        node
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]
    inside = {
        node for function in functions for node in ast.walk(function) if isinstance(node, ast.Import | ast.ImportFrom)
    }
    return [f"{path.relative_to(PACKAGE)}:{node.lineno}" for node in inside]


def test_imports_stand_at_the_top_but_for_those_that_a_measured_start_needs() -> None:
    found = [each for path in sorted(PACKAGE.rglob("*.py")) for each in find_imports_in_functions(path)]
    assert len(found) <= MOST_IN_FUNCTIONS, found
