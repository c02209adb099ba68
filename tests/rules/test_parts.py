"""What belongs to a medicine or a device is a part of its line: laid out with it, ticked once with it."""

import re

import pytest
from dose_scene import HEAD, OTHER, SMALL, SYRINGES, UNDILUTED, WEAK, draw, draw_ranged
from msgspec.structs import replace
from shipped import KIT_IDS, read_kit_text
from trays import DEMO_TEXT, KIT, WARD, find_line, give_before, make_kit, make_small_kit, make_small_ward, make_ward

from prepkit.list.lines import compute_line_fingerprint

IN_VEIN = ("2 mL luer syringe", "syringe label")
CLASSED = "syringe label, anticholinergic (green)"


@pytest.mark.parametrize(
    ("stock", "product", "parts"),
    [
        (UNDILUTED, "", ("needle, 18 G blunt", *IN_VEIN)),
        # Its own needle takes the place of the ward's.
        (UNDILUTED, 'parts = ["filter needle"]', ("filter needle", *IN_VEIN)),
        (UNDILUTED, 'label_class = "anticholinergic"', ("needle, 18 G blunt", IN_VEIN[0], CLASSED)),
        (
            WEAK,
            'parts = ["filter needle"]',
            (
                "20 mL syringe to make it up in",
                "glucose 5 %, 10 mL",
                'label for what is left, "made-up stock, not for giving as it is"',
                "needle, 18 G blunt",
                "filter needle",
                *IN_VEIN,
            ),
        ),
        # A bottle is drawn from without a needle.
        (OTHER, "", IN_VEIN),
    ],
)
def test_a_medicine_comes_with_what_it_is_drawn_up_with(stock: str, product: str, parts: tuple[str, ...]) -> None:
    # 1.5 mL of what the recipe gives; 1 mL of the product as it comes.
    small = SMALL.replace('dose = "10 mg/kg"', 'dose = "1.5 mg/kg"') if stock == WEAK else SMALL
    assert draw(1000, stock, product=product, small=small).parts == parts


def test_a_ward_that_keeps_no_needle_is_told_of_none() -> None:
    kit = make_small_kit(SMALL.format(line="", product="", route="intravenous"))
    text = SYRINGES.format(route="intravenous").replace('[[needle]]\ngauge = "18 G blunt"\n', "")
    text = re.sub(r"\[\[recipe\]\](.|\n)*", "", text)
    assert find_line("it", 1000, kit=kit, ward=make_small_ward(text + UNDILUTED, kit, head=HEAD)).parts == IN_VEIN


def test_each_of_several_syringes_has_its_label() -> None:
    # 3.9 mL in whole ampoules of 3.9 mL: two syringes of 2 mL.
    assert draw_ranged(2000, "3.9 mL").parts[1:] == ("2 × 2 mL luer syringe", "2 × syringe label")


def test_every_surfactant_is_drawn_up_with_a_wide_needle_and_goes_to_the_cot_labelled_and_capped() -> None:
    """Labels of poractant and calfactant: 20 G or larger (read); beractant's needle is the ward's own, 18 G."""
    needles = {}
    for product, holds in (("poractant-alfa", "3 mL"), ("beractant", "8 mL"), ("calfactant", "6 mL")):
        text = DEMO_TEXT.replace(
            'product = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]', f'product = "{product}"\nholds = ["{holds}"]'
        )
        needles[product], *rest = find_line("surfactant", 1450, ward=make_ward(text)).parts
        assert rest[1:] == ['syringe label, "not for injection"', "cap for the syringe"]
        assert rest[0].endswith("mL syringe, tracheal")
    wide = "needle, 20 G or wider, to draw up with"
    assert needles == {"poractant-alfa": wide, "beractant": "needle, 18 G blunt", "calfactant": wide}


def test_what_the_rule_finds_comes_before_what_the_kit_declares() -> None:
    assert find_line("sucrose", 1450).parts == (
        "1 mL enteral syringe",
        'syringe label, "not for injection"',
        "cap for the syringe",
        "dummy",
    )


def test_a_line_that_is_blocked_names_no_syringe() -> None:
    assert find_line("surfactant", 1450, ward=None).parts == ()


@pytest.mark.parametrize(
    "change",
    [
        ('gauge = "18 G blunt"', 'gauge = "20 G blunt"'),
        ('[[mixing]]\nholds = "20 mL"', '[[mixing]]\nholds = "30 mL"'),
        ('name = "sodium chloride 0.9 %"\nholds = ["10 mL"]', 'name = "sodium chloride 0.9 %"\nholds = ["20 mL"]'),
    ],
)
def test_another_part_is_another_line(change: tuple[str, str]) -> None:
    """A tick of the atropine was made for these parts; the flush, which has none of them, stands."""
    ward = make_ward(DEMO_TEXT.replace(*change))
    for line, stands in (("atropine", False), ("flush", True)):
        one, two = (compute_line_fingerprint(find_line(line, 1450, ward=each)) for each in (WARD, ward))
        assert (one == two) is stands


def test_another_part_of_the_kits_own_is_another_line_too() -> None:
    kit = make_kit(KIT.text.replace('"water-based lubricant"', '"water-based gel"'))
    one, two = (compute_line_fingerprint(find_line("airway-device", 1450, kit=each)) for each in (KIT, kit))
    assert one != two


def test_what_to_do_and_what_can_hurt_may_change_under_a_tick() -> None:
    line = find_line("surfactant", 1450)
    reworded = replace(line, outcome=line.outcome._replace(how=("other",), cautions=("other",)))
    assert compute_line_fingerprint(reworded) == compute_line_fingerprint(line)


BEFORE = {"surfactant-supraglottic": 31, "surfactant-thin-catheter": 29, "surfactant-brief-ventilation": 27}
"""Lines of the first edition, whose lubricant, laryngoscope and fixation are parts now."""


@pytest.mark.parametrize("kit", KIT_IDS)
def test_no_shipped_list_has_grown_by_more_than_three_lines(kit: str) -> None:
    assert len(make_kit(read_kit_text(kit)).model.line) <= BEFORE[kit] + 3


@pytest.mark.parametrize("kit", KIT_IDS)
def test_no_part_is_a_line_of_its_own_as_well(kit: str) -> None:
    model = make_kit(read_kit_text(kit)).model
    parts = {part.casefold() for row in (*model.line, *model.product) for part in row.parts}
    assert parts
    assert parts.isdisjoint({line.name.casefold() for line in model.line})
    for thing in ("lubricant", "fixation", "needle", "cap", "label", "dummy"):
        assert not [line.name for line in model.line if re.search(rf"\b{thing}\b", line.name.casefold())]


@pytest.mark.parametrize(
    ("before", "said"),
    [
        ("poractant-alfa, not known, 2026-11-24 12:00", True),
        ("not known, 200 mg/kg, 2026-11-24 12:00", True),
        ("poractant-alfa, 200 mg/kg, not known", True),
        ("poractant-alfa, 200 mg/kg, 2026-11-24 12:00", False),
    ],
)
def test_the_row_says_it_where_a_dose_is_due_after_one_that_is_not_known_in_full(before: str, *, said: bool) -> None:
    line = find_line("surfactant", 1450, **give_before(before))
    assert line.show == "1.8 mL"
    words = "! a dose before is not known in full: a senior says what is due"
    assert (line.details[0] == words) is said
    assert (words in line.details) is said


def test_the_row_says_nothing_of_doses_before_where_there_were_none() -> None:
    assert not any("a dose before" in each for each in find_line("surfactant", 1450).details)
