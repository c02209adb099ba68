"""Doses stated once and within the label, over the kit and the ward file. Every figure here is invented."""

import pytest
from kit_files import KIT_TEXT, WARD_TEXT, take_kit

from prepkit.kit.read import check_beside, read_kit, read_ward

ATROPINE = 'holds = ["1 mL"]\nlabel_class = "anticholinergic"\nbasis = "published'
LINE_DOSE = 'dose = "20 microgram/kg"'
BANDS = """band = [
  { weight_now = { below = "1000 g" }, dose = "10 microgram/kg" },
  { weight_now = { at_least = "1000 g" }, dose = "21 microgram/kg" },
]"""
OWN = """
[[product]]
id = "atropine-600"
name = "Atropine, own"
strength = "600 microgram/mL"
container = "ampoule"
holds = ["1 mL"]
basis = "local"
"""


def find_wrong(least: str, most: str, line_dose: str = LINE_DOSE) -> list[tuple[int, str]]:
    label = f'dose_range = {{ least = "{least}", most = "{most}" }}\n'
    assert KIT_TEXT.count(ATROPINE) == KIT_TEXT.count(LINE_DOSE) == 1
    text = KIT_TEXT.replace(ATROPINE, ATROPINE.replace("basis", label + "basis")).replace(LINE_DOSE, line_dose)
    _, problems = read_kit(text, "x.toml")
    rows = text.split("\n")
    assert all(rows[problem.line - 1].strip() == problem.excerpt for problem in problems)
    return [(problem.line, problem.wrong) for problem in problems]


@pytest.mark.parametrize(
    ("least", "most", "is_wrong"),
    [
        ("20 microgram/kg", "30 microgram/kg", False),
        ("10 microgram/kg", "20 microgram/kg", False),
        ("0.01 mg/kg", "0.02 mg/kg", False),
        ("21 microgram/kg", "30 microgram/kg", True),
        ("10 microgram/kg", "19.9 microgram/kg", True),
    ],
)
def test_a_lines_dose_outside_the_range_of_its_products_label_is_a_problem(
    least: str, most: str, *, is_wrong: bool
) -> None:
    wrong = [words for _, words in find_wrong(least, most)]
    assert bool(wrong) == is_wrong
    if is_wrong:
        assert wrong[0].startswith("the dose of 20 microgram/kg lies outside the ")
        assert 'of the label of "atropine-600"' in wrong[0]


def test_a_bands_dose_outside_the_range_is_a_problem_at_its_own_line() -> None:
    found = find_wrong("10 microgram/kg", "20 microgram/kg", BANDS)
    assert [words.split(" lies")[0] for _, words in found] == ["the dose of 21 microgram/kg"]
    assert find_wrong("10 microgram/kg", "21 microgram/kg", BANDS) == []
    outside_both = find_wrong("30 microgram/kg", "40 microgram/kg", BANDS)
    assert outside_both[1][0] == outside_both[0][0] + 1


def test_a_repeat_dose_may_be_all_that_a_course_allows() -> None:
    text = KIT_TEXT.replace(
        'interval = "12 h", most_in_all = "400 mg/kg"', 'interval = "12 h", most_in_all = "100 mg/kg"'
    ).replace('most_in_all = "100 mg/kg", most_doses = 3', 'most_in_all = "100 mg/kg"')
    assert read_kit(text, "x.toml")[1] == ()


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ('dose = "10 microgram/kg"', 'both the line and the product "atropine-600" state a dose (line "atropine" of'),
        (
            'dose_range = { least = "1 microgram/kg", most = "10 microgram/kg" }',
            "the dose of 20 microgram/kg lies outside the 1\N{EN DASH}10 microgram/kg of the label",
        ),
        ("", ""),
    ],
)
def test_a_wards_own_product_is_held_against_the_lines_of_every_kit(more: str, wrong: str) -> None:
    text = WARD_TEXT + OWN + more + "\n"
    ward, problems = read_ward(text, "ward.toml")
    assert ward is not None, problems
    found = check_beside(ward, (take_kit(),))
    assert [problem.wrong.startswith(wrong) for problem in found] == ([True] if wrong else [])
    assert all(problem.line >= WARD_TEXT.count("\n") for problem in found)


def test_a_wards_own_product_without_a_dose_is_a_problem_where_the_line_states_none() -> None:
    own = OWN.replace("atropine-600", "beractant").replace("microgram", "mg")
    ward, problems = read_ward(WARD_TEXT + own, "ward.toml")
    assert ward is not None, problems
    (problem,) = check_beside(ward, (take_kit(),))
    assert problem.wrong.startswith('neither the line nor the product "beractant" states a dose (line "surfactant" of')
