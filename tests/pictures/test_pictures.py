"""Pictures held to their numbers at every width: no wrong mark, nothing cut, the same fact in words."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.pictures.drawing import FULL, HALF, POINTER, Drawing, draw_progress
from prepkit.pictures.number_line import Stretch, draw_centiles, draw_weight
from prepkit.pictures.tray import draw_ruler, draw_syringe, draw_vials
from prepkit.quantities.text import write_decimal

WIDTHS = st.integers(30, 80)
# Capacities and marks: clinical reference section 12.
SYRINGES = [
    ("1", "0.01"),
    ("2.5", "0.1"),
    ("3", "0.1"),
    ("5", "0.2"),
    ("10", "0.2"),
    ("10", "0.5"),
    ("20", "0.5"),
    ("20", "1"),
]
GRAMS = st.integers(300, 6000)


def read_marks(drawing: Drawing, row: int) -> list[int]:
    return [at for at, cell in enumerate(drawing.rows[row]) if cell == "│"]


def check_fits(drawing: Drawing, width: int) -> None:
    for row in drawing.rows:
        assert len(row) <= width, row
    assert drawing.words.endswith(".")


@given(st.sampled_from(SYRINGES), st.integers(1, 2000), st.integers(0, 2000), WIDTHS)
def test_the_plunger_stands_among_the_marks_as_the_volume_among_the_numbers(
    syringe: tuple[str, str], at: int, behind: int, width: int
) -> None:
    holds, marks = Fraction(syringe[0]), Fraction(syringe[1])
    count = int(holds / marks)
    volume = marks * (at % count + 1)
    air = min(Fraction(behind % 11, 10), holds - volume)
    drawing = draw_syringe(holds, marks, volume, air, width)
    check_fits(drawing, width)
    columns, barrel = read_marks(drawing, 1), drawing.rows[2]
    step = holds / (len(columns) - 1)
    assert (step / marks).denominator == 1, "every drawn mark is one of the syringe's own"
    for value, column in ((volume, drawing.rows[3].index(POINTER)), (volume + air, barrel.index("║"))):
        for number, mark in enumerate(columns):
            assert (column < mark) == (value < step * number)
            assert (column > mark) == (value > step * number)
    assert (HALF in barrel) <= bool(air)
    assert barrel.count(FULL) >= 1
    assert f"{write_decimal(volume)} mL" in drawing.rows[3]


@given(st.sampled_from(SYRINGES), st.integers(1, 2000), WIDTHS)
def test_the_close_up_shows_every_real_mark_around_the_dose(syringe: tuple[str, str], at: int, width: int) -> None:
    holds, marks = Fraction(syringe[0]), Fraction(syringe[1])
    volume = marks * (at % int(holds / marks) + 1)
    drawing = draw_syringe(holds, marks, volume, Fraction(0), width)
    step = holds / (len(read_marks(drawing, 1)) - 1)
    if step == marks:
        assert len(drawing.rows) == 4
        return
    low = Fraction(drawing.rows[5].split()[0])
    columns = read_marks(drawing, 6)
    assert (len(columns) - 1) * Fraction(drawing.rows[4].split()[1]) == step
    near = step / (len(columns) - 1)
    pointer = drawing.rows[7].index(POINTER)
    for number, column in enumerate(columns):
        assert (pointer < column) == (volume < low + near * number)
        assert (pointer > column) == (volume > low + near * number)


@pytest.mark.parametrize(
    ("holds", "marks", "volume", "air", "words"),
    [
        (
            "5",
            "0.2",
            "3.6",
            "0.5",
            "3.6 mL: 3 marks of 0.2 mL past 3 mL; then 0.5 mL air behind it, plunger at 4.1 mL.",
        ),
        ("1", "0.01", "0.58", "0", "0.58 mL: 8 marks of 0.01 mL past 0.5 mL."),
        ("1", "0.01", "0.5", "0", "0.5 mL: on that number."),
        ("2.5", "0.1", "1.1", "0", "1.1 mL: 1 mark of 0.1 mL past 1 mL."),
    ],
)
def test_the_words_count_the_marks_as_a_hand_does(holds: str, marks: str, volume: str, air: str, words: str) -> None:
    drawing = draw_syringe(Fraction(holds), Fraction(marks), Fraction(volume), Fraction(air), 80)
    assert drawing.words.startswith(words)


@given(st.integers(1, 60), st.integers(0, 10), WIDTHS)
def test_the_mark_of_a_tube_stands_where_its_length_is(halves: int, more: int, width: int) -> None:
    low, high = Fraction(halves, 2), Fraction(halves + more, 2)
    drawing = draw_ruler(low, high, width)
    check_fits(drawing, width)
    columns = read_marks(drawing, 1)
    end = Fraction(((high / 5).__floor__() + 1) * 5)
    step = end / (len(columns) - 1)
    assert step.denominator == 1, "whole centimetres are marked"
    filled = [at for at, cell in enumerate(drawing.rows[2]) if cell == "█"]
    for value, column in ((low, filled[0]), (high, filled[-1])):
        for number, mark in enumerate(columns):
            assert (column < mark) == (value < step * number)
            assert (column > mark) == (value > step * number)
    assert drawing.rows[3].count(POINTER) == len({filled[0], filled[-1]})


@given(
    st.lists(
        st.tuples(st.sampled_from(["1.5", "3", "4", "8"]), st.integers(1, 3)),
        min_size=1,
        max_size=3,
        unique_by=lambda each: each[0],
    ),
    st.integers(1, 100),
    WIDTHS,
)
def test_containers_are_full_partly_used_or_untouched_as_they_are(
    sizes: list[tuple[str, int]], percent: int, width: int
) -> None:
    given_sizes = [(Fraction(size), count) for size, count in sizes]
    total = sum(size * count for size, count in given_sizes)
    used = round(total * percent / 10, 0) / 10 or Fraction(1, 10)
    used = min(Fraction(used), Fraction(total))
    drawing = draw_vials(given_sizes, used, width)
    check_fits(drawing, width)
    assert len(drawing.rows) == sum(count for _, count in given_sizes)
    left = used
    for size, row in zip(
        sorted((s for s, n in given_sizes for _ in range(n)), reverse=True), drawing.rows, strict=True
    ):
        taken = min(size, left)
        left -= taken
        bar = row[1 : row.index("]")]
        assert (HALF not in bar) == (taken == size)
        assert (FULL not in bar) == (taken == 0)
    assert f"{write_decimal(used)} mL used" in drawing.words


@given(GRAMS, st.integers(300, 6000), st.integers(1, 3000), st.integers(300, 6000), st.integers(1, 3000), WIDTHS)
def test_the_weight_stands_within_a_bar_exactly_where_it_is_within_the_span(
    weight: int, low: int, more: int, other: int, further: int, width: int
) -> None:
    stretches = [Stretch("label", low, low + more), Stretch("approval", other, other + further)]
    drawing = draw_weight(weight, stretches, width)
    check_fits(drawing, width)
    pointer = drawing.rows[-1].index(POINTER)
    for each, row in zip(stretches, drawing.rows[1::2], strict=False):
        begin, end = row.index("├"), row.rindex("┤")
        assert (begin <= pointer <= end) == (each.low <= weight <= each.high)
        assert (pointer == begin) == (weight == each.low)


@given(GRAMS, st.lists(GRAMS, min_size=5, max_size=5, unique=True).map(sorted), WIDTHS)
def test_the_weight_stands_between_the_centiles_that_it_lies_between(weight: int, at: list[int], width: int) -> None:
    names = ["P3", "P10", "P50", "P90", "P97"]
    drawing = draw_centiles(weight, dict(zip(names, at, strict=True)), width)
    check_fits(drawing, width)
    pointer = drawing.rows[3].index(POINTER)
    for value, column in zip(at, read_marks(drawing, 2), strict=True):
        assert (pointer < column) == (weight < value)
        assert (pointer > column) == (weight > value)


@given(
    st.lists(
        st.tuples(st.text("abc ", min_size=1, max_size=30), st.integers(0, 9), st.integers(1, 9)),
        min_size=1,
        max_size=8,
    ),
    WIDTHS,
)
def test_a_group_with_something_left_is_never_drawn_as_full(groups: list[tuple[str, int, int]], width: int) -> None:
    rows = [(name, min(done, total), total) for name, done, total in groups]
    drawing = draw_progress(rows, width)
    check_fits(drawing, width)
    for (_, done, total), row in zip(rows, drawing.rows, strict=True):
        assert (HALF not in row) == (done == total)
        assert (FULL not in row) == (done == 0)
