"""More laws of the list: what the mark gives, what a trial hangs on, and when the list changes with the ward file."""

from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from trays import DEMO_TEXT, WARD, change_ward, find_line, make_tray, make_ward

from prepkit.kit.read import ParsedFile
from prepkit.kit.ward import Ward
from prepkit.list.lines import _REPEATED, TrayList, compute_line_fingerprint
from prepkit.quantities.amount import convert, make_amount
from prepkit.quantities.text import THIN_SPACE, read_amount
from prepkit.rules.plain import write_plain

GRAMS = st.integers(300, 6000)
laws = settings(max_examples=60, deadline=None)


def find_changed(before: TrayList, after: TrayList) -> set[str]:
    return {
        one.id
        for one, two in zip(before.lines, after.lines, strict=True)
        if compute_line_fingerprint(one) != compute_line_fingerprint(two)
    }


@laws
@given(grams=GRAMS)
def test_the_dose_said_to_be_reached_times_the_weight_is_the_volume_times_the_strength(grams: int) -> None:
    for name in ("surfactant", "atropine"):
        line = find_line(name, grams)
        if line.blocked:
            continue
        assert line.amount is not None
        assert line.recipe is not None
        said = line.details[0].partition("reaches ")[2].partition(" (")[0].replace(THIN_SPACE, "")
        reached = read_amount(said)
        unit = "mg" if reached.unit.text == "mg/kg" else "microgram"
        given_mass = line.amount.value * convert(line.recipe.strength, f"{unit}/mL").value
        # Said to one decimal, so within half of the last digit of it.
        assert abs(reached.value - given_mass / Fraction(grams, 1000)) <= Fraction(1, 20), name


@laws
@given(grams=GRAMS, days=st.integers(22 * 7, 44 * 7 + 6))
def test_the_same_list_computed_twice_is_the_same_list(grams: int, days: int) -> None:
    gestation = f"{days // 7}+{days % 7}"
    assert make_tray(grams, gestation) == make_tray(grams, gestation)


@laws
@given(grams=GRAMS, days=st.integers(22 * 7, 44 * 7 + 6))
def test_a_trial_waits_exactly_where_what_it_tries_is_blocked(grams: int, days: int) -> None:
    tray = make_tray(grams, f"{days // 7}+{days % 7}")
    lines = {line.id: line for line in tray.lines}
    for row in tray.kit.model.line:
        if row.kind == "trial":
            followed = [lines[name] for name in row.of]
            assert bool(lines[row.id].blocked) == any(line.blocked for line in followed), row.id
            if not lines[row.id].blocked:
                assert lines[row.id].show == " and ".join(line.show for line in followed if line.show), row.id


def test_a_trial_falls_with_the_product_even_where_the_volume_stays() -> None:
    # Calfactant for beractant: at weights where both come to the same mark, the drawing up is another one.
    wards = [make_stocking(product, holds) for product, holds in (("beractant", "4 mL"), ("calfactant", "6 mL"))]
    # 1000 g of beractant is 4 mL; the same 4 mL of calfactant is 1333 g.
    one, two = make_tray(1000, ward=wards[0]), make_tray(1333, ward=wards[1])
    trial = "surfactant-drawn-up"
    shown = [next(line.show for line in tray.lines if line.id == trial) for tray in (one, two)]
    assert shown == ["4 mL", "4 mL"]
    assert trial in find_changed(one, two)


def make_stocking(product: str, holds: str) -> ParsedFile[Ward]:
    old = 'product = "poractant-alfa"\nholds = ["1.5 mL", "3 mL"]'
    assert old in DEMO_TEXT
    return make_ward(DEMO_TEXT.replace(old, f'product = "{product}"\nholds = ["{holds}"]'))


@pytest.mark.parametrize(
    ("changes", "changed"),
    [
        # More air behind the dose is more to draw in, with volume and syringe as they were.
        ({"air": make_amount("0.6", "mL")}, {"surfactant", "surfactant-drawn-up"}),
        ({"air": None}, {"surfactant", "surfactant-drawn-up"}),
        ({"name": "Another name", "edition": "other"}, set()),
        ({"deviation": make_amount(4, "%")}, set()),
        ({"approval": ()}, {"airway-device", "catheter-passes-port", "device-inspected"}),
    ],
)
def test_a_change_of_the_ward_file_unticks_what_it_changes_and_nothing_else(
    changes: dict[str, object], changed: set[str]
) -> None:
    assert find_changed(make_tray(1450), make_tray(1450, ward=change_ward(WARD, **changes))) == changed


def test_an_approval_renewed_under_another_reference_unticks_the_device_though_its_size_stays() -> None:
    renewed = replace(WARD.model.approval[0], reference="HW-28 (invented)")
    changed = find_changed(make_tray(1450), make_tray(1450, ward=change_ward(WARD, approval=(renewed,))))
    assert changed == {"airway-device", "catheter-passes-port", "device-inspected"}


@pytest.mark.parametrize(
    "field", ["blocked", "dose", "amount", "low", "high", "air", "discard", "size", "show", "standing", "name", "route"]
)
def test_every_part_of_what_stands_on_the_tray_is_in_the_fingerprint(field: str) -> None:
    line = find_line("surfactant", 1450)
    text = field in {"blocked", "size", "show", "standing", "name", "route"}
    other = line._replace(**{field: "another" if text else make_amount(77, "mL")})  # type: ignore[arg-type]
    assert compute_line_fingerprint(other) != compute_line_fingerprint(line)


@pytest.mark.parametrize("field", ["syringe", "recipe", "vials"])
def test_without_its_syringe_recipe_or_vials_the_fingerprint_is_another(field: str) -> None:
    line = find_line("surfactant", 1450)
    other = line._replace(**{field: () if field == "vials" else None})  # type: ignore[arg-type]
    assert compute_line_fingerprint(other) != compute_line_fingerprint(line)


def list_texts(value: object) -> Iterator[str]:
    """Every value in what is written of a finding; neither its kind nor the names of its values."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for each in value:
            yield from list_texts(each)
    elif value is not None:
        yield str(value)


@laws
@given(grams=GRAMS, days=st.integers(22 * 7, 44 * 7 + 6))
def test_a_detail_that_the_fingerprint_leaves_out_says_nothing_that_no_field_holds(grams: int, days: int) -> None:
    for line in make_tray(grams, f"{days // 7}+{days % 7}").lines:
        found = line.outcome
        fields = (found.syringe, found.recipe, found.vials, found.air, found.discard, line.declared.route)
        held = set(list_texts(write_plain(fields)))
        for detail in found.details:
            if detail.kind in _REPEATED:
                values = write_plain(detail)
                assert isinstance(values, list)
                assert set(list_texts(values[1:])) <= held, (line.id, detail.kind)


def test_the_lines_keep_the_order_of_the_kit_and_the_blocked_ones_are_listed() -> None:
    tray = make_tray(1450, ward=None)
    assert [line.id for line in tray.lines] == [row.id for row in tray.kit.model.line]
    assert {line.id for line in tray.blocked} == {
        "airway-device",
        "surfactant",
        "atropine",
        "catheter-passes-port",
        "surfactant-drawn-up",
        "device-inspected",
    }


def test_no_weight_of_the_kits_own_domain_is_blocked_in_the_demo_ward() -> None:
    blocked = {line.id for grams in range(1200, 5001, 25) for line in make_tray(grams).blocked}
    assert blocked == set()
