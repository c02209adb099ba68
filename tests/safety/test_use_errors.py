"""The use-error analysis has a row for every screen there is, and names hazards and screens that exist."""

import ast
import re
from dataclasses import dataclass

from hazard_log import ROOT, read_log

BASES = {"CoveredScreen", "FocusScreen", "WorkstationScreen", "PreparationScreen"}
"""What screens are made from; nobody sees one of these."""
KINDS = {"slip", "lapse", "mistake", "misuse"}


@dataclass(frozen=True)
class UseError:
    screen: str
    task: str
    error: str
    kind: str
    hazards: tuple[str, ...]
    control: str
    critical: str


def read_use_errors() -> list[UseError]:
    rows = []
    for text in (ROOT / "docs" / "safety" / "use-errors.md").read_text("utf-8").splitlines():
        if found := re.fullmatch(r"\| .+? \| `(\w+)` \| (.+?) \| (.+?) \| (.+?) \| (.+?) \| (.+?) \| (.+?) \|", text):
            screen, task, error, kind, hazards, control, critical = found.groups()
            rows.append(UseError(screen, task, error, kind, tuple(hazards.split(", ")), control, critical))
        else:
            assert "`" not in text or not text.startswith("|"), f"not a row of eight cells: {text}"
    return rows


def list_screens() -> set[str]:
    files = (ROOT / "prepkit" / "tui" / "screens").glob("*.py")
    trees = (ast.parse(each.read_text("utf-8")) for each in files)
    classes = (node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ClassDef))
    return {each.name for each in classes if any("Screen" in ast.unparse(base) for base in each.bases)} - BASES


def test_every_screen_has_a_row_and_every_row_a_screen() -> None:
    assert {row.screen for row in read_use_errors()} == list_screens()
    assert len(list_screens()) >= 25


def test_every_row_is_whole_and_names_hazards_of_the_log() -> None:
    hazards = {row.id for row in read_log()}
    for row in read_use_errors():
        assert row.kind in KINDS, row
        assert row.critical in {"yes", "no"}, row
        assert set(row.hazards) <= hazards, row


def test_a_use_error_that_can_lead_to_a_dose_or_an_airway_gone_wrong_is_critical_somewhere() -> None:
    """Every hazard that an analysed use error leads to, and that can kill, is in one scenario to be evaluated."""
    rows, grave = read_use_errors(), {row.id for row in read_log() if row.severity == 5}
    led_to = {hazard for row in rows for hazard in row.hazards} & grave
    evaluated = {hazard for row in rows if row.critical == "yes" for hazard in row.hazards}
    assert led_to <= evaluated, led_to - evaluated
