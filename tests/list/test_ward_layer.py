"""A ward file laid over a kit: what it changed says so, with the kit's own value beside it. Figures are invented."""

import pytest
from layer_scene import ADDED, BARE, DOSE, LOCAL, PRODUCT, SMALL, STOCK, find, list_tray, make
from trays import find_line, make_kit, make_small_kit, make_small_ward, make_tray, write_widening


def test_a_replaced_line_stands_in_its_place_and_says_the_kits_own_value_beside_its_own() -> None:
    ward = make(DOSE.format(dose="8 mg/kg"))
    assert [line.id for line in list_tray(2000, ward).lines] == [line.id for line in SMALL.model.line]
    line = find("dose", 2000, ward)
    assert (line.show, line.blocked) == ("1.6 mL", "")
    assert line.details[0] == "ward's own value; the kit's: 2 mL"
    assert line.kits_own == "2 mL"
    assert any("The kit's own: 2 mL; 20 mg, 10 mg/kg (due 10);" in sentence for sentence in line.working)


def test_a_replaced_line_keeps_the_kits_own_cautions_in_front_and_is_still_read_aloud() -> None:
    line = find("dose", 2000, make(DOSE.format(dose="8 mg/kg") + 'cautions = ["The ward\'s own caution."]\n'))
    assert line.cautions[-2:] == ("The kit's own caution.", "The ward's own caution.")
    assert "Do not shake." in line.how
    assert line.aloud


def test_a_replaced_line_that_gives_the_same_says_in_its_working_that_it_is_the_wards() -> None:
    line = find("dose", 2000, make(DOSE.format(dose="10 mg/kg")))
    assert (line.kits_own, line.details) == ("", find("dose", 2000, BARE).details)
    assert any(sentence.startswith("Ward file: this line is the ward's own.") for sentence in line.working)


def test_other_words_for_a_line_leave_the_kits_own_words_beside_them() -> None:
    text = DOSE.format(dose="10 mg/kg").replace('"Slowly."', '"Quickly."').replace('name = "Dose"', 'name = "Drug"')
    working = find("dose", 2000, make(text)).working
    assert "The kit's own name: Dose." in working
    assert "The kit's own words: Slowly." in working


PARTED = make_kit(
    SMALL.text.replace('how = ["Slowly."]', 'how = ["Slowly."]\nparts = ["warm pad", "cup"]').replace(
        'handling = ["Do not shake."]', 'handling = ["Do not shake."]\nparts = ["filter needle"]'
    )
)


def test_a_replaced_line_has_the_parts_of_the_wards_and_says_which_of_the_kits_it_leaves_off() -> None:
    text = DOSE.format(dose="10 mg/kg") + 'parts = ["cup", "tray"]\n'
    line = find_line("dose", 2000, kit=PARTED, ward=make_small_ward(STOCK + LOCAL + text, PARTED))
    assert line.parts[-2:] == ("cup", "tray")
    assert "The kit lays out with it too: warm pad." in line.working
    same = DOSE.format(dose="10 mg/kg") + 'parts = ["cup", "warm pad"]\n'
    line = find_line("dose", 2000, kit=PARTED, ward=make_small_ward(STOCK + LOCAL + same, PARTED))
    assert not any("lays out with it too" in words for words in line.working)


def test_a_product_stated_anew_keeps_the_kits_parts_in_front_of_its_own() -> None:
    text = PRODUCT.format(strength="10 mg/mL", dose="10 mg/kg") + 'parts = ["cup", "filter needle"]\n'
    line = find_line("dose", 2000, kit=PARTED, ward=make_small_ward(STOCK + text, PARTED))
    assert line.parts[:2] == ("filter needle", "cup")


def test_an_added_line_stands_at_the_end_and_says_so() -> None:
    tray = list_tray(2000, make(ADDED))
    assert tray.lines[-1].id == "blanket"
    assert tray.lines[-1].details == ("added by the ward",)
    assert tray.lines[:-1] == list_tray(2000, BARE).lines


def test_a_line_is_added_to_the_kits_that_are_named_and_to_no_other() -> None:
    ward = make(ADDED)
    assert "blanket" not in {line.id for line in make_tray(1450, ward=ward).lines}


def test_a_ward_file_may_bring_the_source_that_its_line_cites() -> None:
    book = '[sources.ward-book]\ntitle = "Invented ward book"\nyear = 2026\nreference = "page 4"\n'
    book += 'read = "whole"\nwritten_for = "invented babies"\n'
    cited = ADDED.replace('basis = "local"', 'basis = "published"\nsource = ["ward-book"]')
    ward = make_small_ward(book + STOCK + LOCAL + cited, SMALL)
    assert (
        find("blanket", 2000, ward).source
        == "published: Invented ward book (2026), page 4 (read whole, written for invented babies)"
    )


MEDICINE = DOSE.format(dose="1 mg/kg").replace('id = "dose"', 'id = "extra"').replace('name = "Dose"', 'name = "Extra"')


def test_an_added_medicine_needs_an_approval_since_the_kit_has_none_like_it() -> None:
    line = find("extra", 2000, make(MEDICINE))
    assert line.blocked == "wider than the kit allows (the kit has no such line), and no approval on file"
    line = find("extra", 2000, make(MEDICINE, write_widening("extra")))
    assert (line.show, line.blocked) == ("0.2 mL", "")
    assert line.details[0] == "ward's own value, on ward approval W-9; the kit's: none"


def test_a_product_stated_anew_says_the_kits_own_and_keeps_its_handling() -> None:
    ward = make_small_ward(STOCK + PRODUCT.format(strength="20 mg/mL", dose="10 mg/kg"), SMALL)
    line = find("dose", 2000, ward)
    assert (line.show, line.details[0]) == ("1 mL", "ward's own value; the kit's: 2 mL")
    assert "Do not shake." in line.how
    assert "Ward file: Drug 20 mg/mL, 10 mg/kg is the ward's own entry." in line.working
    assert "The kit's own: Drug 10 mg/mL, 10 mg/kg. [local]" in line.working


@pytest.mark.parametrize(
    ("strength", "dose"), [("9 mg/mL", "10 mg/kg"), ("10 mg/mL", "10.1 mg/kg"), ("20 mg/mL", "11 mg/kg")]
)
def test_a_product_that_goes_further_needs_an_approval_of_its_own(strength: str, dose: str) -> None:
    text = PRODUCT.format(strength=strength, dose=dose)
    blocked = find("dose", 2000, make_small_ward(STOCK + text, SMALL)).blocked
    assert blocked == "wider than the kit allows (the kit's is 20 mg due, 2 mL), and no approval on file"
    for_line = make_small_ward(STOCK + text + write_widening("dose"), SMALL)
    assert find("dose", 2000, for_line).blocked
    assert find("dose", 2000, make_small_ward(STOCK + text + write_widening("drug"), SMALL)).blocked == ""


def test_a_line_and_its_product_changed_need_an_approval_each() -> None:
    text = PRODUCT.format(strength="9 mg/mL", dose="10 mg/kg"), LOCAL, DOSE.format(dose="11 mg/kg")
    approvals = [write_widening("dose"), write_widening("drug")]
    shut = [find("dose", 2000, make_small_ward(STOCK + "".join((*text, each)), SMALL)).blocked for each in approvals]
    assert all(blocked.startswith("wider than the kit allows") for blocked in shut)
    assert find("dose", 2000, make_small_ward(STOCK + "".join((*text, *approvals)), SMALL)).blocked == ""


def test_dropping_a_product_is_narrower_even_where_the_other_takes_more_volume() -> None:
    both = STOCK + '[[stock]]\nproduct = "other"\nholds = ["5 mL"]\n'
    text = DOSE.format(dose="10 mg/kg").replace('["drug", "other"]', '["other"]')
    line = find("dose", 2000, make_small_ward(both + LOCAL + text, SMALL))
    assert (line.blocked, line.show, line.kits_own) == ("", "4 mL", "2 mL")


def test_a_recipe_of_a_product_stated_anew_is_compared_as_the_kits_product_would_make_it() -> None:
    recipe = """
[[mixing]]
holds = "20 mL"

[[diluent]]
name = "water"
holds = ["10 mL"]

[[needle]]
gauge = "18 G blunt"

[[recipe]]
id = "half"
product = "drug"
take = "1 mL"
add = "1 mL"
diluent = "water"
gives = "2.5 mg/mL"
basis = "local"
source = "invented"
"""
    stock = STOCK + 'use = ["half"]\n' + recipe + PRODUCT.format(strength="5 mg/mL", dose="10 mg/kg")
    # The kit's 10 mg/mL would be 5 mg/mL in the same recipe: 0.8 mL for 4 mg, where the ward's is 1.6 mL.
    blocked = find("dose", 400, make_small_ward(stock, SMALL)).blocked
    assert blocked == "wider than the kit allows (the kit's is 4 mg due, 0.8 mL), and no approval on file"


MEASURED = """
[[measured]]
line = "depth"
device = "size 1 (invented)"
length = "18 cm"
clearance = "1 cm"
measured_by = "lead nurse"
measured_on = 2026-01-01
"""


def test_a_measured_length_says_the_kits_own_beside_it_and_needs_no_approval() -> None:
    line = find("depth", 2000, make_small_ward(STOCK + MEASURED, SMALL))
    assert (line.show, line.blocked) == ("17 cm", "")
    assert line.details == ("ward's own value; the kit's: 14–16 cm",)


def test_a_measured_length_is_no_way_past_a_line_that_does_not_ask_for_one() -> None:
    kit = make_small_kit(SMALL.text.partition("[[fact]]")[2].join(("[[fact]]", "")).replace(
        '[[line.method]]\nby = "measured"\nmeasured = true\nbasis = "local"\n', ""))  # fmt: skip
    own = """
[[local.line]]
kind = "depth"
id = "depth"
group = "all"
name = "Depth"
step = "0.5 cm"
basis = "local"
[[local.line.method]]
by = "measured"
measured = true
basis = "local"
"""
    line = find_line("depth", 2000, kit=kit, ward=make_small_ward(STOCK + MEASURED + LOCAL + own, kit))
    assert line.blocked == "wider than the kit allows (the kit's is 14–16 cm), and no approval on file"
