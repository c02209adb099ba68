"""The night, the people, the packs and the wards of the tests of screens; all invented."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

from prepkit.paths import find_shipped

NIGHT = datetime(2026, 11, 25, 3, 12, tzinfo=timezone(timedelta(hours=1)))

PEOPLE = '\n[people]\npins = true\nlock_after = "5 min"\nbarred_from_checking = ["student nurse"]\n'
STAFF = {"KM": ("registrar", "73914625"), "RA": ("nurse", "40285137"), "SN": ("student nurse", "96307418")}
"""By initials: role and PIN, all invented."""

SURFACTANT, ATROPINE = "09524000000002", "09524000000019"
"""Product numbers that begin with 952, which GS1 keeps for examples: none is a real product's."""
IN_HAND = (
    ('air = "0.5 mL"', 'air = "0.5 mL"\nin_hand = true'),
    ('holds = ["1.5 mL", "3 mL"]', f'holds = ["1.5 mL", "3 mL"]\ngtin = ["{SURFACTANT}"]'),
    ('use = ["atropine-50"]', f'use = ["atropine-50"]\ngtin = ["{ATROPINE}"]'),
)
"""What makes the demo ward one that asks for batch and expiry."""


def write_ward(path: Path, *changes: tuple[str, str], more: str = "") -> Path:
    """The demo ward with some of its text changed."""
    text = (find_shipped("demo") / "ward.toml").read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text + more, "utf-8")
    return path
