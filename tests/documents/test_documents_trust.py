"""docs/trust.md is what its runs gave, and nobody typed a figure into it."""

import importlib.util
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def test_the_page_is_what_the_figures_of_the_runs_give() -> None:
    spec = importlib.util.spec_from_file_location("make_trust", DOCS / "make_trust.py")
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    assert made.make_text() == (DOCS / "trust.md").read_text("utf-8"), "run docs/make_trust.py"
