"""A ward file laid over a kit, and approvals that overlap. Figures are invented."""

import pytest
from kit_files import KIT_TEXT, WARD_TEXT, read_ward_beside, take_kit, take_ward
from msgspec.structs import replace
from shipped import read_kit_text

from prepkit.kit.kit import Kit
from prepkit.kit.layer import Layer, find_followed, lay_over
from prepkit.kit.read import check_beside

HEAD = '[[local]]\nkits = ["surfactant-supraglottic"]\n'
DRAPE = '[[local.line]]\nkind = "supply"\nid = "{id}"\ngroup = "airway"\nname = "Warm drape"\nbasis = "local"\n'
APPROVAL = """
[[approval]]
line = "airway-device"
size = "{size}"
where = {{ weight_now = {{ {weight} }}, birth_gestation = {{ {gestation} }} }}
reference = "HW-28 (invented)"
approver = "lead consultant"
approved_on = {start}
review_by = {end}
"""


def lay(text: str, kit: Kit | None = None) -> Layer:
    return lay_over(kit or take_kit().model, take_ward(WARD_TEXT + text).model)


def test_a_ward_file_that_changes_nothing_leaves_the_kit_as_it_is() -> None:
    kit = take_kit().model
    for ward in (None, take_ward().model):
        layer = lay_over(kit, ward)
        assert layer.kit is layer.own is kit
        assert layer.touched == layer.added == frozenset()


def test_a_line_is_replaced_in_place_and_a_new_one_added_at_the_end() -> None:
    kit = take_kit().model
    layer = lay(HEAD + DRAPE.format(id="drape") + DRAPE.format(id="second-drape"))
    names = [line.id for line in kit.line]
    assert [line.id for line in layer.kit.line] == [*names, "second-drape"]
    assert layer.kit.line[names.index("drape")].name == "Warm drape"
    assert layer.lines == {"drape": kit.line[names.index("drape")]}
    assert (layer.added, layer.own.line) == ({"second-drape"}, kit.line)
    assert layer.touched == {"drape", "second-drape"}


def test_a_line_stated_just_as_the_kits_replaces_nothing() -> None:
    same = DRAPE.format(id="drape").replace("Warm drape", "Clean drape")
    how = (
        'how = ["Spread it beside the cot and lay the tray out on it in the order of use.",'
        ' "Keep the baby warm: hat on, heat on."]\n'
        'parts = ["gloves and eye protection", "sharps container"]\n'
    )
    assert lay(HEAD + same + how).touched == {"drape"}  # its basis is another
    layer = lay(HEAD + same.replace('"local"', '"common practice"') + how)
    assert layer.touched == frozenset()
    assert layer.kit == take_kit().model


def test_a_kit_that_is_not_named_is_not_changed() -> None:
    other = take_kit(read_kit_text("surfactant-thin-catheter")).model
    layer = lay(HEAD + DRAPE.format(id="drape"), other)
    assert layer.kit == other
    assert layer.lines == {}


def test_what_follows_a_changed_line_is_touched_too() -> None:
    changed = take_kit().model
    tube = next(line for line in changed.line if line.id == "tracheal-tube")
    followers = {line.id for line in changed.line if "tracheal-tube" in find_followed(line)}
    assert followers
    other = replace(tube, name="Tube of the ward's own")
    ward = take_ward(WARD_TEXT + HEAD + DRAPE.format(id="x")).model
    local = replace(ward.local[0], line=(other,))
    layer = lay_over(changed, replace(ward, local=(local,)))
    assert layer.touched >= {"tracheal-tube", *followers}
    assert "surfactant" not in layer.touched


def test_a_length_that_follows_a_size_is_touched_with_it() -> None:
    kit = take_kit().model
    depth = next(line for line in kit.line if line.id == "catheter-depth")
    assert find_followed(depth) == ("airway-device",)
    device = next(line for line in kit.line if line.id == "airway-device")
    other = replace(device, name="Device of the ward's own")
    ward = take_ward(WARD_TEXT + HEAD + DRAPE.format(id="x")).model
    local = replace(ward.local[0], line=(other,))
    assert depth.id in lay_over(kit, replace(ward, local=(local,))).touched


def test_a_ward_file_is_checked_over_each_kit_that_it_names_and_says_which() -> None:
    kits = [take_kit(), take_kit(read_kit_text("surfactant-thin-catheter"))]
    both = HEAD.replace('"]', '", "surfactant-thin-catheter"]')
    text = both + DRAPE.format(id="drape").replace('"airway"', '"nowhere"')
    problems = check_beside(take_ward(WARD_TEXT + text), kits)
    assert [problem.wrong for problem in problems] == [
        f'no group "nowhere" is declared (kit "{kit.model.id}")' for kit in kits
    ]


@pytest.mark.parametrize(
    ("size", "weight", "gestation", "start", "end", "count"),
    [
        # The demo ward approves size 1 from 1200 g to under 2000 g, from 28+0, 2 March 2026 to 1 March 2027.
        ("1.5", 'at_least = "1999 g"', 'at_least = "28+0"', "2026-03-02", "2027-03-01", 1),
        ("1.5", 'at_least = "2000 g"', 'at_least = "28+0"', "2026-03-02", "2027-03-01", 0),
        ("1.5", 'below = "1200 g"', 'at_least = "28+0"', "2026-03-02", "2027-03-01", 0),
        ("1.5", 'at_most = "1.2 kg"', 'at_least = "28+0"', "2026-03-02", "2027-03-01", 1),
        ("1.5", 'at_most = "1.2 kg"', 'below = "28+0"', "2026-03-02", "2027-03-01", 0),
        ("1.5", 'at_most = "1.2 kg"', 'at_most = "28+0"', "2026-03-02", "2027-03-01", 1),
        # One size twice says the same.
        ("1", 'at_least = "1999 g"', 'at_least = "28+0"', "2026-03-02", "2027-03-01", 0),
        # Never in force on one day.
        ("1.5", 'at_least = "1999 g"', 'at_least = "28+0"', "2027-03-02", "2028-03-01", 0),
        ("1.5", 'at_least = "1999 g"', 'at_least = "28+0"', "2027-03-01", "2028-03-01", 1),
        ("1.5", 'at_least = "1999 g"', 'at_least = "28+0"', "2025-03-02", "2026-03-01", 0),
    ],
)
def test_two_approvals_may_not_give_one_baby_two_sizes_on_one_day(
    size: str, weight: str, gestation: str, start: str, end: str, count: int
) -> None:
    text = APPROVAL.format(size=size, weight=weight, gestation=gestation, start=start, end=end)
    problems = read_ward_beside(WARD_TEXT + text, take_kit())
    assert len(problems) == count
    assert all("approves size 1.5 where HW-27 (invented) approves size 1" in problem.wrong for problem in problems)


@pytest.mark.parametrize(("deviation", "count"), [("20 %", 0), ("20.000001 %", 1)])
def test_a_deviation_past_our_own_bound_is_taken_for_a_slip(deviation: str, count: int) -> None:
    text = WARD_TEXT.replace('deviation = "5 %"', f'deviation = "{deviation}"')
    assert len(read_ward_beside(text, take_kit())) == count


def test_the_examples_at_the_end_of_the_demo_ward_are_right_as_they_stand() -> None:
    before, mark, after = WARD_TEXT.partition("# [sources.")
    assert mark
    uncommented = "\n".join(row.removeprefix("# ") for row in (mark + after).split("\n") if not row.startswith("##"))
    assert read_ward_beside(before + uncommented, take_kit(KIT_TEXT)) == ()
    assert lay_over(take_kit().model, take_ward(before + uncommented).model).touched
