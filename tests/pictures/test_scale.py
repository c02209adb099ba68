"""Where marks and values stand: exactly on their columns, in their order, at every width."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.pictures.scale import Scale, choose_labels, make_scale, write_row

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
SCALES = st.builds(
    lambda pair, width: (make_scale(Fraction(0), Fraction(pair[0]), Fraction(pair[1]), width), Fraction(pair[1])),
    st.sampled_from(SYRINGES),
    st.integers(20, 90),
)


@given(SCALES)
def test_every_drawn_mark_is_a_real_mark_at_its_own_column(drawn: tuple[Scale, Fraction]) -> None:
    scale, marks = drawn
    columns = [column for _, column in scale.list_marks()]
    assert columns == sorted(set(columns))
    for value, column in scale.list_marks():
        assert (value / marks).denominator == 1
        assert scale.find_column(value) == column
    assert scale.list_marks()[0] == (scale.start, 0)
    assert scale.list_marks()[-1] == (scale.end, scale.width)


@given(SCALES, st.integers(0, 100), st.integers(0, 100))
def test_columns_keep_the_order_of_values(drawn: tuple[Scale, Fraction], one: int, two: int) -> None:
    scale, _ = drawn
    low, high = sorted((scale.end * one / 100, scale.end * two / 100))
    assert 0 <= scale.find_column(low) <= scale.find_column(high) <= scale.width


@given(SCALES, st.integers(0, 2000))
def test_a_value_between_two_marks_stands_strictly_between_them(drawn: tuple[Scale, Fraction], at: int) -> None:
    scale, marks = drawn
    value = marks * (at % (int(scale.end / marks) + 1))
    column = scale.find_column(value)
    for mark, where in scale.list_marks():
        assert (column < where) == (value < mark)
        assert (column > where) == (value > mark)


@given(SCALES)
def test_the_drawing_fits_and_uses_more_than_half_of_the_width(drawn: tuple[Scale, Fraction]) -> None:
    scale, _ = drawn
    assert scale.width <= 90
    assert scale.columns >= 2


@pytest.mark.parametrize(("width", "step"), [(20, "0.1"), (40, "0.05"), (90, "0.05"), (100, "0.02"), (200, "0.01")])
def test_a_wider_drawing_shows_finer_marks(width: int, step: str) -> None:
    assert make_scale(Fraction(0), Fraction(1), Fraction("0.01"), width).step == Fraction(step)


@given(SCALES)
def test_numbers_never_touch_and_stand_over_their_mark(drawn: tuple[Scale, Fraction]) -> None:
    scale, _ = drawn
    texts = {value: str(float(value)) for value, _ in scale.list_marks()}
    labels = choose_labels(scale, texts)
    row = write_row(scale.width + 6, {column + 3: text for column, text in labels.items()})
    assert row.split() == list(labels.values())
