"""What ISO 7886-1:1993 permits a hypodermic syringe to be out by (clinical reference, section 12; corrections, A3).

It was read as a testing laboratory's worked paper of 2016 quotes it; the edition of 2017 was not seen.

Status R: under 2 mL, and below half of 10 to under 20 mL. Status M, from memory: everything else. Above 20 mL: unknown.
"""

from fractions import Fraction

import pytest
from trays import find_line, read

from prepkit.kit.fields import EXCERPT
from prepkit.rules.dose.tolerance import find_iso_tolerance

READ, MEMORY = EXCERPT, "from memory"

ROWS = [
    # The three figures that the reference works out for a 1 mL syringe.
    ("1 mL", "0.1 mL", "17", READ),
    ("1 mL", "0.2 mL", "9.5", READ),
    ("1 mL", "0.5 mL", "5", READ),
    ("1 mL", "1 mL", "5", READ),
    # Under 2 mL: 1.5 % of C + 2 % of the volume below half; 5 % from half on.
    ("1 mL", "0.499 mL", str(2 + Fraction(15, 10) / Fraction("0.499")), READ),
    ("1.9 mL", "0.5 mL", "7.7", READ),
    # 2 to under 5 mL: the same.
    ("2 mL", "0.5 mL", "8", MEMORY),
    ("2.5 mL", "1 mL", "5.75", MEMORY),
    ("2.5 mL", "1.25 mL", "5", MEMORY),
    ("4.9 mL", "2.45 mL", "5", MEMORY),
    # 5 to under 10 mL: 1.5 % of C + 1 % of the volume below half; 4 % from half on.
    ("5 mL", "2 mL", "4.75", MEMORY),
    ("5 mL", "2.5 mL", "4", MEMORY),
    ("9.9 mL", "9 mL", "4", MEMORY),
    # 10 to under 20 mL: the same.
    ("10 mL", "2 mL", "8.5", READ),
    ("10 mL", "4 mL", "4.75", READ),
    ("10 mL", "5 mL", "4", MEMORY),
    ("19.9 mL", "19 mL", "4", MEMORY),
]


@pytest.mark.parametrize(("holds", "volume", "percent", "basis"), ROWS)
def test_every_row_of_the_standard(holds: str, volume: str, percent: str, basis: str) -> None:
    found = find_iso_tolerance(read(holds), read(volume))
    assert found is not None
    assert (found.percent, found.basis) == (Fraction(percent), basis)


@pytest.mark.parametrize("holds", ["20 mL", "50 mL"])
def test_no_figure_is_made_up_from_20_ml_on(holds: str) -> None:
    assert find_iso_tolerance(read(holds), read("8 mL")) is None


def test_a_line_says_what_the_tolerance_is_and_whether_it_was_read() -> None:
    said = "The syringe itself may be {} % out at this volume [{}: ISO 7886-1 1993]."
    assert said.format("5", "excerpt or account") in find_line("atropine", 1450).working
    assert said.format("4", MEMORY) in find_line("surfactant", 1450).working
    # 5 kg of a baby takes 12.5 mL, in a 20 mL syringe.
    assert "How far a 20 mL syringe itself may be out is not recorded here." in find_line("surfactant", 5000).working
