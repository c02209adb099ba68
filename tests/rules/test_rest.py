"""Which dose is due of a course: the rest of one that was given in part, another dose by an order, a full course.

Poractant alfa as the kit states it: 200 mg/kg first, 100 mg/kg after 12 h, 400 mg/kg and three doses in all. It is
03:00 on 25 November.
"""

from fractions import Fraction

import pytest
from msgspec.structs import replace
from trays import KIT, NOW, WARD, find_baby, give_before, read

from prepkit.kit.kit import Kit, Product, Repeat
from prepkit.kit.lines import DoseLine
from prepkit.quantities.amount import Amount, make_amount
from prepkit.rules.condition import ANY_BABY
from prepkit.rules.dose.bars import Course, find_past
from prepkit.rules.dose.course import DueDose, prepare_doses
from prepkit.rules.findings import Citation, Finding, Kind, finding
from prepkit.rules.rule import Order, RuleContext

REST = Order("poractant-alfa", "KM", is_rest=True)
NO_REST = finding(Kind.NO_REST, product="Poractant alfa")


def find_product(kit: Kit = KIT.model) -> Product:
    return next(each for each in kit.product if each.id == "poractant-alfa")


def find_line() -> DoseLine:
    line = next(each for each in KIT.model.line if each.id == "surfactant")
    assert isinstance(line, DoseLine)
    return line


def find_due(
    *doses: str,
    order: Order | None = None,
    product: Product | None = None,
    line: DoseLine | None = None,
    weight: str = "1000",
    **facts: str,
) -> DueDose | Finding:
    rules = prepare_doses(line or find_line(), product or find_product(), KIT.model, read("5 %"))
    baby = find_baby(weight, born="2026-11-20", **(give_before(*doses) if doses else {}), **facts)
    return rules.find_due(RuleContext(KIT.model, WARD.model, baby, NOW, {}), order)


def mg_per_kg(value: int | str | Fraction) -> Amount:
    return make_amount(value, "mg/kg")


def give_part(amount: str = "1 mL", at: str = "2026-11-25 02:00", of: str = "200 mg") -> str:
    return f"poractant-alfa, {amount}, {at}, part of {of}"


def test_the_rest_of_a_first_dose_is_what_is_left_of_it_and_counts_with_it_as_one() -> None:
    due = find_due(give_part(), order=REST)
    assert isinstance(due, DueDose)
    # 1 mL of 80 mg/mL is 80 of the 200 mg, at 1 kg.
    assert (due.per_kg, due.mass) == (mg_per_kg(120), make_amount(120, "mg"))
    assert due.cited == Citation("common practice")
    assert due.course == Course(0, mg_per_kg(80), mg_per_kg(400), mg_per_kg(80))
    assert [each.kind for each in due.working] == [Kind.COURSE_SO_FAR, Kind.DOSE_SUM]
    assert due.working[1]["where"] == ANY_BABY.where
    later = find_due("200 mg/kg, 2026-11-24 01:00", give_part(of="100 mg"), order=REST)
    assert isinstance(later, DueDose)
    assert later.course is not None
    assert (later.per_kg, later.course.number) == (mg_per_kg(20), 1)


def test_the_rest_may_bring_a_course_to_its_total_and_not_past_it() -> None:
    before = ("200 mg/kg, 2026-11-24 01:00",)
    # 200 + 100 of 200 leave 100, 400 in all; of 201 they leave 101.
    at_total = find_due(*before, give_part("100 mg"), order=REST)
    assert isinstance(at_total, DueDose)
    assert at_total.per_kg == mg_per_kg(100)
    assert find_due(*before, give_part("100 mg", of="201 mg"), order=REST) == finding(
        Kind.PAST_COURSE, given=mg_per_kg(300), dose=mg_per_kg(101), total=mg_per_kg(401), most=mg_per_kg(400)
    )


@pytest.mark.parametrize(
    "doses",
    [
        (),
        ("200 mg/kg, 2026-11-25 02:00",),
        # The interval is over: a further dose is due. After just 12 h too.
        (give_part(at="2026-11-24 12:00"),),
        (give_part(at="2026-11-24 15:00"),),
        (give_part(at="not known"),),
        # Another surfactant was the last.
        (give_part(at="2026-11-25 01:00"), "beractant, 100 mg/kg, 2026-11-25 02:00"),
    ],
)
def test_there_is_no_rest_of_what_was_not_begun_just_before(doses: tuple[str, ...]) -> None:
    assert find_due(*doses, order=REST) == NO_REST


def test_a_rest_is_given_at_once_only_where_the_kit_says_so() -> None:
    repeat = find_product().repeat
    assert repeat is not None
    product = replace(find_product(), repeat=replace(repeat, rest_at_once=False))
    assert find_due(give_part(), order=REST, product=product) == NO_REST


def test_what_was_given_counts_by_the_weight_and_by_the_strength_of_what_it_was() -> None:
    at = "2026-11-24 01:00"
    for amount, given in (("150 mg", 75), ("2 mL", 80)):
        due = find_due(f"{amount}, {at}", weight="2000")
        assert isinstance(due, DueDose)
        assert due.course == Course(1, mg_per_kg(given), mg_per_kg(400), mg_per_kg(given))


def test_without_the_weight_that_doses_are_per_kg_of_a_mass_counts_as_the_dose_that_was_due() -> None:
    due = find_due("150 mg, 2026-11-24 01:00", weight="not known", weight_now="2000")
    assert isinstance(due, DueDose)
    assert due.course is not None
    assert due.course.given == mg_per_kg(200)


def test_where_no_first_dose_is_stated_one_before_counts_beside_the_further_dose() -> None:
    product, line = replace(find_product(), dose=None), replace(find_line(), dose=None, band=())
    due = find_due("98 mg/kg, 2026-11-24 01:00", product=product, line=line)
    assert isinstance(due, DueDose)
    assert due.course is not None
    assert (due.course.given, due.course.counted) == (mg_per_kg(98), mg_per_kg(100))


def test_doses_of_unknown_times_alone_are_waited_for_by_nobody() -> None:
    due = find_due("200 mg/kg, not known")
    assert isinstance(due, DueDose)
    assert due.per_kg == mg_per_kg(100)


def test_another_dose_by_an_order_is_what_is_due_of_a_further_dose_too() -> None:
    due = find_due("200 mg/kg, 2026-11-24 01:00", order=Order("poractant-alfa", "KM", per_kg=mg_per_kg(120)))
    assert isinstance(due, DueDose)
    assert (due.per_kg, due.mass) == (mg_per_kg(120), make_amount(120, "mg"))


def test_a_course_is_full_at_its_number_of_doses_whatever_they_come_to() -> None:
    repeat, product = find_product().repeat, find_product()
    assert repeat is not None

    def find(number: int, counted: Repeat) -> Finding | None:
        course = Course(number, mg_per_kg(30), mg_per_kg(400), mg_per_kg(30))
        return find_past(course, counted, mg_per_kg(100), product)

    full = finding(Kind.COURSE_IS_FULL, number=3, most=3, product="Poractant alfa")
    assert (find(2, repeat), find(3, repeat)) == (None, full)
    assert find(12, replace(repeat, most_doses=None)) is None
    assert find_due(*(f"10 mg/kg, 2026-11-2{day} 01:00" for day in (1, 2, 3))) == full
