"""Which syringe measures a volume: figures here are invented."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import Amount, convert, make_amount
from prepkit.quantities.text import show_amount
from prepkit.rules.dose.syringe import Measured, RoundingLimits, Syringes, Unmeasurable, prepare_syringes
from prepkit.wording.say import say

Row = tuple[str, str, str]
SMALL: Row = ("1", "0.01", "0.1")
MIDDLE: Row = ("2.5", "0.1", "0.5")
LARGE: Row = ("5", "0.2", "1")


def make_syringe(row: Row, route: Literal["intravenous", "enteral", "tracheal"] = "tracheal") -> SyringeStock:
    holds, marks, least = (make_amount(number, "mL") for number in row)
    return SyringeStock(route=route, holds=holds, marks=marks, least=least)


def try_stock(
    exact: str | Fraction,
    *rows: Row,
    air: str = "0",
    allowed: str = "5",
    **limits: str,
) -> Measured | Unmeasurable:
    held = RoundingLimits(**{name: make_amount(limit, "mL") for name, limit in limits.items()})
    return prepare(rows, air, allowed).measure(make_amount(exact, "mL"), held)


def prepare(rows: Sequence[Row], air: str = "0", allowed: str = "5") -> Syringes:
    return prepare_syringes([make_syringe(row) for row in rows], make_amount(air, "mL"), make_amount(allowed, "%"))


def take(exact: str, *rows: Row, **limits: str) -> tuple[Amount, ...]:
    """The syringe's capacity and the mark."""
    found = try_stock(exact, *rows, **limits)
    assert isinstance(found, Measured), found
    return found.syringe.holds, found.volume


def refuse(exact: str, *rows: Row, **limits: str) -> str:
    found = try_stock(exact, *rows, **limits)
    assert isinstance(found, Unmeasurable), found
    return say(found.reason)


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
        ("0.096789", (SMALL,), "0.0968 mL is under the 0.1 mL that a 1 mL syringe measures"),
        ("1.112345", (LARGE,), "rounding 1.1123 mL to the marks of a 5 mL syringe moves the dose by 7.9 %"),
        ("6", (SMALL, MIDDLE, LARGE), "6 mL does not fit a 5 mL syringe"),
        # Too much for one and too little for the other: the one that it fits is nearer.
        ("1.1", (SMALL, ("10", "0.5", "2")), "1 mL is under the 2 mL that a 10 mL syringe measures"),
        # 5 of the 9.1 % that rounding would need is 55 %; 1 of 2 mL is 50 %, 1 of 1.2 mL is 83 %.
        ("1.1", (LARGE, ("10", "0.5", "2")), "rounding 1.1 mL to the marks of a 5 mL syringe moves the dose by 9.1 %"),
        ("1.1", (LARGE, ("10", "0.5", "1.2")), "1 mL is under the 1.2 mL that a 10 mL syringe measures"),
        ("1.1", (LARGE,), "rounding 1.1 mL to the marks of a 5 mL syringe moves the dose by 9.1 %"),
    ],
)
def test_where_none_serves_the_nearest_miss_is_named(exact: str, rows: tuple[Row, ...], reason: str) -> None:
    assert refuse(exact, *rows) == reason


def test_nothing_in_stock_is_said() -> None:
    # With nothing of what is needed: any other miss is nearer.
    found = try_stock("1")
    assert isinstance(found, Unmeasurable)
    assert (say(found.reason), found.nearness) == ("no syringe for this route in stock", Fraction(0))


def find_mark(exact: str, row: Row = LARGE, **limits: str) -> tuple[Amount, str]:
    """The mark, and what it is held down by."""
    found = try_stock(exact, row, **limits)
    assert isinstance(found, Measured), found
    return found.volume, found.held_by


def test_a_mark_past_the_most_is_not_taken() -> None:
    assert take("1.1", LARGE, allowed="10") == ml("5", "1.2")
    held = try_stock("1.1", LARGE, allowed="10", most="1.1")
    assert isinstance(held, Measured)
    assert (held.volume, held.held_by) == (make_amount(1, "mL"), "most")
    assert (held.percent, held.is_above) == (Fraction(100, 11), False)
    assert find_mark("1.1", allowed="10", most="1.2") == (make_amount("1.2", "mL"), "")
    assert refuse("1.1", LARGE, allowed="9", most="1.1").endswith("moves the dose by 9.1 %")


def test_a_mark_past_what_the_course_has_left_gives_way_to_the_one_below_where_that_is_near_enough() -> None:
    # 2.3 mL lies half way between 2.2 and 2.4 mL, 4.35 % from each.
    assert find_mark("2.3", allowed="5") == (make_amount("2.4", "mL"), "")
    assert find_mark("2.3", allowed="5", left="2.3") == (make_amount("2.2", "mL"), "course")
    assert find_mark("2.3", allowed="5", left="2.4") == (make_amount("2.4", "mL"), "")
    # 1.95 mL: the mark below, 1.8 mL, is 7.7 % off; the one above, 2 mL, is 2.6 % off.
    assert find_mark("1.95", allowed="8", left="1.95") == (make_amount("1.8", "mL"), "course")
    assert find_mark("1.95", allowed="5", left="1.95") == (make_amount(2, "mL"), "")
    # 2.5 mL lies half way between 2.4 and 2.6 mL, 4 % from each: just what is allowed is near enough.
    assert find_mark("2.5", allowed="4", left="2.5") == (make_amount("2.4", "mL"), "course")
    assert "moves the dose by 9.1 %" in refuse("1.1", LARGE, allowed="9", left="1.1")


def test_the_mark_below_is_no_use_where_the_syringe_does_not_measure_it() -> None:
    half: Row = ("5", "0.5", "2")
    assert find_mark("2.3", half, allowed="20", left="2.3") == (make_amount(2, "mL"), "course")
    odd: Row = ("5", "0.5", "2.1")
    assert find_mark("2.3", odd, allowed="20", left="2.3") == (make_amount("2.5", "mL"), "")


@settings(max_examples=200, deadline=None)
@given(
    exact=st.fractions(Fraction(1, 100), 8, max_denominator=997),
    room=st.fractions(0, Fraction(1, 2), max_denominator=997),
    most=st.none() | st.fractions(0, Fraction(1, 2), max_denominator=997),
    allowed=st.sampled_from(["1", "5", "20"]),
)
def test_no_mark_passes_the_most_and_none_passes_the_course_by_more_than_half_a_mark(
    exact: Fraction, room: Fraction, most: Fraction | None, allowed: str
) -> None:
    most_volume = None if most is None else make_amount(exact + most, "mL")
    limits = RoundingLimits(most_volume, left=make_amount(exact + room, "mL"))
    found = prepare((SMALL, MIDDLE, LARGE), allowed=allowed).measure(make_amount(exact, "mL"), limits)
    if isinstance(found, Unmeasurable):
        return
    marks, volume = convert(found.syringe.marks, "mL").value, found.volume.value
    assert most is None or volume <= exact + most
    over = volume - (exact + room)
    assert over * 2 <= marks
    assert found.percent <= int(allowed)
    if over > 0:
        below = volume - marks
        is_far = (exact - below) * 100 > int(allowed) * exact
        assert is_far or below < convert(found.syringe.least, "mL").value, "the mark below would have served"


@settings(max_examples=60, deadline=None)
@given(
    exact=st.fractions(Fraction(1, 100), 8, max_denominator=997),
    air=st.sampled_from(["0", "0.3", "0.5"]),
    allowed=st.sampled_from(["1", "5", "20"]),
)
def test_what_is_measured_is_on_a_mark_fits_and_is_near_enough(exact: Fraction, air: str, allowed: str) -> None:
    found = try_stock(exact, SMALL, MIDDLE, LARGE, air=air, allowed=allowed)
    rows = [row for row in (SMALL, MIDDLE, LARGE) if serves(row, exact, Fraction(air), Fraction(allowed) / 100)]
    if isinstance(found, Unmeasurable):
        assert not any(is_sure(row, exact, Fraction(allowed)) for row in rows)
        return
    assert found.syringe in [make_syringe(row) for row in rows]
    if sure := [row for row in rows if is_sure(row, exact, Fraction(allowed))]:
        # Of these three a larger one is never the finer one.
        assert found.syringe == make_syringe(sure[0])
        assert found.is_sure
    assert abs(found.volume.value - exact) * 2 <= convert(found.syringe.marks, "mL").value
    assert found.percent == abs(found.volume.value / exact - 1) * 100
    assert found.is_above == (found.volume.value > exact)


def serves(row: Row, exact: Fraction, air: Fraction, allowed: Fraction) -> bool:
    """Try the marks on both sides: whether the nearest one, the larger of two, is one that it may be drawn up to."""
    holds, marks, least = map(Fraction, row)
    below = exact // marks * marks
    nearest = min((below, below + marks), key=lambda mark: (abs(mark - exact), -mark))
    return nearest + air <= holds and min(nearest, exact) >= least and abs(nearest - exact) <= allowed * exact


def is_sure(row: Row, exact: Fraction, allowed: Fraction) -> bool:
    """Whether no volume near this one lies too far from every mark: half a mark is within what is allowed."""
    return Fraction(row[1]) / 2 * 100 <= allowed * exact


@st.composite
def draw_row(draw: st.DrawFn) -> Row:
    marks = draw(st.sampled_from(["0.01", "0.05", "0.1", "0.2", "0.5", "1"]))
    holds = Fraction(marks) * draw(st.integers(5, 50))
    least = draw(st.sampled_from([Fraction(marks), holds / 10, holds / 5, holds / 2]))
    return str(holds), marks, str(least)


STOCKS = st.lists(draw_row(), min_size=1, max_size=5, unique_by=lambda row: row[0])
VOLUMES = [Fraction(at, 40) for at in range(1, 40 * 55)]


@settings(max_examples=60, deadline=None)
@given(
    rows=STOCKS,
    air=st.sampled_from(["0", "0.3", "0.5"]),
    allowed=st.sampled_from(["1", "5", "20"]),
    is_down=st.booleans(),
)
def test_each_syringe_serves_one_unbroken_span_of_volumes(
    rows: list[Row], air: str, allowed: str, *, is_down: bool
) -> None:
    syringes = prepare(rows, air, allowed)
    served = []
    for exact in VOLUMES:
        volume = make_amount(exact, "mL")
        found = syringes.measure(volume, RoundingLimits(range=volume) if is_down else RoundingLimits())
        if isinstance(found, Measured):
            served.append(found.syringe)
            assert found.volume <= volume or not is_down
            continue
        # What surely measures it is never left on the shelf, whichever span it lies in.
        doubled = Fraction(allowed) / (2 if is_down else 1)
        fits = [row for row in rows if serves(row, exact, Fraction(air), Fraction(allowed) / 100)]
        sure = [row for row in fits if is_sure(row, exact, doubled) and is_measured(row, exact, is_down=is_down)]
        assert not sure, (exact, sure)
    spans = [syringe for syringe, _ in groupby(served)]
    assert len(spans) == len({syringe.holds for syringe in spans})


def is_measured(row: Row, exact: Fraction, *, is_down: bool) -> bool:
    """Whether any volume near this one goes to a mark that the syringe measures."""
    marks, least = Fraction(row[1]), Fraction(row[2])
    first = -(-least // marks) * marks
    return exact >= (first if is_down else max(least, first - marks / 2))


@pytest.mark.parametrize(
    ("rows", "spans"),
    [
        # At 5 % of 0.1, 0.2 and 0.5 mL half a mark is within what is allowed from 1, 2 and 5 mL on.
        ((SMALL, MIDDLE, LARGE), [("0.1", "1"), ("1.1", "2.5"), ("2.6", "5")]),
        # A small one whose marks are the coarser would have the larger one serve before it and after it.
        ((("3", "0.5", "0.5"), LARGE), [("1.1", None), ("1.2", "5"), ("2", "5"), ("5", "5")]),
        # In the gap under the next one that surely measures, the one with the finest marks that measures there at all.
        ((MIDDLE, ("5", "0.5", "2"), ("10", "0.2", "4")), [("2.5", "2.5"), ("3", "5"), ("3.9", "5"), ("4", "10")]),
        # One that is full hands over to the next for good, though that one just happens to measure what comes then.
        ((SMALL, ("5", "0.5", "1")), [("1", "1"), ("1.5", "5"), ("1.25", None), ("5", "5")]),
    ],
)
def test_which_syringe_serves_which_volumes(rows: tuple[Row, ...], spans: list[tuple[str, str | None]]) -> None:
    for exact, holds in spans:
        found = try_stock(exact, *rows)
        serving = show_amount(found.syringe.holds) if isinstance(found, Measured) else None
        assert serving == (holds and f"{holds} mL")


def test_a_mark_past_the_labels_range_gives_way_to_the_one_below_within_what_is_allowed() -> None:
    # 2.3 mL lies half way between 2.2 and 2.4 mL, 4.35 % from each; 2.39 mL is 7.9 % from 2.2 mL.
    assert find_mark("2.3", allowed="5", range="2.3") == (make_amount("2.2", "mL"), "range")
    assert find_mark("2.3", allowed="5", range="2.4") == (make_amount("2.4", "mL"), "")
    assert "moves the dose by 7.9 %" in refuse("2.39", LARGE, allowed="5", range="2.39")


def test_another_syringe_serves_where_the_most_holds_the_mark_down_too_far() -> None:
    # 2.59 of at most 2.59 mL: the mark of the large one below is 2.4 mL, 7.3 % off; of the fine one it is 2.58 mL.
    fine: Row = ("6", "0.02", "2.3")
    assert take("2.59", LARGE, fine, most="2.59") == ml("6", "2.58")
    assert take("2.59", LARGE, fine) == ml("5", "2.6")
    # Of 2.1 mL, at most 2.15, one that measures from 2.1 mL on has 2 mL below; another has 2.1 mL itself.
    assert take("2.1", ("5", "0.2", "2.1"), ("21", "0.7", "0.7"), most="2.15") == ml("21", "2.1")


def test_where_it_may_go_to_the_mark_below_one_serves_that_is_sure_of_that_mark_too() -> None:
    # 5 % of 2 mL is half a mark of the large one, and of 4 mL a whole one; of the fine one both are far under 2.3 mL.
    fine: Row = ("6", "0.02", "2.3")
    assert take("2.7", MIDDLE, LARGE, fine) == ml("5", "2.8")
    assert take("2.7", MIDDLE, LARGE, fine, range="2.7") == ml("6", "2.7")
    for exact, limits, is_sure in (("3", {}, True), ("3", {"range": "3"}, False), ("4", {"range": "4"}, True)):
        found = try_stock(exact, LARGE, **limits)
        assert isinstance(found, Measured)
        assert found.is_sure is is_sure


@pytest.mark.parametrize(("exact", "is_sure"), [("1.99", False), ("2", True), ("4.9", True)])
def test_a_syringe_that_just_happens_to_have_a_mark_near_is_not_sure(exact: str, *, is_sure: bool) -> None:
    # 5 % of 2 mL is half a mark.
    found = try_stock(exact, LARGE)
    assert isinstance(found, Measured)
    assert found.is_sure == is_sure


@pytest.mark.parametrize(
    ("exact", "most", "mark"),
    [("3.12", "3", "3"), ("3.12", "3.1", "3"), ("3.2", "3", None), ("3.1579", "3", None), ("3.15", "3", "3")],
)
def test_measuring_down_stays_under_what_the_containers_hold_and_near_enough(
    exact: str, most: str, mark: str | None
) -> None:
    # 3 mL of 3.15 mL is 4.8 % less, of 3.1579 mL a little more than 5 %, of 3.2 mL 6.25 %.
    found = prepare((SMALL, MIDDLE, LARGE)).measure_down(make_amount(exact, "mL"), make_amount(most, "mL"))
    assert (found.volume if found else None) == (make_amount(mark, "mL") if mark else None)
    if found:
        assert (found.is_above, found.percent) == (False, (1 - 3 / Fraction(exact)) * 100)


def test_what_is_measured_down_is_above_nothing_and_held_by_nothing() -> None:
    exact, most = make_amount("3.12", "mL"), make_amount(3, "mL")
    found = prepare((SMALL, MIDDLE, LARGE)).measure_down(exact, most)
    assert found is not None
    assert found.held_by == ""
    # Off by nothing, and by just what is allowed: 3 mL of 3.0 mL, and 5 % under 3.1578... mL, which is 3 ÷ 0.95.
    for volume in (Fraction(3), 3 / Fraction(95, 100)):
        near = prepare((LARGE,)).measure_down(make_amount(volume, "mL"), most)
        assert near is not None, volume
        assert near.volume == most
    above = prepare((LARGE,)).measure_down(make_amount("2.99", "mL"), most)
    assert above is None


def test_measuring_down_fills_a_syringe_to_its_brim_and_begins_at_its_least() -> None:
    full, at_least = make_amount(5, "mL"), make_amount(4, "mL")
    brim = prepare((LARGE,)).measure_down(make_amount("5.1", "mL"), full)
    assert brim is not None
    assert brim.volume == full
    least = prepare((("5", "0.2", "4"),)).measure_down(make_amount("4.1", "mL"), at_least)
    assert least is not None
    assert least.volume == at_least
    # Of 4.901 mL 0.1 mL of air leave room for 4.8 mL, and 0.3 mL do not.
    for air, is_room in (("0.2", True), ("0.3", False)):
        found = prepare((LARGE,), air).measure_down(make_amount("4.901", "mL"), make_amount("4.8", "mL"))
        assert (found is not None) is is_room


def test_what_is_exactly_on_a_mark_is_not_above_it() -> None:
    found = try_stock("3", LARGE)
    assert isinstance(found, Measured)
    assert (found.percent, found.is_above) == (0, False)


def test_measuring_down_needs_room_for_the_air_and_what_the_syringe_measures() -> None:
    assert prepare((LARGE,), air="0.5").measure_down(make_amount("5.1", "mL"), make_amount(5, "mL")) is None
    assert prepare((("5", "0.2", "4"),)).measure_down(make_amount("3.1", "mL"), make_amount(3, "mL")) is None


@pytest.mark.parametrize(
    ("volume", "air", "held"),
    [
        ("2.5", "0", ("2.5", 1)),
        ("2.6", "0", ("5", 1)),
        ("5", "0.1", ("5", 2)),
        ("9", "0.5", ("5", 2)),
        ("9.1", "0.5", None),
    ],
)
def test_whole_containers_lie_in_one_syringe_or_in_two_each_with_its_air(
    volume: str, air: str, held: tuple[str, int] | None
) -> None:
    found = prepare((MIDDLE, LARGE), air).hold(make_amount(volume, "mL"))
    if held is None:
        assert isinstance(found, Unmeasurable)
        # Nothing that is measured is further off: with nothing of what is needed, as where none is stocked.
        assert (say(found.reason), found.nearness) == ("9.1 mL does not fit a 5 mL syringe", 0)
    else:
        assert isinstance(found, Measured)
        assert (found.syringe.holds, found.count, found.percent) == (make_amount(held[0], "mL"), held[1], 0)
        assert (found.is_above, found.held_by) == (False, "")


def test_no_syringe_holds_whole_containers_where_none_is_stocked() -> None:
    found = prepare(()).hold(make_amount(3, "mL"))
    assert isinstance(found, Unmeasurable)
    assert (say(found.reason), found.nearness) == ("no syringe for this route in stock", 0)
