"""Whether a second person's result agrees with the list: within the syringe's mark, and the same containers."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from trays import find_line

from prepkit.list.agreement import Entered, agrees, check_count, explain_entered, read_entered
from prepkit.list.lines import ListLine
from prepkit.quantities.text import read_amount, write_decimal
from prepkit.rules.rule import VialCount
from prepkit.wording.things import show_vials

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
def test_a_length_agrees_within_the_lists_range(typed: str, said: bool) -> None:
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
    words = explain_entered(SURFACTANT, "36 mL", "3 mL")
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


def test_an_entry_holds_the_value_and_the_containers_large_ones_first_and_shows_them() -> None:
    entered = enter(SURFACTANT, " 3.6 ", {"1.5 mL": " 2 ", "3 mL": "1"})
    vials = (VialCount(read_amount("3 mL"), 1), VialCount(read_amount("1.5 mL"), 2))
    assert entered == Entered(read_amount("3.6 mL"), "", vials)
    assert (entered.show_value(), show_vials(entered.vials)) == ("3.6 mL", "3 mL + 2 × 1.5 mL")
    size = enter(find_line("airway-device", 1450), " 1.5 ")
    assert size == Entered(None, "1.5", ())
    assert (size.show_value(), show_vials(size.vials)) == ("1.5", "")


@pytest.mark.parametrize(
    ("typed", "counts", "said"),
    [
        ("0", VIALS, "Enter more than nothing."),
        ("3.6", {}, "Enter how many to open: at least one vial."),
        ("3.6", {"3 mL": "1", "1.5 mL": "21"}, "How many of 1.5 mL: a whole number up to 20."),
        ("3.6", {"3 mL": "x"}, "How many of 3 mL: a whole number up to 20."),
    ],
)
def test_what_is_wrong_with_an_entry_is_said_in_one_sentence(typed: str, counts: dict[str, str], said: str) -> None:
    assert read_entered(SURFACTANT, typed, counts) == said


def test_a_line_without_a_value_takes_no_entry() -> None:
    line = find_line("catheter-depth", 1450)._replace(amount=None, low=None, high=None)
    assert read_entered(line, "15", {}) == "Nothing is entered for this line."


@pytest.mark.parametrize(("low", "high"), [("14 cm", None), (None, "16 cm")])
def test_a_range_with_one_end_gives_the_unit_and_agrees_with_nothing(low: str | None, high: str | None) -> None:
    ends = (None if end is None else read_amount(end) for end in (low, high))
    line = find_line("catheter-depth", 1450)._replace(amount=None, **dict(zip(("low", "high"), ends, strict=True)))
    entered = enter(line, "15")
    assert entered.value == read_amount("15 cm")
    assert not agrees(line, entered)


def test_twenty_of_a_container_is_the_most_that_is_typed() -> None:
    assert [check_count("3 mL", typed) for typed in ("0", "20", " 7 ")] == ["", "", ""]
    assert check_count("3 mL", "21") == "How many of 3 mL: a whole number up to 20."


def test_an_amount_without_a_syringe_agrees_exactly_or_not_at_all() -> None:
    tube = find_line("gastric-tube", 1450)
    assert (tube.amount, tube.syringe) == (read_amount("16.5 cm"), None)
    assert agrees(tube, enter(tube, "16.5"))
    assert not agrees(tube, enter(tube, "16.4"))
    # The list's unit is not always the one that is entered.
    assert agrees(tube._replace(amount=read_amount("165 mm")), Entered(read_amount("16.5 cm"), "", ()))


def test_what_is_on_paper_is_rounded_to_a_hundredth() -> None:
    # 1849 g held to 4.4 mL, say: 4.6225 mL is 4.62 on paper, and no other number than that agrees beside the mark.
    line = find_line("surfactant", 1849, "32+0")
    held = line._replace(amount=read_amount("4.4 mL"))
    counts = {f"{write_decimal(vial.size.value)} mL": str(vial.count) for vial in line.vials}
    said = [agrees(held, enter(held, typed, counts)) for typed in ("4.62", "4.61", "4.63", "4.6225", "4.4", "4.49")]
    assert said == [True, False, False, False, True, True]
    assert not agrees(held._replace(exact=None), enter(held, "4.62", counts))


def test_the_working_back_is_rounded_to_two_places_and_names_the_containers_only_where_there_are_any() -> None:
    # 3.63 mL × 80 mg/mL = 290.4 mg; ÷ 1.451 kg = 200.137... mg/kg. 0.0333 mL × 80 = 2.664 mg; ÷ 1.451 = 1.8359...
    line = find_line("surfactant", 1451)
    assert explain_entered(line, "3.63 mL", "") == (
        "Entered: 3.63 mL × 80 mg/mL = 290.4 mg.",
        "290.4 mg ÷ 1451 g = 200.14 mg/kg.",
    )
    assert explain_entered(line, "0.0333 mL", "3 mL") == (
        "Entered: 0.0333 mL × 80 mg/mL = 2.66 mg.",
        "2.66 mg ÷ 1451 g = 1.84 mg/kg.",
        "Opened: 3 mL.",
    )
    # Under 1 mg it is told in microgram: 0.01 mL × 80 mg/mL.
    assert (
        explain_entered(find_line("surfactant", 1200), "0.01 mL", "")[1]
        == "800 microgram ÷ 1200 g = 666.67 microgram/kg."
    )


def test_what_is_no_dose_is_said_as_it_was_entered() -> None:
    tube = find_line("gastric-tube", 1450)
    assert explain_entered(tube, "16.5 cm", "") == ("Entered: 16.5 cm.",)
    for less in (SURFACTANT._replace(recipe=None), SURFACTANT._replace(weight=None)):
        assert explain_entered(less, "3.6 mL", "3 mL") == ("Entered: 3.6 mL.", "Opened: 3 mL.")
