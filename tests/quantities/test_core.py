"""What holds of the whole core: no float, no clock, no terminal; and what a front end loads before it needs it."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import prepkit

PACKAGE = Path(prepkit.__file__).parent
CORE = ("quantities", "kit", "rules", "list", "preparation", "people", "proof", "view")
# What gives whole numbers from whole numbers and fractions.
EXACT = {"ceil", "comb", "floor", "gcd", "isqrt", "lcm", "prod"}


def find_modules() -> list[Path]:
    return sorted(path for layer in CORE for path in (PACKAGE / layer).rglob("*.py"))


def find_floats(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        match node:
            case ast.Constant(value=float() | complex()):
                yield f"line {node.lineno}: {node.value!r}"
            case ast.Name(id="float" | "complex" | "round", ctx=ast.Load()):
                yield f"line {node.lineno}: {node.id}"
            case ast.Import(names=names) if any(
                name.name.split(".")[0] in {"math", "cmath", "numpy"} for name in names
            ):
                yield f"line {node.lineno}: import math"
            case ast.ImportFrom(module="math", names=names) if {name.name for name in names} - EXACT:
                yield f"line {node.lineno}: from math import {', '.join(name.name for name in names)}"
            case ast.Attribute(attr="total_seconds" | "timestamp"):
                yield f"line {node.lineno}: {node.attr}() is a float"


@pytest.mark.parametrize("path", find_modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_amount_in_the_core_passes_through_a_binary_float(path: Path) -> None:
    assert list(find_floats(ast.parse(path.read_text("utf-8")))) == []


@pytest.mark.parametrize(
    "source",
    ["x = 0.5", "x = float(y)", "import math", "from math import sqrt", "round(x)", "map(round, x)", "d.timestamp()"],
)
def test_a_float_would_be_found(source: str) -> None:
    assert list(find_floats(ast.parse(source)))


@pytest.mark.parametrize("source", ["class Ward:\n    round: str = 'nearest'", "over = ward.round == 'not over'"])
def test_a_key_called_round_is_no_call_of_round(source: str) -> None:
    assert not list(find_floats(ast.parse(source)))


def list_loaded(source: str) -> set[str]:
    """The names in sys.modules after running this in a fresh interpreter."""
    code = f"{source}\nimport sys\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_the_core_loads_no_terminal_and_no_database() -> None:
    modules = [".".join(("prepkit", *path.relative_to(PACKAGE).with_suffix("").parts)) for path in find_modules()]
    loaded = list_loaded("\n".join(f"import {name.removesuffix('.__init__')}" for name in modules))
    assert "prepkit.rules.dose" in loaded
    assert not loaded & {"textual", "rich", "sqlite3", "platformdirs", "numpy"}


def test_quantities_load_without_pint_until_a_factor_that_is_not_kept() -> None:
    loaded = list_loaded("import prepkit.quantities.amount, prepkit.quantities.text")
    assert "prepkit.quantities.amount" in loaded
    assert not loaded & {"pint", "pydantic"}
    one = "from prepkit.quantities.amount import ask_factor, convert, make_amount"
    assert "pint" not in list_loaded(f"{one}; convert(make_amount(1, 'mg'), 'microgram')")
    assert "pint" in list_loaded(f"{one}; ask_factor('milligram', 'microgram')")


# One preparation is started in one process; the home screen is then built from it in another, as at a first paint.
START = """
from pathlib import Path
from prepkit.app.workstation import open_workstation
from prepkit.store import open_sqlite
with open_sqlite(Path({store!r})) as store:
    desk = open_workstation(store, ward=Path({ward!r}), kits=None, who="RA")
    opened = desk.start("surfactant-supraglottic", "Cot 4")
    assert not isinstance(opened, str), opened
    assert not opened.baby.give_fact("birth_weight", "1450")
"""
HOME = """
from pathlib import Path
import prepkit.app
from prepkit.app.workstation import open_workstation
from prepkit.store import open_sqlite
with open_sqlite(Path({store!r})) as store:
    home = open_workstation(store, ward=Path({ward!r}), kits=None).show_home()
    assert len(home.rows) == 1, home
"""


def test_neither_the_home_screen_nor_a_list_needs_pint_or_pydantic(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("HOME", str(tmp_path))
    names = {"store": str(tmp_path / "preparations.sqlite"), "ward": str(PACKAGE.parent / "demo" / "ward.toml")}
    started = list_loaded(START.format(**names))
    assert "prepkit.kit.kit" in started
    assert not started & {"pint", "pydantic", "pydantic_core"}, "a kit and a ward file that are right need neither"
    loaded = list_loaded(HOME.format(**names))
    assert "prepkit.view.home" in loaded
    heavy = {"pint", "pydantic", "pydantic_core", "argon2", "_cffi_backend", "textual", "rich", "numpy", "psycopg"}
    assert not loaded & heavy
