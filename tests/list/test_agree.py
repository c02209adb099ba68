"""Whether a second person's result agrees with the list: within the syringe's mark, and the same containers."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from trays import find_baby, find_line

from prepkit.list.agree import Entered, agrees, explain_entered, read_entered
from prepkit.list.lines import ListLine
from prepkit.quantities.show import write_decimal

# 200 mg/kg of 80 mg/mL is 2.5 mL/kg (prescribing information, clinical reference section 2.1): 1450 g needs 3.625 mL,
# 3.6 mL on a 5 mL syringe with marks every 0.2 mL.
SURFACTANT = find_line("surfactant", 1450)
VIALS = {"3 mL": "1", "1.5 mL": "1"}


def enter(line: ListLine, typed: str, counts: dict[str, str] | None = None) -> Entered:
    entered = read_entered(line, typed, counts or {})
    assert isinstance(entered, Entered), entered
    return entered


@pytest.mark.parametrize("typed", ["3.6", "3.625", "3.63", "3.5", "3.69"])
def test_a_volume_that_rounds_to_the_lists_mark_agrees(typed: str) -> None:
    assert agrees(SURFACTANT, enter(SURFACTANT, typed, VIALS))


@pytest.mark.parametrize("typed", ["3.4", "3.49", "3.7", "3.8", "36", "0.36"])
def test_a_volume_that_rounds_to_another_mark_differs(typed: str) -> None:
    assert not agrees(SURFACTANT, enter(SURFACTANT, typed, VIALS))


def test_other_containers_differ_though_the_volume_agrees() -> None:
    assert not agrees(SURFACTANT, enter(SURFACTANT, "3.6", {"1.5 mL": "3"}))
    assert not agrees(SURFACTANT, enter(SURFACTANT, "3.6", {"3 mL": "2"}))


@pytest.mark.parametrize(
    ("typed", "counts"),
    [
        ("", VIALS),
        ("3,6", VIALS),
        ("0", VIALS),
        ("3.6 mL", VIALS),
        ("3.6", {}),
        ("3.6", {"3 mL": "-1"}),
        ("3.6", {"3 mL": "21"}),
        ("3.6", {"3 mL": "1.5"}),
        ("3.6", {"3 mL": "²"}),
    ],
)
def test_what_cannot_be_read_is_refused_without_a_word_of_the_list(typed: str, counts: dict[str, str]) -> None:
    refused = read_entered(SURFACTANT, typed, counts)
    assert isinstance(refused, str)
    for secret in (SURFACTANT.show, "290", "3.625"):
        assert secret not in refused.replace(f'"{typed}"', "")


def test_a_size_agrees_when_it_is_one_that_serves() -> None:
    device = find_line("airway-device", 1450)
    assert device.choices == ("1", "1.5")
    assert agrees(device, enter(device, "1"))
    assert not agrees(device, enter(device, "1.5"))
    assert read_entered(device, "2", {}) == "The size is one of 1, 1.5."


@pytest.mark.parametrize(
    ("typed", "said"), [("14", True), ("15.5", True), ("16", True), ("13.9", False), ("16.1", False)]
)
def test_a_depth_agrees_within_the_lists_range(typed: str, said: bool) -> None:
    depth = find_line("catheter-depth", 1450)
    assert agrees(depth, enter(depth, typed)) is said


def test_the_exact_volume_on_paper_agrees_where_the_mark_was_held_below_it() -> None:
    """1849 g: 4.6225 mL exactly, half up on 0.2 mL marks is 4.6; 4.62 typed is what stands on paper."""
    line = find_line("surfactant", 1849, "32+0")
    assert line.exact is not None
    assert line.exact.value == Fraction("4.6225")
    counts = {f"{write_decimal(vial.size.value)} mL": str(vial.count) for vial in line.vials}
    assert agrees(line, enter(line, "4.62", counts))


def test_what_was_entered_is_worked_back_to_what_it_would_give() -> None:
    """36 mL x 80 mg/mL = 2880 mg; / 1.45 kg = 1986.2 mg/kg (by hand)."""
    words = explain_entered(SURFACTANT, "36 mL", "3 mL", find_baby(1450))
    assert words[0] == "Entered: 36 mL × 80 mg/mL = 2\N{NARROW NO-BREAK SPACE}880 mg."
    assert words[1].startswith("2\N{NARROW NO-BREAK SPACE}880 mg ÷ 1450 g = 1\N{NARROW NO-BREAK SPACE}986.21 mg/kg")
    assert words[2] == "Opened: 3 mL."


@given(st.integers(1200, 5000))
def test_whoever_works_it_out_exactly_agrees_at_every_weight(weight: int) -> None:
    """The outside sum: dose per kg x kg / strength, in plain fractions, typed with two decimals."""
    line = find_line("surfactant", weight, "34+0")
    volume = Fraction(200 * weight, 80 * 1000)
    counts = {f"{write_decimal(vial.size.value)} mL": str(vial.count) for vial in line.vials}
    assert line.blocked or agrees(line, enter(line, write_decimal(volume, 2), counts))
