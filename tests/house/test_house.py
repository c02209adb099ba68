"""The house itself: imports in no circle and in one direction, seldom inside functions; one meaning a class name."""

import ast
from collections import defaultdict
from pathlib import Path

import grimp
import pytest

PACKAGE = Path(__file__).parents[2] / "prepkit"
MODULES = sorted(PACKAGE.rglob("*.py"))
FACADE = {"prepkit.app.workstation", "prepkit.app.open_preparation"}
MOST_LINES = 300
MOST_LATE_IMPORTS = 24
LONGEST_FUNCTION = 61


def read_tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


def list_functions(tree: ast.Module) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def list_late_imports(tree: ast.Module) -> set[ast.stmt]:
    inside = (each for function in list_functions(tree) for each in ast.walk(function))
    return {each for each in inside if isinstance(each, ast.Import | ast.ImportFrom)}


def find_circles(graph: grimp.ImportGraph) -> list[tuple[str, str]]:
    """Every import that leads back to the module it stands in."""
    return [
        (module, imported)
        for module in sorted(graph.modules)
        for imported in sorted(graph.find_modules_directly_imported_by(module))
        if graph.chain_exists(imported, module)
    ]


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    """Every import of the package, those in functions and those for types alone too."""
    return grimp.build_graph("prepkit", exclude_type_checking_imports=False, cache_dir=None)


def test_no_module_is_imported_in_a_circle(graph: grimp.ImportGraph) -> None:
    assert len(graph.modules) > 200
    assert find_circles(graph) == []


def test_a_circle_would_be_found() -> None:
    graph = grimp.ImportGraph()
    for importer, imported in (("a", "b"), ("b", "c"), ("c", "a"), ("c", "d")):
        graph.add_import(importer=importer, imported=imported)
    assert find_circles(graph) == [("a", "b"), ("b", "c"), ("c", "a")]


def test_services_take_a_session_and_know_no_facade(graph: grimp.ImportGraph) -> None:
    below = {"prepkit.app.session", "prepkit.app.identity", *graph.find_descendants("prepkit.app.services")}
    assert not any(graph.find_modules_directly_imported_by(module) & FACADE for module in below)
    services = graph.find_descendants("prepkit.app.services")
    assert not any(graph.find_modules_directly_imported_by(module) & services for module in services)
    assert not graph.find_modules_directly_imported_by("prepkit.app.session") & services
    assert not graph.chain_exists("prepkit.app.identity", "prepkit.app.session")


def test_a_public_class_name_means_one_thing() -> None:
    found = defaultdict(list)
    for path in MODULES:
        for node in read_tree(path).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(str(path.relative_to(PACKAGE)))
    assert {name: places for name, places in found.items() if len(places) > 1} == {}


def test_imports_stand_at_the_top_but_for_those_that_a_measured_start_needs() -> None:
    late = [(path, node) for path in MODULES for node in list_late_imports(read_tree(path))]
    assert len(late) <= MOST_LATE_IMPORTS
    for path, node in late:
        row = path.read_text("utf-8").splitlines()[node.lineno - 2 : node.lineno]
        is_said = "# noqa: PLC0415  (" in row[1] or row[0].strip().startswith("#")
        assert is_said, f"{path.name}:{node.lineno}: say why it is not at the top"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_and_its_functions_can_be_read(path: Path) -> None:
    assert path.read_text("utf-8").count("\n") <= MOST_LINES
    long = [each.name for each in list_functions(read_tree(path)) if each.end_lineno - each.lineno >= LONGEST_FUNCTION]
    assert long == []
