"""Which syringe measures a volume: figures here are invented."""

from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.rules.syringe import Measured, Unmeasurable, measure

Row = tuple[str, str, str]
SMALL: Row = ("1", "0.01", "0.1")
MIDDLE: Row = ("2.5", "0.1", "0.5")
LARGE: Row = ("5", "0.2", "1")


def make_syringe(row: Row, route: Literal["intravenous", "enteral", "tracheal"] = "tracheal") -> SyringeStock:
    holds, marks, least = (make_amount(number, "mL") for number in row)
    return SyringeStock(route=route, holds=holds, marks=marks, least=least)


def try_stock(
    exact: str | Fraction, *rows: Row, air: str = "0", allowed: str = "5", ceiling: str | None = None
) -> Measured | Unmeasurable:
    most = make_amount(ceiling, "mL") if ceiling else None
    stock = [make_syringe(row) for row in rows]
    return measure(make_amount(exact, "mL"), make_amount(air, "mL"), stock, make_amount(allowed, "%"), most)


def take(exact: str, *rows: Row, air: str = "0", allowed: str = "5", ceiling: str | None = None) -> tuple[Amount, ...]:
    """The syringe's capacity and the mark."""
    found = try_stock(exact, *rows, air=air, allowed=allowed, ceiling=ceiling)
    assert isinstance(found, Measured), found
    return found.syringe.holds, found.volume


def refuse(exact: str, *rows: Row, air: str = "0", allowed: str = "5", ceiling: str | None = None) -> str:
    found = try_stock(exact, *rows, air=air, allowed=allowed, ceiling=ceiling)
    assert isinstance(found, Unmeasurable), found
    return found.reason


def ml(*numbers: str) -> tuple[Amount, ...]:
    return tuple(make_amount(number, "mL") for number in numbers)


@pytest.mark.parametrize(
    ("exact", "holds", "mark"),
    [("0.1", "1", "0.1"), ("1", "1", "1"), ("1.004", "1", "1"), ("1.2", "2.5", "1.2"), ("2.54", "2.5", "2.5"),
     ("2.6", "5", "2.6"), ("5", "5", "5")],
)  # fmt: skip
def test_the_smallest_syringe_that_holds_it_is_taken_in_whatever_order_they_stand(
    exact: str, holds: str, mark: str
) -> None:
    assert take(exact, SMALL, MIDDLE, LARGE) == take(exact, LARGE, MIDDLE, SMALL) == ml(holds, mark)


@pytest.mark.parametrize(("exact", "mark"), [("0.5049", "0.5"), ("0.505", "0.51"), ("0.5151", "0.52")])
def test_the_nearest_mark_is_taken_and_half_way_the_larger(exact: str, mark: str) -> None:
    assert take(exact, SMALL) == ml("1", mark)


def test_the_air_behind_the_volume_needs_its_room() -> None:
    assert take("2", MIDDLE, LARGE, air="0.5") == ml("2.5", "2")
    assert take("2.1", MIDDLE, LARGE, air="0.5") == ml("5", "2.2")
    assert refuse("4.6", MIDDLE, LARGE, air="0.5") == "5.1 mL does not fit a 5 mL syringe"


def test_a_syringe_whose_marks_are_too_coarse_is_passed_over_for_a_larger_one_that_is_finer() -> None:
    coarse: Row = ("3", "0.5", "0.5")
    assert take("1.2", coarse, LARGE) == ml("5", "1.2")


def test_what_is_off_by_just_what_the_ward_allows_serves() -> None:
    wide: Row = ("4.2", "2.1", "1")
    assert take("2", wide, allowed="5") == ml("4.2", "2.1")
    assert "moves the dose by 5 %" in refuse("2", wide, allowed="4.999")


@pytest.mark.parametrize(
    ("exact", "rows", "reason"),
    [
        ("0.09", (SMALL, MIDDLE), "0.09 mL is under the 0.1 mL that a 1 mL syringe measures"),
        ("0.0999", (SMALL, MIDDLE), "0.0999 mL is under the 0.1 mL that a 1 mL syringe measures"),
        ("6", (SMALL, MIDDLE, LARGE), "6 mL does not fit a 5 mL syringe"),
        # Too much for one and too little for the other: the one that it fits is nearer.
        ("1.1", (SMALL, ("10", "0.5", "2")), "1 mL is under the 2 mL that a 10 mL syringe measures"),
        ("1.1", (LARGE,), "rounding 1.1 mL to the marks of a 5 mL syringe moves the dose by 9.1 %"),
    ],
)
def test_where_none_serves_the_nearest_miss_is_named(exact: str, rows: tuple[Row, ...], reason: str) -> None:
    assert refuse(exact, *rows) == reason


def test_nothing_in_stock_is_said() -> None:
    assert refuse("1") == "no syringe for this route in stock"


def test_a_mark_past_the_ceiling_is_not_taken() -> None:
    assert take("1.1", LARGE, allowed="10") == ml("5", "1.2")
    held = try_stock("1.1", LARGE, allowed="10", ceiling="1.1")
    assert isinstance(held, Measured)
    assert (held.volume, held.is_held) == (make_amount(1, "mL"), True)
    assert held.deviation == Fraction(-1, 11)
    on_it = try_stock("1.1", LARGE, allowed="10", ceiling="1.2")
    assert isinstance(on_it, Measured)
    assert (on_it.volume, on_it.is_held) == (make_amount("1.2", "mL"), False)


@settings(max_examples=60, deadline=None)
@given(
    exact=st.fractions(Fraction(1, 100), 8, max_denominator=997),
    air=st.sampled_from(["0", "0.3", "0.5"]),
    allowed=st.sampled_from(["1", "5", "20"]),
)
def test_what_is_measured_is_on_a_mark_fits_and_is_near_enough(exact: Fraction, air: str, allowed: str) -> None:
    found = try_stock(exact, SMALL, MIDDLE, LARGE, air=air, allowed=allowed)
    serving = [row for row in (SMALL, MIDDLE, LARGE) if serves(row, exact, Fraction(air), Fraction(allowed) / 100)]
    if isinstance(found, Unmeasurable):
        assert serving == []
        return
    assert found.syringe == make_syringe(serving[0])
    assert abs(found.volume.value - exact) * 2 <= convert(found.syringe.marks, "mL").value
    assert found.deviation == found.volume.value / exact - 1


def serves(row: Row, exact: Fraction, air: Fraction, allowed: Fraction) -> bool:
    """Try every mark of the syringe: whether the nearest one, the larger of two, is one that it may be drawn up to."""
    holds, marks, least = map(Fraction, row)
    every = [marks * at for at in range(int(9 / marks))]
    nearest = min(every, key=lambda mark: (abs(mark - exact), -mark))
    return nearest + air <= holds and min(nearest, exact) >= least and abs(nearest - exact) <= allowed * exact
