"""The shipped kits are whole files each; what they share is the same in all of them."""

from itertools import combinations

import pytest
from kit_files import take_kit

from prepkit.kit.kit import Kit
from prepkit.paths import find_shipped

KITS = [take_kit(path.read_text("utf-8")).model for path in sorted(find_shipped("kits").glob("*.toml"))]
SAME_LINES = {
    "surfactant-drawn-up",
    "t-piece-peep",
    "t-piece-pip",
    "gas-flow",
    "face-mask",
    "gastric-tube",
    "co2-detector",
    "spo2-target",
    "heart-rate-floor",
    "backup-tube",
    "backup-tube-depth",
    "backup-suction",
    "sucrose",
}


def test_the_three_routes_are_shipped() -> None:
    assert {kit.id for kit in KITS} == {
        "surfactant-brief-ventilation",
        "surfactant-supraglottic",
        "surfactant-thin-catheter",
    }


@pytest.mark.parametrize(("one", "two"), [*combinations(KITS, 2)], ids=lambda kit: kit.id)
def test_products_sources_facts_and_shared_lines_say_the_same_in_every_kit(one: Kit, two: Kit) -> None:
    for table in ("product", "fact"):
        first, second = ({row.id: row for row in getattr(kit, table)} for kit in (one, two))
        assert {name: first[name] for name in first.keys() & second.keys()} == {
            name: second[name] for name in first.keys() & second.keys()
        }
    shared = one.sources.keys() & two.sources.keys()
    assert {name: one.sources[name] for name in shared} == {name: two.sources[name] for name in shared}
    lines, others = ({line.id: line for line in kit.line} for kit in (one, two))
    for name in SAME_LINES & lines.keys() & others.keys():
        assert lines[name] == others[name], name
