"""Problems of a ward file, alone and beside the kits it serves."""

import pytest
from kit_files import WARD_TEXT, Change, check_change, read_changes, read_ward_beside, take_kit, take_ward

from prepkit.kit.read import check_beside

PRODUCT = """
[[product]]
id = "caffeine"
name = "Caffeine citrate (an invented entry)"
strength = "20 mg/mL"
container = "ampoule"
holds = ["1 mL"]
basis = "local"
"""
CHANGES = read_changes("ward_changes.txt")


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_what_is_wrong_in_a_ward_file_is_told_at_its_line(change: Change) -> None:
    text, line = change.apply(WARD_TEXT)
    check_change(change, text, read_ward_beside(text, take_kit()), "ward.toml", line)


def test_a_recipe_in_another_unit_of_the_same_strength_gives_its_strength() -> None:
    text = WARD_TEXT.replace('gives = "50 microgram/mL"', 'gives = "0.05 mg/mL"')
    assert read_ward_beside(text, take_kit()) == ()


@pytest.mark.parametrize(
    ("take", "add", "gives"),
    [
        # Recipes of the clinical reference, section 3: 600 microgram/mL, 1 + 11 mL and 1 + 9 mL.
        ("1 mL", "11 mL", "50 microgram/mL"),
        ("1 mL", "9 mL", "60 microgram/mL"),
    ],
)
def test_the_recipes_of_the_reference_give_their_stated_strength(take: str, add: str, gives: str) -> None:
    text = WARD_TEXT.replace('take = "1 mL"', f'take = "{take}"').replace('add = "11 mL"', f'add = "{add}"')
    assert read_ward_beside(text.replace('"50 microgram/mL"', f'"{gives}"'), take_kit()) == ()
    assert len(read_ward_beside(text.replace('"50 microgram/mL"', '"55 microgram/mL"'), take_kit())) == 1


def test_a_product_of_the_wards_own_stands_over_the_kits() -> None:
    own = PRODUCT.replace("caffeine", "atropine-600").replace("20 mg/mL", "400 microgram/mL")
    text = WARD_TEXT.replace("[[stock]]", own + "\n[[stock]]", 1)
    (problem,) = read_ward_beside(text, take_kit())
    assert "1 mL of 400 microgram/mL in 12 mL gives 33.333333 microgram/mL" in problem.wrong


def test_a_ward_file_is_checked_beside_every_kit_it_is_given() -> None:
    kit = take_kit()
    text = WARD_TEXT.replace('line = "airway-device"', 'line = "other"')
    ward = take_ward(text)
    assert len(check_beside(ward, (kit,))) == 1
    assert check_beside(ward, (kit, take_kit(kit.text.replace('id = "drape"', 'id = "other"')))) == ()


def test_an_empty_ward_file_is_told_everything_that_it_lacks() -> None:
    problems = read_ward_beside("", take_kit())
    assert [problem.wrong for problem in problems] == [
        f'key "{key}" is missing' for key in ("approver", "deviation", "edition", "form", "name", "review_by")
    ]


def test_an_approval_invented_for_the_demo_ward_serves_no_ward_that_is_not_invented() -> None:
    text = WARD_TEXT.replace('name = "Heron Ward (invented)"', 'name = "Ward 4"')
    (problem,) = read_ward_beside(text, take_kit())
    assert problem.wrong == "HW-27 (invented) is no paper of this ward's: it was invented for a demonstration"
    assert text.splitlines()[problem.line - 1] == 'reference = "HW-27 (invented)"'
    assert read_ward_beside(text.replace("HW-27 (invented)", "W4-12"), take_kit()) == ()
