"""The hazard log and the edits that take its controls away, read from their files."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
LOG = ROOT / "docs" / "safety" / "hazard-log.md"
MUTATIONS = Path(__file__).with_name("mutations.toml")
_CELLS = 13


@dataclass(frozen=True, slots=True)
class Hazard:
    """One row of the log."""

    id: str
    hazard: str
    severity: int
    probability: int
    risk: str
    control: str
    sort: str
    test: str
    """`tests/path.py::name`"""
    probability_after: int
    residual: str


@dataclass(frozen=True, slots=True)
class Mutation:
    """A small edit that takes one control away."""

    file: str
    old: str
    new: str


def read_log() -> tuple[Hazard, ...]:
    """Read the rows of the table."""
    rows = []
    for text in LOG.read_text("utf-8").splitlines():
        if text.startswith("| H"):
            cells = [cell.strip() for cell in text.strip().strip("|").split("|")]
            assert len(cells) == _CELLS, text
            id_, hazard, _, _, _, severity, before, risk, control, sort, test, after, residual = cells
            row = (id_, hazard, int(severity), int(before), risk, control, sort, test.strip("`"), int(after), residual)
            rows.append(Hazard(*row))
    return tuple(rows)


def read_mutations() -> dict[str, Mutation]:
    """Read the edits by the hazard whose control they take away."""
    return {id_: Mutation(**edit) for id_, edit in tomllib.loads(MUTATIONS.read_text("utf-8")).items()}


def say_risk(severity: int, probability: int) -> str:
    """The word for a risk, as the log's heading defines it."""
    product = severity * probability
    return "low" if product <= 5 else "medium" if product <= 11 else "high"
