"""A syringe's scale in whole parts of a mL: from where it measures, surely measures, and up to where it holds."""

from fractions import Fraction

import pytest

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import make_amount
from prepkit.rules.dose.scales import read_scale


@pytest.mark.parametrize(
    ("least", "share", "from_to"),
    # In tenths of a mL, of 5 mL with marks of 0.2 mL and 0.5 mL of air: 4.4 mL is the last mark. Half a mark is 5 % of
    # 2 mL, and a whole one of 4 mL.
    [
        ("0.5", 5, (45, 5, 20, 40)),
        ("2.9", 50, (45, 29, 29, 30)),
        ("3", 50, (45, 30, 30, 30)),
        ("0.5", 0, (45, 5, 51, 102)),
    ],
)
def test_a_scale_measures_from_its_least_and_holds_up_to_half_a_mark_past_its_last(
    least: str, share: int, from_to: tuple[int, ...]
) -> None:
    holds, marks = make_amount(5, "mL"), make_amount("0.2", "mL")
    syringe = SyringeStock(route="tracheal", holds=holds, marks=marks, least=make_amount(least, "mL"))
    found = read_scale(syringe, 10, 5, Fraction(share))
    assert (found.below, found.measures_from, found.sure_from, found.sure_down) == from_to
    assert (found.holds, found.marks, found.least) == (50, 2, int(Fraction(least) * 10))
