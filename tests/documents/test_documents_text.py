"""The list as plain text: what stands in it, and how it is broken into lines."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest

from prepkit.app.kit_files import load_kit, load_ward
from prepkit.documents.tray_list import write_list_text
from prepkit.kit.baby import make_baby
from prepkit.list.compute import compute_list
from prepkit.paths import find_shipped
from prepkit.quantities.units import UNITS

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


def write(ward: bool, **given: str) -> str:
    kit, _ = load_kit(find_shipped("kits") / "surfactant-supraglottic.toml")
    assert kit is not None
    baby, _ = make_baby(kit.model, {"birth_weight": "1450", "birth_gestation": "30+2", **given}, NOW)
    assert baby is not None
    return write_list_text(
        compute_list(kit, load_ward(find_shipped("demo") / "ward.toml")[0] if ward else None, baby, {}, NOW)
    )


def test_the_text_opens_with_kit_edition_baby_ward_and_what_was_assumed() -> None:
    rows = write(ward=True).split("\n")
    assert rows[0] == "Surfactant through a supraglottic airway (edition 2026-11)"
    assert rows[1] == "1450 g · 30+2 · Heron Ward (invented)"
    assert rows[2].startswith("Default, not confirmed: Born 25 Nov 2026, Sex unknown, CPAP now 6 cmH2O, ")
    assert "Verdict: questions open" in rows
    assert "[ ] Surfactant: 3.6 mL" in rows


def test_what_was_given_is_not_called_assumed() -> None:
    facts = {
        "born": "today",
        "cpap": "7",
        "gastric_tube": "no",
        "line_patent": "yes",
        "nil_by_mouth": "yes",
        "earlier_surfactant": "none",
    }
    assert "Default, not confirmed" not in write(ward=True, sex="boy", **facts)


def test_what_was_given_before_stands_under_the_baby_by_the_products_name() -> None:
    text = write(ward=True, born="2026-11-23", earlier_surfactant="poractant-alfa, 250 mg, 2026-11-24 08:00")
    assert "\nSurfactant given before: Poractant alfa, 250 mg, 24 Nov 08:00.\n" in text
    assert "Surfactant given before:" not in write(ward=True, earlier_surfactant="none")


def test_a_blocked_line_says_so_and_why() -> None:
    rows = write(ward=False).split("\n")
    assert "[BLOCKED] Supraglottic airway" in rows
    assert rows[rows.index("[BLOCKED] Supraglottic airway") + 1].startswith(
        "      Blocked: 1450 g is outside every label"
    )
    assert rows[1].endswith("no ward file")


@pytest.mark.parametrize("weight", ["1200", "1450", "2345", "3333"])
def test_no_line_break_parts_a_number_from_its_unit(weight: str) -> None:
    units = tuple(UNITS)
    rows = write(ward=True, birth_weight=weight).split("\n")
    for before, after in pairwise(rows):
        starts = after.strip().split(" ")[0].rstrip(".,;:)")
        assert not (before[-1:].isdigit() and starts in units), (before, after)
        assert len(before) <= 100
    assert "\u00a0" not in "".join(rows)


def test_the_text_ends_with_who_decides() -> None:
    assert " ".join(write(ward=True).split()).endswith("local policy, pharmacy and the prescriber decide.")
