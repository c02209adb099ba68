"""The hazard log holds together: its tests exist, its risks are what its numbers say, each control can be removed."""

import ast
from functools import cache

import pytest
from hazard_log import ROOT, Hazard, read_log, read_mutations, say_risk

LOG = read_log()


@cache
def list_tests(path: str) -> frozenset[str]:
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    named = (node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
    return frozenset(name for name in named if name.startswith("test_"))


def test_there_are_hazards_enough_and_each_has_its_own_id() -> None:
    assert len(LOG) >= 40
    assert len({row.id for row in LOG}) == len(LOG)


@pytest.mark.parametrize("row", LOG, ids=lambda row: row.id)
def test_every_control_names_a_test_that_exists(row: Hazard) -> None:
    path, _, name = row.test.partition("::")
    assert name in list_tests(path)


@pytest.mark.parametrize("row", LOG, ids=lambda row: row.id)
def test_every_risk_is_what_its_numbers_say_and_no_control_makes_it_worse(row: Hazard) -> None:
    assert {row.severity, row.probability, row.probability_after} <= set(range(1, 6))
    assert row.risk == say_risk(row.severity, row.probability)
    assert row.residual == say_risk(row.severity, row.probability_after)
    assert row.probability_after < row.probability
    assert row.residual != "high"
    assert row.sort in {"D", "P", "I"}
    assert row.control


def test_every_control_has_an_edit_that_removes_it_and_each_edit_fits_the_source() -> None:
    mutations = read_mutations()
    assert mutations.keys() == {row.id for row in LOG}
    for id_, mutation in mutations.items():
        text = (ROOT / mutation.file).read_text("utf-8")
        assert text.count(mutation.old) == 1, f"{id_}: {mutation.file} has changed: write the edit anew"
        assert mutation.old != mutation.new


def test_the_report_of_the_last_run_shows_every_control_missed_when_it_is_removed() -> None:
    report = (ROOT / "docs" / "safety" / "controls.md").read_text("utf-8")
    shown = {text.split("|")[1].strip(): text for text in report.splitlines() if text.startswith("| H")}
    assert shown.keys() == {row.id for row in LOG}
    for row in LOG:
        assert row.test in shown[row.id], f"{row.id}: run tests/safety/remove_controls.py again"
        assert "| fails |" in shown[row.id]
