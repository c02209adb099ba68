"""Words of the shipped kits that are a control in the hazard log."""

from shipped import read_kit_text

from prepkit.kit.read import read_kit


def test_the_detectors_line_asks_for_a_second_sign() -> None:
    """No change in 11 of 35 babies under 32 weeks with the tube right (Schmölzer 2011, as the kit cites it)."""
    kit, problems = read_kit(read_kit_text(), "kit.toml")
    assert kit is not None, problems
    said = " ".join(words for line in kit.model.line if "co2" in line.id for words in (*line.how, *line.cautions))
    assert "No change is not proof of misplacement: in 11 of 35 babies" in said
    assert "Look for a second sign" in said
