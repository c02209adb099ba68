"""What was found, as a tick or an agreement keeps it: kinds and values, nothing that hangs on words or the clock."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from fractions import Fraction

import pytest
from msgspec import Struct

from prepkit.canonical import write_canonical
from prepkit.kit.baby import BabySize
from prepkit.kit.kit import Product
from prepkit.kit.spans import WeightSpan, Where
from prepkit.kit.ward import SyringeStock
from prepkit.quantities.amount import make_amount
from prepkit.quantities.gestation import read_gestation
from prepkit.rules.findings import Kind, finding
from prepkit.rules.growth import WeightPlausibility
from prepkit.rules.plain import write_plain

SIZE = BabySize(1450, None, read_gestation("30+2"), read_gestation("30+3"))


def test_a_finding_is_written_as_its_kind_and_its_values_by_name() -> None:
    inner = finding(Kind.AMOUNT, amount=make_amount("3.6", "mL"))
    found = finding(Kind.DEPTH_BY, by="weight", show=inner)
    assert write_plain(found) == ["depth_by", {"by": "weight", "show": ["amount", {"amount": "18/5 mL"}]}]
    assert write_canonical(write_plain(found)).startswith('["depth_by",')


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (None, None),
        (True, True),
        (("5 Fr", 6), ["5 Fr", 6]),
        ({"fio2": make_amount(40, "%")}, {"fio2": "40/1 %"}),
        (Fraction(1, 3), "1/3"),
        (Decimal("4.20"), "4.20"),
        (date(2026, 11, 25), "2026-11-25"),
        (datetime(2026, 11, 25, 4, 0, tzinfo=timezone(timedelta(hours=1))), "2026-11-25T03:00:00+00:00"),
        (read_gestation("30+2"), 212),
        (
            SIZE,
            {"birth_weight_g": 1450, "weight_now_g": None, "birth_gestation": 212},
        ),
        (
            Where(weight_now=WeightSpan(at_least=make_amount(1200, "g"))),
            {
                "birth_weight": None,
                "weight_now": {"at_least": "1200/1 g", "above": None, "at_most": None, "below": None},
                "greater_weight": None,
                "birth_gestation": None,
                "gestation_today": None,
                "age": None,
                "facts": {},
            },
        ),
    ],
)
def test_each_sort_of_value_has_one_plain_text(value: object, written: object) -> None:
    assert write_plain(value) == written


def test_the_clock_that_a_sentence_is_told_by_is_none_of_what_was_found() -> None:
    last = datetime(2026, 11, 25, 4, 0, tzinfo=UTC)
    looks = [finding(Kind.LAST_DOSE_AHEAD, last=last, now=last - timedelta(minutes=at)) for at in (1, 2)]
    assert write_plain(looks[0]) == write_plain(looks[1]) == ["last_dose_ahead", {"last": "2026-11-25T04:00:00+00:00"}]


@pytest.mark.parametrize("value", [object(), 1.5, {1, 2}])
def test_what_has_no_one_text_is_refused(value: object) -> None:
    with pytest.raises(TypeError, match="nothing says how"):
        write_plain((value,))


def list_counting(base: type[Struct] = Struct) -> Iterator[type[Struct]]:
    """The structs that name what of them counts."""
    for each in base.__subclasses__():
        if "COUNTS" in vars(each):
            yield each
        yield from list_counting(each)


def test_what_counts_of_a_struct_is_among_its_fields() -> None:
    found = set(list_counting())
    assert found >= {Product, SyringeStock, WeightPlausibility}
    for each in found:
        assert set(vars(each)["COUNTS"]) < set(each.__struct_fields__), each
