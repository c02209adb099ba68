"""Weights for gestation against the published cells of both references.

Sources: to 32+0, INTERGROWTH-21st very preterm reference, Villar 2016, doi 10.1016/S0140-6736(16)00384-6, erratum
Lancet 387:944; from 33+0, INTERGROWTH-21st newborn size standards, Villar 2014, doi 10.1016/S0140-6736(14)60932-6.
Equation and cells have status R: read in a copy of the documents named.
"""

import math
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prepkit.rules.growth import (
    Plausibility,
    Sex,
    check_weight,
    compute_centile_weight,
    compute_z,
    find_limits,
    judge_weight,
)
from prepkit.wording.layers import say_weight

# Published centiles in kg, as printed: P3, P10, P50, P90, P97 for boys, then the same for girls.
PUBLISHED = """
24 | 0.44 0.50 0.64 0.82 0.92 | 0.42 0.47 0.60 0.77 0.87
25 | 0.51 0.57 0.73 0.93 1.05 | 0.48 0.54 0.69 0.88 0.99
26 | 0.58 0.65 0.83 1.06 1.20 | 0.55 0.61 0.78 1.01 1.13
27 | 0.66 0.74 0.95 1.21 1.36 | 0.62 0.70 0.89 1.14 1.28
28 | 0.75 0.84 1.07 1.37 1.54 | 0.70 0.79 1.01 1.30 1.46
29 | 0.84 0.95 1.21 1.56 1.75 | 0.80 0.90 1.15 1.47 1.65
30 | 0.95 1.07 1.37 1.76 1.97 | 0.90 1.01 1.30 1.66 1.86
31 | 1.08 1.21 1.55 1.98 2.23 | 1.02 1.14 1.46 1.87 2.10
32 | 1.21 1.36 1.74 2.23 2.50 | 1.14 1.28 1.64 2.11 2.37
33 | 1.18 1.43 1.95 2.52 2.82 | 1.20 1.41 1.86 2.35 2.61
34 | 1.45 1.71 2.22 2.79 3.08 | 1.47 1.68 2.13 2.64 2.90
35 | 1.70 1.95 2.47 3.03 3.32 | 1.71 1.92 2.38 2.89 3.16
36 | 1.93 2.18 2.69 3.25 3.54 | 1.92 2.14 2.60 3.12 3.39
37 | 2.13 2.38 2.89 3.45 3.74 | 2.11 2.33 2.80 3.32 3.60
38 | 2.32 2.57 3.07 3.63 3.92 | 2.28 2.50 2.97 3.51 3.78
39 | 2.49 2.73 3.24 3.79 4.08 | 2.42 2.65 3.13 3.66 3.94
40 | 2.63 2.88 3.38 3.94 4.22 | 2.55 2.78 3.26 3.80 4.08
41 | 2.76 3.01 3.51 4.06 4.35 | 2.65 2.89 3.37 3.92 4.20
42 | 2.88 3.12 3.62 4.17 4.46 | 2.74 2.98 3.46 4.01 4.30
"""

# SDs from the median of a normal distribution to each of the five centiles.
Z_OF_CENTILE = [Decimal("-1.8808"), Decimal("-1.2816"), Decimal(0), Decimal("1.2816"), Decimal("1.8808")]


def read_published() -> dict[tuple[int, Sex], list[int]]:
    """Grams at the five centiles, by completed weeks and sex."""
    cells: dict[tuple[int, Sex], list[int]] = {}
    for line in PUBLISHED.split("\n")[1:-1]:
        week, boys, girls = line.split("|")
        for sex, row in ((Sex.BOY, boys), (Sex.GIRL, girls)):
            cells[int(week), sex] = [int(Decimal(cell) * 1000) for cell in row.split()]
    return cells


CELLS = read_published()
KNOWN = [Sex.BOY, Sex.GIRL]
FIRST, FIRST_OF_TABLE, LAST = 24 * 7, 33 * 7, 42 * 7 + 6
ALL_DAYS = range(FIRST, LAST + 1)

days = st.integers(FIRST, LAST)
weights = st.integers(300, 6000)
known_sexes = st.sampled_from(KNOWN)
sexes = st.sampled_from(list(Sex))


def compute_plain_mean(gestation_days: int, sex: Sex) -> float:
    """Villar 2016 again, in plain floating point: mean of ln(kg)."""
    return -7.00303 + 1.325911 * math.sqrt(gestation_days / 7) + 0.0571937 * (sex is Sex.BOY)


@pytest.mark.parametrize(("week", "sex"), [cell for cell in CELLS if cell[0] < 33])
def test_every_published_cell_of_the_very_preterm_reference_comes_out_of_the_equation(week: int, sex: Sex) -> None:
    for z, published in zip(Z_OF_CENTILE, CELLS[week, sex], strict=True):
        # A weight that rounds to the cell is from 5 g below it to just under 5 g above it.
        lowest, past_highest = (compute_z(published + step, week * 7, sex) for step in (-5, 5))
        assert lowest is not None
        assert past_highest is not None
        assert lowest <= z < past_highest


@pytest.mark.parametrize(("week", "sex"), [cell for cell in CELLS if cell[0] >= 33])
def test_every_row_of_the_newborn_standards_comes_back_at_its_3rd_50th_and_97th_centile(week: int, sex: Sex) -> None:
    p3, _, p50, _, p97 = CELLS[week, sex]
    for z, published in ((Z_OF_CENTILE[0], p3), (Z_OF_CENTILE[2], p50), (Z_OF_CENTILE[4], p97)):
        assert compute_centile_weight(week * 7, sex, z) == published
        assert compute_z(published, week * 7, sex) == z


@pytest.mark.parametrize(("week", "sex"), [cell for cell in CELLS if cell[0] >= 33])
def test_the_sd_computed_here_puts_p10_and_p90_within_26_g_of_the_published_rows(week: int, sex: Sex) -> None:
    for place in (1, 3):
        grams = compute_centile_weight(week * 7, sex, Z_OF_CENTILE[place])
        assert grams is not None
        assert abs(grams - CELLS[week, sex][place]) <= 26


@given(weights, st.integers(FIRST, FIRST_OF_TABLE - 1), known_sexes)
def test_z_agrees_with_the_equation_worked_in_plain_floating_point(weight: int, day: int, sex: Sex) -> None:
    z = compute_z(weight, day, sex)
    assert z is not None
    plain = (math.log(weight / 1000) - compute_plain_mean(day, sex)) / math.sqrt(0.0373218)
    assert float(z) == pytest.approx(plain, abs=1e-9)


@pytest.mark.parametrize("sex", KNOWN)
def test_the_day_before_33_weeks_uses_the_equation_and_33_weeks_the_row(sex: Sex) -> None:
    by_equation = round(1000 * math.exp(compute_plain_mean(FIRST_OF_TABLE - 1, sex)))
    assert compute_centile_weight(FIRST_OF_TABLE - 1, sex, Decimal(0)) == by_equation
    assert compute_centile_weight(FIRST_OF_TABLE, sex, Decimal(0)) == CELLS[33, sex][2]


def test_the_references_do_not_join_smoothly_and_are_left_so() -> None:
    before = find_limits(FIRST_OF_TABLE - 1, Sex.BOY)
    at = find_limits(FIRST_OF_TABLE, Sex.BOY)
    assert before is not None
    assert at is not None
    assert before.low_g > at.low_g == 1180


@pytest.mark.parametrize("sex", KNOWN)
@pytest.mark.parametrize("week", range(33, 42))
def test_a_day_between_two_rows_lies_on_the_straight_line_between_them(week: int, sex: Sex) -> None:
    for day in range(7):
        for place in (0, 2, 4):
            early, late = CELLS[week, sex][place], CELLS[week + 1, sex][place]
            grams = compute_centile_weight(week * 7 + day, sex, Z_OF_CENTILE[place])
            assert grams is not None
            assert abs(7 * grams - (early * (7 - day) + late * day)) <= 3.5


@pytest.mark.parametrize("sex", list(Sex))
def test_the_last_row_serves_to_the_end_of_its_week(sex: Sex) -> None:
    assert {find_limits(day, sex) for day in range(42 * 7, LAST + 1)} == {find_limits(42 * 7, sex)}


@pytest.mark.parametrize("day", [-1, 0, 22 * 7, FIRST - 1, LAST + 1, 44 * 7 + 6, 10_000])
@pytest.mark.parametrize("sex", list(Sex))
def test_outside_the_references_nothing_is_made_up_and_the_weight_is_asked_for_again(day: int, sex: Sex) -> None:
    found = check_weight(1450, day, sex)
    assert found.plausibility is Plausibility.NO_REFERENCE
    assert (found.z, found.low_g, found.high_g, found.source) == (None, None, None, "")
    assert "enter the birth weight again" in say_weight(found)[-1]
    assert compute_z(1450, day, sex) is None
    assert compute_centile_weight(day, sex, Decimal(0)) is None
    assert find_limits(day, sex) is None


def test_the_words_without_a_reference_say_which_edge_was_passed() -> None:
    assert say_weight(check_weight(500, FIRST - 2, Sex.BOY)) == (
        "There is no reference below 24+0 (gestation 23+5): enter the birth weight again.",
    )
    assert say_weight(check_weight(3500, LAST + 1, Sex.BOY)) == (
        "There is no reference past 42+6 (gestation 43+0): enter the birth weight again.",
    )


@pytest.mark.parametrize("sex", list(Sex))
def test_a_tenfold_slip_from_the_median_is_very_unlikely_everywhere(sex: Sex) -> None:
    for day in ALL_DAYS:
        median = compute_centile_weight(day, sex, Decimal(0))
        assert median is not None
        for slip in (median * 10, median // 10):
            z = compute_z(slip, day, sex)
            assert z is not None
            assert abs(z) >= 3
            assert judge_weight(slip, day, sex) is Plausibility.VERY_UNLIKELY


@pytest.mark.parametrize("sex", KNOWN)
def test_slips_land_as_far_out_as_the_docstring_says(sex: Sex) -> None:
    sd = math.sqrt(0.0373218)  # Villar 2016
    assert round(math.log(10) / sd, 1) == 11.9
    assert round(math.log(1 / 0.45359237) / sd, 1) == 4.1  # 1 lb is 0.45359237 kg by definition
    for day in ALL_DAYS:
        median = compute_centile_weight(day, sex, Decimal(0))
        assert median is not None
        for factor, least in ((10, 11.8), (0.1, 11.8), (0.45359237, 4.0), (1 / 0.45359237, 4.0)):
            z = compute_z(round(median * factor), day, sex)
            assert z is not None
            by_rows = 4.2 if least > 5 else 2.6
            assert abs(z) >= (least if day < FIRST_OF_TABLE else by_rows)


@given(weights, weights, days, known_sexes)
def test_z_rises_with_weight(one: int, other: int, day: int, sex: Sex) -> None:
    z_one, z_other = compute_z(one, day, sex), compute_z(other, day, sex)
    assert z_one is not None
    assert z_other is not None
    assert (z_one < z_other) == (one < other)


@given(weights, days, known_sexes)
def test_weight_to_z_and_back_gives_the_same_weight(weight: int, day: int, sex: Sex) -> None:
    z = compute_z(weight, day, sex)
    assert z is not None
    assert compute_centile_weight(day, sex, z) == weight


@given(days, sexes)
def test_centile_weights_rise_with_z(day: int, sex: Sex) -> None:
    grams = [compute_centile_weight(day, sex, Decimal(z) / 4) or 0 for z in range(-12, 13)]
    assert all(low < high for low, high in pairwise(grams))


@given(weights, days)
def test_an_unknown_sex_flags_exactly_what_both_sexes_flag(weight: int, day: int) -> None:
    mildest_first = [Plausibility.LIKELY, Plausibility.UNLIKELY, Plausibility.VERY_UNLIKELY]
    milder = min((judge_weight(weight, day, sex) for sex in KNOWN), key=mildest_first.index)
    assert judge_weight(weight, day, Sex.UNKNOWN) is milder


@given(weights, days)
def test_an_unknown_sex_takes_the_z_nearer_to_zero(weight: int, day: int) -> None:
    z, boy, girl = (compute_z(weight, day, sex) for sex in (Sex.UNKNOWN, Sex.BOY, Sex.GIRL))
    assert z is not None
    assert boy is not None
    assert girl is not None
    assert z in (boy, girl)
    assert abs(z) == min(abs(boy), abs(girl))


@pytest.mark.parametrize("sex", list(Sex))
def test_the_whole_gram_limits_say_what_z_says_one_gram_either_side(sex: Sex) -> None:
    for day in ALL_DAYS:
        limits = find_limits(day, sex)
        assert limits is not None
        edges = (limits.far_low_g, limits.low_g, limits.high_g, limits.far_high_g)
        assert list(edges) == sorted(set(edges))
        for weight in (edge + step for edge in edges for step in (-1, 0, 1)):
            z = compute_z(weight, day, sex)
            assert z is not None
            by_z = Plausibility.UNLIKELY if abs(z) > Decimal("1.8808") else Plausibility.LIKELY
            assert judge_weight(weight, day, sex) is (Plausibility.VERY_UNLIKELY if abs(z) >= 3 else by_z)


@pytest.mark.parametrize(
    ("weight", "plausibility"),
    [
        # 33+0, boys, Villar 2014: P3 1.18 kg and P97 2.82 kg.
        (1179, Plausibility.UNLIKELY),
        (1180, Plausibility.LIKELY),
        (1181, Plausibility.LIKELY),
        (2819, Plausibility.LIKELY),
        (2820, Plausibility.LIKELY),
        (2821, Plausibility.UNLIKELY),
        # 3 SD, computed from those centiles and the median of 1.95 kg: 1950 - 3 * 770 / 1.8808 = 721.8 and
        # 1950 + 3 * 870 / 1.8808 = 3337.7.
        (721, Plausibility.VERY_UNLIKELY),
        (722, Plausibility.UNLIKELY),
        (3337, Plausibility.UNLIKELY),
        (3338, Plausibility.VERY_UNLIKELY),
    ],
)
def test_the_edges_at_33_weeks_are_the_published_centiles_to_the_gram(weight: int, plausibility: Plausibility) -> None:
    assert check_weight(weight, FIRST_OF_TABLE, Sex.BOY).plausibility is plausibility


def test_a_likely_weight_is_told_with_its_usual_range() -> None:
    found = check_weight(2000, FIRST_OF_TABLE, Sex.UNKNOWN)
    # Villar 2014 at 33+0: the lower P3 is the boys' 1.18 kg, the higher P97 the boys' 2.82 kg.
    assert say_weight(found) == ("2000 g is within the usual range for 33+0 (1180-2820 g).",)
    assert (found.low_g, found.high_g) == (1180, 2820)
    assert "Villar 2014" in found.source


def test_an_unlikely_weight_names_the_side_and_asks_for_the_weight_again() -> None:
    found = check_weight(1150, FIRST_OF_TABLE, Sex.GIRL)
    # Villar 2014 at 33+0, girls: P3 1.20 kg, P97 2.61 kg.
    assert say_weight(found) == (
        "1150 g is below the usual range for a girl at 33+0 (1200-2610 g).",
        "Enter the birth weight again.",
    )


def test_a_tenfold_weight_is_told_as_far_above() -> None:
    found = check_weight(14500, 30 * 7 + 2, Sex.BOY)
    assert found.plausibility is Plausibility.VERY_UNLIKELY
    assert say_weight(found)[0].startswith("14500 g is far above the usual range for a boy at 30+2 (")
    assert "enter the birth weight again" in say_weight(found)[1]
    assert "Villar 2016" in found.source


@pytest.mark.parametrize("weight", [-5, 0, 1, 10**9])
@pytest.mark.parametrize("day", [FIRST, FIRST_OF_TABLE])
@pytest.mark.parametrize("sex", list(Sex))
def test_a_weight_no_baby_can_have_is_very_unlikely_and_no_crash(weight: int, day: int, sex: Sex) -> None:
    found = check_weight(weight, day, sex)
    assert found.plausibility is Plausibility.VERY_UNLIKELY
    assert (found.z is None) == (weight < 1)
