"""Surfactant volumes against the dosing charts of the prescribing information.

Rows marked M are from memory; all others have status R: read in a copy of the document named.
"""

from fractions import Fraction

import pytest
from trays import find_line, give_before, make_fine_ward

from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import ListLine
from prepkit.quantities.amount import make_amount

# US prescribing information, poractant alfa, dosing chart: weight band in g, first dose in mL and mg, repeat in mL and mg.
PORACTANT = """
600-650 1.60 128 0.80 64
651-700 1.70 136 0.85 68
701-750 1.80 144 0.90 72
751-800 2.00 160 1.00 80
801-850 2.10 168 1.05 84
851-900 2.20 176 1.10 88
901-950 2.30 184 1.15 92
951-1000 2.50 200 1.25 100
1001-1050 2.60 208 1.30 104
1051-1100 2.70 216 1.35 108
1101-1150 2.80 224 1.40 112
1151-1200 3.00 240 1.50 120 M
1201-1250 3.10 248 1.55 124 M
1251-1300 3.20 256 1.60 128 M
1301-1350 3.30 264 1.65 132
1351-1400 3.50 280 1.75 140
1401-1450 3.60 288 1.80 144
1451-1500 3.70 296 1.85 148
1501-1550 3.80 304 1.90 152
1551-1600 4.00 320 2.00 160
1601-1650 4.10 328 2.05 164
1651-1700 4.20 336 2.10 168
1701-1750 4.30 344 2.15 172
1751-1800 4.50 360 2.25 180
1801-1850 4.60 368 2.30 184 M
1851-1900 4.70 376 2.35 188 M
1901-1950 4.80 384 2.40 192 M
1951-2000 5.00 400 2.50 200 M
"""

# US prescribing information, beractant, dosing chart: weight band in g, total dose in mL.
BERACTANT = """
600-650 2.6
651-700 2.8
701-750 3.0
751-800 3.2
801-850 3.4
851-900 3.6
901-950 3.8
951-1000 4.0
1001-1050 4.2
1051-1100 4.4
1101-1150 4.6
1151-1200 4.8
1201-1250 5.0
1251-1300 5.2
1301-1350 5.4
1351-1400 5.6
1401-1450 5.8
1451-1500 6.0
1501-1550 6.2
1551-1600 6.4
1601-1650 6.6
1651-1700 6.8
1701-1750 7.0
1751-1800 7.2 M
1801-1850 7.4 M
1851-1900 7.6 M
1901-1950 7.8 M
1951-2000 8.0 M
"""

PORACTANT_WARD = make_fine_ward('[[stock]]\nproduct = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]\n')
BERACTANT_WARD = make_fine_ward('[[stock]]\nproduct = "beractant"\nholds = ["4 mL", "8 mL"]\n')
CALFACTANT_WARD = make_fine_ward('[[stock]]\nproduct = "calfactant"\nholds = ["3 mL", "6 mL"]\n')


def read_rows(chart: str) -> list[tuple[int, int, list[Fraction]]]:
    rows = []
    for line in chart.split("\n")[1:-1]:
        band, *cells = line.removesuffix(" M").split()
        low, high = band.split("-")
        rows.append((int(low), int(high), [Fraction(cell) for cell in cells]))
    return rows


PORACTANT_ROWS = read_rows(PORACTANT)


def compute_exact(weight: int, ward: ParsedFile[Ward]) -> tuple[Fraction, Fraction]:
    return read_exact(find_line("surfactant", weight, ward=ward))


def read_exact(line: ListLine) -> tuple[Fraction, Fraction]:
    """Exact volume in mL and dose in mg."""
    assert line.exact is not None, line.blocked
    assert line.due is not None
    assert line.due.unit is make_amount(1, "mg").unit
    return line.exact.value, line.due.value


def cut(volume: Fraction) -> Fraction:
    """Cut to 0.1 mL, as the chart does."""
    return Fraction(int(volume * 10), 10)


@pytest.mark.parametrize(("low", "high", "cells"), PORACTANT_ROWS)
def test_a_bands_top_weight_cut_to_a_tenth_is_the_poractant_charts_volume(
    low: int, high: int, cells: list[Fraction]
) -> None:
    volume, mass = compute_exact(high, PORACTANT_WARD)
    first, first_mg, repeat, repeat_mg = cells
    assert cut(volume) == first
    assert mass == high * Fraction(200, 1000)  # 200 mg/kg, US label: R
    assert first * 80 == first_mg  # 80 mg/mL, label: R
    assert (repeat, repeat_mg) == (first / 2, first_mg / 2)
    assert low < high


def test_the_poractant_chart_differs_from_exact_by_what_was_worked_out_for_it_and_no_more() -> None:
    # Clinical reference 2.1: -4.0 % to +6.7 % across the bands, in % of the exact dose.
    shares = [
        cells[0] / compute_exact(end, PORACTANT_WARD)[0] - 1
        for low, high, cells in PORACTANT_ROWS
        for end in (low, high)
    ]
    assert min(shares) == Fraction(-4, 100)
    assert Fraction(66, 1000) < max(shares) <= Fraction(67, 1000)


@pytest.mark.parametrize("weight", [weight for low, high, _ in PORACTANT_ROWS for weight in (low, high)])
def test_a_repeat_dose_of_poractant_is_half_the_first(weight: int) -> None:
    first, first_mg = compute_exact(weight, PORACTANT_WARD)
    # Repeat dose 100 mg/kg, not before about 12 h, US label: R.
    again = find_line("surfactant", weight, ward=PORACTANT_WARD, **give_before("200 mg/kg, 2026-11-24 15:00"))
    assert read_exact(again) == (first / 2, first_mg / 2)


@pytest.mark.parametrize(("low", "high", "cells"), read_rows(BERACTANT))
def test_a_bands_top_weight_gives_the_beractant_charts_volume_exactly(
    low: int, high: int, cells: list[Fraction]
) -> None:
    volume, mass = compute_exact(high, BERACTANT_WARD)
    assert volume == cells[0]
    assert mass == high * Fraction(100, 1000)  # 100 mg/kg, US label: R
    assert compute_exact(low, BERACTANT_WARD)[0] < cells[0]


@pytest.mark.parametrize("weight", [600, 1000, 1450, 2000, 3333])
def test_calfactant_is_3_ml_per_kg(weight: int) -> None:
    # US prescribing information, calfactant: 105 mg/kg, which is 3 mL/kg of 35 mg/mL. R.
    volume, mass = compute_exact(weight, CALFACTANT_WARD)
    assert volume == Fraction(3 * weight, 1000)
    assert mass == Fraction(105 * weight, 1000)


# The labels' limits of a course, with where each was read (clinical corrections, 1.2). The first dose, the repeat and the
# total are in mg/kg, the interval in hours.
COURSES = [
    # US and UK texts, R2: 12 h for rescue, a first dose and up to 2 repeats; US 5 mL/kg in all, which is 400 mg/kg.
    ("poractant-alfa", PORACTANT_WARD, 200, 100, 12, 3, 400),
    # US references, R2: 6 h, 4 doses; 16 mL/kg in all, which is 400 mg/kg (C).
    ("beractant", BERACTANT_WARD, 100, 100, 6, 4, 400),
    # US label: 12 h, 3 doses; 9 mL/kg in all, which is 315 mg/kg of phospholipid (C).
    ("calfactant", CALFACTANT_WARD, 105, 105, 12, 3, 315),
]
NIGHT = 27  # 03:00 now, on the 25th: 27 hours after midnight of the 24th


def block(product: str, ward: ParsedFile[Ward], weight: int, *given: str, last: str) -> str:
    """Why none is due after doses, all but the last of them on the 20th."""
    days = [f"2026-11-20 0{at}:00" for at in range(len(given) - 1)]
    doses = (f"{product}, {amount}, {at}" for amount, at in zip(given, [*days, last], strict=True))
    return find_line("surfactant", weight, ward=ward, **give_before(*doses)).blocked


@pytest.mark.parametrize(("product", "ward", "first", "repeat", "hours", "number", "most"), COURSES)
def test_each_product_keeps_its_own_interval_number_and_total(
    product: str, ward: ParsedFile[Ward], first: int, repeat: int, hours: int, number: int, most: int
) -> None:
    early, due = f"2026-11-24 {NIGHT - hours:02}:01", f"2026-11-24 {NIGHT - hours:02}:00"
    course = [f"{first} mg/kg", *(f"{repeat} mg/kg" for _ in range(number - 1))]
    for had in range(1, number):
        assert block(product, ward, 1450, *course[:had], last=due) == ""
        assert "may be given from 03:01 on 25 Nov" in block(product, ward, 1450, *course[:had], last=early)
    assert f"its label allows {number} in all" in block(product, ward, 1450, *course, last=due)
    # One dose that leaves just a repeat dose of the total, and one that leaves less.
    assert block(product, ward, 1450, f"{most - repeat} mg/kg", last=due) == ""
    assert f"past {most} mg/kg in all" in block(product, ward, 1450, f"{most - repeat + 1} mg/kg", last=due)


@pytest.mark.parametrize(
    ("product", "ward", "amounts"),
    [
        # 200 mg/kg of 1450 g is 290 mg, 3.625 mL of 80 mg/mL.
        ("poractant-alfa", PORACTANT_WARD, ("200 mg/kg", "290 mg", "3.625 mL")),
        ("beractant", BERACTANT_WARD, ("100 mg/kg", "145 mg", "5.8 mL")),
        ("calfactant", CALFACTANT_WARD, ("105 mg/kg", "152.25 mg", "4.35 mL")),
    ],
)
def test_a_dose_given_before_counts_the_same_in_mg_per_kg_in_mg_and_in_ml(
    product: str, ward: ParsedFile[Ward], amounts: tuple[str, ...]
) -> None:
    lines = [
        find_line("surfactant", 1450, ward=ward, **give_before(f"{product}, {amount}, 2026-11-24 12:00"))
        for amount in amounts
    ]
    assert {line.working[0] for line in lines} == {lines[0].working[0]}
    assert lines[0].working[0].startswith(f"{amounts[0]} was given before")
    assert lines[0].blocked == ""


def test_calfactant_with_its_protein_counted_is_one_dose() -> None:
    # A US directory and one reference count protein too: 107.1 mg/kg for the label's 3 mL/kg (corrections, 1.2; R2, C).
    due = "2026-11-24 12:00"
    assert block("calfactant", CALFACTANT_WARD, 1450, "107.1 mg/kg", "107.1 mg/kg", last=due) == ""


def list_limits(weight: int, gestation: str = "30+2", **facts: str) -> list[str]:
    """What the surfactant line says of its product's label."""
    said = ("established", "intubated", "chart ends")
    wards = {name: ward for name, ward, *_ in COURSES}
    product = facts.pop("product")
    line = find_line("surfactant", weight, gestation, ward=wards[product], **facts)
    return [each.partition(" [")[0] for each in line.cautions if any(word in each for word in said)]


REPEATS = "Its label's repeats are for babies who remain intubated; after this route the baby is not."
CHART = "Its dosing chart ends at 600 g and 2000 g of birth weight."
TERM = "Not established in babies born at term."
TWO_DAYS = "Not established past 48 h of age."
THREE_DAYS = "Not established past 72 h of age."
WEIGHTS = "Not established below 600 g or above 1750 g of birth weight."


@pytest.mark.parametrize(
    ("product", "weight", "gestation", "born", "said"),
    # Clinical corrections, 1.2: R2. Now is 03:00 on the 25th.
    [
        ("poractant-alfa", 600, "30+2", "2026-11-25", []),
        ("poractant-alfa", 599, "30+2", "2026-11-25", [CHART]),
        ("poractant-alfa", 2000, "36+6", "2026-11-25", []),
        ("poractant-alfa", 2001, "37+0", "2026-11-25", [TERM, CHART]),
        ("beractant", 600, "37+0", "2026-11-23T03:00+00:00", []),
        ("beractant", 599, "30+2", "2026-11-23T02:59+00:00", [TWO_DAYS, WEIGHTS]),
        ("beractant", 1750, "30+2", "2026-11-25", []),
        ("beractant", 1751, "30+2", "2026-11-25", [WEIGHTS]),
        ("calfactant", 3000, "39+0", "2026-11-22T03:00+00:00", []),
        ("calfactant", 3000, "39+0", "2026-11-22T02:59+00:00", [THREE_DAYS]),
    ],
)
def test_the_labels_own_limits_are_said_and_stop_nothing(
    product: str, weight: int, gestation: str, born: str, said: list[str]
) -> None:
    assert list_limits(weight, gestation, product=product, born=born) == said


@pytest.mark.parametrize("product", [name for name, *_ in COURSES])
def test_a_repeat_says_that_the_labels_are_for_babies_who_remain_intubated(product: str) -> None:
    again = give_before(f"{product}, 100 mg/kg, 2026-11-24 12:00")
    assert list_limits(1450, product=product, **again) == [REPEATS]
