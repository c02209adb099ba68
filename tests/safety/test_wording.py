"""Words of the shipped kits that are a control in the hazard log."""

from shipped import read_kit_text

from prepkit.kit.read import read_kit


def test_the_detectors_line_asks_for_a_second_sign() -> None:
    """No change in 11 of 32 intubations with the tube in the trachea, of 20 babies under 32 weeks (Schmölzer 2011)."""
    kit, problems = read_kit(read_kit_text(), "kit.toml")
    assert kit is not None, problems
    said = " ".join(words for line in kit.model.line if "co2" in line.id for words in (*line.how, *line.cautions))
    assert (
        "No change is not proof of misplacement: in 11 of 32 correct intubations (20 babies under 32 weeks)"
        " there was none (Schmölzer 2011, tracheal tubes)."
    ) in said
    assert "Look for a second sign" in said
